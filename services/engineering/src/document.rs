//! The documentation of a formula as data, so that equation and range stand once: in its rustdoc.

/// Rows of the rustdoc of a formula's struct and of its inputs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Document {
    /// Rows of the struct's own documentation, as written.
    pub rows: &'static [&'static str],
    /// Rows for each input, in the order of the inputs.
    pub inputs: &'static [&'static [&'static str]],
}

impl Document {
    /// The rows below a heading, such as "Equation", as plain text without the blank rows at both
    /// ends; empty when there is no such heading.
    pub fn below(&self, heading: &str) -> Vec<String> {
        let is = |row: &&str| row.trim().strip_prefix("# ") == Some(heading);
        let after = self.rows.iter().skip_while(|row| !is(row)).skip(1);
        let mut rows: Vec<String> = after
            .take_while(|row| !row.trim().starts_with("# "))
            .filter(|row| !row.trim().starts_with("```"))
            .map(|row| plain(row.strip_prefix(' ').unwrap_or(row).trim_end()))
            .skip_while(String::is_empty)
            .collect();
        while rows.last().is_some_and(String::is_empty) {
            rows.pop();
        }
        rows
    }

    /// What an input is, in one row.
    pub fn of_input(&self, index: usize) -> String {
        let rows = self.inputs.get(index).copied().unwrap_or_default();
        let rows: Vec<&str> = rows.iter().map(|row| row.trim()).collect();
        rows.join(" ")
    }
}

/// A row without the marks by which rustdoc links.
fn plain(row: &str) -> String {
    let row = row.replace("[`Self::INPUTS`]", "the ranges of the inputs");
    row.replace("[`", "").replace("`]", "").replace('`', "")
}
