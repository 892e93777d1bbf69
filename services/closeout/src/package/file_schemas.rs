//! Schemas of the payload's JSON files that hold no message of the schema. They are written by hand,
//! as their files are, and judged with them from outside.

use std::collections::BTreeMap;

/// File name without ending, and its schema.
const SCHEMAS: &[(&str, &str)] = &[
    (
        "changes",
        include_str!("../../templates/schemas/changes.schema.json"),
    ),
    (
        "corrections",
        include_str!("../../templates/schemas/corrections.schema.json"),
    ),
    (
        "originals",
        include_str!("../../templates/schemas/originals.schema.json"),
    ),
    (
        "plugin-sections",
        include_str!("../../templates/schemas/plugin-sections.schema.json"),
    ),
    (
        "redactions",
        include_str!("../../templates/schemas/redactions.schema.json"),
    ),
];

/// Adds each schema under the name of its file.
pub(super) fn add(files: &mut BTreeMap<String, Vec<u8>>) {
    let schemas = SCHEMAS.iter();
    let schemas = schemas.map(|(name, schema)| {
        let path = format!("data/schema/{name}.schema.json");
        (path, schema.as_bytes().to_vec())
    });
    files.extend(schemas);
}
