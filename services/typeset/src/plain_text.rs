//! Makes every text of the data printable.
//!
//! PDF/A allows no character without a glyph, and an invisible or reordering character would make
//! the page say something else than the record. Such a character is replaced by its code point.

use std::fmt::Write as _;

use serde_json::{Map, Value};

use crate::fonts;

/// The same data with unprintable characters written as `[U+XXXX]`, and how many there were.
pub(crate) fn printable(data: &Value) -> (Value, usize) {
    let mut replaced_count = 0;
    let value = walk(data, &mut replaced_count);
    (value, replaced_count)
}

/// The same text with unprintable characters written as `[U+XXXX]`.
pub(crate) fn printable_text(text: &str, replaced_count: &mut usize) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '\t' | '\r' => out.push(' '),
            '\n' => out.push('\n'),
            _ if is_printable(character) => out.push(character),
            _ => {
                *replaced_count += 1;
                write!(out, "[U+{:04X}]", character as u32).ok();
            }
        }
    }
    out
}

fn walk(value: &Value, replaced_count: &mut usize) -> Value {
    match value {
        Value::String(text) => Value::String(printable_text(text, replaced_count)),
        Value::Array(values) => Value::Array(
            values
                .iter()
                .map(|value| walk(value, replaced_count))
                .collect(),
        ),
        Value::Object(fields) => {
            let entry = |(name, value): (&String, &Value)| {
                (printable_text(name, &mut 0), walk(value, replaced_count))
            };
            Value::Object(fields.iter().map(entry).collect::<Map<_, _>>())
        }
        other => other.clone(),
    }
}

fn is_printable(character: char) -> bool {
    !character.is_control() && !is_invisible(character) && fonts::hold(character)
}

/// Format characters, private use and non-characters: nothing a reader could see.
fn is_invisible(character: char) -> bool {
    matches!(
        character as u32,
        0xAD | 0x61C | 0x180E
            | 0x200B..=0x200F
            | 0x2028..=0x202E
            | 0x2060..=0x206F
            | 0xE000..=0xF8FF
            | 0xFE00..=0xFE0F
            | 0xFEFF
            | 0xFFF0..=0xFFFF
            | 0xE0000..
    )
}
