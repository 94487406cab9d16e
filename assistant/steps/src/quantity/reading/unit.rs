//! Units in which the shop measures, with exact factors.

use super::MeasuredError;
use std::fmt;
use std::str::FromStr;
use uom::si::electric_charge::ampere_hour;
use uom::si::electric_potential::volt;
use uom::si::f64::{
    ElectricCharge, ElectricPotential, Length, Mass, Pressure, ThermodynamicTemperature,
};
use uom::si::length::millimeter;
use uom::si::mass::kilogram;
use uom::si::pressure::kilopascal;
use uom::si::thermodynamic_temperature::degree_celsius;

/// What kind of thing is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Dimension {
    /// Thickness, play, run-out, depth.
    Length,
    /// Temperature.
    Temperature,
    /// Voltage.
    Voltage,
    /// Pressure above that of the air.
    Pressure,
    /// Charge of a battery.
    Charge,
    /// Mass.
    Mass,
}

/// A unit of measurement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum MeasureUnit {
    /// Millimetre.
    Millimetre,
    /// Tenth of a millimetre, as it is said.
    TenthMillimetre,
    /// Centimetre.
    Centimetre,
    /// Metre.
    Metre,
    /// Inch: 25.4 mm exactly.
    Inch,
    /// Thousandth of an inch.
    Thou,
    /// Degree Celsius.
    Celsius,
    /// Degree Fahrenheit.
    Fahrenheit,
    /// Volt.
    Volt,
    /// Millivolt.
    Millivolt,
    /// Pound-force per square inch.
    Psi,
    /// Bar: 100 kPa exactly.
    Bar,
    /// Kilopascal.
    Kilopascal,
    /// Ampere hour.
    AmpereHour,
    /// Kilogram.
    Kilogram,
    /// Tonne.
    Tonne,
    /// Pound: 0.45359237 kg exactly.
    Pound,
}

/// A measured quantity in its type.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// A length.
    Length(Length),
    /// A temperature.
    Temperature(ThermodynamicTemperature),
    /// A voltage.
    Voltage(ElectricPotential),
    /// A pressure.
    Pressure(Pressure),
    /// A charge.
    Charge(ElectricCharge),
    /// A mass.
    Mass(Mass),
}

impl MeasureUnit {
    /// All units, for tables.
    pub const ALL: [Self; 17] = [
        Self::Millimetre,
        Self::TenthMillimetre,
        Self::Centimetre,
        Self::Metre,
        Self::Inch,
        Self::Thou,
        Self::Celsius,
        Self::Fahrenheit,
        Self::Volt,
        Self::Millivolt,
        Self::Psi,
        Self::Bar,
        Self::Kilopascal,
        Self::AmpereHour,
        Self::Kilogram,
        Self::Tonne,
        Self::Pound,
    ];

