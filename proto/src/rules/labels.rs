//! Fields as people read them: label and unit.

use crate::pool;

/// Units that end fields' names, and how people write them.
const UNITS: [(&str, &str); 20] = [
    ("_m_per_min", "m/min"),
    ("_litre_per_s", "litre/s"),
    ("_m_per_s", "m/s"),
    ("_kn_per_m3", "kN/m3"),
    ("_kg_per_m3", "kg/m3"),
    ("_kg_per_m", "kg/m"),
    ("_degrees", "degrees"),
    ("_mm", "mm"),
    ("_kpa", "kPa"),
    ("_mpa", "MPa"),
    ("_celsius", "C"),
    ("_percent", "percent"),
    ("_litre", "litre"),
    ("_bytes", "bytes"),
    ("_days", "days"),
    ("_kn", "kN"),
    ("_kg", "kg"),
    ("_w", "W"),
    ("_s", "s"),
    ("_m", "m"),
];

/// Unit that ends a field's name, as people write it; empty where there is none.
pub fn unit(field_name: &str) -> &'static str {
    let found = UNITS.iter().find(|(end, _)| field_name.ends_with(end));
    found.map_or("", |(_, unit)| unit)
}

/// A field's name as people read it: its unit left off, words apart.
pub fn label(field_name: &str) -> String {
    let found = UNITS.iter().find(|(end, _)| field_name.ends_with(end));
    let bare = found.map_or(field_name, |(end, _)| {
        field_name.strip_suffix(end).unwrap_or(field_name)
    });
    bare.replace('_', " ")
}

/// Label of one element of a list: `batch` of `batches`.
pub fn singular(label: &str) -> &str {
    match label.strip_suffix("es") {
        Some(stem) if stem.ends_with("ch") || stem.ends_with("ss") => stem,
        _ => label.strip_suffix('s').unwrap_or(label),
    }
}

/// A field as people read it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FieldWords {
    /// Its label with those above it, such as "specimen 2, width".
    pub label: String,
    /// Unit of its value; empty where it has none.
    pub unit: &'static str,
}

/// Words for a field by its path, as ProtoJSON spells it: `specimens[1].widthMm`. What the schema does
/// not know stays as it is spelt.
pub fn field_words(type_name: &str, path: &str) -> FieldWords {
    let mut message = pool().get_message_by_name(type_name);
    let (mut labels, mut unit) = (Vec::new(), "");
    for part in path.split('.') {
        let (name, place) = match part.split_once('[') {
            Some((name, place)) => (name, place.trim_end_matches(']').parse::<usize>().ok()),
            None => (part, None),
        };
        let field = message.and_then(|message| message.get_field_by_json_name(name));
        let words = field.as_ref().map_or(name.to_owned(), |f| label(f.name()));
        unit = field.as_ref().map_or("", |f| self::unit(f.name()));
        labels.push(match place {
            Some(place) => format!("{} {}", singular(&words), place + 1),
            None => words,
        });
        message = field.and_then(|field| field.kind().as_message().cloned());
    }
    FieldWords {
        label: labels.join(", "),
        unit,
    }
}
