//! Records put together from rows: one row each, or several rows of a group.

use std::collections::{BTreeSet, HashMap};

use csv::StringRecord;
use prost_reflect::{DynamicMessage, Kind, MessageDescriptor, Value};

use crate::{
    bind::{Bound, Target},
    cell::{self, clean},
    check::check,
    column_map::ColumnMap,
    ids, path,
    problems::Problems,
    read::TableRow,
    sheet::Sheet,
};

/// Records under way.
pub(crate) struct Assembly<'a> {
    map: &'a ColumnMap,
    bound: &'a Bound,
    kind: &'a MessageDescriptor,
    /// Place of each column of the map in a row.
    places: Vec<Option<usize>>,
    id_places: Vec<Option<usize>>,
    group_place: Option<usize>,
    drafts: Vec<Draft>,
    by_group: HashMap<String, usize>,
    by_id: HashMap<String, usize>,
}

/// One record under way.
pub(crate) struct Draft {
    /// First row.
    pub(crate) row: usize,
    id: String,
    /// The record so far.
    pub(crate) body: DynamicMessage,
    /// Row and text of each column's cell, for the record's own fields.
    pub(crate) texts: Vec<Option<(usize, String)>>,
    /// Row of each element of the repeated field.
    pub(crate) element_rows: Vec<usize>,
    /// Rows and fields of cells that gave no value.
    pub(crate) bad: Vec<(usize, String)>,
}

impl<'a> Assembly<'a> {
    /// No record yet.
    pub(crate) fn new(
        map: &'a ColumnMap,
        bound: &'a Bound,
        kind: &'a MessageDescriptor,
        sheet: &Sheet,
    ) -> Self {
        let layout = &map.layout;
        Self {
            map,
            bound,
            kind,
            places: layout
                .columns
                .iter()
                .map(|entry| sheet.place(&entry.column))
                .collect(),
            id_places: layout
                .id
                .columns()
                .iter()
                .map(|column| sheet.place(column))
                .collect(),
            group_place: layout
                .group
                .as_ref()
                .and_then(|group| sheet.place(&group.by)),
            drafts: Vec::new(),
            by_group: HashMap::new(),
            by_id: HashMap::new(),
        }
    }

    /// Takes one row.
    pub(crate) fn add(&mut self, row: usize, cells: &StringRecord, problems: &mut Problems<'_>) {
        let Some(id) = self.id(row, cells, problems) else {
            return;
        };
        let Some(draft) = self.draft(row, id, cells, problems) else {
            return;
        };
        let mut element = None;
        for (column, target) in self.bound.columns.iter().enumerate() {
            let Some(target) = target else { continue };
            let text = self.text(column, cells);
            if self.is_blank(column, text) {
                continue;
            }
            if !target.of_element && !self.is_new(draft, column, row, text, problems) {
                continue;
            }
            let values = match self.values(target, text) {
                Ok(values) => values,
                Err(messages) => {
                    let entry = &self.map.layout.columns[column];
                    for message in messages {
                        problems.cell(row, &entry.column, message);
                    }
                    self.drafts[draft].bad.push((row, entry.field.clone()));
                    continue;
                }
            };
            if target.of_element {
                self.fill_element(&mut element, target, values);
            } else {
                path::put(&mut self.drafts[draft].body, &target.path, values);
            }
        }
        self.close_element(draft, row, element);
    }

    /// The records, once the rules of the schema were held against each.
    pub(crate) fn finish(self, problems: &mut Problems<'_>) -> Vec<TableRow> {
        let mut unfilled = BTreeSet::new();
        for draft in &self.drafts {
            check(self.map, draft, &mut unfilled, problems);
        }
        let rows = self.drafts.into_iter();
        rows.map(|draft| TableRow {
            row: draft.row,
            record_id: draft.id,
            body: draft.body,
        })
        .collect()
    }

    fn id(&self, row: usize, cells: &StringRecord, problems: &mut Problems<'_>) -> Option<String> {
        let entry = &self.map.layout.id;
        let mut parts = Vec::new();
        for (column, place) in entry.columns().iter().zip(&self.id_places) {
            let text = place.and_then(|place| cells.get(place)).map_or("", clean);
            if text.is_empty() || self.map.layout.blank.iter().any(|blank| blank == text) {
                problems.cell(
                    row,
                    column,
                    "is blank, but the record's id is made from it: fill it",
                );
                return None;
            }
            parts.push(text);
        }
        let id = ids::make_id(&entry.prefix, &parts);
        let column = entry.columns().first().map_or("", String::as_str);
        id.map_err(|message| problems.cell(row, column, message))
            .ok()
    }

