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
    /// Each with the byte it stands at.
    found: Vec<(usize, String)>,
}

impl<'a> Faults<'a> {
    /// As many as people read at once; who looks for more in a long list may stop here.
    pub const FULL: usize = 200;

    /// No faults yet.
    pub fn new(source: &'a str) -> Self {
        Self {
            source,
            found: Vec::new(),
        }
    }

    /// Adds a fault at a byte of the text. What it quotes of the text can be shown on a terminal.
    pub fn add(&mut self, offset: usize, message: impl Into<String>) {
        let shown = |c: char| match c {
            c if c.is_control() => c.escape_default().to_string(),
            c => c.to_string(),
        };
        let message: String = message.into().chars().map(shown).collect();
        self.found.push((start_of(self.source, offset), message));
    }

    /// How many there are so far.
    pub fn count(&self) -> usize {
        self.found.len()
    }

    /// Whether there are as many as people read at once.
    pub fn is_full(&self) -> bool {
        self.count() >= Self::FULL
    }

    /// All faults in the order of the text.
    pub fn sorted(self) -> Vec<Fault> {
        let mut found = self.found;
        found.sort_by_key(|(offset, _)| *offset);
        let (mut at, mut row, mut column) = (0, 1, 1);
        let placed = found.into_iter().map(|(offset, message)| {
            for letter in self.source[at..offset].chars() {
                (row, column) = match letter {
                    '\n' => (row + 1, 1),
                    _ => (row, column + 1),
                };
            }
            at = offset;
            Fault {
                row,
                column,
                message,
            }
        });
        placed.collect()
    }
}

/// First byte of the character at a byte.
fn start_of(source: &str, offset: usize) -> usize {
    let mut start = offset.min(source.len());
    while !source.is_char_boundary(start) {
        start -= 1;
    }
    start
}

/// Row and column of a byte, both from 1; columns count characters.
pub fn place(source: &str, offset: usize) -> (i32, i32) {
    let before = &source[..start_of(source, offset)];
    let row = before.matches('\n').count() + 1;
    let line = before.rsplit('\n').next().unwrap_or_default();
    let count = |n: usize| i32::try_from(n).unwrap_or(i32::MAX);
    (count(row), count(line.chars().count() + 1))
}
