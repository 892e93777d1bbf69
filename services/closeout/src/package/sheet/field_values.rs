//! Values of fields that were changed, as people read them.

use obvert_proto::{enum_word, rules::FieldWords};
use obvert_records::names;

use super::View;
use crate::package::corrections::FieldChange;

/// Characters of a text that fit a cell; the whole of it is in the records.
const LENGTH: usize = 80;

/// A value with its unit, or what stands where there is none. Words of the schema, such as
/// `PAPER_A4`, are written in words, times are local, and a record is called by its number.
pub(super) fn said(view: &View<'_>, field: &FieldChange, value: &str, otherwise: &str) -> String {
    let FieldWords { unit, .. } = field.words;
    let kinds = obvert_proto::pool().all_enums();
    let mut kinds = kinds.filter(|kind| kind.get_value_by_name(value).is_some());
    match value {
        "" => return otherwise.to_owned(),
        "true" => return "yes".to_owned(),
        "false" => return "no".to_owned(),
        _ => {}
    }
    if let Some(kind) = kinds.next() {
        return enum_word(&kind, value);
    }
    if let Ok(time) = value.parse::<jiff::Timestamp>() {
        return view.file.local_time(time.as_millisecond());
    }
    if names::parse(value).is_some() {
        return view.file.number_of(value);
    }
    match value.char_indices().nth(LENGTH) {
        Some((end, _)) => format!("{}...", &value[..end]),
        None if unit.is_empty() => value.to_owned(),
        None => format!("{value} {unit}"),
    }
}
