//! Sums of exact decimals, for limits that must not drift by a binary fraction.

use crate::{Decimal, MAX_PLACES};

/// The sum, at the places of the longer one; `None` beyond what a [`Decimal`] can hold.
pub(super) fn sum(a: Decimal, b: Decimal) -> Option<Decimal> {
    let places = a.places().max(b.places());
    let digits = lifted(a, places)?.checked_add(lifted(b, places)?)?;
    Decimal::new(digits, places)
}

/// The difference `a` − `b`, at the places of the longer one.
pub(super) fn difference(a: Decimal, b: Decimal) -> Option<Decimal> {
    sum(a, Decimal::new(-b.digits(), b.places())?)
}

/// The middle between two.
pub(super) fn middle(a: Decimal, b: Decimal) -> Option<Decimal> {
    let sum = sum(a, b)?;
    if sum.digits() % 2 == 0 {
        return Decimal::new(sum.digits() / 2, sum.places());
    }
    let places = sum.places().checked_add(1).filter(|p| *p <= MAX_PLACES)?;
    Decimal::new(sum.digits().checked_mul(5)?, places)
}

/// So many times a number.
pub(super) fn times(a: Decimal, n: i64) -> Option<Decimal> {
    Decimal::new(a.digits().checked_mul(n)?, a.places())
}

/// So many per cent of a number.
pub(super) fn percent_of(a: Decimal, percent: Decimal) -> Option<Decimal> {
    let (a, percent) = (a.trimmed(), percent.trimmed());
    let digits = a.digits().checked_mul(percent.digits())?;
    let places = a.places() + percent.places() + 2;
    if places <= MAX_PLACES {
        Some(Decimal::new(digits, places)?.trimmed())
    } else {
        Decimal::nearest(a.to_f64() * percent.to_f64() / 100.0, MAX_PLACES).map(Decimal::trimmed)
    }
}

fn lifted(a: Decimal, places: u8) -> Option<i64> {
    a.digits()
        .checked_mul(10i64.checked_pow(u32::from(places.checked_sub(a.places())?))?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn d(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    #[test]
    fn sums_are_exact() {
        assert_eq!(sum(d("0.1"), d("0.2")), Some(d("0.3")));
        assert_eq!(difference(d("100"), d("0.05")), Some(d("99.95")));
        assert_eq!(middle(d("30"), d("45")), Some(d("37.5")));
        assert_eq!(percent_of(d("140"), d("10")), Some(d("14")));
        assert_eq!(times(d("0.5"), 3), Some(d("1.5")));
        assert_eq!(sum(d("999999999999"), d("1")), None);
    }
}
