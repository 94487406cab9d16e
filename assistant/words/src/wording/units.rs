//! Units by their symbols. Names follow the International System of Units and NIST SP 811; torque in pounds
//! is said "foot-pounds" and "inch-pounds" in the trade (common practice, no source).

use steps::Language;

/// A unit: how it is written, and said for one and for many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Unit {
    symbols: &'static [&'static str],
    pub one: &'static str,
    pub many: &'static str,
    /// Whether the symbol is a unit without a number before it too; single letters and words aren't.
    pub alone: bool,
}

const fn unit(
    symbols: &'static [&'static str],
    one: &'static str,
    many: &'static str,
    alone: bool,
) -> Unit {
    Unit {
        symbols,
        one,
        many,
        alone,
    }
}

/// Symbols are written with `·` for any sign of multiplication between units.
const UNITS: &[Unit] = &[
    unit(
        &["lbf·ft", "ft·lbf", "lb·ft", "ft·lb", "lbf·feet"],
        "foot-pound",
        "foot-pounds",
        true,
    ),
    unit(
        &["lbf·in", "in·lbf", "lb·in", "in·lb"],
        "inch-pound",
        "inch-pounds",
        true,
    ),
    unit(
        &["ozf·in", "in·ozf", "oz·in"],
        "inch-ounce",
        "inch-ounces",
        true,
    ),
    unit(&["kN·m"], "kilonewton metre", "kilonewton metres", true),
    unit(&["cN·m"], "centinewton metre", "centinewton metres", true),
    unit(&["N·cm"], "newton centimetre", "newton centimetres", true),
    unit(&["N·mm"], "newton millimetre", "newton millimetres", true),
    unit(&["N·m", "Nm"], "newton metre", "newton metres", true),
    unit(
        &["kgf·m", "kg·m", "kgm"],
        "kilogram-force metre",
        "kilogram-force metres",
        true,
    ),
    unit(
        &["kgf·cm"],
        "kilogram-force centimetre",
        "kilogram-force centimetres",
        true,
    ),
    unit(&["W·h", "Wh"], "watt hour", "watt hours", true),
    unit(&["A·h", "Ah"], "ampere hour", "ampere hours", true),
    unit(&["mm²"], "square millimetre", "square millimetres", true),
    unit(&["cm²"], "square centimetre", "square centimetres", true),
    unit(&["m²"], "square metre", "square metres", true),
    unit(&["mm³"], "cubic millimetre", "cubic millimetres", true),
    unit(
        &["cm³", "cc"],
        "cubic centimetre",
        "cubic centimetres",
        true,
    ),
    unit(&["m³"], "cubic metre", "cubic metres", true),
    unit(
        &["km/h", "kph"],
        "kilometre per hour",
        "kilometres per hour",
        true,
    ),
    unit(
        &["m/s²"],
        "metre per second squared",
        "metres per second squared",
        true,
    ),
    unit(&["m/s"], "metre per second", "metres per second", true),
    unit(&["mph"], "mile per hour", "miles per hour", true),
    unit(
        &["rpm", "r/min", "min⁻¹"],
        "revolution per minute",
        "revolutions per minute",
        true,
    ),
    unit(
        &["l/min", "L/min"],
        "litre per minute",
        "litres per minute",
        true,
    ),
    unit(
        &["N/mm²"],
        "newton per square millimetre",
        "newtons per square millimetre",
        true,
    ),
    unit(
        &["N/mm"],
        "newton per millimetre",
        "newtons per millimetre",
        true,
    ),
    unit(&["g/km"], "gram per kilometre", "grams per kilometre", true),
    unit(&["mm"], "millimetre", "millimetres", true),
    unit(&["cm"], "centimetre", "centimetres", true),
    unit(&["km"], "kilometre", "kilometres", true),
    unit(&["µm", "μm"], "micrometre", "micrometres", true),
    unit(&["m"], "metre", "metres", false),
    unit(&["in", "″", "\""], "inch", "inches", false),
    unit(&["ft"], "foot", "feet", false),
    unit(&["thou"], "thou", "thou", false),
    unit(&["kg"], "kilogram", "kilograms", true),
    unit(&["mg"], "milligram", "milligrams", true),
    unit(&["g"], "gram", "grams", false),
    unit(&["t"], "tonne", "tonnes", false),
    unit(&["lb", "lbs"], "pound", "pounds", true),
    unit(&["oz"], "ounce", "ounces", true),
    unit(&["lbf"], "pound-force", "pounds-force", true),
    unit(&["kgf"], "kilogram-force", "kilograms-force", true),
    unit(&["kN"], "kilonewton", "kilonewtons", true),
    unit(&["N"], "newton", "newtons", false),
    unit(&["kPa"], "kilopascal", "kilopascals", true),
    unit(&["MPa"], "megapascal", "megapascals", true),
    unit(&["mbar"], "millibar", "millibar", true),
    unit(&["bar"], "bar", "bar", false),
    unit(
        &["psi"],
        "pound per square inch",
        "pounds per square inch",
        true,
    ),
    unit(&["kV"], "kilovolt", "kilovolts", true),
    unit(&["mV"], "millivolt", "millivolts", true),
    unit(&["V"], "volt", "volts", false),
    unit(&["mA"], "milliampere", "milliamperes", true),
    unit(&["A"], "ampere", "amperes", false),
    unit(&["kΩ"], "kilohm", "kilohms", true),
    unit(&["MΩ"], "megohm", "megohms", true),
    unit(&["mΩ"], "milliohm", "milliohms", true),
    unit(&["\u{03A9}", "\u{2126}"], "ohm", "ohms", true),
    unit(&["kW"], "kilowatt", "kilowatts", true),
    unit(&["W"], "watt", "watts", false),
    unit(&["kHz"], "kilohertz", "kilohertz", true),
    unit(&["MHz"], "megahertz", "megahertz", true),
    unit(&["Hz"], "hertz", "hertz", true),
    unit(&["dB"], "decibel", "decibels", true),
    unit(&["ml", "mL"], "millilitre", "millilitres", true),
    unit(&["cl", "cL"], "centilitre", "centilitres", true),
    unit(&["l", "L", "ℓ"], "litre", "litres", false),
    unit(&["ms"], "millisecond", "milliseconds", true),
    unit(&["s"], "second", "seconds", false),
    unit(&["min"], "minute", "minutes", false),
    unit(&["h"], "hour", "hours", false),
    unit(&["K"], "kelvin", "kelvins", false),
    unit(&["°C", "℃"], "degree Celsius", "degrees Celsius", true),
    unit(
        &["°F", "℉"],
        "degree Fahrenheit",
        "degrees Fahrenheit",
        true,
    ),
    unit(&["°"], "degree", "degrees", true),
    unit(&["%"], "percent", "percent", true),
    unit(&["‰"], "per mille", "per mille", true),
];

