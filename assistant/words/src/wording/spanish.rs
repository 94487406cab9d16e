//! Numbers, units and signs in Spanish words. Names of units follow the International System of Units as the Centro
//! Español de Metrología publishes it in Spanish; torque is said “newton metro”, “libra pie” (common practice, no source).

use super::Pace;
use super::numerals::{LONGEST, ascii_digits, clock, fraction};
use super::scan::GAPS;
use super::units::{self, Unit};
use crate::number::spanish::{Before, cardinal, digit_by_digit};

/// Units by their English name: for one, for many, and whether they are feminine.
const UNITS: &[(&str, &str, &str, bool)] = &[
    ("foot-pound", "libra pie", "libras pie", true),
    ("inch-pound", "libra pulgada", "libras pulgada", true),
    ("inch-ounce", "onza pulgada", "onzas pulgada", true),
    (
        "kilonewton metre",
        "kilonewton metro",
        "kilonewton metro",
        false,
    ),
    (
        "centinewton metre",
        "centinewton metro",
        "centinewton metro",
        false,
    ),
    (
        "newton centimetre",
        "newton centímetro",
        "newton centímetro",
        false,
    ),
    (
        "newton millimetre",
        "newton milímetro",
        "newton milímetro",
        false,
    ),
    ("newton metre", "newton metro", "newton metro", false),
    (
        "kilogram-force metre",
        "kilogramo fuerza metro",
        "kilogramos fuerza metro",
        false,
    ),
    (
        "kilogram-force centimetre",
        "kilogramo fuerza centímetro",
        "kilogramos fuerza centímetro",
        false,
    ),
    ("watt hour", "vatio hora", "vatios hora", false),
    ("ampere hour", "amperio hora", "amperios hora", false),
    (
        "square millimetre",
        "milímetro cuadrado",
        "milímetros cuadrados",
        false,
    ),
    (
        "square centimetre",
        "centímetro cuadrado",
        "centímetros cuadrados",
        false,
    ),
    ("square metre", "metro cuadrado", "metros cuadrados", false),
    (
        "cubic millimetre",
        "milímetro cúbico",
        "milímetros cúbicos",
        false,
    ),
    (
        "cubic centimetre",
        "centímetro cúbico",
        "centímetros cúbicos",
        false,
    ),
    ("cubic metre", "metro cúbico", "metros cúbicos", false),
    (
        "kilometre per hour",
        "kilómetro por hora",
        "kilómetros por hora",
        false,
    ),
    (
        "metre per second squared",
        "metro por segundo al cuadrado",
        "metros por segundo al cuadrado",
        false,
    ),
    (
        "metre per second",
        "metro por segundo",
        "metros por segundo",
        false,
    ),
    ("mile per hour", "milla por hora", "millas por hora", true),
    (
        "revolution per minute",
        "revolución por minuto",
        "revoluciones por minuto",
        true,
    ),
    (
        "litre per minute",
        "litro por minuto",
        "litros por minuto",
        false,
    ),
    (
        "newton per square millimetre",
        "newton por milímetro cuadrado",
        "newtons por milímetro cuadrado",
        false,
    ),
    (
        "newton per millimetre",
        "newton por milímetro",
        "newtons por milímetro",
        false,
    ),
    (
        "gram per kilometre",
        "gramo por kilómetro",
        "gramos por kilómetro",
        false,
    ),
    ("millimetre", "milímetro", "milímetros", false),
    ("centimetre", "centímetro", "centímetros", false),
    ("kilometre", "kilómetro", "kilómetros", false),
    ("micrometre", "micrómetro", "micrómetros", false),
    ("metre", "metro", "metros", false),
    ("inch", "pulgada", "pulgadas", true),
    ("foot", "pie", "pies", false),
    ("thou", "milésima de pulgada", "milésimas de pulgada", true),
    ("kilogram", "kilogramo", "kilogramos", false),
    ("milligram", "miligramo", "miligramos", false),
    ("gram", "gramo", "gramos", false),
    ("tonne", "tonelada", "toneladas", true),
    ("pound", "libra", "libras", true),
    ("ounce", "onza", "onzas", true),
    ("pound-force", "libra fuerza", "libras fuerza", true),
    (
        "kilogram-force",
        "kilogramo fuerza",
        "kilogramos fuerza",
        false,
    ),
    ("kilonewton", "kilonewton", "kilonewtons", false),
    ("newton", "newton", "newtons", false),
    ("kilopascal", "kilopascal", "kilopascales", false),
    ("megapascal", "megapascal", "megapascales", false),
    ("millibar", "milibar", "milibares", false),
    ("bar", "bar", "bares", false),
    (
        "pound per square inch",
        "libra por pulgada cuadrada",
        "libras por pulgada cuadrada",
        true,
    ),
    ("kilovolt", "kilovoltio", "kilovoltios", false),
    ("millivolt", "milivoltio", "milivoltios", false),
    ("volt", "voltio", "voltios", false),
    ("milliampere", "miliamperio", "miliamperios", false),
    ("ampere", "amperio", "amperios", false),
    ("kilohm", "kilohmio", "kilohmios", false),
    ("megohm", "megaohmio", "megaohmios", false),
    ("milliohm", "miliohmio", "miliohmios", false),
    ("ohm", "ohmio", "ohmios", false),
    ("kilowatt", "kilovatio", "kilovatios", false),
    ("watt", "vatio", "vatios", false),
    ("kilohertz", "kilohercio", "kilohercios", false),
    ("megahertz", "megahercio", "megahercios", false),
    ("hertz", "hercio", "hercios", false),
    ("decibel", "decibelio", "decibelios", false),
    ("millilitre", "mililitro", "mililitros", false),
    ("centilitre", "centilitro", "centilitros", false),
    ("litre", "litro", "litros", false),
    ("millisecond", "milisegundo", "milisegundos", false),
    ("second", "segundo", "segundos", false),
    ("minute", "minuto", "minutos", false),
    ("hour", "hora", "horas", true),
    ("kelvin", "kelvin", "kelvins", false),
    ("degree Celsius", "grado Celsius", "grados Celsius", false),
    (
        "degree Fahrenheit",
        "grado Fahrenheit",
        "grados Fahrenheit",
        false,
    ),
    ("degree", "grado", "grados", false),
    ("percent", "por ciento", "por ciento", false),
    ("per mille", "por mil", "por mil", false),
];

