//! All that a template can reach.

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::LazyLock;

use serde_json::{Map, Value, json};
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, Source};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Feature, Library, LibraryExt, World};

use crate::fonts::FONTS;
use crate::plain_text::{printable, printable_text};
use crate::template::{self, file_id};
use crate::{Document, TypesetError};

/// The closed folder of one document: template sources, `data.json`, the document's files.
pub(crate) struct ClosedWorld {
    main: FileId,
    files: HashMap<FileId, Bytes>,
}

static LIBRARY: LazyLock<LazyHash<Library>> = LazyLock::new(|| {
    let features = [Feature::A11yExtras].into_iter().collect();
    LazyHash::new(Library::builder().with_features(features).build())
});

impl ClosedWorld {
    /// Lays out the folder. Files get numbered paths; the data maps their names to them.
    pub(crate) fn new(document: &Document) -> Result<Self, TypesetError> {
        let count = document.files.len();
        if count > Document::FILE_COUNT_MAX {
            return Err(TypesetError::TooManyFiles { count });
        }
        let mut files = HashMap::new();
        let mut paths = Map::new();
        for (number, (name, bytes)) in document.files.iter().enumerate() {
            let path = format!("/files/{number}");
            files.extend(file_id(&path).map(|id| (id, Bytes::new(bytes.clone()))));
            paths.insert(printable_text(name, &mut 0), Value::String(path));
        }
        let (sheet, replaced_count) = printable(&document.data);
        let data = json!({
            "title": printable_text(&document.title, &mut 0),
            "ident": printable_text(&document.ident, &mut 0),
            "paper": document.paper.name(),
            "files": paths,
            "replaced_count": replaced_count,
            "sheet": sheet,
        });
        let data = Bytes::from_string(data.to_string());
        files.extend(file_id("/data.json").map(|id| (id, data)));
        Ok(Self {
            main: document.template.main(),
            files,
        })
    }
}

impl World for ClosedWorld {
    fn library(&self) -> &LazyHash<Library> {
        &LIBRARY
    }

    fn book(&self) -> &LazyHash<FontBook> {
        FONTS.book()
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        template::source(id).cloned().ok_or_else(|| not_given(id))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.files.get(&id).cloned().ok_or_else(|| not_given(id))
    }

    fn font(&self, index: usize) -> Option<Font> {
        FONTS.font(index)
    }

    /// There is no clock: a template that asks for today's date fails.
    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

fn not_given(id: FileId) -> FileError {
    FileError::NotFound(PathBuf::from(id.vpath().get_without_slash()))
}
