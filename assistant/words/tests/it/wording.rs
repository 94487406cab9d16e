//! Sentences as a handbook writes them, and how they are said.

use proptest::prelude::*;
use steps::Language;
use words::wording::{spoken, spoken_slowly, unit_words};

const EN: Language = Language::English;

#[test]
fn sentences_are_written_out() {
    for (written, said) in [
        (
            "Tighten the 5 wheel nuts to 103 lbf·ft (140 N·m), 21 mm hex.",
            "Tighten the five wheel nuts to one hundred and three foot-pounds, one hundred and forty newton metres, twenty-one millimetre hex.",
        ),
        ("M14x1.5", "M fourteen by one point five"),
        ("M14 × 1.5 stud", "M fourteen by one point five stud"),
        ("an M8 bolt", "an M eight bolt"),
        ("0.05 mm", "zero point zero five millimetres"),
        ("1 mm", "one millimetre"),
        ("3/4 in", "three quarters of an inch"),
        ("1/2 in drive", "half inch drive"),
        ("a 3/8-in drive", "a three eighths inch drive"),
        ("1 1/2 in long", "one and a half inches long"),
        ("1½ in", "one and a half inches"),
        ("½ in", "half an inch"),
        ("25 %", "twenty-five percent"),
        ("25%.", "twenty-five percent."),
        ("Turn a further 90°.", "Turn a further ninety degrees."),
        ("80 °C", "eighty degrees Celsius"),
        ("−5 °C", "minus five degrees Celsius"),
        ("at -5°C", "at minus five degrees Celsius"),
        ("12 V", "twelve volts"),
        ("a 12 V battery", "a twelve volt battery"),
        ("at 10:30", "at ten thirty"),
        ("9:05, 10:00", "nine oh five, ten o'clock"),
        ("14 kgf·m", "fourteen, kilogram-force metres"),
        ("89 lbf·in", "eighty-nine inch-pounds"),
        ("1 lbf·ft", "one foot-pound"),
        ("3–5 mm", "three to five millimetres"),
        ("3-5 mm", "three to five millimetres"),
        ("3 – 5 mm", "three to five millimetres"),
        ("the 1st and 22nd", "the first and twenty-second"),
        ("Put 2 in the tray", "Put two in the tray"),
        ("Tighten 5 in a star", "Tighten five in a star"),
        ("2 in deep", "two inches deep"),
        ("±0.1 mm", "plus or minus zero point one millimetres"),
        (
            "1,200 rpm",
            "one thousand two hundred revolutions per minute",
        ),
        ("T30 bit", "T thirty bit"),
        ("10W-40", "ten W forty"),
        ("110 Nm", "one hundred and ten newton metres"),
        ("110 N.m.", "one hundred and ten newton metres."),
        ("50 ft-lb", "fifty foot-pounds"),
        ("a 200 N·m wrench", "a two hundred newton metre wrench"),
        ("in N·m", "in newton metres"),
        ("50 km/h", "fifty kilometres per hour"),
        ("2.4 bar", "two point four bar"),
        ("200 thou", "two hundred thou"),
        ("5 l of oil", "five litres of oil"),
        ("a 12-point socket", "a twelve-point socket"),
        ("the van's left/right side", "the van's left right side"),
        ("Wait 10 min (or more).", "Wait ten minutes, or more."),
        ("ready? (Yes.)", "ready? Yes."),
        (
            "first pass: 50 N·m; then 90°",
            "first pass: fifty newton metres; then ninety degrees",
        ),
        ("It's 5.", "It's five."),
        ("≤ 0.5 mm", "at most zero point five millimetres"),
        ("Step 4 of 32", "Step four of thirty-two"),
        ("", ""),
    ] {
        assert_eq!(spoken(EN, written), said, "{written}");
    }
}

#[test]
fn slowly_is_digit_by_digit() {
    for (written, said) in [
        (
            "103 lbf·ft (140 N·m)",
            "one zero three, foot-pounds, one four zero, newton metres",
        ),
        ("21 mm hex", "two one millimetre hex"),
        ("M14x1.5", "M one four by one point five"),
        ("17.50 mm", "one seven point five zero, millimetres"),
    ] {
        assert_eq!(spoken_slowly(EN, written), said);
    }
}

#[test]
fn foot_pounds_and_inch_pounds_are_never_mixed_up() {
    assert_eq!(
        unit_words(EN, "lbf·ft"),
        Some(("foot-pound", "foot-pounds"))
    );
    assert_eq!(
        unit_words(EN, "lbf·in"),
        Some(("inch-pound", "inch-pounds"))
    );
    assert_eq!(
        unit_words(EN, "kgf·m"),
        Some(("kilogram-force metre", "kilogram-force metres"))
    );
    assert_eq!(unit_words(EN, "bananas"), None);
}

