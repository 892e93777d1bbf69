//! What is found wrong with a table, capped so that a hostile file cannot fill memory.

use obvert_proto::Violation;

/// Violations kept; a table with more has one cause that the first thousand show.
const MOST_KEPT: usize = 1_000;

/// Violations of one table, with where each stands.
pub(crate) struct Problems<'a> {
    file_name: &'a str,
    kept: Vec<Violation>,
    left_out: usize,
}

impl<'a> Problems<'a> {
    /// No violation yet.
    pub(crate) fn new(file_name: &'a str) -> Self {
        let file_name = if file_name.is_empty() {
            "table"
        } else {
            file_name
        };
        Self {
            file_name,
            kept: Vec::new(),
            left_out: 0,
        }
    }

    /// Adds a violation of the file as a whole.
    pub(crate) fn file(&mut self, message: impl Into<String>) {
        self.add(self.file_name.to_owned(), message.into());
    }

    /// Adds a violation of one row.
    pub(crate) fn row(&mut self, row: usize, message: impl Into<String>) {
        self.add(format!("{} row {row}", self.file_name), message.into());
    }

    /// Adds a violation of one cell.
    pub(crate) fn cell(&mut self, row: usize, column: &str, message: impl Into<String>) {
        self.add(
            format!("{} row {row} column {column:?}", self.file_name),
            message.into(),
        );
    }

    /// Adds a violation of one field of one row's record that no single column fills.
    pub(crate) fn field(&mut self, row: usize, field: &str, message: impl Into<String>) {
        self.add(
            format!("{} row {row} field {field}", self.file_name),
            message.into(),
        );
    }

    /// Adds a violation of the column map.
    pub(crate) fn map(&mut self, place: &str, message: impl Into<String>) {
        self.add(format!("column map, {place}"), message.into());
    }

    /// Whether nothing was found.
    pub(crate) fn none(&self) -> bool {
        self.kept.is_empty()
    }

    /// Everything found, in the order of finding.
    pub(crate) fn into_violations(mut self) -> Vec<Violation> {
        if self.left_out > 0 {
            let message = format!("{} more are not listed: mend these first", self.left_out);
            self.kept.push(Violation::new(self.file_name, message));
        }
        self.kept
    }

    fn add(&mut self, field: String, message: String) {
        if self.kept.len() < MOST_KEPT {
            self.kept.push(Violation { field, message });
        } else {
            self.left_out += 1;
        }
    }
}
