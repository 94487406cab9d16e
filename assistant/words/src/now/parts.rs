//! Numbers said in parts of their unit: "two hundred thou", "three eighths of an inch", "four tenths".

use crate::number::cardinal;
use crate::number::spanish::{self, Before};
use steps::{Decimal, Language};

/// A part of a unit, as it is said after a number.
struct Part {
    one: &'static str,
    many: &'static str,
    /// Other ways to say it.
    also: &'static [&'static str],
    /// How many places it stands behind its unit.
    places: u8,
}

/// Thousandths, "thou" in the shop. "Tenths" alone isn't taken: it may mean those of an inch, or of a thou.
const OF_AN_INCH: &[Part] = &[
    Part {
        one: "thou",
        many: "thou",
        also: &["thousandths", "thousandth", "thousandths of an inch"],
        places: 3,
    },
    Part {
        one: "tenth of a thou",
        many: "tenths of a thou",
        also: &[],
        places: 4,
    },
];

const OF_A_MILLIMETRE: &[Part] = &[
    Part {
        one: "tenth",
        many: "tenths",
        also: &[
            "tenths of a millimetre",
            "tenths of a millimeter",
            "tenth of a millimetre",
            "tenth of a millimeter",
        ],
        places: 1,
    },
    Part {
        one: "hundredth",
        many: "hundredths",
        also: &[
            "hundredths of a millimetre",
            "hundredths of a millimeter",
            "hundredth of a millimetre",
            "hundredth of a millimeter",
        ],
        places: 2,
    },
];

const PARTS_OF_A_PULGADA: &[Part] = &[Part {
    one: "milésima",
    many: "milésimas",
    also: &["milesimas", "milésimas de pulgada", "milesimas de pulgada"],
    places: 3,
}];

const PARTS_OF_A_MILIMETRO: &[Part] = &[
    Part {
        one: "décima",
        many: "décimas",
        also: &[
            "decima",
            "decimas",
            "décimas de milímetro",
            "decimas de milimetro",
        ],
        places: 1,
    },
    Part {
        one: "centésima",
        many: "centésimas",
        also: &[
            "centesima",
            "centesimas",
            "centésimas de milímetro",
            "centesimas de milimetro",
        ],
        places: 2,
    },
];

/// A unit's parts, and the words between a fraction and the unit: "three eighths of an inch".
fn parts_of(language: Language, unit: &str) -> (&'static [Part], &'static [&'static str]) {
    if language == Language::Spanish {
        return match unit.trim() {
            "in" | "″" | "\"" => (PARTS_OF_A_PULGADA, &[]),
            "mm" => (PARTS_OF_A_MILIMETRO, &[]),
            _ => (&[], &[]),
        };
    }
    match unit.trim() {
        "in" | "″" | "\"" => (OF_AN_INCH, &["of an inch", "half an inch"]),
        "mm" => (
            OF_A_MILLIMETRE,
            &[
                "of a millimetre",
                "of a millimeter",
                "half a millimetre",
                "half a millimeter",
            ],
        ),
        _ => (&[], &[]),
    }
}

/// Whether a number in tenths could mean those of an inch or, as a machinist says it, of a thou.
pub(super) fn is_doubtful(text: &str, unit: &str) -> bool {
    let inches = matches!(unit.trim(), "in" | "″" | "\"");
    inches && (text.ends_with(" tenths") || text.ends_with(" tenth"))
}

/// "Nine hundred and ninety-nine thou".
const MOST: u64 = 999;

/// How a value below one of its unit is said in the coarsest of its parts that it is so many whole ones of, and how
/// that is written: none where it isn't.
pub(super) fn said(language: Language, value: Decimal, unit: &str) -> (Vec<String>, Vec<String>) {
    let trimmed = value.trimmed();
    let count = |part: &Part| {
        let missing = part.places.checked_sub(trimmed.places())?;
        let count = trimmed
            .digits()
            .checked_mul(10i64.pow(u32::from(missing)))?;
        let count = u64::try_from(count).ok()?;
        (1..=MOST).contains(&count).then_some(count)
    };
    let below_one = value.to_f64() < 1.0;
    let parts = parts_of(language, unit).0.iter();
    let coarsest = parts
        .filter_map(|part| count(part).map(|count| (part, count)))
        .next();
    let Some((part, count)) = coarsest.filter(|_| below_one) else {
        return (Vec::new(), Vec::new());
    };
    let words = if count == 1 { part.one } else { part.many };
    let (usual, without_and) = match language {
        Language::English => {
            let usual = format!("{} {words}", cardinal(count).replace('-', " "));
            let without_and = usual.replace(" and ", " ");
            (usual, without_and)
        }
        Language::Spanish => {
            let usual = format!("{} {words}", spanish::cardinal(count, Before::Feminine));
            (usual.clone(), usual)
        }
    };
    let mut spoken = vec![usual.clone()];
    if without_and != usual {
        spoken.push(without_and);
    }
    (spoken, vec![format!("{count} {words}"), usual])
}

/// The value of a number that was said in parts of the unit; `number` reads what stands before the part.
pub(super) fn read(
    language: Language,
    text: &str,
    unit: &str,
    number: impl Fn(&str) -> Option<Decimal>,
) -> Option<Decimal> {
    let before = |words: &str| text.strip_suffix(words)?.strip_suffix(' ');
    let (parts, fraction) = parts_of(language, unit);
    let whole = fraction.iter().find_map(|words| match *words {
        half if half.starts_with("half") => (text == half).then_some("half"),
        of => before(of),
    });
    if let Some(value) = whole.and_then(&number) {
        return Some(value);
    }
    parts.iter().find_map(|part| {
        let words = [part.one, part.many].into_iter();
        let words = words.chain(part.also.iter().copied());
        // The longest words leave the shortest number.
        let number_said = words.filter_map(before).min_by_key(|before| before.len())?;
        let value = number(number_said)?;
        let places = value.places().checked_add(part.places)?;
        Decimal::new(value.digits(), places)
    })
}