    /// What it measures.
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Millimetre
            | Self::TenthMillimetre
            | Self::Centimetre
            | Self::Metre
            | Self::Inch
            | Self::Thou => Dimension::Length,
            Self::Celsius | Self::Fahrenheit => Dimension::Temperature,
            Self::Volt | Self::Millivolt => Dimension::Voltage,
            Self::Psi | Self::Bar | Self::Kilopascal => Dimension::Pressure,
            Self::AmpereHour => Dimension::Charge,
            Self::Kilogram | Self::Tonne | Self::Pound => Dimension::Mass,
        }
    }

    /// The unit's symbol.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::TenthMillimetre => "tenths of a millimetre",
            Self::Centimetre => "cm",
            Self::Metre => "m",
            Self::Inch => "in",
            Self::Thou => "thou",
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
            Self::Volt => "V",
            Self::Millivolt => "mV",
            Self::Psi => "psi",
            Self::Bar => "bar",
            Self::Kilopascal => "kPa",
            Self::AmpereHour => "Ah",
            Self::Kilogram => "kg",
            Self::Tonne => "t",
            Self::Pound => "lb",
        }
    }

    /// How many of the dimension's first unit (mm, °C, V, kPa, Ah, kg) one step of it is. Inch, pound and
    /// standard gravity are exact (NIST SP 811, Appendix B); `uom` rounds some of its own factors to seven
    /// digits.
    pub(super) fn factor(self) -> f64 {
        match self {
            Self::Millimetre
            | Self::Celsius
            | Self::Volt
            | Self::Kilopascal
            | Self::AmpereHour
            | Self::Kilogram => 1.0,
            Self::TenthMillimetre => 0.1,
            Self::Centimetre => 10.0,
            Self::Metre | Self::Tonne => 1000.0,
            Self::Inch => 25.4,
            Self::Thou => 0.0254,
            Self::Fahrenheit => 5.0 / 9.0,
            Self::Millivolt => 0.001,
            Self::Psi => 0.453_592_37 * 9.806_65 / (25.4 * 25.4) * 1000.0,
            Self::Bar => 100.0,
            Self::Pound => 0.453_592_37,
        }
    }

    /// Its nought in the dimension's first unit.
    fn nought(self) -> f64 {
        match self {
            Self::Fahrenheit => -32.0 * 5.0 / 9.0,
            Self::Millimetre
            | Self::TenthMillimetre
            | Self::Centimetre
            | Self::Metre
            | Self::Inch
            | Self::Thou
            | Self::Celsius
            | Self::Volt
            | Self::Millivolt
            | Self::Psi
            | Self::Bar
            | Self::Kilopascal
            | Self::AmpereHour
            | Self::Kilogram
            | Self::Tonne
            | Self::Pound => 0.0,
        }
    }

    /// A number of this unit in the dimension's first one.
    pub(super) fn base(self, value: f64) -> f64 {
        value * self.factor() + self.nought()
    }

    /// A number of the dimension's first unit in this one.
    pub(super) fn of_base(self, base: f64) -> f64 {
        (base - self.nought()) / self.factor()
    }

    /// A quantity of so many of this unit.
    pub fn amount(self, value: f64) -> Amount {
        let base = self.base(value);
        match self.dimension() {
            Dimension::Length => Amount::Length(Length::new::<millimeter>(base)),
            Dimension::Temperature => {
                Amount::Temperature(ThermodynamicTemperature::new::<degree_celsius>(base))
            }
            Dimension::Voltage => Amount::Voltage(ElectricPotential::new::<volt>(base)),
            Dimension::Pressure => Amount::Pressure(Pressure::new::<kilopascal>(base)),
            Dimension::Charge => Amount::Charge(ElectricCharge::new::<ampere_hour>(base)),
            Dimension::Mass => Amount::Mass(Mass::new::<kilogram>(base)),
        }
    }
}

impl fmt::Display for MeasureUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

impl FromStr for MeasureUnit {
    type Err = MeasuredError;

    fn from_str(text: &str) -> Result<Self, MeasuredError> {
        match text.trim() {
            "mm" | "millimetre" | "millimetres" => Ok(Self::Millimetre),
            "tenth of a millimetre"
            | "tenths of a millimetre"
            | "tenth of a mm"
            | "tenths of a mm" => Ok(Self::TenthMillimetre),
            "cm" | "centimetre" | "centimetres" => Ok(Self::Centimetre),
            "m" | "metre" | "metres" => Ok(Self::Metre),
            "in" | "inch" | "inches" | "\"" | "″" | "of an inch" => Ok(Self::Inch),
            "thou" | "thousandth" | "thousandths" | "thousandths of an inch" => Ok(Self::Thou),
            "°C" | "C" | "degrees Celsius" => Ok(Self::Celsius),
            "°F" | "F" | "degrees Fahrenheit" => Ok(Self::Fahrenheit),
            "V" | "volt" | "volts" => Ok(Self::Volt),
            "mV" | "millivolt" | "millivolts" => Ok(Self::Millivolt),
            "psi" | "lbf/in²" => Ok(Self::Psi),
            "bar" => Ok(Self::Bar),
            "kPa" | "kilopascal" | "kilopascals" => Ok(Self::Kilopascal),
            "Ah" | "A·h" | "ampere hour" | "ampere hours" | "amp hours" => Ok(Self::AmpereHour),
            "kg" | "kilogram" | "kilograms" => Ok(Self::Kilogram),
            "t" | "tonne" | "tonnes" => Ok(Self::Tonne),
            "lb" | "lbs" | "pound" | "pounds" => Ok(Self::Pound),
            other => Err(MeasuredError::Unit(other.to_owned())),
        }
    }
}
