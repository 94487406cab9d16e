//! Conversions against two independent references, PyPI `pint` and GNU `units`; tests/it/tables/make.py made the
//! tables.

use steps::Decimal;
use steps::quantity::{Amount, MeasureUnit, Measured, TorqueUnit, TorqueValue};
use uom::si::electric_potential::volt;
use uom::si::length::millimeter;
use uom::si::mass::kilogram;
use uom::si::pressure::kilopascal;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::volume::milliliter;

struct Row {
    value: Decimal,
    from: &'static str,
    to: &'static str,
    expected: [f64; 2],
}

fn rows(table: &'static str) -> Vec<Row> {
    table
        .lines()
        .skip(2)
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            Row {
                value: cells[0].parse().unwrap(),
                from: cells[1],
                to: cells[2],
                expected: [cells[3].parse().unwrap(), cells[4].parse().unwrap()],
            }
        })
        .collect()
}

/// A part in ten thousand million: thirteen digits were written, GNU units goes by way of its own base units.
fn agree(ours: f64, row: &Row) {
    for theirs in row.expected {
        let off = (ours - theirs).abs();
        assert!(
            off <= 1e-10 * theirs.abs().max(1e-3),
            "{} {} in {}: {ours}, not {theirs}",
            row.value,
            row.from,
            row.to
        );
    }
}

#[test]
fn torque_converts_as_the_references_do() {
    let rows = rows(include_str!("tables/torque.csv"));
    assert!(rows.len() > 1_000);
    for row in &rows {
        let (from, to): (TorqueUnit, TorqueUnit) =
            (row.from.parse().unwrap(), row.to.parse().unwrap());
        assert_ne!(from, to);
        agree(to.of(from.torque(row.value.to_f64())), row);
    }
}

#[test]
fn what_is_told_lies_within_one_per_cent_of_the_references() {
    for row in rows(include_str!("tables/torque.csv")) {
        let source = TorqueValue::new(row.value, row.from.parse().unwrap()).unwrap();
        let told = source.on_a_scale_of(row.to.parse().unwrap()).set;
        assert_eq!(told.unit.symbol(), row.to);
        let share = told.value.to_f64() / row.expected[0];
        assert!((share - 1.0).abs() <= 0.010_000_1, "{source}: {told}");
    }
}

#[test]
fn readings_convert_as_the_references_do() {
    let rows = rows(include_str!("tables/measured.csv"));
    assert!(rows.len() > 1_500);
    for row in &rows {
        let (from, to): (MeasureUnit, MeasureUnit) =
            (row.from.parse().unwrap(), row.to.parse().unwrap());
        let amount = from.amount(row.value.to_f64());
        // By the quantity's own type, in the unit that our units are multiples of.
        let (base, one, nought) = match (amount, to.amount(1.0), to.amount(0.0)) {
            (Amount::Length(a), Amount::Length(b), Amount::Length(c)) => (
                a.get::<millimeter>(),
                b.get::<millimeter>(),
                c.get::<millimeter>(),
            ),
            (Amount::Temperature(a), Amount::Temperature(b), Amount::Temperature(c)) => (
                a.get::<degree_celsius>(),
                b.get::<degree_celsius>(),
                c.get::<degree_celsius>(),
            ),
            (Amount::Voltage(a), Amount::Voltage(b), Amount::Voltage(c)) => {
                (a.get::<volt>(), b.get::<volt>(), c.get::<volt>())
            }
            (Amount::Pressure(a), Amount::Pressure(b), Amount::Pressure(c)) => (
                a.get::<kilopascal>(),
                b.get::<kilopascal>(),
                c.get::<kilopascal>(),
            ),
            (Amount::Volume(a), Amount::Volume(b), Amount::Volume(c)) => (
                a.get::<milliliter>(),
                b.get::<milliliter>(),
                c.get::<milliliter>(),
            ),
            (Amount::Mass(a), Amount::Mass(b), Amount::Mass(c)) => (
                a.get::<kilogram>(),
                b.get::<kilogram>(),
                c.get::<kilogram>(),
            ),
            other => panic!("{other:?}"),
        };
        agree((base - nought) / (one - nought), row);
        agree(
            Measured {
                value: row.value,
                unit: from,
            }
            .number_in(to)
            .unwrap(),
            row,
        );
        // What is told keeps the last digit that was said.
        let said = Measured {
            value: row.value,
            unit: from,
        };
        let told = said.to(to).unwrap().value;
        let last_digit = 10f64.powi(-i32::from(told.places()));
        assert!(
            (told.to_f64() - row.expected[0]).abs() <= 0.500_001 * last_digit,
            "{said}: {told}"
        );
    }
}
