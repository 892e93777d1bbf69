//! The files of the repository.

use std::{fs, path::Path};

/// Folders that are made, fetched or kept by tools.
const MADE: [&str; 5] = ["target", "node_modules", "__pycache__", "venv", ".git"];

/// Root of the repository.
pub(crate) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap()
}

/// A hand-written file: path from the root with `/`, and text.
pub(crate) struct Source {
    pub(crate) path: String,
    pub(crate) text: String,
}

/// All text files below a folder of the repository, in order of path; generated ones left out.
pub(crate) fn sources(below: &str) -> Vec<Source> {
    let mut sources = Vec::new();
    gather(&root().join(below), &mut sources);
    sources.sort_by(|a, b| a.path.cmp(&b.path));
    assert!(!sources.is_empty(), "nothing is below {below}");
    sources
}

/// Text of one file.
pub(super) fn text(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// Whether a file ends in one of the endings, each given without its dot.
pub(super) fn ends_in(path: &str, endings: &[&str]) -> bool {
    path.rsplit_once('.')
        .is_some_and(|(_, ending)| endings.contains(&ending))
}

fn gather(folder: &Path, sources: &mut Vec<Source>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        // In a second working tree of one repository `.git` is a file.
        if MADE.contains(&name.as_str()) {
            continue;
        }
        if path.is_dir() {
            gather(&path, sources);
        } else if name != "Cargo.lock" && !name.contains("_pb2") {
            // What is no UTF-8 text is a picture or an image of the schema.
            if let Ok(text) = fs::read_to_string(&path) {
                sources.push(Source {
                    path: relative(&path),
                    text,
                });
            }
        }
    }
}

fn relative(path: &Path) -> String {
    path.strip_prefix(root())
        .unwrap()
        .to_string_lossy()
        .replace('\\', "/")
}
