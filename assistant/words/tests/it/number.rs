//! Spoken numbers against an independent library's: `num2words/table.tsv.gz` is written by PyPI num2words
//! 0.5.14 through `num2words/generate.py` (0 to 9999, decimals, years, ordinals).

use crate::num2words;

use proptest::prelude::*;
use steps::{Decimal, Language};
use words::number::{ordinal, read, spell, spell_digits, spoken_variants, written_variants};

const EN: Language = Language::English;

struct Row {
    value: Decimal,
    cardinal: String,
    year: String,
    ordinal: String,
}

/// The independent library's table, without the commas that it puts after thousands.
fn table() -> Vec<Row> {
    let text = num2words::unpacked(include_bytes!("num2words/table.tsv.gz"));
    let rows: Vec<_> = text
        .lines()
        .map(|line| {
            let mut cells = line.split('\t');
            let mut cell = || cells.next().unwrap().replace(',', "");
            Row {
                value: cell().parse().unwrap(),
                cardinal: cell(),
                year: cell(),
                ordinal: cell(),
            }
        })
        .collect();
    assert!(rows.len() > 13_000, "{}", rows.len());
    rows
}

fn value(text: &str) -> Decimal {
    text.parse().unwrap()
}

#[test]
fn values_are_spelt_as_the_independent_library_spells_them() {
    for row in table() {
        assert_eq!(spell(EN, row.value), row.cardinal);
        if !row.ordinal.is_empty() {
            assert_eq!(ordinal(row.value.digits().unsigned_abs()), row.ordinal);
        }
    }
}

#[test]
fn what_the_independent_library_says_is_read() {
    for row in table() {
        assert_eq!(read(EN, &row.cardinal), Ok(row.value), "{}", row.cardinal);
        // It says "oh-five" in years, and pairs ("nineteen oh-five", "twelve thirty-four").
        if !row.year.is_empty() {
            assert_eq!(read(EN, &row.year), Ok(row.value), "{}", row.year);
        }
    }
}

#[test]
fn every_variant_of_every_number_to_9999_reads_back_as_itself() {
    for number in 0..10_000 {
        let number = Decimal::new(number, 0).unwrap();
        for said in spoken_variants(EN, number) {
            assert_eq!(read(EN, &said), Ok(number), "{said}");
        }
    }
}

#[test]
fn what_people_say_is_read() {
    for (said, meant) in [
        ("one seven three", "173"),
        ("one seventy-three", "173"),
        ("a hundred and seventy-three", "173"),
        ("one hundred seventy three", "173"),
        ("Seventeen point five", "17.5"),
        ("point five", "0.5"),
        ("oh point five", "0.5"),
        ("one oh three", "103"),
        ("one double three", "133"),
        ("zero point zero two five", "0.025"),
        ("point twenty five", "0.25"),
        ("twenty-one point four oh", "21.40"),
        ("twelve hundred", "1200"),
        ("twelve hundred and five", "1205"),
        ("nineteen oh five", "1905"),
        ("three double oh", "300"),
        ("seventeen fifty", "1750"),
        ("a thousand and one", "1001"),
        ("minus five", "-5"),
        ("a half", "0.5"),
        ("half", "0.5"),
        ("one and a half", "1.5"),
        ("three quarters", "0.75"),
        ("three eighths", "0.375"),
        ("five sixteenths", "0.3125"),
        ("seven thirty-seconds", "0.21875"),
        ("one sixty-fourth", "0.015625"),
        ("two and three quarters", "2.75"),
        ("zero", "0"),
    ] {
        let read = read(EN, said).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(
            (read, read.places()),
            (value(meant), value(meant).places()),
            "{said}"
        );
    }
}

#[test]
fn what_is_no_number_or_could_be_two_is_refused() {
    for said in [
        "",
        "and",
        "point",
        "one and",
        "and one",
        "five point",
        "one point two point three",
        "hundred hundred",
        "one hundred one hundred",
        "twenty ten five",
        "ten one",
        "seventy thirteen one",
        "twenty hundred",
        "five eighth hundred",
        "nine eighths",
        "a",
        "oh five",
        "zero zero",
        "double",
        "one hundred and three eighths",
        "two halves",
        "one thousand thousand",
        "next",
        "17",
        "minus",
        "minus minus one",
        "one zero and five",
        "point hundred",
        "a one",
        "three third",
    ] {
        assert!(
            read(EN, said).is_err(),
            "{said} was read as {:?}",
            read(EN, said)
        );
    }
}

#[test]
fn digits_are_said_one_by_one() {
    assert_eq!(
        spell_digits(EN, value("173.5")),
        "one seven three point five"
    );
    assert_eq!(
        spell_digits(EN, value("-0.05")),
        "minus zero point zero five"
    );
}

#[test]
fn the_ways_to_say_and_write_a_value_are_the_expected_ones() {
    assert_eq!(
        spoken_variants(EN, value("173")),
        [
            "one hundred and seventy three",
            "one hundred seventy three",
            "one seven three",
            "one seventy three",
            "a hundred and seventy three",
        ]
    );
    let written = written_variants(EN, value("173"));
    for expected in [
        "173",
        "1, 7, 3",
        "1 7 3",
        "one hundred and seventy-three",
        "one seven three",
    ] {
        assert!(
            written.contains(&expected.to_owned()),
            "{expected}: {written:?}"
        );
    }
    let written = written_variants(EN, value("17.5"));
    for expected in [
        "17.5",
        "17 point 5",
        "seventeen point five",
        "17 and a half",
    ] {
        assert!(
            written.contains(&expected.to_owned()),
            "{expected}: {written:?}"
        );
    }
    assert!(written_variants(EN, value("1200")).contains(&"1,200".to_owned()));
    assert!(written_variants(EN, value("0.05")).contains(&".05".to_owned()));
}

fn decimal() -> impl Strategy<Value = Decimal> {
    (-999_999_999i64..1_000_000_000, 0u8..=6)
        .prop_map(|(digits, places)| Decimal::new(digits, places).unwrap())
}

proptest! {
    #[test]
    fn no_words_make_it_panic(text in any::<String>()) {
        let _ = read(EN, &text);
    }

    #[test]
    fn no_number_words_make_it_panic(
        words in prop::collection::vec(prop::sample::select(vec![
            "one", "oh", "twenty", "eleven", "hundred", "thousand", "million", "billion", "and", "a",
            "point", "half", "eighths", "double", "triple", "minus", "nine", "sixty", "fourths",
        ]), 0..12)
    ) {
        let _ = read(EN, &words.join(" "));
    }

    #[test]
    fn every_way_of_saying_a_value_reads_back_as_it(value in decimal()) {
        prop_assert_eq!(read(EN, &spell(EN, value)).unwrap(), value);
        prop_assert_eq!(read(EN, &spell_digits(EN, value)).unwrap(), value);
        let variants = spoken_variants(EN, value);
        prop_assert!(!variants.is_empty() && variants.len() <= 64, "{}", variants.len());
        for said in variants {
            prop_assert_eq!(read(EN, &said).ok(), Some(value), "{}", said);
        }
        let written = written_variants(EN, value);
        prop_assert!(!written.is_empty() && written.len() <= 40);
    }
}
