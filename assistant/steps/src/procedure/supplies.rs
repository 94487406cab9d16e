//! What the steps use up, and the sum of it.

use super::{Procedure, Step};
use crate::quantity::{Dimension, MeasureUnit, Measured, MeasuredError};
use crate::{Decimal, Id, MAX_PLACES};
use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;

/// Something used up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Uses {
    /// Its name.
    pub what: String,
    /// How much of it.
    pub amount: UsedAmount,
}

/// How much is used up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UsedAmount {
    /// A volume, a mass or a length.
    Measured(Measured),
    /// So many pieces.
    Pieces(u32),
}

/// A text that isn't an amount.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AmountError {
    /// It isn't one at all.
    #[error(transparent)]
    Measured(#[from] MeasuredError),
    /// Nothing is used up in volts.
    #[error(
        "“{0}” is no amount of something that is used up: it needs a volume, a mass or a length"
    )]
    Dimension(Measured),
    /// Nought or less.
    #[error("“{0}” must be above zero")]
    Nought(String),
}

impl FromStr for UsedAmount {
    type Err = AmountError;

    fn from_str(text: &str) -> Result<Self, AmountError> {
        let nought = || AmountError::Nought(text.to_owned());
        if let Ok(pieces) = text.trim().parse::<u32>() {
            return (pieces > 0)
                .then_some(Self::Pieces(pieces))
                .ok_or_else(nought);
        }
        let amount: Measured = text.parse()?;
        match amount.dimension() {
            Dimension::Volume | Dimension::Mass | Dimension::Length => {}
            Dimension::Temperature
            | Dimension::Voltage
            | Dimension::Pressure
            | Dimension::Charge => {
                return Err(AmountError::Dimension(amount));
            }
        }
        (amount.value.digits() > 0)
            .then_some(Self::Measured(amount))
            .ok_or_else(nought)
    }
}

impl UsedAmount {
    /// The same in another unit, rounded up by less than 1 %: what is laid out must suffice. Pieces, and a mass
    /// asked for in litres, stay as they are.
    pub fn in_unit(self, unit: MeasureUnit) -> Self {
        let Self::Measured(amount) = self else {
            return self;
        };
        let exact = match amount.number_in(unit) {
            Ok(exact) if unit != amount.unit => exact,
            Ok(_) | Err(_) => return self,
        };
        let rounded = (0..=MAX_PLACES)
            .filter_map(|places| up(exact, places))
            .find(|up| up.to_f64() <= 1.01 * exact);
        match rounded {
            Some(value) => Self::Measured(Measured { value, unit }),
            None => self,
        }
    }

    /// The sum in the first one's unit; `None` for a volume and a mass.
    fn plus(self, other: Self) -> Option<Self> {
        match (self, other) {
            (Self::Pieces(a), Self::Pieces(b)) => Some(Self::Pieces(a.saturating_add(b))),
            (Self::Measured(a), Self::Measured(b)) => {
                let sum = a.value.to_f64() + b.number_in(a.unit).ok()?;
                let b = b.to(a.unit).ok()?;
                let places = a.value.places().max(b.value.places());
                let value = up(sum, places)?.trimmed();
                Some(Self::Measured(Measured {
                    value,
                    unit: a.unit,
                }))
            }
            (Self::Pieces(_), Self::Measured(_)) | (Self::Measured(_), Self::Pieces(_)) => None,
        }
    }

    fn more_than(self, other: Self) -> bool {
        match (self, other) {
            (Self::Pieces(a), Self::Pieces(b)) => a > b,
            (Self::Measured(a), Self::Measured(b)) => {
                b.number_in(a.unit).is_ok_and(|b| a.value.to_f64() > b)
            }
            (Self::Pieces(_), Self::Measured(_)) | (Self::Measured(_), Self::Pieces(_)) => false,
        }
    }
}

/// Rounded up at so many places, but for what a binary fraction may be off.
fn up(exact: f64, places: u8) -> Option<Decimal> {
    let step = 10f64.powi(i32::from(places));
    Decimal::nearest((exact * step - 1e-6).ceil() / step, places)
}

impl fmt::Display for UsedAmount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Measured(amount) => amount.fmt(f),
            Self::Pieces(pieces) => pieces.fmt(f),
        }
    }
}

/// The sums of what the steps use up with these options chosen, in the order in which each is first used. A volume
/// and a mass of the same thing stay two entries. Branches for trouble aren't counted.
pub fn supplies(procedure: &Procedure, chosen: &BTreeMap<Id, Id>) -> Vec<Uses> {
    summed(procedure.steps.iter().filter(|step| {
        let mut when = step.when.iter();
        when.all(|(variant, option)| chosen.get(variant) == Some(option))
    }))
}

fn summed<'a>(steps: impl Iterator<Item = &'a Step>) -> Vec<Uses> {
    let mut sums: Vec<Uses> = Vec::new();
    for used in steps.flat_map(|step| &step.consumables) {
        let known = sums.iter_mut().filter(|sum| sum.what == used.what);
        let added = known
            .filter_map(|sum| Some((sum.amount.plus(used.amount)?, sum)))
            .next();
        match added {
            Some((amount, sum)) => sum.amount = amount,
            None => sums.push(used.clone()),
        }
    }
    sums
}

/// The most of each that any choice of options uses up, and whether another choice uses less.
pub fn supplies_at_most(procedure: &Procedure) -> Vec<(Uses, bool)> {
    most_supplies(&procedure.steps)
}

/// What is used up, as it is laid out: “brake cleaner, up to 250 ml”.
pub fn in_a_line(uses: &Uses, varies: bool) -> String {
    match varies {
        true => format!("{}, up to {}", uses.what, uses.amount),
        false => format!("{}, {}", uses.what, uses.amount),
    }
}