/// How a unit is said, for one and for many, and whether it is feminine.
fn named(unit: Unit) -> (&'static str, &'static str, bool) {
    let found = UNITS.iter().find(|(english, ..)| *english == unit.one);
    // The tests look that each unit is here.
    found.map_or((unit.one, unit.many, false), |(_, one, many, feminine)| {
        (one, many, *feminine)
    })
}

/// The words for one and for many of the unit at the beginning of the text, with its length.
pub(super) fn unit_at_start(text: &str) -> Option<(Unit, &'static str, &'static str, usize)> {
    let (unit, length) = units::at_start(text)?;
    let (one, many, _) = named(unit);
    Some((unit, one, many, length))
}

/// A sign in words.
pub(super) fn sign_words(sign: char) -> Option<&'static str> {
    Some(match sign {
        '±' => "más o menos",
        '≤' => "como máximo",
        '≥' => "como mínimo",
        '<' => "menos de",
        '>' => "más de",
        '=' => "igual a",
        '≈' | '~' => "unos",
        '+' => "más",
        '−' => "menos",
        '×' => "por",
        '÷' => "entre",
        '&' => "y",
        '@' => "arroba",
        '#' | '№' => "número",
        '§' => "sección",
        '→' => "a",
        'Ø' | '⌀' | 'ø' => "diámetro",
        '$' => "dólares",
        '€' => "euros",
        '£' => "libras esterlinas",
        '°' => "grados",
        '%' => "por ciento",
        '‰' => "por mil",
        'µ' | 'μ' => "micro",
        '\u{03A9}' | '\u{2126}' => "ohmios",
        '²' => "al cuadrado",
        '³' => "al cubo",
        _ => return None,
    })
}

/// A written number.
struct Number<'a> {
    digits: &'a str,
    /// After a point or a comma.
    fraction: &'a str,
    /// The part of one that is added: 3/4.
    part: Option<(u64, u64)>,
    length: usize,
}

