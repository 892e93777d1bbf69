//! Names of files that a server sends, before anything is written under them.

use std::path::Path;

use crate::{Exit, Failure};

/// A name that stays in the folder it is joined to.
///
/// # Errors
///
/// [`Exit::Failure`] when the name has a folder in it, is hidden, or is no package's.
pub fn plain_file_name(name: &str) -> Result<&str, Failure> {
    let plain = Path::new(name).file_name().is_some_and(|last| last == name);
    let allowed = |byte: u8| byte.is_ascii_alphanumeric() || b"._-".contains(&byte);
    let harmless = !name.starts_with('.') && name.ends_with(".zip") && name.bytes().all(allowed);
    if plain && harmless {
        return Ok(name);
    }
    let what = format!("the server calls the file {name:?}, which is no name of a package");
    Err(Failure::new(Exit::Failure, what))
}