    /// The record that a row belongs to, begun where the row is its first.
    fn draft(
        &mut self,
        row: usize,
        id: String,
        cells: &StringRecord,
        problems: &mut Problems<'_>,
    ) -> Option<usize> {
        let group = self.map.layout.group.as_ref();
        let key = self
            .group_place
            .and_then(|place| cells.get(place))
            .map_or("", clean);
        if let Some(group) = group {
            if key.is_empty() {
                problems.cell(
                    row,
                    &group.by,
                    "is blank, but rows are grouped by it: fill it",
                );
                return None;
            }
            if let Some(known) = self.by_group.get(key) {
                let first = &self.drafts[*known];
                if first.id == id {
                    return Some(*known);
                }
                let message = format!(
                    "belongs to the record of row {}, but gives another id: {id:?}, not {:?}",
                    first.row, first.id
                );
                problems.row(row, message);
                return None;
            }
        }
        if let Some(known) = self.by_id.get(&id) {
            let first = self.drafts[*known].row;
            let message =
                format!("gives the id {id:?}, as row {first} does: make one of the two differ");
            problems.row(row, message);
            return None;
        }
        let draft = self.drafts.len();
        self.by_id.insert(id.clone(), draft);
        if group.is_some() {
            self.by_group.insert(key.to_owned(), draft);
        }
        let mut body = DynamicMessage::new(self.kind.clone());
        for (target, values) in self
            .bound
            .fixed
            .iter()
            .filter(|(target, _)| !target.of_element)
        {
            path::put(&mut body, &target.path, values.clone());
        }
        let texts = vec![None; self.places.len()];
        self.drafts.push(Draft {
            row,
            id,
            body,
            texts,
            element_rows: Vec::new(),
            bad: Vec::new(),
        });
        Some(draft)
    }

    fn text<'c>(&self, column: usize, cells: &'c StringRecord) -> &'c str {
        self.places[column]
            .and_then(|place| cells.get(place))
            .map_or("", clean)
    }

    fn is_blank(&self, column: usize, text: &str) -> bool {
        let layout = &self.map.layout;
        let mut blanks = layout.blank.iter().chain(&layout.columns[column].blank);
        text.is_empty() || blanks.any(|blank| blank == text)
    }

    /// Whether a cell of the record itself says something new; a contradiction is a problem.
    fn is_new(
        &mut self,
        draft: usize,
        column: usize,
        row: usize,
        text: &str,
        problems: &mut Problems<'_>,
    ) -> bool {
        let known = &mut self.drafts[draft].texts[column];
        match known {
            None => {
                *known = Some((row, text.to_owned()));
                true
            }
            Some((_, same)) if same == text => false,
            Some((first, other)) => {
                let name = &self.map.layout.columns[column].column;
                problems.cell(
                    row,
                    name,
                    format!(
                        "is {text:?}, but row {first} of the same record says {other:?}: make \
                     them equal"
                    ),
                );
                false
            }
        }
    }

    fn values(&self, target: &Target, text: &str) -> Result<Vec<Value>, Vec<String>> {
        let style = &self.map.style;
        let Some(sign) = &target.list else {
            return cell::read_value(text, &target.form, style)
                .map(|v| vec![v])
                .map_err(|m| vec![m]);
        };
        let parts = text
            .split(sign.as_str())
            .map(str::trim)
            .filter(|part| !part.is_empty());
        let (mut values, mut messages) = (Vec::new(), Vec::new());
        for part in parts {
            match cell::read_value(part, &target.form, style) {
                Ok(value) => values.push(value),
                Err(message) => messages.push(message),
            }
        }
        if messages.is_empty() {
            Ok(values)
        } else {
            Err(messages)
        }
    }

    fn fill_element(&self, element: &mut Option<Value>, target: &Target, mut values: Vec<Value>) {
        if target.path.is_empty() {
            *element = values.pop();
            return;
        }
        let field = self
            .bound
            .repeated
            .as_ref()
            .and_then(|fields| fields.last());
        let Some(Kind::Message(kind)) = field.map(prost_reflect::FieldDescriptor::kind) else {
            return;
        };
        let whole = element.get_or_insert_with(|| {
            let mut whole = DynamicMessage::new(kind);
            for (target, values) in self
                .bound
                .fixed
                .iter()
                .filter(|(target, _)| target.of_element)
            {
                path::put(&mut whole, &target.path, values.clone());
            }
            Value::Message(whole)
        });
        if let Value::Message(whole) = whole {
            path::put(whole, &target.path, values);
        }
    }

    fn close_element(&mut self, draft: usize, row: usize, element: Option<Value>) {
        let Some((fields, element)) = self.bound.repeated.as_ref().zip(element) else {
            return;
        };
        let draft = &mut self.drafts[draft];
        path::put(&mut draft.body, fields, vec![element]);
        draft.element_rows.push(row);
    }
}