/// The number at the beginning of the text with all that belongs to it (its range, what it is multiplied by, its unit)
/// in words, and its length.
pub(super) fn quantity(text: &str, pace: Pace) -> Option<(String, usize)> {
    let mut numbers = vec![number(text)?];
    let mut joints = Vec::new();
    let mut at = numbers[0].length;
    if let Some((words, length)) = time(text) {
        return Some((words, length));
    }
    while let Some((joint, length)) = joint(&text[at..]) {
        let Some(next) = number(&text[at + length..]) else {
            break;
        };
        at += length + next.length;
        joints.push(joint);
        numbers.push(next);
    }
    let after = &text[at..];
    let rest = after.trim_start_matches(GAPS);
    let hyphen = usize::from(rest.len() == after.len() && rest.starts_with('-'));
    let unit = units::at_start(&rest[hyphen..]).filter(|(_, length)| {
        // A single letter with something else glued on is a name (“10W-40”).
        let glued = rest[hyphen + length..].strip_prefix('-');
        !glued.is_some_and(|it| it.starts_with(|c: char| c.is_ascii_digit()))
    });
    let before = match unit {
        Some((unit, _)) if named(unit).2 => Before::Feminine,
        Some(_) => Before::Masculine,
        None => agreement(after),
    };
    let last = numbers.len() - 1;
    let mut words = String::new();
    for (number, (place, joint)) in numbers
        .iter()
        .zip((0..).zip([""].into_iter().chain(joints)))
    {
        // Only what stands right before the noun agrees with it: “catorce por uno coma cinco”.
        let before = if place == last {
            before
        } else {
            Before::Nothing
        };
        let said = number.words(before, unit.is_some() && place == last, pace);
        words.push_str(&format!(" {joint} {said}"));
    }
    if let Some((unit, length)) = unit {
        let (one, many, _) = named(unit);
        let is_one = numbers[last].is_one() && last == 0;
        let pause = if pace == Pace::DigitByDigit { "," } else { "" };
        let of = match numbers[last].part {
            Some((1, 2)) | None => "",
            Some(_) if numbers[last].digits.is_empty() => "de ",
            Some(_) => "",
        };
        let name = match is_one || numbers[last].digits.is_empty() {
            true => one,
            false => many,
        };
        words.push_str(&format!("{pause} {of}{name}"));
        at += after.len() - rest.len() + hyphen + length;
    }
    let words: Vec<&str> = words.split_whitespace().collect();
    Some((words.join(" "), at))
}

impl Number<'_> {
    fn is_one(&self) -> bool {
        self.part.is_none()
            && self.digits.trim_start_matches('0') == "1"
            && self.fraction.is_empty()
    }

    fn words(&self, before: Before, unit_follows: bool, pace: Pace) -> String {
        let whole = whole(self.digits, before, pace, self.fraction.is_empty());
        match (self.part, self.fraction) {
            (Some(part), _) if self.digits.is_empty() => {
                let feminine = unit_follows && before == Before::Feminine;
                part_words(part, feminine)
            }
            (Some(part), _) => {
                format!("{whole} y {}", part_words(part, before == Before::Feminine))
            }
            (None, "") => whole,
            (None, fraction) => format!("{whole} coma {}", digit_by_digit(fraction)),
        }
    }
}

pub(super) fn whole_words(digits: &str) -> String {
    digit_by_digit(digits)
}

fn whole(digits: &str, before: Before, pace: Pace, alone: bool) -> String {
    let noughts = digits.len() > 1 && digits.starts_with('0');
    let before = if alone { before } else { Before::Nothing };
    match (pace, digits.parse()) {
        _ if digits.is_empty() => digit_by_digit("0"),
        (Pace::Usual, Ok(value)) if digits.len() <= LONGEST && !noughts => cardinal(value, before),
        (Pace::Usual | Pace::DigitByDigit, _) => digit_by_digit(digits),
    }
}

/// “Medio”, “tres cuartos”.
fn part_words((many, of): (u64, u64), feminine: bool) -> String {
    let name = match of {
        2 if feminine => "media".to_owned(),
        2 => "medio".to_owned(),
        3 => "tercio".to_owned(),
        4 => "cuarto".to_owned(),
        5 => "quinto".to_owned(),
        6 => "sexto".to_owned(),
        7 => "séptimo".to_owned(),
        8 => "octavo".to_owned(),
        9 => "noveno".to_owned(),
        10 => "décimo".to_owned(),
        16 => "dieciseisavo".to_owned(),
        32 => "treintaidosavo".to_owned(),
        64 => "sesentaicuatroavo".to_owned(),
        of => {
            let of = cardinal(of, Before::Nothing);
            return format!("{} sobre {of}", cardinal(many, Before::Nothing));
        }
    };
    match (many, of) {
        (1, 2) => name,
        (1, _) => format!("un {name}"),
        _ => format!("{} {name}s", cardinal(many, Before::Masculine)),
    }
}

