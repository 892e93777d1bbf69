//! Faults of a plan with the place they stand at.

use obvert_proto::closeout::v1::PlanFault;

/// Faults of one text so far.
pub(super) struct Faults<'a> {
    source: &'a str,
    found: Vec<PlanFault>,
}

impl<'a> Faults<'a> {
    pub(super) fn new(source: &'a str) -> Self {
        Self {
            source,
            found: Vec::new(),
        }
    }

    /// Adds a fault at a byte of the text.
    pub(super) fn add(&mut self, offset: usize, message: impl Into<String>) {
        let (row, column) = place(self.source, offset);
        self.found.push(PlanFault {
            row,
            column,
            message: message.into(),
        });
    }

    /// All faults in the order of the text.
    pub(super) fn sorted(self) -> Vec<PlanFault> {
        let mut found = self.found;
        found.sort_by_key(|fault| (fault.row, fault.column));
        found
    }
}

/// Row and column of a byte, both from 1; columns count characters.
fn place(source: &str, offset: usize) -> (i32, i32) {
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
