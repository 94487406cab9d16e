//! Units of torque as the trade writes them, with exact factors.
//!
//! # Why isn't the conversion left to `uom`?
//!
//! `uom` rounds the foot-pound to seven digits, while the exact factor is a product of three definitions. So the
//! factors stand here, exactly; the quantity types are `uom`'s.

use super::TorqueError;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use uom::si::f64::Torque;
use uom::si::torque::newton_meter;

/// Newton metres in one pound-force foot: 0.45359237 kg × 9.80665 m/s² × 0.3048 m, exactly (international
/// pound and foot, standard gravity; NIST SP 811, Appendix B). `uom` rounds its own factor to seven
/// digits, so conversion goes through this one.
pub const NEWTON_METRES_PER_POUND_FOOT: f64 = 1.355_817_948_331_400_4;

/// Newton metres in one kilogram-force metre: standard gravity, exactly (NIST SP 811, Appendix B).
pub const NEWTON_METRES_PER_KILOGRAM_FORCE_METRE: f64 = 9.806_65;

/// The units in which a torque is given or a wrench is marked.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
pub enum TorqueUnit {
    /// Newton metre.
    #[serde(rename = "N·m")]
    NewtonMetre,
    /// Newton centimetre: a hundredth of a newton metre.
    #[serde(rename = "N·cm")]
    NewtonCentimetre,
    /// Pound-force foot, "foot-pound" in the shop.
    #[serde(rename = "lbf·ft")]
    PoundFoot,
    /// Pound-force inch, "inch-pound" in the shop: a twelfth of a pound-force foot.
    #[serde(rename = "lbf·in")]
    PoundInch,
    /// Kilogram-force metre: 9.80665 N·m exactly.
    #[serde(rename = "kgf·m")]
    KilogramForceMetre,
    /// Kilogram-force centimetre: a hundredth of a kilogram-force metre.
    #[serde(rename = "kgf·cm")]
    KilogramForceCentimetre,
}

impl TorqueUnit {
    /// All units, for tables.
    pub const ALL: [Self; 6] = [
        Self::NewtonMetre,
        Self::NewtonCentimetre,
        Self::PoundFoot,
        Self::PoundInch,
        Self::KilogramForceMetre,
        Self::KilogramForceCentimetre,
    ];

    /// The unit's symbol.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::NewtonMetre => "N·m",
            Self::NewtonCentimetre => "N·cm",
            Self::PoundFoot => "lbf·ft",
            Self::PoundInch => "lbf·in",
            Self::KilogramForceMetre => "kgf·m",
            Self::KilogramForceCentimetre => "kgf·cm",
        }
    }

    /// Its name in the shop, for more than one of it.
    pub fn shop_name(self) -> &'static str {
        match self {
            Self::NewtonMetre => "newton metres",
            Self::NewtonCentimetre => "newton centimetres",
            Self::PoundFoot => "foot-pounds",
            Self::PoundInch => "inch-pounds",
            Self::KilogramForceMetre => "kilogram-force metres",
            Self::KilogramForceCentimetre => "kilogram-force centimetres",
        }
    }

    /// How many newton metres one of it is.
    pub fn newton_metres(self) -> f64 {
        match self {
            Self::NewtonMetre => 1.0,
            Self::NewtonCentimetre => 0.01,
            Self::PoundFoot => NEWTON_METRES_PER_POUND_FOOT,
            Self::PoundInch => NEWTON_METRES_PER_POUND_FOOT / 12.0,
            Self::KilogramForceMetre => NEWTON_METRES_PER_KILOGRAM_FORCE_METRE,
            Self::KilogramForceCentimetre => NEWTON_METRES_PER_KILOGRAM_FORCE_METRE / 100.0,
        }
    }

    /// A quantity of so many of this unit.
    pub fn torque(self, value: f64) -> Torque {
        Torque::new::<newton_meter>(value * self.newton_metres())
    }

    /// How many of this unit a quantity is.
    pub fn of(self, torque: Torque) -> f64 {
        torque.get::<newton_meter>() / self.newton_metres()
    }
}

