//! Inputs of a formula: name, unit, range, and the one check that all formulas share.

use std::error::Error;
use std::fmt;

use crate::unit_table;

/// One input of a formula, as the range check and the command line see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    /// Name as in the struct, unit suffix included.
    pub name: &'static str,
    /// Unit in print, or "-" for a ratio.
    pub unit: &'static str,
    /// Smallest value taken.
    pub min: f64,
    /// Largest value taken.
    pub max: f64,
}

/// A value that a formula does not take.
#[derive(Debug, Clone, PartialEq)]
pub struct OutOfRange {
    /// Name of the input, with its place in a list where there is one: `sections[1].cover_m`.
    pub field: String,
    /// The value that was given, or that came out when the field is a result.
    pub value: f64,
    /// Smallest value taken.
    pub min: f64,
    /// Largest value taken.
    pub max: f64,
    /// Unit of the three numbers.
    pub unit: &'static str,
    /// What to do about it, as a full sentence.
    pub remedy: String,
}

/// All values that a formula did not take, in the order of its inputs; never empty.
#[derive(Debug, Clone, PartialEq)]
pub struct Problems(pub Vec<OutOfRange>);

/// Checks values against their fields and reports all that are out of range.
///
/// # Errors
///
/// Returns every value that is not finite or lies outside its field, or a single problem on
/// `inputs` when the numbers of fields and values differ.
pub fn check(fields: &[Field], values: &[f64]) -> Result<(), Problems> {
    if fields.len() != values.len() {
        let wanted = fields.len() as f64;
        return Err(OutOfRange {
            field: "inputs".to_owned(),
            value: values.len() as f64,
            min: wanted,
            max: wanted,
            unit: "values",
            remedy: "Give one value for each input, in the order listed.".to_owned(),
        }
        .into());
    }
    let pairs = fields.iter().zip(values);
    let found = pairs
        .filter_map(|(field, value)| field.problem(*value))
        .collect();
    Problems::or_ok(found)
}

/// Refuses a wall of half the diameter or more, for which thin-ring equations mean nothing.
pub(crate) fn thin_wall(wall_thickness_mm: f64, host_diameter_mm: f64) -> Result<f64, Problems> {
    let limit = host_diameter_mm / 2.0;
    if wall_thickness_mm < limit {
        return Ok(wall_thickness_mm);
    }
    Err(OutOfRange {
        field: "wall_thickness_mm".to_owned(),
        value: wall_thickness_mm,
        min: 0.0,
        max: limit,
        unit: "mm",
        remedy: "The result is no thin wall: check the units of the load and of the modulus."
            .to_owned(),
    }
    .into())
}

impl Field {
    /// The problem with a value, or nothing when the field takes it.
    pub fn problem(&self, value: f64) -> Option<OutOfRange> {
        if value >= self.min && value <= self.max {
            return None;
        }
        Some(OutOfRange {
            field: self.name.to_owned(),
            value,
            min: self.min,
            max: self.max,
            unit: self.unit,
            remedy: remedy(self, value),
        })
    }
}

impl Problems {
    /// Turns a list of findings into a result: an empty list is no problem.
    pub fn or_ok(found: Vec<OutOfRange>) -> Result<(), Self> {
        if found.is_empty() {
            Ok(())
        } else {
            Err(Self(found))
        }
    }
}

impl From<OutOfRange> for Problems {
    fn from(problem: OutOfRange) -> Self {
        Self(vec![problem])
    }
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            field,
            value,
            min,
            max,
            unit,
            remedy,
        } = self;
        let unit = if *unit == "-" {
            String::new()
        } else {
            format!(" {unit}")
        };
        if max.is_infinite() {
            return write!(f, "{field} is {value}{unit}, below {min}{unit}. {remedy}");
        }
        write!(
            f,
            "{field} is {value}{unit}, outside {min} to {max}{unit}. {remedy}"
        )
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let lines: Vec<String> = self.0.iter().map(ToString::to_string).collect();
        f.write_str(&lines.join("\n"))
    }
}

impl Error for OutOfRange {}

impl Error for Problems {}

/// What to do about a value out of range: name the unit in which it would have been right.
fn remedy(field: &Field, value: f64) -> String {
    let Some((unit, meant)) = unit_table::mistaken(field, value) else {
        return format!("Check the unit and the value of {}.", field.name);
    };
    format!(
        "If {value} {unit} is meant, {} is {}.",
        field.name,
        Shown(meant, field.unit)
    )
}

/// A number with its unit, to six digits.
struct Shown(f64, &'static str);

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digits: f64 = format!("{:.5e}", self.0).parse().unwrap_or(self.0);
        write!(f, "{digits} {}", self.1)
    }
}

/// Writes the struct of a formula together with its table of inputs, so that each field is
/// listed once: `wall_thickness_mm: "mm" in 0.5..=200.0`.
macro_rules! inputs {
    (
        $(#[doc = $doc:expr])*
        pub struct $name:ident {
            $(
                $(#[doc = $field_doc:expr])*
                $field:ident: $unit:literal in $min:literal..=$max:literal,
            )+
        }
    ) => {
        $(#[doc = $doc])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub struct $name {
            $($(#[doc = $field_doc])* pub $field: f64,)+
        }

        impl $name {
            /// Inputs in the order of the struct, each with its unit and the range taken.
            pub const INPUTS: &'static [$crate::field::Field] = &[$(
                $crate::field::Field {
                    name: stringify!($field),
                    unit: $unit,
                    min: $min,
                    max: $max,
                },
            )+];

            /// The documentation of the struct and of its inputs, for a reader of the list.
            pub const DOC: $crate::document::Document = $crate::document::Document {
                rows: &[$($doc),*],
                inputs: &[$(&[$($field_doc),*]),+],
            };

            /// Reads the inputs from a list in the order of `INPUTS`.
            ///
            /// # Errors
            ///
            /// Returns all values out of range, or the wrong number of values.
            pub fn from_values(values: &[f64]) -> Result<Self, $crate::field::Problems> {
                $crate::field::check(Self::INPUTS, values)?;
                let mut rest = values.iter().copied();
                Ok(Self { $($field: rest.next().unwrap_or(f64::NAN),)+ })
            }

            /// Checks each input against its range.
            ///
            /// # Errors
            ///
            /// Returns all inputs out of range.
            pub fn check(&self) -> Result<(), $crate::field::Problems> {
                $crate::field::check(Self::INPUTS, &[$(self.$field),+])
            }
        }
    };
}

pub(crate) use inputs;
