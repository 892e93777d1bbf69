//! Units of columns, and their exact conversion to the units of the schema.
//!
//! Factors are kept as ratios of whole numbers and reduced before use, so that a conversion rounds
//! at most twice. Sources: the inch is 25.4 mm, the pound 0.45359237 kg and the standard
//! acceleration of gravity 9.80665 m/s2, all exact (NIST Special Publication 811, 2008,
//! Appendix B); the US liquid gallon is 231 cubic inches, so 3.785411784 litres. The rest
//! follows from these.

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

/// Every unit that a column map may name.
const UNITS: [Unit; 29] = [
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
    unit("C", Quantity::Temperature, 1, 1),
    Unit {
        zero: 32,
        ..unit("F", Quantity::Temperature, 5, 9)
    },
    unit("percent", Quantity::Share, 1, 1),
    unit("fraction", Quantity::Share, 100, 1),
    unit("s", Quantity::Time, 1, 1),
    unit("min", Quantity::Time, 60, 1),
    unit("kg", Quantity::Mass, 1, 1),
    unit("lb", Quantity::Mass, 45_359_237, 100_000_000),
    unit("kN", Quantity::Force, 1_000, 1),
    unit("lbf", Quantity::Force, LBF, 10_000_000_000_000),
    unit("m/min", Quantity::Speed, 1, 1),
    unit("ft/min", Quantity::Speed, 3_048, 10_000),
    unit("litre", Quantity::Volume, 1, 1),
    unit("gal", Quantity::Volume, 3_785_411_784, 1_000_000_000),
    unit("W", Quantity::Power, 1, 1),
    unit("kN/m3", Quantity::UnitWeight, 1_000, 1),
    unit("pcf", Quantity::UnitWeight, LBF, 283_168_465_920),
    unit("days", Quantity::Days, 1, 1),
    unit("bytes", Quantity::Bytes, 1, 1),
];

/// Conversion between the unit of a column and that of its field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Conversion {
    numerator: f64,
    denominator: f64,
    column_zero: f64,
    field_zero: f64,
}

impl Conversion {
    /// Leaves numbers as they are.
    pub(crate) const NONE: Self = Self {
        numerator: 1.0,
        denominator: 1.0,
        column_zero: 0.0,
        field_zero: 0.0,
    };

    /// Number in the field's unit.
    pub(crate) fn to_field(self, value: f64) -> f64 {
        if self == Self::NONE {
            return value;
        }
        (value - self.column_zero) * self.numerator / self.denominator + self.field_zero
    }

    /// Number in the column's unit.
    pub(crate) fn to_column(self, value: f64) -> f64 {
        if self == Self::NONE {
            return value;
        }
        (value - self.field_zero) * self.denominator / self.numerator + self.column_zero
    }
}

/// Conversion from a column's unit to the field's, or `None` when the two do not fit.
pub(crate) fn conversion(column_unit: &str, field_unit: &str) -> Option<Conversion> {
    let (from, to) = (find(column_unit)?, find(field_unit)?);
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
        column_zero: from.zero.into(),
        field_zero: to.zero.into(),
    })
}

/// Every unit that converts to a field's unit, as a list in words.
pub(crate) fn fitting(field_unit: &str) -> String {
    let Some(field_unit) = find(field_unit) else {
        return String::new();
    };
    let same = UNITS
        .iter()
        .filter(|unit| unit.quantity == field_unit.quantity);
    same.map(|unit| unit.name).collect::<Vec<_>>().join(", ")
}

/// Names of all units.
pub(crate) fn names() -> impl Iterator<Item = &'static str> {
    UNITS.iter().map(|unit| unit.name)
}

fn find(name: &str) -> Option<&'static Unit> {
    UNITS.iter().find(|unit| unit.name == name)
}

fn greatest_common_divisor(a: u128, b: u128) -> u128 {
    if b == 0 {
        a
    } else {
        greatest_common_divisor(b, a % b)
    }
}
