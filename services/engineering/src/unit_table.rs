//! The table of units, and their exact conversion: for columns of tables and values of people.
//!
//! Factors are kept as ratios of whole numbers and reduced before use, so that a conversion rounds
//! at most twice. Sources: the inch is 25.4 mm, the pound 0.45359237 kg and the standard
//! acceleration of gravity 9.80665 m/s2, all exact (NIST Special Publication 811, 2008,
//! Appendix B); the US liquid gallon is 231 cubic inches, so 3.785411784 litres. The rest
//! follows from these.

use crate::field::Field;

/// What a unit measures; only units of one quantity convert.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Quantity {
    Length,
    Pressure,
    Temperature,
    Share,
    Time,
    Mass,
    Force,
    Speed,
    Volume,
    Power,
    UnitWeight,
    Days,
    Bytes,
    Angle,
    Density,
    MassPerLength,
    Flow,
    LeakRate,
    ExfiltrationRate,
}

/// A unit as one ratio to the base unit of its quantity, and what its zero is in that base.
struct Unit {
    name: &'static str,
    quantity: Quantity,
    numerator: u128,
    denominator: u128,
    zero: i32,
}

const fn unit(name: &'static str, quantity: Quantity, numerator: u128, denominator: u128) -> Unit {
    Unit {
        name,
        quantity,
        numerator,
        denominator,
        zero: 0,
    }
}

/// Pound-force in newtons is 44482216152605 / 10^13, exact.
const LBF: u128 = 44_482_216_152_605;

/// Every unit that a column map or a person may name.
const UNITS: [Unit; 45] = [
    unit("mm", Quantity::Length, 1, 1_000),
    unit("cm", Quantity::Length, 1, 100),
    unit("m", Quantity::Length, 1, 1),
    unit("in", Quantity::Length, 254, 10_000),
    unit("ft", Quantity::Length, 3_048, 10_000),
    unit("kPa", Quantity::Pressure, 1_000, 1),
    unit("MPa", Quantity::Pressure, 1_000_000, 1),
    unit("bar", Quantity::Pressure, 100_000, 1),
    unit("mbar", Quantity::Pressure, 100, 1),
    unit("psi", Quantity::Pressure, LBF, 6_451_600_000),
    unit("psf", Quantity::Pressure, LBF, 929_030_400_000),
    unit("C", Quantity::Temperature, 1, 1),
    Unit {
        zero: 32,
        ..unit("F", Quantity::Temperature, 5, 9)
    },
    unit("percent", Quantity::Share, 1, 1),
    unit("fraction", Quantity::Share, 100, 1),
    unit("s", Quantity::Time, 1, 1),
    unit("min", Quantity::Time, 60, 1),
    unit("h", Quantity::Time, 3_600, 1),
    unit("kg", Quantity::Mass, 1, 1),
    unit("lb", Quantity::Mass, 45_359_237, 100_000_000),
    unit("N", Quantity::Force, 1, 1),
    unit("kN", Quantity::Force, 1_000, 1),
    unit("lbf", Quantity::Force, LBF, 10_000_000_000_000),
    unit("m/min", Quantity::Speed, 1, 1),
    unit("ft/min", Quantity::Speed, 3_048, 10_000),
    unit("m/s", Quantity::Speed, 60, 1),
    unit("ft/s", Quantity::Speed, 182_880, 10_000),
    unit("litre", Quantity::Volume, 1, 1),
    unit("gal", Quantity::Volume, 3_785_411_784, 1_000_000_000),
    unit("W", Quantity::Power, 1, 1),
    unit("kN/m3", Quantity::UnitWeight, 1_000, 1),
    unit("pcf", Quantity::UnitWeight, LBF, 283_168_465_920),
    unit("days", Quantity::Days, 1, 1),
    unit("bytes", Quantity::Bytes, 1, 1),
    unit("deg", Quantity::Angle, 1, 1),
    unit("kg/m3", Quantity::Density, 1, 1),
    unit("g/cm3", Quantity::Density, 1_000, 1),
    unit("kg/m", Quantity::MassPerLength, 1, 1),
    unit("lb/ft", Quantity::MassPerLength, 45_359_237, 30_480_000),
    unit("m3/s", Quantity::Flow, 1, 1),
    unit("L/s", Quantity::Flow, 1, 1_000),
    unit("ft3/s", Quantity::Flow, 28_316_846_592, 1_000_000_000_000),
    unit("cfm/ft2", Quantity::LeakRate, 1, 1),
    unit("L/mm/km/day", Quantity::ExfiltrationRate, 1, 1),
    unit(
        "gal/in/mi/day",
        Quantity::ExfiltrationRate,
        3_785_411_784,
        40_877_337_600,
    ),
];

/// Other ways in which the same units are written, by people and in the tables of formulas.
const ALIASES: [(&str, &str); 30] = [
    ("%", "percent"),
    ("-", "fraction"),
    ("\"", "in"),
    ("inch", "in"),
    ("inches", "in"),
    ("'", "ft"),
    ("feet", "ft"),
    ("foot", "ft"),
    ("metre", "m"),
    ("metres", "m"),
    ("meter", "m"),
    ("meters", "m"),
    ("psig", "psi"),
    ("lb/ft²", "psf"),
    ("mpa", "MPa"),
    ("kpa", "kPa"),
    ("lb/ft3", "pcf"),
    ("lb/ft³", "pcf"),
    ("kN/m³", "kN/m3"),
    ("kg/m³", "kg/m3"),
    ("g/cm³", "g/cm3"),
    ("°", "deg"),
    ("m³/s", "m3/s"),
    ("ft³/s", "ft3/s"),
    ("cfs", "ft3/s"),
    ("ft³/min/ft²", "cfm/ft2"),
    ("L", "litre"),
    ("l", "litre"),
    ("fps", "ft/s"),
    ("hr", "h"),
];

