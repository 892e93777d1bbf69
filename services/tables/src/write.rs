//! Records as a table.

use csv::{Terminator, WriterBuilder};
use prost_reflect::{DynamicMessage, MessageDescriptor, Value};

use crate::{
    bind::{Bound, Target, bind},
    cell,
    column_map::ColumnMap,
    forms::is_number,
    ids, path,
    problems::Problems,
};

/// Writes records of one kind, each with its id, as a CSV file after RFC 4180 in UTF-8 that
/// [`crate::read`] reads back by the same map.
///
/// A text that begins like a formula gets a `'` before it; numbers stay numbers. The id, where its
/// column fills no field, is written without the map's prefix. A column whose entry does not fit
/// the kind stays blank, as does an absent value. What a table cannot carry is lost: blanks round a
/// text, a listed text that holds the list's own sign, a text equal to one of the map's blanks, and
/// the parts of an id that several columns make when none of them fills a field.
pub fn write(
    kind: &MessageDescriptor,
    rows: &[(String, DynamicMessage)],
    map: &ColumnMap,
) -> Vec<u8> {
    let bound = bind(map, kind, "", &mut Problems::new(""));
    let names = map.layout.column_names();
    let mut writer = WriterBuilder::new()
        .delimiter(map.layout.delimiter.byte())
        .terminator(Terminator::CRLF)
        .from_writer(Vec::new());
    // Writing to memory cannot fail, and every row has one cell for each column name.
    let header = names.iter().map(|name| cell::guard((*name).to_owned()));
    let mut written = writer.write_record(header);
    for (id, body) in rows {
        for element in elements(body, &bound) {
            let cells = names
                .iter()
                .map(|name| text(name, id, body, element.as_ref(), map, &bound));
            written = written.and_then(|()| writer.write_record(cells));
        }
    }
    debug_assert!(written.is_ok(), "rows of equal length reach memory");
    writer.into_inner().unwrap_or_default()
}

/// What each row of a record is: an element of the group's field, or the record itself.
fn elements(body: &DynamicMessage, bound: &Bound) -> Vec<Option<Value>> {
    let fields = bound.repeated.iter();
    let found: Vec<_> = fields
        .flat_map(|fields| path::get(body, fields))
        .map(Some)
        .collect();
    if found.is_empty() { vec![None] } else { found }
}

fn text(
    name: &str,
    id: &str,
    body: &DynamicMessage,
    element: Option<&Value>,
    map: &ColumnMap,
    bound: &Bound,
) -> String {
    let entries = map.layout.columns.iter().zip(&bound.columns).enumerate();
    let Some((index, target)) = entries
        .filter(|(_, (entry, _))| entry.column == name)
        .find_map(|(index, (_, target))| target.as_ref().map(|target| (index, target)))
    else {
        let is_id = map
            .layout
            .id
            .columns()
            .first()
            .is_some_and(|column| column == name);
        let is_group = map
            .layout
            .group
            .as_ref()
            .is_some_and(|group| group.by == name);
        let bare = ids::bare_id(&map.layout.id.prefix, id).unwrap_or(id);
        return if is_id || is_group {
            bare.to_owned()
        } else {
            String::new()
        };
    };
    let values = match (element, target.of_element) {
        (Some(Value::Message(element)), true) => path::get(element, &target.path),
        (Some(element), true) => vec![element.clone()],
        (None, true) => Vec::new(),
        (_, false) => path::get(body, &target.path),
    };
    let print = |value: &Value| cell::print_value(value, &target.form, &map.style);
    let several = target
        .path
        .last()
        .is_some_and(prost_reflect::FieldDescriptor::is_list);
    let text = match &target.list {
        Some(sign) => values.iter().map(print).collect::<Vec<_>>().join(sign),
        None if several => {
            let before = map.layout.columns.iter().take(index).zip(&bound.columns);
            let before =
                before.filter(|(_, other)| other.as_ref().is_some_and(|o| same(o, target)));
            values.get(before.count()).map(print).unwrap_or_default()
        }
        None => values.first().map(print).unwrap_or_default(),
    };
    let is_one = target.list.is_none() || values.len() < 2;
    if is_number(&target.form) && is_one {
        text
    } else {
        cell::guard(text)
    }
}

/// Whether two columns fill the same field.
fn same(a: &Target, b: &Target) -> bool {
    a.of_element == b.of_element && a.path == b.path
}
