//! Units in which the shop measures, with exact factors.

use super::MeasuredError;
use std::fmt;
use std::str::FromStr;
use uom::si::electric_charge::ampere_hour;
use uom::si::electric_potential::volt;
use uom::si::f64::{
    ElectricCharge, ElectricPotential, Length, Mass, Pressure, ThermodynamicTemperature, Volume,
};
use uom::si::length::millimeter;
use uom::si::mass::kilogram;
use uom::si::pressure::kilopascal;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::volume::milliliter;

/// The US gallon, ml.
const US_GALLON: f64 = 231.0 * 2.54 * 2.54 * 2.54;

/// The imperial gallon, ml.
const IMPERIAL_GALLON: f64 = 4_546.09;

/// What kind of thing is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Dimension {
    /// Thickness, play, run-out, depth.
    Length,
    Temperature,
    Voltage,
    /// Pressure above that of the air.
    Pressure,
    /// Charge of a battery.
    Charge,
    Mass,
    /// Volume of a fluid.
    Volume,
}

/// A unit of measurement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum MeasureUnit {
    Millimetre,
    /// Tenth of a millimetre, as it is said.
    TenthMillimetre,
    Centimetre,
    Metre,
    /// Inch: 25.4 mm exactly.
    Inch,
    /// Thousandth of an inch.
    Thou,
    /// Degree Celsius.
    Celsius,
    /// Degree Fahrenheit.
    Fahrenheit,
    Volt,
    Millivolt,
    /// Pound-force per square inch.
    Psi,
    /// Bar: 100 kPa exactly.
    Bar,
    Kilopascal,
    AmpereHour,
    Kilogram,
    Tonne,
    /// Pound: 0.45359237 kg exactly.
    Pound,
    Gram,
    /// Ounce: a sixteenth of a pound.
    Ounce,
    Millilitre,
    /// Cubic centimetre: a millilitre.
    CubicCentimetre,
    Litre,
    /// US fluid ounce: a 128th of the gallon.
    UsFluidOunce,
    /// US liquid pint: an eighth of the gallon.
    UsPint,
    /// US liquid quart: a quarter of the gallon.
    UsQuart,
    /// US gallon: 231 cubic inches exactly.
    UsGallon,
    /// Imperial fluid ounce: a 160th of the gallon.
    ImperialFluidOunce,
    /// Imperial pint: an eighth of the gallon.
    ImperialPint,
    /// Imperial quart: a quarter of the gallon.
    ImperialQuart,
    /// Imperial gallon: 4.54609 l exactly.
    ImperialGallon,
}

/// A measured quantity in its type.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    Length(Length),
    Temperature(ThermodynamicTemperature),
    Voltage(ElectricPotential),
    Pressure(Pressure),
    Charge(ElectricCharge),
    Mass(Mass),
    Volume(Volume),
}