impl FromStr for TorqueUnit {
    type Err = TorqueError;

    /// Reads the symbol and the spellings of manuals and wrench scales: either order of force and arm, with a
    /// dot, a hyphen, a space or nothing between them, pounds with or without their "f", kilopond for
    /// kilogram-force. "mN" with a small m in front stays unread: it could be a thousandth.
    fn from_str(text: &str) -> Result<Self, TorqueError> {
        let refused = || TorqueError::Unit(text.to_owned());
        let letters: String = text
            .trim()
            .chars()
            .filter(|c| !matches!(c, '·' | '⋅' | '•' | '×' | '*' | '.' | '-' | '‑' | ' '))
            .collect();
        if letters.chars().any(|c| !c.is_ascii_alphabetic()) {
            return Err(refused());
        }
        match letters.to_ascii_lowercase().as_str() {
            "nm" | "newtonmetre" | "newtonmetres" | "newtonmeter" | "newtonmeters" => {
                Ok(Self::NewtonMetre)
            }
            "ncm" | "newtoncentimetre" | "newtoncentimetres" => Ok(Self::NewtonCentimetre),
            "lbfft" | "ftlbf" | "lbft" | "ftlb" | "ftlbs" | "lbsft" | "footpound"
            | "footpounds" | "poundfoot" | "poundfeet" => Ok(Self::PoundFoot),
            "lbfin" | "inlbf" | "lbin" | "inlb" | "inlbs" | "lbsin" | "inchpound"
            | "inchpounds" | "poundinch" | "poundinches" => Ok(Self::PoundInch),
            "kgfm" | "mkgf" | "kgm" | "mkg" | "kpm" | "mkp" => Ok(Self::KilogramForceMetre),
            "kgfcm" | "cmkgf" | "kgcm" | "cmkg" | "kpcm" | "cmkp" => {
                Ok(Self::KilogramForceCentimetre)
            }
            _ => Err(refused()),
        }
    }
}

impl fmt::Display for TorqueUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST SP 811, Appendix B: the factor is a product of three exact definitions.
    #[test]
    fn the_pound_foot_is_exact() {
        let product = 0.453_592_37_f64 * 9.806_65 * 0.3048;
        assert!((product - NEWTON_METRES_PER_POUND_FOOT).abs() < 1e-15);
    }

    #[test]
    fn every_symbol_reads_as_its_own_unit() {
        for unit in TorqueUnit::ALL {
            assert_eq!(unit.symbol().parse(), Ok(unit));
            assert_eq!(
                unit.shop_name().parse::<TorqueUnit>().is_ok(),
                !unit.shop_name().starts_with("kilogram")
            );
        }
    }

    #[test]
    fn the_trades_spellings_are_read() {
        for (text, unit) in [
            ("Nm", TorqueUnit::NewtonMetre),
            ("N.m", TorqueUnit::NewtonMetre),
            ("Ncm", TorqueUnit::NewtonCentimetre),
            ("ft-lb", TorqueUnit::PoundFoot),
            ("ft. lbs.", TorqueUnit::PoundFoot),
            ("lb·ft", TorqueUnit::PoundFoot),
            ("in-lbs", TorqueUnit::PoundInch),
            ("inch-pounds", TorqueUnit::PoundInch),
            ("mkp", TorqueUnit::KilogramForceMetre),
            ("kg-cm", TorqueUnit::KilogramForceCentimetre),
        ] {
            assert_eq!(text.parse(), Ok(unit), "{text}");
        }
    }

    #[test]
    fn what_could_mean_two_things_is_refused() {
        for text in [
            "mN", "mN·m", "lb", "ft", "lb/ft", "kg", "kg/m", "mm", "N", "", "oz·in",
        ] {
            assert!(text.parse::<TorqueUnit>().is_err(), "{text}");
        }
    }
}
