//! Rules and kinds as the schema's options state them.

use prost_reflect::{FieldDescriptor, MessageDescriptor};

use super::{DEFAULT_LENGTH, Kind, Rule};
use crate::pool;

/// Kind that a message states, if it is a record kind.
pub(super) fn read_kind(message: &MessageDescriptor) -> Option<Kind> {
    let extension = pool().get_extension_by_name("obvert.common.v1.kind")?;
    let options = message.options();
    if !options.has_extension(&extension) {
        return None;
    }
    let value = options.get_extension(&extension);
    let value = value.as_message()?;
    let flag = |name: &str| value.get_field_by_name(name).and_then(|v| v.as_bool());
    let words = value.get_field_by_name("issued_by");
    let words = words.as_ref().and_then(|words| words.as_list());
    let words = words.unwrap_or_default().iter().filter_map(|w| w.as_str());
    let marked = |mark: &str| {
        let field = message.fields().find(|field| is_marked(field, mark));
        field.map(|field| field.name().to_owned())
    };
    let counted = marked("counted");
    Some(Kind {
        called_by: marked("called_by").or_else(|| counted.clone()),
        counted,
        is_paper: message.get_field_by_name("grade").is_some(),
        issued_by: words.map(str::to_owned).collect(),
        type_name: message.full_name().to_owned(),
        collection: value.get_field_by_name("collection")?.as_str()?.to_owned(),
        own_rpc: flag("own_rpc").unwrap_or_default(),
        office: flag("office").unwrap_or_default(),
    })
}

/// Whether a field has a mark of its rule, such as `counted`.
fn is_marked(field: &FieldDescriptor, mark: &str) -> bool {
    let Some(extension) = pool().get_extension_by_name("obvert.common.v1.rule") else {
        return false;
    };
    let rule = field.options().get_extension(&extension).into_owned();
    let marked = rule
        .as_message()
        .and_then(|r| r.get_field_by_name(mark).map(|v| v.as_bool()));
    marked.flatten().unwrap_or_default()
}

/// Rule that a field states; the default rule where it states none.
pub(super) fn read_rule(field: &FieldDescriptor) -> Rule {
    let mut rule = Rule {
        max_length: DEFAULT_LENGTH,
        ..Rule::default()
    };
    let Some(extension) = pool().get_extension_by_name("obvert.common.v1.rule") else {
        return rule;
    };
    let options = field.options();
    if !options.has_extension(&extension) {
        return rule;
    }
    let value = options.get_extension(&extension);
    let Some(value) = value.as_message() else {
        return rule;
    };
    let number = |name: &str| {
        let present = value.has_field_by_name(name);
        value
            .get_field_by_name(name)
            .filter(|_| present)
            .and_then(|v| v.as_f64())
    };
    let count = |name: &str| {
        let value = value
            .get_field_by_name(name)
            .and_then(|v| v.as_i32())
            .unwrap_or_default();
        usize::try_from(value).unwrap_or_default()
    };
    let flag = |name: &str| {
        value
            .get_field_by_name(name)
            .and_then(|v| v.as_bool())
            .unwrap_or_default()
    };
    rule.required = flag("required");
    rule.output_only = flag("output_only");
    rule.person = flag("person");
    rule.work_time = flag("work_time");
    rule.min = number("min");
    rule.max = number("max");
    rule.min_items = count("min_items");
    if count("max_length") > 0 {
        rule.max_length = count("max_length");
    }
    let refers = value
        .get_field_by_name("refers")
        .and_then(|v| v.as_str().map(str::to_owned));
    rule.refers = refers.filter(|collection| !collection.is_empty());
    rule
}
