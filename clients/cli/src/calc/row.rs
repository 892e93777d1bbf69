//! One row of a stream, read without keeping anything of it but numbers.

use std::fmt;

use obvert_engineering::{Field, Formula, unit_table::value_in};
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, Visitor};
use serde_json::Value;

use super::words::formula;

/// The values of a row, in the order of the formula's inputs; reused from row to row.
#[derive(Default)]
pub(super) struct Reading {
    pub(super) values: Vec<f64>,
    /// Name of the formula, once it was read.
    pub(super) formula: Option<&'static str>,
    given: Vec<bool>,
}

impl Reading {
    /// Reads `{"formula": NAME, "inputs": {FIELD: VALUE}}`; the error says what is wrong.
    pub(super) fn read(&mut self, row: &[u8]) -> Result<&'static Formula, String> {
        self.formula = None;
        let mut source = serde_json::Deserializer::from_slice(row);
        let formula = Row(self).deserialize(&mut source);
        let formula = formula.and_then(|formula| source.end().map(|()| formula));
        let formula = formula.map_err(|error| {
            // A row is the only one that the parser sees: of its place the column is what counts.
            error
                .to_string()
                .replace(" at line 1 column ", ", at column ")
        })?;
        let fields = formula.inputs.iter().zip(&self.given);
        let missing: Vec<&str> = fields
            .filter(|(_, given)| !**given)
            .map(|(field, _)| field.name)
            .collect();
        if missing.is_empty() {
            return Ok(formula);
        }
        Err(format!(
            "{} is not given: {}",
            formula.name,
            missing.join(", ")
        ))
    }
}

/// The whole row.
struct Row<'a>(&'a mut Reading);

impl<'de> DeserializeSeed<'de> for Row<'_> {
    type Value = &'static Formula;

    fn deserialize<D: Deserializer<'de>>(self, source: D) -> Result<Self::Value, D::Error> {
        source.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Row<'_> {
    type Value = &'static Formula;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object with \"formula\" and \"inputs\"")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
        let (mut found, mut read, mut early) = (None, false, None);
        while let Some(key) = map.next_key_seed(Key)? {
            match (key, found) {
                (Known::Formula, None) => {
                    let formula = map.next_value_seed(Name)?;
                    self.0.formula = Some(formula.name);
                    found = Some(formula);
                }
                (Known::Inputs, Some(formula)) if !read && early.is_none() => {
                    map.next_value_seed(Inputs(formula, self.0))?;
                    read = true;
                }
                (Known::Inputs, None) if early.is_none() => early = Some(map.next_value()?),
                _ => return Err(Error::custom("\"formula\" and \"inputs\" stand once each")),
            }
        }
        let formula: &'static Formula = found.ok_or_else(|| Error::missing_field("formula"))?;
        let later: Option<Value> = early;
        match later {
            Some(inputs) => Inputs(formula, self.0)
                .deserialize(inputs)
                .map_err(Error::custom)?,
            None if !read => return Err(Error::missing_field("inputs")),
            None => {}
        }
        Ok(formula)
    }
}

/// Keys of a row.
#[derive(Clone, Copy)]
enum Known {
    Formula,
    Inputs,
}

/// Reads a text where it stands and makes something of it.
macro_rules! text_seed {
    ($seed:ty => $value:ty, $expecting:literal, |$self:ident, $text:ident| $body:expr) => {
        impl<'de> DeserializeSeed<'de> for $seed {
            type Value = $value;

            fn deserialize<D: Deserializer<'de>>(self, source: D) -> Result<$value, D::Error> {
                source.deserialize_str(self)
            }
        }

        impl Visitor<'_> for $seed {
            type Value = $value;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str($expecting)
            }

            fn visit_str<E: Error>($self, $text: &str) -> Result<$value, E> {
                $body.map_err(E::custom)
            }
        }
    };
}

struct Key;

text_seed!(Key => Known, "a key", |self, text| match text {
    "formula" => Ok(Known::Formula),
    "inputs" => Ok(Known::Inputs),
    other => Err(format!("{other:?} is no key of a row: write \"formula\" and \"inputs\"")),
});

struct Name;

text_seed!(Name => &'static Formula, "the name of a formula", |self, text| formula(text)
    .ok_or_else(|| format!("{text:?} is no formula: see obvert calc --list")));

/// Place of an input by its name, tried at the expected place first.
struct Place(&'static Formula, usize);

text_seed!(Place => usize, "the name of an input", |self, text| {
    let inputs = self.0.inputs;
    let expected = inputs.get(self.1).is_some_and(|field| field.name == text);
    let found = || inputs.iter().position(|field| field.name == text);
    let place = expected.then_some(self.1).or_else(found);
    place.ok_or_else(|| {
        let names: Vec<&str> = inputs.iter().map(|field| field.name).collect();
        format!("{text:?} is no input of {}: it takes {}", self.0.name, names.join(", "))
    })
});

/// The inputs of a formula, whose name stood before them.
struct Inputs<'a>(&'static Formula, &'a mut Reading);

impl<'de> DeserializeSeed<'de> for Inputs<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, source: D) -> Result<(), D::Error> {
        source.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Inputs<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object of inputs")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let Self(formula, reading) = self;
        let count = formula.inputs.len();
        reading.values.clear();
        reading.values.resize(count, f64::NAN);
        reading.given.clear();
        reading.given.resize(count, false);
        let mut expected = 0;
        while let Some(place) = map.next_key_seed(Place(formula, expected))? {
            let field = &formula.inputs[place];
            if reading.given[place] {
                return Err(Error::custom(format!("{} is given twice", field.name)));
            }
            reading.values[place] = map.next_value_seed(Number(field))?;
            reading.given[place] = true;
            expected = place + 1;
        }
        Ok(())
    }
}

/// A number in the unit of its input, or a text with a unit of its own.
struct Number(&'static Field);

impl<'de> DeserializeSeed<'de> for Number {
    type Value = f64;

    fn deserialize<D: Deserializer<'de>>(self, source: D) -> Result<f64, D::Error> {
        source.deserialize_any(self)
    }
}

impl Visitor<'_> for Number {
    type Value = f64;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a number or a text with a unit for {}", self.0.name)
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<f64, E> {
        Ok(value)
    }

    #[allow(clippy::cast_precision_loss)]
    fn visit_u64<E: Error>(self, value: u64) -> Result<f64, E> {
        Ok(value as f64)
    }

    #[allow(clippy::cast_precision_loss)]
    fn visit_i64<E: Error>(self, value: i64) -> Result<f64, E> {
        Ok(value as f64)
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<f64, E> {
        let Self(field) = self;
        value_in(text, field.unit).map_err(|what| E::custom(format!("{}: {what}", field.name)))
    }
}