impl MeasureUnit {
    /// All units, for tables.
    pub const ALL: [Self; 30] = [
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
        Self::Gram,
        Self::Ounce,
        Self::Millilitre,
        Self::CubicCentimetre,
        Self::Litre,
        Self::UsFluidOunce,
        Self::UsPint,
        Self::UsQuart,
        Self::UsGallon,
        Self::ImperialFluidOunce,
        Self::ImperialPint,
        Self::ImperialQuart,
        Self::ImperialGallon,
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
            Self::Kilogram | Self::Tonne | Self::Pound | Self::Gram | Self::Ounce => {
                Dimension::Mass
            }
            Self::Millilitre
            | Self::CubicCentimetre
            | Self::Litre
            | Self::UsFluidOunce
            | Self::UsPint
            | Self::UsQuart
            | Self::UsGallon
            | Self::ImperialFluidOunce
            | Self::ImperialPint
            | Self::ImperialQuart
            | Self::ImperialGallon => Dimension::Volume,
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
            Self::Gram => "g",
            Self::Ounce => "oz",
            Self::Millilitre => "ml",
            Self::CubicCentimetre => "cm³",
            Self::Litre => "l",
            Self::UsFluidOunce => "US fl oz",
            Self::UsPint => "US pt",
            Self::UsQuart => "US qt",
            Self::UsGallon => "US gal",
            Self::ImperialFluidOunce => "imp fl oz",
            Self::ImperialPint => "imp pt",
            Self::ImperialQuart => "imp qt",
            Self::ImperialGallon => "imp gal",
        }
    }

    /// How many of the dimension's first unit (mm, °C, V, kPa, Ah, kg, ml) one step of it is. Inch, pound, both
    /// gallons and standard gravity are exact (NIST SP 811, Appendix B); `uom` rounds some of its own factors to seven
    /// digits.
    pub(super) fn factor(self) -> f64 {
        match self {
            Self::Millimetre
            | Self::Celsius
            | Self::Volt
            | Self::Kilopascal
            | Self::AmpereHour
            | Self::Kilogram
            | Self::Millilitre
            | Self::CubicCentimetre => 1.0,
            Self::TenthMillimetre => 0.1,
            Self::Centimetre => 10.0,
            Self::Metre | Self::Tonne | Self::Litre => 1000.0,
            Self::Inch => 25.4,
            Self::Thou => 0.0254,
            Self::Fahrenheit => 5.0 / 9.0,
            Self::Millivolt | Self::Gram => 0.001,
            Self::Psi => 0.453_592_37 * 9.806_65 / (25.4 * 25.4) * 1000.0,
            Self::Bar => 100.0,
            Self::Pound => 0.453_592_37,
            Self::Ounce => 0.453_592_37 / 16.0,
            Self::UsFluidOunce => US_GALLON / 128.0,
            Self::UsPint => US_GALLON / 8.0,
            Self::UsQuart => US_GALLON / 4.0,
            Self::UsGallon => US_GALLON,
            Self::ImperialFluidOunce => IMPERIAL_GALLON / 160.0,
            Self::ImperialPint => IMPERIAL_GALLON / 8.0,
            Self::ImperialQuart => IMPERIAL_GALLON / 4.0,
            Self::ImperialGallon => IMPERIAL_GALLON,
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
            | Self::Pound
            | Self::Gram
            | Self::Ounce
            | Self::Millilitre
            | Self::CubicCentimetre
            | Self::Litre
            | Self::UsFluidOunce
            | Self::UsPint
            | Self::UsQuart
            | Self::UsGallon
            | Self::ImperialFluidOunce
            | Self::ImperialPint
            | Self::ImperialQuart
            | Self::ImperialGallon => 0.0,
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
            Dimension::Volume => Amount::Volume(Volume::new::<milliliter>(base)),
        }
    }
}

/// A unit of temperature, for readings that must be one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TemperatureUnit(pub MeasureUnit);

impl FromStr for TemperatureUnit {
    type Err = MeasuredError;

    fn from_str(text: &str) -> Result<Self, MeasuredError> {
        let unit: MeasureUnit = text.parse()?;
        match unit.dimension() {
            Dimension::Temperature => Ok(Self(unit)),
            Dimension::Length
            | Dimension::Voltage
            | Dimension::Pressure
            | Dimension::Charge
            | Dimension::Mass
            | Dimension::Volume => Err(MeasuredError::Unit(text.to_owned())),
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
            "g" | "gram" | "grams" => Ok(Self::Gram),
            "oz" | "ounce" | "ounces" => Ok(Self::Ounce),
            "ml" | "millilitre" | "millilitres" => Ok(Self::Millilitre),
            "cm³" | "cm3" | "cc" => Ok(Self::CubicCentimetre),
            "l" | "L" | "litre" | "litres" => Ok(Self::Litre),
            other => gallon(other),
        }
    }
}

/// Gallons and their parts. Those of the US are a sixth smaller than the imperial ones (the fluid ounce a little
/// larger), so one without its system is refused.
fn gallon(text: &str) -> Result<MeasureUnit, MeasuredError> {
    let lower = text.to_ascii_lowercase();
    let (system, part) = match lower.split_once(' ') {
        Some((system @ ("us" | "imp" | "imperial"), part)) => (Some(system), part.trim()),
        Some(_) | None => (None, lower.as_str()),
    };
    let (us, imperial) = match part {
        "fl oz" | "fluid ounce" | "fluid ounces" => {
            (MeasureUnit::UsFluidOunce, MeasureUnit::ImperialFluidOunce)
        }
        "pt" | "pint" | "pints" => (MeasureUnit::UsPint, MeasureUnit::ImperialPint),
        "qt" | "quart" | "quarts" => (MeasureUnit::UsQuart, MeasureUnit::ImperialQuart),
        "gal" | "gallon" | "gallons" => (MeasureUnit::UsGallon, MeasureUnit::ImperialGallon),
        _ => return Err(MeasuredError::Unit(text.to_owned())),
    };
    match system {
        Some("us") => Ok(us),
        Some(_) => Ok(imperial),
        None => Err(MeasuredError::System {
            unit: text.to_owned(),
            us,
            imperial,
        }),
    }
}
