//! Names of records: `projects/{project}/{collection}/{id}`.

use obvert_proto::Violation;

/// Longest id.
const ID_LENGTH: usize = 63;

/// Parts of a record's name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NameParts<'a> {
    /// Project id.
    pub project: &'a str,
    /// Collection; `projects` for a project itself.
    pub collection: &'a str,
    /// Id inside the collection.
    pub id: &'a str,
}

/// Parts of a name, or `None` when it has another form.
pub fn parse(name: &str) -> Option<NameParts<'_>> {
    let mut parts = name.split('/');
    if parts.next()? != "projects" {
        return None;
    }
    let project = parts.next().filter(|id| is_id(id))?;
    let Some(collection) = parts.next() else {
        return Some(NameParts {
            project,
            collection: "projects",
            id: project,
        });
    };
    let id = parts.next().filter(|id| is_id(id))?;
    let plain = !collection.is_empty() && collection.bytes().all(|b| b.is_ascii_alphabetic());
    (plain && parts.next().is_none()).then_some(NameParts {
        project,
        collection,
        id,
    })
}

/// Project that a name speaks of, however the rest of it is spelt, so that permission is asked
/// before form; the empty project, in which nobody but the store's office has a role, for no name.
pub fn project_of(name: &str) -> &str {
    let rest = name.strip_prefix("projects/").unwrap_or_default();
    rest.split('/').next().unwrap_or_default()
}

/// Name of a record; a project's own record is named by the project alone.
pub fn join(project: &str, collection: &str, id: &str) -> String {
    match collection {
        "projects" => format!("projects/{id}"),
        _ => format!("projects/{project}/{collection}/{id}"),
    }
}

/// Last part of a name, for messages.
pub fn id_of(name: &str) -> &str {
    name.rsplit('/').next().unwrap_or(name)
}

/// Last part of a name as people write it: `o-019` as O-019, `q-009-t3` as Q-009-T3, `run-012` of `runs`
/// as 012, since its kind stands before it. An id is the small letters of such a number; words in it
/// stay small.
pub fn number_of(name: &str) -> String {
    let (kind, id) = match parse(name) {
        Some(parts) => (parts.collection.trim_end_matches('s'), parts.id),
        None => ("", id_of(name)),
    };
    let bare = id.strip_prefix(kind).and_then(|id| id.strip_prefix('-'));
    let part = |part: &str| {
        let is_number = part.len() <= 2 || part.bytes().any(|b| b.is_ascii_digit());
        if is_number {
            part.to_ascii_uppercase()
        } else {
            part.to_owned()
        }
    };
    let parts = bare.unwrap_or(id).split('-').map(part);
    parts.collect::<Vec<_>>().join("-")
}

/// Whether a text is an id: `^[a-z]([a-z0-9-]{0,61}[a-z0-9])?$`.
pub fn is_id(id: &str) -> bool {
    let first = id.bytes().next().is_some_and(|b| b.is_ascii_lowercase());
    let all = id
        .bytes()
        .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    first && all && !id.ends_with('-') && id.len() <= ID_LENGTH
}

/// Violation of the form of an id, if any.
pub fn check_id(field: &str, id: &str) -> Option<Violation> {
    (!is_id(id)).then(|| {
        let message = format!(
            "is \"{id}\": use 1 to {ID_LENGTH} lower-case letters, digits and hyphens, a letter first"
        );
        Violation::new(field, message)
    })
}

/// Violation of the form of a name, if any.
pub fn check_name(field: &str, name: &str) -> Option<Violation> {
    parse(name).is_none().then(|| {
        let message = format!("is \"{name}\": write projects/{{project}}/{{collection}}/{{id}}");
        Violation::new(field, message)
    })
}
