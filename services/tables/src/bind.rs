//! A column map laid over one kind of record: each column with its field.

use obvert_proto::rules;
use prost_reflect::{FieldDescriptor, Kind, MessageDescriptor, Value};

use crate::{
    cell::{self, Form},
    column_map::{ColumnEntry, ColumnMap, FixedEntry, Style},
    forms::{self, is_number},
    path,
    problems::Problems,
    times::DateForm,
};

/// A column map laid over one kind of record.
pub(crate) struct Bound {
    /// Target of each column of the map, in its order; none where the map is wrong.
    pub(crate) columns: Vec<Option<Target>>,
    /// Fields that every record has alike.
    pub(crate) fixed: Vec<(Target, Vec<Value>)>,
    /// Repeated field of which each row is one element.
    pub(crate) repeated: Option<Vec<FieldDescriptor>>,
}

/// One field that cells fill.
pub(crate) struct Target {
    /// Fields from the record, or from the element of the group, down to the field; empty when the
    /// element is the value itself.
    pub(crate) path: Vec<FieldDescriptor>,
    /// Whether the field belongs to the element that a row of a group is.
    pub(crate) of_element: bool,
    /// How a cell reads.
    pub(crate) form: Form,
    /// Sign between several values in one cell.
    pub(crate) list: Option<String>,
}

/// Lays a map over a kind of record; what does not fit is added to the problems.
pub(crate) fn bind(
    map: &ColumnMap,
    kind: &MessageDescriptor,
    project: &str,
    problems: &mut Problems<'_>,
) -> Bound {
    let collection = rules::kinds()
        .get(kind.full_name())
        .map_or("", |kind| kind.collection.as_str());
    if map.collection() != collection {
        let given = map.collection();
        let message =
            format!("{given:?} is not what is imported: map the collection {collection:?}");
        problems.map("collection", message);
    }
    let repeated = repeated_field(map, kind, problems);
    let binder = Binder {
        map,
        kind,
        project,
        repeated: repeated.as_deref(),
    };
    let columns = map.layout.columns.iter().map(|entry| {
        let target = binder.column(entry);
        target
            .map_err(|message| problems.map(&entry.place(), message))
            .ok()
    });
    let columns: Vec<_> = columns.collect();
    let mut fixed = Vec::new();
    for entry in &map.layout.fixed {
        match binder.fixed(entry) {
            Ok(found) => fixed.push(found),
            Err(message) => problems.map(&format!("fixed {}", entry.field), message),
        }
    }
    check_twice(map, &columns, problems);
    if repeated.is_some() && !columns.iter().flatten().any(|target| target.of_element) {
        problems.map(
            "[group]",
            "no column fills the repeated field: map at least one",
        );
    }
    Bound {
        columns,
        fixed,
        repeated,
    }
}

struct Binder<'a> {
    map: &'a ColumnMap,
    kind: &'a MessageDescriptor,
    project: &'a str,
    repeated: Option<&'a [FieldDescriptor]>,
}

