//! Record ids made from what owners call their things.

/// Longest id of a record.
const MAX_LENGTH: usize = 63;
/// Beginning of every record's full name.
const NAME_START: &str = "projects/";

/// Id of a record: the prefix, then the parts in lower case, runs of other characters as one `-`.
///
/// Ids match `^[a-z]([a-z0-9-]{0,61}[a-z0-9])?$`; the error says why the parts give none.
pub(crate) fn make_id(prefix: &str, parts: &[&str]) -> Result<String, String> {
    let words = parts.join("-");
    let slug = slug(&words);
    let id = format!("{prefix}{slug}");
    if slug.is_empty() {
        return Err(format!(
            "{words:?} has no letter or digit to make an id of: give one"
        ));
    }
    if !id.starts_with(|c: char| c.is_ascii_lowercase()) {
        return Err(format!(
            "{words:?} gives the id {id:?}, but ids begin with a letter: set a prefix such as \
             \"s-\" in the column map"
        ));
    }
    if id.len() > MAX_LENGTH {
        let length = id.len();
        return Err(format!(
            "{words:?} gives an id of {length} characters, {MAX_LENGTH} fit: shorten it"
        ));
    }
    Ok(id)
}

/// Full name of the record that a cell names: kept when it is one, else made from a bare id.
pub(crate) fn make_name(
    project: &str,
    collection: &str,
    prefix: &str,
    text: &str,
) -> Result<String, String> {
    if text.starts_with(NAME_START) {
        return Ok(text.to_owned());
    }
    Ok(format!(
        "{NAME_START}{project}/{collection}/{}",
        make_id(prefix, &[text])?
    ))
}

/// Bare form of a record's name for a table cell; the whole name when the bare form would not lead
/// back to the record.
pub(crate) fn bare_name<'a>(collection: &str, prefix: &str, name: &'a str) -> &'a str {
    let parts: Vec<&'a str> = name.split('/').collect();
    match parts[..] {
        ["projects", _, of, id] if of == collection => bare_id(prefix, id).unwrap_or(name),
        _ => name,
    }
}

/// Id without its prefix, or `None` when the rest would not lead back to the id.
pub(crate) fn bare_id<'a>(prefix: &str, id: &'a str) -> Option<&'a str> {
    id.strip_prefix(prefix)
        .filter(|bare| make_id(prefix, &[bare]).as_deref() == Ok(id))
}

/// Whether a map's prefix may begin an id.
pub(crate) fn prefix_fits(prefix: &str) -> bool {
    let mut letters = prefix.chars();
    letters.next().is_none_or(|c| c.is_ascii_lowercase())
        && letters.all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
        && prefix.len() < MAX_LENGTH
}

fn slug(text: &str) -> String {
    let mut slug = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter.is_ascii_alphanumeric() {
            slug.push(letter.to_ascii_lowercase());
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    slug.trim_end_matches('-').to_owned()
}