/// Every unit that a torque is told in has its own words, and none of them is part of another's; a number that
/// ends in a teen has its pause before each.
#[test]
fn every_torque_unit_has_its_own_words() {
    use steps::quantity::TorqueUnit;
    let words: Vec<(&str, &str)> = TorqueUnit::ALL
        .iter()
        .map(|unit| unit_words(EN, unit.symbol()).unwrap_or_else(|| panic!("{unit} has no words")))
        .collect();
    for (unit, (one, many)) in TorqueUnit::ALL.iter().zip(&words) {
        assert_eq!(spoken(EN, &format!("1 {unit}")), format!("one {one}"));
        assert_eq!(
            spoken(EN, &format!("85.5 {unit}")),
            format!("eighty-five point five {many}")
        );
        assert_eq!(
            spoken(EN, &format!("Set 103 {unit}.")),
            format!("Set one hundred and three {many}.")
        );
        for (teen, said) in [
            ("13", "thirteen"),
            ("115", "one hundred and fifteen"),
            ("319", "three hundred and nineteen"),
        ] {
            assert_eq!(
                spoken(EN, &format!("{teen} {unit}")),
                format!("{said}, {many}")
            );
        }
        assert_eq!(
            words.iter().filter(|other| other.1 == *many).count(),
            1,
            "{many}"
        );
        assert_eq!(many.replace(['-'], " "), unit.shop_name().replace('-', " "));
    }
}

/// Whether the text is free of digits and of the signs that stand for units.
fn all_words(said: &str) -> bool {
    said.chars()
        .all(|c| !c.is_numeric() && !"%‰°·⋅×±µμΩΩ²³″−/\"℃℉#&+=<>".contains(c))
}

const SYMBOLS: [&str; 41] = [
    "N·cm", "mm", "cm", "km", "µm", "lbf·ft", "lbf·in", "N·m", "Nm", "kgf·m", "kgf·cm", "kg",
    "lbf", "kgf", "kN", "kPa", "MPa", "psi", "mV", "V", "A", "kW", "Hz", "ml", "°C", "°F", "°",
    "%", "rpm", "km/h", "lb", "N", "mA", "Ω", "cm³", "mm²", "g", "s", "m", "W", "L",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn nothing_is_left_for_the_voice_to_guess(text in any::<String>()) {
        prop_assert!(all_words(&spoken(EN, &text)), "{}", spoken(EN, &text));
        prop_assert!(all_words(&spoken_slowly(EN, &text)), "{}", spoken_slowly(EN, &text));
    }

    #[test]
    fn nor_in_what_looks_like_measures(pieces in prop::collection::vec(prop::sample::select(vec![
        "1", "17", "0.5", ".", "/", "-", "–", "−", "×", "x", " ", " ", "in", "mm", "N·m", "°", "C", "%", "½",
        "M", ":", "30", "st", "th", "(", ")", ",", "000", "lbf·ft", "·", "'", "\"", "W",
    ]), 0..16)) {
        let text = pieces.concat();
        prop_assert!(all_words(&spoken(EN, &text)), "{text} → {}", spoken(EN, &text));
        prop_assert!(all_words(&spoken_slowly(EN, &text)), "{text} → {}", spoken_slowly(EN, &text));
    }

    #[test]
    fn every_unit_after_a_number_is_said(
        digits in 0u32..100_000,
        places in 0usize..3,
        symbol in prop::sample::select(SYMBOLS.to_vec()),
        gap in prop::sample::select(vec!["", " ", "\u{a0}"]),
        frame in prop::sample::select(vec![("", ""), ("Set it to ", "."), ("(", ")"), ("about ", ", then stop"), ("", " hex")]),
    ) {
        let value = format!("{:.places$}", f64::from(digits) / 10f64.powi(places as i32));
        let text = format!("{}{value}{gap}{symbol}{}", frame.0, frame.1);
        let said = spoken(EN, &text);
        prop_assert!(all_words(&said), "{text} → {said}");
        prop_assert!(!said.split(|c: char| !c.is_alphabetic()).any(|word| word == symbol), "{text} → {said}");
        let (one, many) = unit_words(EN, symbol).unwrap();
        prop_assert!(said.contains(one) || said.contains(many), "{text} → {said}");
        // The number said is the number written.
        let number: String = said.split(one).next().unwrap().split(many).next().unwrap()
            .replace("Set it to", "").replace("about", "").trim().to_owned();
        prop_assert_eq!(words::number::read(EN, &number).unwrap(), value.parse().unwrap(), "{} → {}", text, said);
    }
}
