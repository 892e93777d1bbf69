//! The rules of the schema held against records, told by the cells that broke them.

use std::collections::BTreeSet;

use obvert_proto::rules;

use crate::{
    assemble::Draft,
    column_map::{ColumnEntry, ColumnMap},
    problems::Problems,
};

/// Adds every rule that a record breaks, unless a bad cell said why already.
///
/// A required field that neither a column nor a fixed value fills is told once for all records, and
/// kept in `unfilled`.
pub(crate) fn check(
    map: &ColumnMap,
    draft: &Draft,
    unfilled: &mut BTreeSet<String>,
    problems: &mut Problems<'_>,
) {
    let columns = &map.layout.columns;
    for found in rules::violations(&draft.body) {
        let (field, index) = without_index(&found.field);
        let row = index.filter(|_| is_of_group(map, &found.field));
        let row = row.and_then(|index| draft.element_rows.get(index)).copied();
        let below = |name: &str| name == field || name.starts_with(&format!("{field}."));
        let told = |(bad_row, name): &(usize, String)| {
            below(name) && row.is_none_or(|row| row == *bad_row)
        };
        if draft.bad.iter().any(told) {
            continue;
        }
        if let Some(column) = columns.iter().position(|entry| entry.field == field) {
            let (said_row, text) = draft.texts[column]
                .clone()
                .unwrap_or((draft.row, String::new()));
            let said = said(&columns[column], &text);
            let message = format!("{} {}{said}", found.field, found.message);
            problems.cell(row.unwrap_or(said_row), &columns[column].column, message);
        } else if index.is_some() || columns.iter().any(|entry| below(&entry.field)) {
            problems.field(row.unwrap_or(draft.row), &found.field, found.message);
        } else if unfilled.insert(field.clone()) {
            problems.map(
                &field,
                format!("{}; no column or fixed value fills it", found.message),
            );
        }
    }
}

/// Whether a path leads into an element that a row of a group is.
fn is_of_group(map: &ColumnMap, path: &str) -> bool {
    let group = map.layout.group.as_ref();
    let rest = group.and_then(|group| path.strip_prefix(&group.repeated));
    rest.is_some_and(|rest| rest.starts_with('['))
}

/// What the cell says, since the rule speaks of the value in the field's unit.
fn said(entry: &ColumnEntry, text: &str) -> String {
    match (text, entry.unit.as_deref()) {
        ("", _) => String::new(),
        (text, None) => format!(" (the cell says {text:?})"),
        (text, Some(unit)) => format!(" (the cell says {text:?} {unit})"),
    }
}

/// Path without the index of a list, and that index.
fn without_index(path: &str) -> (String, Option<usize>) {
    let Some((before, rest)) = path.split_once('[') else {
        return (path.to_owned(), None);
    };
    let Some((index, after)) = rest.split_once(']') else {
        return (path.to_owned(), None);
    };
    (format!("{before}{after}"), index.parse().ok())
}
