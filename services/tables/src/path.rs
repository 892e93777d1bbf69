//! Fields by path, such as `wall.wall_thickness_mm`, in messages known only by descriptor.

use obvert_proto::rules;
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, MessageDescriptor, Value};

use crate::did_you_mean;

/// Fields from a message down to the one a path names.
pub(crate) fn resolve(
    message: &MessageDescriptor,
    path: &str,
) -> Result<Vec<FieldDescriptor>, String> {
    let mut message = message.clone();
    let mut fields: Vec<FieldDescriptor> = Vec::new();
    for name in path.split('.') {
        if let Some(parent) = fields.last() {
            message = inner(parent)?;
        }
        let field = message.get_field_by_name(name).ok_or_else(|| {
            let names: Vec<_> = message
                .fields()
                .map(|field| field.name().to_owned())
                .collect();
            let near = did_you_mean(name, names.iter().map(String::as_str));
            format!("{} has no field {name:?}{near}", message.name())
        })?;
        fields.push(field);
    }
    Ok(fields)
}

/// Adds values to the field at a path; a singular field takes the last.
pub(crate) fn put(message: &mut DynamicMessage, path: &[FieldDescriptor], values: Vec<Value>) {
    match path {
        [] => {}
        [field] if field.is_list() => {
            if let Value::List(items) = message.get_field_mut(field) {
                items.extend(values);
            }
        }
        [field] => values
            .into_iter()
            .for_each(|value| message.set_field(field, value)),
        [field, rest @ ..] => {
            if let Value::Message(inner) = message.get_field_mut(field) {
                put(inner, rest, values);
            }
        }
    }
}

/// Values of the field at a path; none when it is absent.
pub(crate) fn get(message: &DynamicMessage, path: &[FieldDescriptor]) -> Vec<Value> {
    let Some((field, rest)) = path.split_first() else {
        return Vec::new();
    };
    let value = message.get_field(field);
    let said = message.has_field(field) || rest.is_empty() && zero_counts(field);
    match value.as_ref() {
        _ if !said => Vec::new(),
        Value::Message(inner) if !rest.is_empty() => get(inner, rest),
        Value::List(items) => items.clone(),
        value => vec![value.clone()],
    }
}

/// Whether zero or false is a value of the field, not its absence.
fn zero_counts(field: &FieldDescriptor) -> bool {
    let rule = rules::rule(field);
    let plain = matches!(
        field.kind(),
        Kind::Double | Kind::Int32 | Kind::Int64 | Kind::Bool
    );
    plain && !field.supports_presence() && !field.is_list() && !rule.required && !rule.output_only
}

fn inner(field: &FieldDescriptor) -> Result<MessageDescriptor, String> {
    let name = field.name();
    match field.kind() {
        _ if field.is_map() => Err(format!("{name} is a map, which tables do not carry")),
        Kind::Message(_) if field.is_list() => Err(format!(
            "{name} is repeated: name it as repeated in [group], one row for each element"
        )),
        Kind::Message(message) => Ok(message),
        _ => Err(format!(
            "{name} has no fields of its own: end the path there"
        )),
    }
}