fn number(text: &str) -> Option<Number<'_>> {
    let length = ascii_digits(text);
    let (digits, rest) = text.split_at(length);
    if let Some((part, length)) = part(text) {
        return Some(Number {
            digits: "",
            fraction: "",
            part: Some(part),
            length,
        });
    }
    let fraction = rest
        .strip_prefix(['.', ','])
        .map(|after| &after[..ascii_digits(after)])
        .filter(|fraction| !fraction.is_empty());
    if digits.is_empty() && fraction.is_none() {
        return None;
    }
    if let Some(fraction) = fraction {
        return Some(Number {
            digits,
            fraction,
            part: None,
            length: length + 1 + fraction.len(),
        });
    }
    let gap = rest.len() - rest.trim_start_matches(GAPS).len();
    let part = part(&rest[gap..]);
    Some(Number {
        digits,
        fraction: "",
        part: part.map(|(part, _)| part),
        length: length + part.map_or(0, |(_, length)| gap + length),
    })
}

/// “3/4”, “¾”: a part of one that has a name, with its length.
fn part(text: &str) -> Option<((u64, u64), usize)> {
    let ((many, of), length) = fraction(text)?;
    let known = matches!(of, 2..=10 | 16 | 32 | 64);
    (known && many > 0 && many < of).then_some(((many, of), length))
}

/// “10:30”.
fn time(text: &str) -> Option<(String, usize)> {
    let (hour, minute, length) = clock(text)?;
    let hour = cardinal(hour, Before::Feminine);
    let words = match minute {
        0 => format!("{hour} en punto"),
        minute => format!("{hour} y {}", cardinal(minute, Before::Nothing)),
    };
    Some((words, length))
}

/// What joins two numbers, in words, and its length.
fn joint(text: &str) -> Option<(&'static str, usize)> {
    let gap = |text: &str| text.len() - text.trim_start_matches(GAPS).len();
    let before = gap(text);
    let sign = text[before..].chars().next()?;
    let after = before + sign.len_utf8();
    let between = gap(&text[after..]);
    let tight = before == 0 && between == 0;
    let words = match sign {
        '–' | '—' => "a",
        '-' if tight => "a",
        '×' | 'x' | '*' if (before == 0) == (between == 0) => "por",
        '/' if tight => "sobre",
        ':' if tight => "a",
        _ => return None,
    };
    Some((words, after + between))
}

/// Words after a number that it doesn't count.
const NOT_COUNTED: &[&str] = &[
    "a", "al", "como", "con", "de", "del", "e", "en", "es", "está", "hasta", "menos", "más", "o",
    "para", "pero", "por", "que", "se", "sin", "son", "u", "y",
];

/// Nouns whose ending doesn't tell their gender.
const FEMININE: &[&str] = &[
    "vez", "veces", "llave", "llaves", "base", "bases", "clase", "clases", "parte", "partes",
    "torre", "torres", "red", "redes", "señal", "señales",
];
const MASCULINE: &[&str] = &[
    "día",
    "días",
    "sistema",
    "sistemas",
    "problema",
    "problemas",
    "esquema",
    "esquemas",
    "diagrama",
    "diagramas",
];

/// What a number that stands before this text agrees with, by the ending of the next word.
fn agreement(after: &str) -> Before {
    let Some(text) = after.strip_prefix(GAPS) else {
        return Before::Nothing;
    };
    let end = text
        .find(|c: char| !c.is_alphabetic())
        .unwrap_or(text.len());
    let word = text[..end].to_lowercase();
    let word = word.as_str();
    if word.is_empty() || NOT_COUNTED.contains(&word) {
        return Before::Nothing;
    }
    let ending = ["a", "as", "ión", "iones", "dad", "dades"]
        .iter()
        .any(|ending| word.ends_with(ending));
    match FEMININE.contains(&word) || ending && !MASCULINE.contains(&word) {
        true => Before::Feminine,
        false => Before::Masculine,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_unit_has_a_name() {
        for unit in units::all() {
            let count = UNITS.iter().filter(|it| it.0 == unit.one).count();
            assert_eq!(count, 1, "{}", unit.one);
        }
        assert_eq!(units::all().count(), UNITS.len());
    }
}
