//! What the schema says in words about its messages, fields and values.

use std::{collections::HashMap, sync::LazyLock};

use prost_reflect::FileDescriptor;

use crate::pool;

/// Comment above an element of a schema file, its rows joined to one; empty where there is none.
///
/// `path` is the element's own: `message.path()`, `field.path()` or `value.path()`.
pub fn comment(file: &FileDescriptor, path: &[i32]) -> &'static str {
    static COMMENTS: LazyLock<HashMap<(String, Vec<i32>), String>> = LazyLock::new(all);
    let key = (file.name().to_owned(), path.to_vec());
    COMMENTS.get(&key).map_or("", String::as_str)
}

fn all() -> HashMap<(String, Vec<i32>), String> {
    let mut found = HashMap::new();
    for file in pool().files() {
        let info = file.file_descriptor_proto().source_code_info.as_ref();
        for place in info.map_or(&[][..], |info| &info.location) {
            let rows = place.leading_comments().lines().map(str::trim);
            let text = rows.collect::<Vec<_>>().join(" ").trim().to_owned();
            if !text.is_empty() {
                found.insert((file.name().to_owned(), place.path.clone()), text);
            }
        }
    }
    found
}
