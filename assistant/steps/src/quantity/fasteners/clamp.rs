//! Clamp load from torque: T = K·d·F.
//!
//! T is the torque, d the nominal diameter, F the clamp load and K the nut factor (the short form of Shigley's Mechanical
//! Engineering Design). K varies by a quarter and more from one bolt to the next, so the formula can tell whether a
//! torque is plausible, but never replaces the maker's value.

use super::Thread;
use uom::si::f64::{Force, Torque};
use uom::si::force::newton;
use uom::si::length::meter;
use uom::si::torque::newton_meter;

/// The nut factor K, between 0.05 and 0.5.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct NutFactor(f64);

/// A nut factor or load outside of what the formula serves.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ClampError {
    /// K.
    #[error("a nut factor lies between 0.05 and 0.5; dry steel has about 0.20")]
    NutFactor,
    /// T.
    #[error("the torque must be above zero and below 10 000 N·m")]
    Torque,
    /// F.
    #[error("the clamp load must be above zero and below 10 000 kN")]
    Load,
}

impl NutFactor {
    /// Dry steel, about 0.20 (common practice, no source).
    pub const DRY: Self = Self(0.20);
    /// Lubricated, the middle of 0.15–0.18 (common practice, no source).
    pub const LUBRICATED: Self = Self(0.165);

    /// A nut factor.
    ///
    /// # Errors
    /// [`ClampError::NutFactor`] outside of 0.05–0.5.
    pub fn new(k: f64) -> Result<Self, ClampError> {
        if (0.05..=0.5).contains(&k) {
            Ok(Self(k))
        } else {
            Err(ClampError::NutFactor)
        }
    }

    /// The number.
    pub fn value(self) -> f64 {
        self.0
    }
}

/// F = T / (K·d).
///
/// # Errors
/// [`ClampError::Torque`] for a torque that isn't above nought and below 10 000 N·m.
pub fn clamp_load(torque: Torque, thread: Thread, k: NutFactor) -> Result<Force, ClampError> {
    let newton_metres = torque.get::<newton_meter>();
    if !(newton_metres > 0.0 && newton_metres < 10_000.0) {
        return Err(ClampError::Torque);
    }
    let arm = k.0 * thread.diameter().get::<meter>();
    Ok(Force::new::<newton>(newton_metres / arm))
}

/// T = K·d·F.
///
/// # Errors
/// [`ClampError::Load`] for a load that isn't above nought and below 10 000 kN.
pub fn torque_for_clamp_load(
    load: Force,
    thread: Thread,
    k: NutFactor,
) -> Result<Torque, ClampError> {
    let newtons = load.get::<newton>();
    if !(newtons > 0.0 && newtons < 1e7) {
        return Err(ClampError::Load);
    }
    let arm = k.0 * thread.diameter().get::<meter>();
    Ok(Torque::new::<newton_meter>(newtons * arm))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// By hand: 0.20 × 12 mm × 25 kN = 60 N·m.
    #[test]
    fn sixty_newton_metres_on_a_dry_m12() {
        let thread = "M12".parse().unwrap();
        let load = clamp_load(Torque::new::<newton_meter>(60.0), thread, NutFactor::DRY).unwrap();
        assert!((load.get::<newton>() - 25_000.0).abs() < 1e-6);
    }

    #[test]
    fn what_the_formula_cannot_serve_is_refused() {
        let thread = "M12".parse().unwrap();
        for k in [0.0, 0.6, -0.2, f64::NAN] {
            assert_eq!(NutFactor::new(k), Err(ClampError::NutFactor));
        }
        for torque in [0.0, -1.0, f64::NAN, 10_000.0] {
            let torque = Torque::new::<newton_meter>(torque);
            assert_eq!(
                clamp_load(torque, thread, NutFactor::DRY),
                Err(ClampError::Torque)
            );
        }
        let load = Force::new::<newton>(f64::INFINITY);
        assert_eq!(
            torque_for_clamp_load(load, thread, NutFactor::DRY),
            Err(ClampError::Load)
        );
    }

    proptest! {
        #[test]
        fn there_and_back_is_the_same_and_less_friction_clamps_more(
            torque in 0.1f64..5_000.0, k in 0.05f64..0.49
        ) {
            let thread = "M20".parse().unwrap();
            let torque = Torque::new::<newton_meter>(torque);
            let load = clamp_load(torque, thread, NutFactor::new(k).unwrap()).unwrap();
            if let Ok(back) = torque_for_clamp_load(load, thread, NutFactor::new(k).unwrap()) {
                prop_assert!((f64::from(back / torque) - 1.0).abs() < 1e-12);
            }
            let less = clamp_load(torque, thread, NutFactor::new(k + 0.01).unwrap()).unwrap();
            prop_assert!(less < load);
        }
    }
}