/// What joins units to a product, in any of its writings.
fn is_product(c: char) -> bool {
    matches!(c, '·' | '⋅' | '∙' | '•' | '*' | '×')
}

/// Every unit.
#[cfg(test)]
pub(super) fn all() -> impl Iterator<Item = Unit> {
    UNITS.iter().copied()
}

fn unit_of(symbol: &str) -> Option<Unit> {
    UNITS
        .iter()
        .copied()
        .find(|unit| unit.symbols.contains(&symbol))
}

/// Letters and signs of the longest symbol; a test counts them. What is longer isn't looked up.
const LONGEST: usize = 8;

/// Signs, besides letters, that a unit begins with.
const FIRST_SIGNS: &str = "°%‰″\"℃℉";

/// The unit at the beginning of the text, with its length in bytes; the longest wins. A unit in letters
/// ends where the letters end.
pub(super) fn at_start(text: &str) -> Option<(Unit, usize)> {
    let first = text.chars().next()?;
    if !(first.is_alphabetic() || FIRST_SIGNS.contains(first)) {
        return None;
    }
    let candidate_end = text
        .char_indices()
        .take(LONGEST + 1)
        .find(|&(at, c)| {
            let separator = is_product(c) || matches!(c, '/' | '²' | '³' | '⁻' | '¹' | '.' | '-');
            !(c.is_alphabetic() || separator || FIRST_SIGNS.contains(c)) || at > 24
        })
        .map_or(text.len(), |(at, _)| at);
    let mut ends: Vec<usize> = text[..candidate_end]
        .char_indices()
        .take(LONGEST)
        .map(|(at, c)| at + c.len_utf8())
        .collect();
    ends.reverse();
    ends.into_iter().find_map(|end| {
        let (symbol, rest) = text.split_at(end);
        let whole = |c: char| !c.is_alphanumeric() && !is_product(c) || "²³".contains(c);
        let ends_in_letter = symbol.ends_with(|c: char| c.is_alphabetic());
        let ended = !ends_in_letter || rest.chars().next().is_none_or(whole);
        if !ended {
            return None;
        }
        // "N.m" and "ft-lb" are products too; a full stop at the end of a sentence isn't.
        let products: String = symbol
            .chars()
            .map(|c| {
                if is_product(c) || c == '-' || c == '.' {
                    '·'
                } else {
                    c
                }
            })
            .collect();
        unit_of(&products).map(|unit| (unit, end))
    })
}

/// How a unit is said, for one and for many: `("millimetre", "millimetres")` for `mm`. `None` for what is
/// no unit's symbol.
pub fn unit_words(language: Language, symbol: &str) -> Option<(&'static str, &'static str)> {
    let symbol = symbol.trim();
    let (one, many, end) = match language {
        Language::English => {
            let (unit, end) = at_start(symbol)?;
            (unit.one, unit.many, end)
        }
        Language::Spanish => {
            let (_, one, many, end) = super::spanish::unit_at_start(symbol)?;
            (one, many, end)
        }
    };
    (end == symbol.len()).then_some((one, many))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_symbol_is_longer_or_begins_otherwise_than_is_looked_for() {
        let symbols = || UNITS.iter().flat_map(|unit| unit.symbols);
        let longest = symbols().map(|symbol| symbol.chars().count()).max();
        assert_eq!(longest, Some(LONGEST));
        for symbol in symbols() {
            let begins = |c: char| c.is_alphabetic() || FIRST_SIGNS.contains(c);
            assert!(symbol.starts_with(begins), "{symbol}");
        }
    }

    #[test]
    fn every_symbol_is_one_units_and_is_found() {
        for unit in UNITS {
            for symbol in unit.symbols {
                assert_eq!(
                    UNITS
                        .iter()
                        .filter(|other| other.symbols.contains(symbol))
                        .count(),
                    1
                );
                assert_eq!(at_start(symbol), Some((*unit, symbol.len())), "{symbol}");
            }
        }
    }
}