pub(super) fn most_supplies(steps: &[Step]) -> Vec<(Uses, bool)> {
    let mut options: BTreeMap<&Id, Vec<&Id>> = BTreeMap::new();
    for step in steps.iter().filter(|step| !step.consumables.is_empty()) {
        for (variant, option) in &step.when {
            let known = options.entry(variant).or_default();
            if !known.contains(&option) {
                known.push(option);
            }
        }
    }
    // `None` stands for the options that no step with uses names.
    let mut choices: Vec<BTreeMap<&Id, Option<&Id>>> = vec![BTreeMap::new()];
    for (variant, options) in &options {
        let options = options.iter().map(|option| Some(*option)).chain([None]);
        let options: Vec<Option<&Id>> = options.collect();
        // A procedure has few of these; beyond what the checker goes through all count.
        if choices.len() * options.len() > 1_000 {
            return summed(steps.iter())
                .into_iter()
                .map(|it| (it, true))
                .collect();
        }
        choices = choices
            .iter()
            .flat_map(|choice| {
                options.iter().map(|option| {
                    let mut choice = choice.clone();
                    choice.insert(*variant, *option);
                    choice
                })
            })
            .collect();
    }
    let mut most: Vec<(Uses, bool)> = Vec::new();
    for choice in &choices {
        let sums = summed(steps.iter().filter(|step| {
            let mut when = step.when.iter();
            when.all(|(variant, option)| choice.get(variant) == Some(&Some(option)))
        }));
        for sum in sums {
            let same = |it: &&mut (Uses, bool)| {
                it.0.what == sum.what && it.0.amount.plus(sum.amount).is_some()
            };
            match most.iter_mut().find(same) {
                Some((known, varies)) if sum.amount.more_than(known.amount) => {
                    (known.amount, *varies) = (sum.amount, true);
                }
                Some((known, varies)) if known.amount.more_than(sum.amount) => *varies = true,
                Some(_) => {}
                None => most.push((sum, false)),
            }
        }
    }
    most
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn amount(text: &str) -> UsedAmount {
        text.parse().unwrap()
    }

    /// NIST SP 811, Appendix B: the US quart is 946.352946 ml, so a litre and a quart are 1946.4 ml rounded up.
    #[test]
    fn sums_keep_the_first_unit_and_never_fall_short() {
        let sum = |a: &str, b: &str| amount(a).plus(amount(b)).map(|sum| sum.to_string());
        assert_eq!(sum("250 ml", "0.5 l").unwrap(), "750 ml");
        assert_eq!(sum("1000 ml", "1 US qt").unwrap(), "1947 ml");
        assert_eq!(sum("2", "3").unwrap(), "5");
        assert_eq!(sum("250 ml", "5 g"), None);
        assert_eq!(sum("2", "5 g"), None);
    }

    #[test]
    fn what_is_no_amount_says_why() {
        let why = |text: &str| text.parse::<UsedAmount>().unwrap_err().to_string();
        assert_eq!(why("0"), "“0” must be above zero");
        assert!(why("5 V").contains("a volume, a mass or a length"));
        assert!(why("2 pints").contains("US pt"));
        assert!(why("some").contains("some"));
    }

    #[test]
    fn an_amount_is_told_in_the_unit_asked() {
        let told = |text: &str, unit: &str| amount(text).in_unit(unit.parse().unwrap()).to_string();
        assert_eq!(told("500 ml", "US pt"), "1.06 US pt");
        assert_eq!(told("500 ml", "imp pt"), "0.88 imp pt");
        assert_eq!(told("1 l", "US qt"), "1.06 US qt");
        assert_eq!(told("1 US qt", "ml"), "947 ml");
        assert_eq!(told("5 g", "ml"), "5 g");
        assert_eq!(told("2", "ml"), "2");
    }

    proptest! {
        #[test]
        fn another_unit_is_enough_and_not_one_per_cent_more(
            n in 1i64..1_000_000, places in 0u8..3, from in 0usize..11, to in 0usize..11
        ) {
            let units: Vec<MeasureUnit> = MeasureUnit::ALL
                .into_iter()
                .filter(|unit| unit.dimension() == Dimension::Volume)
                .collect();
            let from = Measured { value: Decimal::new(n, places).unwrap(), unit: units[from] };
            let exact = from.number_in(units[to]).unwrap();
            if let UsedAmount::Measured(told) = UsedAmount::Measured(from).in_unit(units[to])
                && told.unit == units[to]
            {
                let share = told.value.to_f64() / exact;
                prop_assert!((1.0 - 1e-3..=1.010_001).contains(&share), "{from} {told}");
            }
        }

        #[test]
        fn a_sum_is_enough_and_hardly_more(a in 1i64..100_000, b in 1i64..100_000, places in 0u8..3, unit in 0usize..11) {
            let units: Vec<MeasureUnit> = MeasureUnit::ALL
                .into_iter()
                .filter(|unit| unit.dimension() == Dimension::Volume)
                .collect();
            let of = |n, unit| Measured { value: Decimal::new(n, places).unwrap(), unit };
            let (a, b) = (of(a, MeasureUnit::Millilitre), of(b, units[unit]));
            let exact = a.value.to_f64() + b.number_in(a.unit).unwrap();
            if let Some(UsedAmount::Measured(sum)) = UsedAmount::Measured(a).plus(UsedAmount::Measured(b)) {
                let sum = sum.value.to_f64();
                prop_assert!(sum >= exact - 1e-5 && sum <= exact + 1.0 + 1e-9);
            }
        }
    }
}
