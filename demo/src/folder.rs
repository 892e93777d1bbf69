//! The folder that is written: tables, records one a row, and plain files.

use std::{
    fs, io,
    path::{Path, PathBuf},
};

use jiff::Timestamp;
use serde_json::{Map, Value};

use crate::slip::{Slip, Slips};

/// What every file says of itself where its form allows.
pub(crate) const INVENTED: &str = "Invented data: Quillfern Lane rear easements, Marrowby.";
/// Project id.
pub(crate) const PROJECT: &str = "quillfern";

/// Folder being filled.
pub(crate) struct Folder {
    root: PathBuf,
    slips: Slips,
}

/// One record, as one row of a file.
pub(crate) struct Row {
    /// Id inside its collection.
    pub(crate) id: String,
    /// Kind, as the field of the schema is called in JSON.
    pub(crate) kind: &'static str,
    /// When it was observed, where that is not when it is filed.
    pub(crate) observed: Option<Timestamp>,
    /// The record.
    pub(crate) body: Value,
}

/// A column of a table and what it fills.
pub(crate) struct Column {
    /// Head of the column.
    pub(crate) head: &'static str,
    /// Rest of its entry in the column map, in TOML; empty for a column that nobody reads.
    pub(crate) entry: &'static str,
}

impl Folder {
    /// A folder, made if it is not there, into which records go with these slips.
    pub(crate) fn at(root: &Path, slips: Slips) -> io::Result<Self> {
        fs::create_dir_all(root)?;
        Ok(Self {
            root: root.to_owned(),
            slips,
        })
    }

    /// Writes a file, and the folders above it.
    pub(crate) fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> io::Result<()> {
        let path = self.root.join(name);
        if let Some(above) = path.parent() {
            fs::create_dir_all(above)?;
        }
        fs::write(path, bytes)
    }

    /// Writes records, one a row.
    pub(crate) fn records(&self, name: &str, rows: &[Row]) -> io::Result<()> {
        let mut text = String::new();
        for row in rows {
            let mut body = row.body.clone();
            match self.slips.get(&(row.kind, row.id.clone())) {
                Some(Slip::Omitted) => continue,
                Some(Slip::Noted(fields)) => {
                    for (field, value) in fields {
                        body[*field] = value.clone();
                    }
                }
                None => {}
            }
            let mut object = Map::new();
            object.insert("id".into(), row.id.clone().into());
            if let Some(time) = row.observed {
                object.insert("observedTime".into(), time.to_string().into());
            }
            object.insert("reason".into(), INVENTED.into());
            object.insert(row.kind.into(), body);
            text += &Value::Object(object).to_string();
            text.push('\n');
        }
        self.write(name, text)
    }

    /// Writes one record to a file of its own.
    pub(crate) fn record(&self, name: &str, body: &Value) -> io::Result<()> {
        let text = serde_json::to_string_pretty(body).map_err(io::Error::other)?;
        self.write(name, text + "\n")
    }

    /// Writes a table `{name}.csv` and its column map `{name}.map.toml`. The map's head holds
    /// everything but its columns. A last column says that the data is invented.
    pub(crate) fn table(
        &self,
        name: &str,
        head: &str,
        columns: &[Column],
        rows: &[Vec<String>],
    ) -> io::Result<()> {
        let mut csv = csv::Writer::from_writer(Vec::new());
        let heads = columns.iter().map(|column| column.head).chain(["REMARK"]);
        csv.write_record(heads).map_err(io::Error::other)?;
        for row in rows {
            let cells = row.iter().map(String::as_str).chain(["invented"]);
            csv.write_record(cells).map_err(io::Error::other)?;
        }
        let csv = csv
            .into_inner()
            .map_err(|error| io::Error::other(error.to_string()))?;
        self.write(&format!("{name}.csv"), csv)?;
        let mut map = format!("# {INVENTED}\nunmapped_columns = \"ignore\"\n{head}");
        for column in columns.iter().filter(|column| !column.entry.is_empty()) {
            map += &format!(
                "\n[[column]]\ncolumn = \"{}\"\n{}\n",
                column.head, column.entry
            );
        }
        self.write(&format!("{name}.map.toml"), map)
    }
}

/// Full name of a record of the project.
pub(crate) fn name(collection: &str, id: &str) -> String {
    format!("projects/{PROJECT}/{collection}/{id}")
}
