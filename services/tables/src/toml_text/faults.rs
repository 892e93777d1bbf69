//! Faults of a text with the place they stand at.

/// What is wrong at one place of a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Row from 1.
    pub row: i32,
    /// Column from 1, in characters.
    pub column: i32,
    /// What is wrong and what to do.
    pub message: String,
}

/// Faults of one text so far.
pub struct Faults<'a> {
    source: &'a str,
    found: Vec<Fault>,
}

impl<'a> Faults<'a> {
    /// No faults yet.
    pub fn new(source: &'a str) -> Self {
        Self {
            source,
            found: Vec::new(),
        }
    }

    /// Adds a fault at a byte of the text.
    pub fn add(&mut self, offset: usize, message: impl Into<String>) {
        let (row, column) = place(self.source, offset);
        self.found.push(Fault {
            row,
            column,
            message: message.into(),
        });
    }

    /// All faults in the order of the text.
    pub fn sorted(self) -> Vec<Fault> {
        let mut found = self.found;
        found.sort_by_key(|fault| (fault.row, fault.column));
        found
    }
}

/// Row and column of a byte, both from 1; columns count characters.
pub fn place(source: &str, offset: usize) -> (i32, i32) {
    let mut end = offset.min(source.len());
    while !source.is_char_boundary(end) {
        end -= 1;
    }
    let before = &source[..end];
    let row = before.matches('\n').count() + 1;
    let line = before.rsplit('\n').next().unwrap_or_default();
    let count = |n: usize| i32::try_from(n).unwrap_or(i32::MAX);
    (count(row), count(line.chars().count() + 1))
}
