//! Property classes of bolts, screws and studs (ISO 898-1) and the loads that follow from them.

use super::super::MetricThread;
use std::fmt;
use uom::si::f64::{Force, Pressure};
use uom::si::length::millimeter;
use uom::si::pressure::megapascal;

/// A property class of ISO 898-1. The stresses are those of table 3 of EN ISO 898-1:1999.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PropertyClass {
    /// 4.6
    C4_6,
    /// 4.8
    C4_8,
    /// 5.6
    C5_6,
    /// 5.8
    C5_8,
    /// 6.8
    C6_8,
    /// 8.8
    C8_8,
    /// 9.8
    C9_8,
    /// 10.9
    C10_9,
    /// 12.9
    C12_9,
}

impl PropertyClass {
    /// All classes, weakest first.
    pub const ALL: [Self; 9] = [
        Self::C4_6,
        Self::C4_8,
        Self::C5_6,
        Self::C5_8,
        Self::C6_8,
        Self::C8_8,
        Self::C9_8,
        Self::C10_9,
        Self::C12_9,
    ];

    /// The class that a head's mark names.
    pub fn marked(mark: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|class| class.mark() == mark)
    }

    /// As it is marked on the head.
    pub fn mark(self) -> &'static str {
        match self {
            Self::C4_6 => "4.6",
            Self::C4_8 => "4.8",
            Self::C5_6 => "5.6",
            Self::C5_8 => "5.8",
            Self::C6_8 => "6.8",
            Self::C8_8 => "8.8",
            Self::C9_8 => "9.8",
            Self::C10_9 => "10.9",
            Self::C12_9 => "12.9",
        }
    }

    /// Stress under proof load in MPa (ISO 898-1): 580 for 8.8 up to 16 mm, 600 above; 9.8: 650; 10.9: 830;
    /// 12.9: 970.
    pub fn proof_stress(self, thread: MetricThread) -> Pressure {
        Pressure::new::<megapascal>(match self {
            Self::C4_6 => 225.0,
            Self::C4_8 => 310.0,
            Self::C5_6 => 280.0,
            Self::C5_8 => 380.0,
            Self::C6_8 => 440.0,
            Self::C8_8 if up_to_16_mm(thread) => 580.0,
            Self::C8_8 => 600.0,
            Self::C9_8 => 650.0,
            Self::C10_9 => 830.0,
            Self::C12_9 => 970.0,
        })
    }

    /// Minimum tensile strength in MPa (ISO 898-1): 800 for 8.8 up to 16 mm, 830 above; 9.8: 900; 10.9: 1040;
    /// 12.9: 1220.
    pub fn tensile_strength(self, thread: MetricThread) -> Pressure {
        Pressure::new::<megapascal>(match self {
            Self::C4_6 => 400.0,
            Self::C4_8 => 420.0,
            Self::C5_6 => 500.0,
            Self::C5_8 => 520.0,
            Self::C6_8 => 600.0,
            Self::C8_8 if up_to_16_mm(thread) => 800.0,
            Self::C8_8 => 830.0,
            Self::C9_8 => 900.0,
            Self::C10_9 => 1040.0,
            Self::C12_9 => 1220.0,
        })
    }

    /// Proof load: stress area × proof stress (ISO 898-1).
    pub fn proof_load(self, thread: MetricThread) -> Force {
        thread.stress_area() * self.proof_stress(thread)
    }

    /// Minimum ultimate tensile load: stress area × minimum tensile strength (ISO 898-1). The standard's table
    /// multiplies the area at three digits and cuts the product to three, so it may be 0.7 % lower.
    pub fn minimum_ultimate_load(self, thread: MetricThread) -> Force {
        thread.stress_area() * self.tensile_strength(thread)
    }
}

fn up_to_16_mm(thread: MetricThread) -> bool {
    thread.diameter().get::<millimeter>() <= 16.000_1
}

impl fmt::Display for PropertyClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.mark())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::area::square_millimeter;
    use uom::si::force::newton;

    /// ISO 898-1, minimum ultimate tensile load in N, coarse thread: every value of the table. The table is the
    /// product of the area at three digits and the strength, itself cut to three digits; from the unrounded area
    /// it is up to 0.7 % off.
    #[test]
    fn the_minimum_ultimate_load_is_the_standards() {
        let sizes = ["M8", "M10", "M12", "M14", "M16"];
        for (class, loads) in [
            ("8.8", [29_200.0, 46_400.0, 67_400.0, 92_000.0, 125_000.0]),
            ("10.9", [38_100.0, 60_300.0, 87_700.0, 120_000.0, 163_000.0]),
            (
                "12.9",
                [44_600.0, 70_800.0, 103_000.0, 140_000.0, 192_000.0],
            ),
        ] {
            let class = PropertyClass::marked(class).unwrap();
            for (size, load) in sizes.into_iter().zip(loads) {
                let computed = class.minimum_ultimate_load(size.parse().unwrap());
                let off = computed.get::<newton>() / load - 1.0;
                assert!(off.abs() <= 0.007, "{size} {class} {off}");
                let third = |value: f64| 10f64.powi(value.log10().floor() as i32 - 2);
                let thread: MetricThread = size.parse().unwrap();
                let area = thread.stress_area().get::<square_millimeter>();
                let area = (area / third(area)).round() * third(area);
                let product = area * class.tensile_strength(thread).get::<megapascal>();
                assert!(
                    (product - load).abs() < third(load),
                    "{size} {class} {product}"
                );
            }
        }
    }

    /// ISO 898-1: 8.8 has 580 MPa up to 16 mm and 600 above; 9.8 650, 10.9 830, 12.9 970.
    #[test]
    fn the_proof_stress_is_the_standards() {
        let stress = |class: PropertyClass, size: &str| {
            class
                .proof_stress(size.parse().unwrap())
                .get::<megapascal>()
                .round()
        };
        assert_eq!(stress(PropertyClass::C8_8, "M16"), 580.0);
        assert_eq!(stress(PropertyClass::C8_8, "M18"), 600.0);
        assert_eq!(stress(PropertyClass::C9_8, "M8"), 650.0);
        assert_eq!(stress(PropertyClass::C10_9, "M12"), 830.0);
        assert_eq!(stress(PropertyClass::C12_9, "M12"), 970.0);
    }

    /// The mark's meaning (ISO 898-1): the first number is a hundredth of the nominal tensile strength, and proof
    /// never passes strength.
    #[test]
    fn proof_lies_below_strength() {
        let thread: MetricThread = "M12".parse().unwrap();
        for class in PropertyClass::ALL {
            assert!(
                class.proof_stress(thread) < class.tensile_strength(thread),
                "{class}"
            );
            assert!(class.proof_load(thread) < class.minimum_ultimate_load(thread));
            let hundreds: f64 = class.mark().split('.').next().unwrap().parse().unwrap();
            let strength = class.tensile_strength(thread).get::<megapascal>();
            assert!(
                (1.0..1.1).contains(&(strength / (hundreds * 100.0))),
                "{class}"
            );
        }
        assert_eq!(PropertyClass::marked("8"), None);
    }
}