impl Binder<'_> {
    fn column(&self, entry: &ColumnEntry) -> Result<Target, String> {
        let (path, field, of_element) = self.locate(&entry.field)?;
        if entry.list.is_some() && !path.last().is_some_and(FieldDescriptor::is_list) {
            return Err(format!("{} holds one value: remove list", entry.field));
        }
        let form = forms::of_column(entry, &field, self.project)?;
        let decimal = self.map.style.decimal;
        if is_number(&form)
            && entry
                .list
                .as_ref()
                .is_some_and(|list| list.contains(decimal))
        {
            return Err(format!(
                "list {decimal:?} is the decimal sign too: use another"
            ));
        }
        Ok(Target {
            path,
            of_element,
            form,
            list: entry.list.clone(),
        })
    }

    fn fixed(&self, entry: &FixedEntry) -> Result<(Target, Vec<Value>), String> {
        let (path, field, of_element) = self.locate(&entry.field)?;
        if of_element && path.is_empty() {
            return Err("the element of a group comes from a column: remove it".to_owned());
        }
        let form = forms::of_fixed(entry, &field, self.project)?;
        let values = match &entry.value {
            toml::Value::Array(values) if field.is_list() => values.as_slice(),
            value => std::slice::from_ref(value),
        };
        let zone = self.map.style.zone.clone();
        let style = Style {
            decimal: '.',
            date_form: DateForm::Year,
            zone,
        };
        let values = values.iter().map(|value| {
            let text = match value {
                toml::Value::String(text) => text.clone(),
                value => value.to_string(),
            };
            cell::read_value(&text, &form, &style)
        });
        let values = values.collect::<Result<Vec<_>, _>>()?;
        Ok((
            Target {
                path,
                of_element,
                form,
                list: None,
            },
            values,
        ))
    }

    /// Path below the record or the element, the field itself, and whether it is of the element.
    fn locate(&self, path: &str) -> Result<(Vec<FieldDescriptor>, FieldDescriptor, bool), String> {
        let group = self.map.layout.group.as_ref().zip(self.repeated);
        let below = group.and_then(|(entry, fields)| {
            let rest = path.strip_prefix(&entry.repeated)?;
            Some((
                rest.strip_prefix('.').or(rest.is_empty().then_some(""))?,
                fields.last()?,
            ))
        });
        let found = match below {
            Some(("", field)) => match field.kind() {
                Kind::Message(_) => return Err(forms::own_fields(path, field)),
                _ => (Vec::new(), field.clone(), true),
            },
            Some((rest, field)) => match field.kind() {
                Kind::Message(element) => {
                    let fields = path::resolve(&element, rest)?;
                    let last = fields
                        .last()
                        .cloned()
                        .ok_or_else(|| "names no field".to_owned())?;
                    (fields, last, true)
                }
                _ => return Err(format!("{} has no fields of its own", field.name())),
            },
            None => {
                let fields = path::resolve(self.kind, path)?;
                let last = fields
                    .last()
                    .cloned()
                    .ok_or_else(|| "names no field".to_owned())?;
                (fields, last, false)
            }
        };
        let parents = &found.0;
        if parents.iter().any(|field| rules::rule(field).output_only)
            || rules::rule(&found.1).output_only
        {
            return Err(format!("{path} is written by the server only: remove it"));
        }
        Ok(found)
    }
}

fn repeated_field(
    map: &ColumnMap,
    kind: &MessageDescriptor,
    problems: &mut Problems<'_>,
) -> Option<Vec<FieldDescriptor>> {
    let entry = map.layout.group.as_ref()?;
    match path::resolve(kind, &entry.repeated) {
        Ok(fields)
            if fields
                .last()
                .is_some_and(|f| f.is_list() && !rules::rule(f).output_only) =>
        {
            return Some(fields);
        }
        Ok(_) => problems.map(
            "[group] repeated",
            format!("{} takes no list of elements", entry.repeated),
        ),
        Err(message) => problems.map("[group] repeated", message),
    }
    None
}

/// Refuses a field that two entries fill, unless it takes several values.
fn check_twice(map: &ColumnMap, columns: &[Option<Target>], problems: &mut Problems<'_>) {
    let mut seen: Vec<&str> = Vec::new();
    for (entry, target) in map.layout.columns.iter().zip(columns) {
        let many = target
            .as_ref()
            .and_then(|target| target.path.last())
            .is_some_and(FieldDescriptor::is_list);
        if seen.contains(&entry.field.as_str()) && !many {
            let message = format!("{} is filled twice: remove one of the two", entry.field);
            problems.map(&entry.place(), message);
        }
        seen.push(&entry.field);
    }
    for entry in &map.layout.fixed {
        if seen.contains(&entry.field.as_str()) {
            let message = format!("{} is filled twice: remove one of the two", entry.field);
            problems.map(&format!("fixed {}", entry.field), message);
        }
        seen.push(&entry.field);
    }
}