/// Pairs of units that people exchange: what they enter, and what is asked for.
const EXCHANGED: [(&str, &str); 8] = [
    ("in", "mm"),
    ("m", "mm"),
    ("ft", "m"),
    ("mm", "m"),
    ("psi", "MPa"),
    ("kPa", "MPa"),
    ("pcf", "kN/m3"),
    ("percent", "fraction"),
];

/// Conversion from one unit to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conversion {
    numerator: f64,
    denominator: f64,
    from_zero: f64,
    to_zero: f64,
}

impl Conversion {
    /// Leaves numbers as they are.
    pub const NONE: Self = Self {
        numerator: 1.0,
        denominator: 1.0,
        from_zero: 0.0,
        to_zero: 0.0,
    };

    /// The number in the unit converted to.
    pub fn forward(self, value: f64) -> f64 {
        if self == Self::NONE {
            return value;
        }
        (value - self.from_zero) * self.numerator / self.denominator + self.to_zero
    }

    /// The number in the unit converted from.
    pub fn back(self, value: f64) -> f64 {
        if self == Self::NONE {
            return value;
        }
        (value - self.to_zero) * self.denominator / self.numerator + self.from_zero
    }
}

/// Conversion from one unit to another, or `None` when the two do not measure the same.
pub fn conversion(from: &str, to: &str) -> Option<Conversion> {
    let (from, to) = (find(from)?, find(to)?);
    if from.quantity != to.quantity {
        return None;
    }
    let numerator = from.numerator * to.denominator;
    let denominator = from.denominator * to.numerator;
    let shared = greatest_common_divisor(numerator, denominator);
    #[allow(clippy::cast_precision_loss)]
    Some(Conversion {
        numerator: (numerator / shared) as f64,
        denominator: (denominator / shared) as f64,
        from_zero: from.zero.into(),
        to_zero: to.zero.into(),
    })
}

/// Every unit that converts to this one, as a list in words.
pub fn fitting(unit: &str) -> String {
    let Some(unit) = find(unit) else {
        return String::new();
    };
    let same = UNITS.iter().filter(|other| other.quantity == unit.quantity);
    same.map(|unit| unit.name).collect::<Vec<_>>().join(", ")
}

/// Names of all units, without the other ways of writing them.
pub fn names() -> impl Iterator<Item = &'static str> {
    UNITS.iter().map(|unit| unit.name)
}

/// Reads what a person entered for a value in a unit: a number in that unit, or a number followed
/// by its own unit, such as `8in`, `203.2 mm` or `12%`.
///
/// # Errors
///
/// Returns what is wrong and which units are taken.
pub fn value_in(text: &str, wanted: &str) -> Result<f64, String> {
    let text = text.trim();
    let Some((number, unit)) = parted(text) else {
        return Err(format!(
            "{text:?} is no number: write one such as 8 or 203.2mm"
        ));
    };
    // A plain ratio has no name to call it by.
    let (asked, taken) = match wanted {
        "-" => ("a plain number", "no unit, or %".to_owned()),
        other => (other, fitting(other)),
    };
    if unit.is_empty() || unit == wanted {
        return Ok(number);
    }
    let refused = || format!("{text:?} is in {unit}, asked for is {asked}: take {taken}");
    Ok(conversion(unit, wanted)
        .ok_or_else(refused)?
        .forward(number))
}

/// The unit that was probably meant by a value out of range, and what the value is in the field's.
pub(crate) fn mistaken(field: &Field, value: f64) -> Option<(&'static str, f64)> {
    let wanted = find(field.unit)?;
    EXCHANGED.iter().find_map(|(entered, asked)| {
        let meant = conversion(entered, asked)?.forward(value);
        let fits = meant >= field.min && meant <= field.max;
        (find(asked)?.name == wanted.name && value > 0.0 && fits).then_some((*entered, meant))
    })
}

/// The longest number at the start of a text, and the rest as its unit.
fn parted(text: &str) -> Option<(f64, &str)> {
    let end = text
        .find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | '-' | '+' | 'e' | 'E'))
        .unwrap_or(text.len());
    let ends = (1..=end).rev();
    let (number, end) = ends
        .filter_map(|end| Some((text[..end].parse::<f64>().ok()?, end)))
        .next()?;
    number.is_finite().then_some((number, text[end..].trim()))
}

fn find(name: &str) -> Option<&'static Unit> {
    let alias = ALIASES.iter().find(|(other, _)| *other == name);
    let name = alias.map_or(name, |(_, name)| name);
    UNITS.iter().find(|unit| unit.name == name)
}

fn greatest_common_divisor(a: u128, b: u128) -> u128 {
    if b == 0 {
        a
    } else {
        greatest_common_divisor(b, a % b)
    }
}
