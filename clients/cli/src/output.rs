//! Tables for people, JSON for programs.
//!
//! Invariant: all text leaves through [`plain`], whoever wrote it: nothing that a record, a plan or a
//! package holds can move the cursor, colour a line or make one read as another.

use std::{
    borrow::Cow,
    io::{IsTerminal, Write},
};

use clap::ArgMatches;
use prost::{Message, Name};
use prost_reflect::{DynamicMessage, SerializeOptions};
use serde::Serialize;
use serde_json::Value;

use crate::{Exit, Failure};

/// Where and how a command prints.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Output {
    json: bool,
}

impl Output {
    pub(crate) fn of(matches: &ArgMatches) -> Self {
        Self {
            json: matches.get_flag("json"),
        }
    }

    /// Whether programs read the output.
    pub(crate) fn is_json(self) -> bool {
        self.json
    }

    /// Prints one sentence for people; programs get nothing.
    pub(crate) fn say(self, text: &str) -> Result<(), Failure> {
        if self.json { Ok(()) } else { print(text) }
    }

    /// Prints a value for programs.
    pub(crate) fn json(self, value: &impl Serialize) -> Result<(), Failure> {
        let text = serde_json::to_string(value);
        print(&text.map_err(|error| Failure::new(Exit::Failure, error.to_string()))?)
    }

    /// Prints a message: as one JSON object for programs, as indented JSON for people.
    pub(crate) fn message(self, message: &DynamicMessage) -> Result<(), Failure> {
        let value = value_of(message)?;
        if self.json {
            return self.json(&value);
        }
        let text = serde_json::to_string_pretty(&value);
        print(&text.map_err(|error| Failure::new(Exit::Failure, error.to_string()))?)
    }

    /// Prints rows under a head, columns as wide as they need.
    pub(crate) fn table(self, head: &[&str], rows: &[Vec<String>]) -> Result<(), Failure> {
        let mut widths: Vec<_> = head.iter().map(|cell| cell.chars().count()).collect();
        let rows: Vec<Vec<_>> = rows
            .iter()
            .map(|row| row.iter().map(|cell| in_cell(cell)).collect())
            .collect();
        for row in &rows {
            for (width, cell) in widths.iter_mut().zip(row) {
                *width = (*width).max(cell.chars().count());
            }
        }
        let shown = |cells: Vec<&str>| {
            let padded = cells
                .iter()
                .zip(&widths)
                .map(|(cell, width)| format!("{cell:<width$}"));
            padded.collect::<Vec<_>>().join("  ").trim_end().to_owned()
        };
        let head = shown(head.to_vec());
        if std::io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none() {
            write_row(&format!("\u{1b}[1m{head}\u{1b}[0m"))?;
        } else {
            write_row(&head)?;
        }
        for row in &rows {
            print(&shown(row.iter().map(String::as_str).collect()))?;
        }
        Ok(())
    }
}

/// Prints a warning on standard error.
pub(crate) fn warn(text: &str) {
    let _ = writeln!(std::io::stderr(), "obvert: {}", plain(text));
}

/// ProtoJSON of a message.
pub(crate) fn value_of(message: &DynamicMessage) -> Result<Value, Failure> {
    let options = SerializeOptions::new()
        .skip_default_fields(true)
        .stringify_64_bit_integers(true);
    let value = message.serialize_with_options(serde_json::value::Serializer, &options);
    value.map_err(|error| {
        Failure::new(
            Exit::Failure,
            format!("the answer cannot be shown: {error}"),
        )
    })
}

/// ProtoJSON of a message of the schema.
pub(crate) fn value_of_known<M: Message + Name>(known: &M) -> Result<Value, Failure> {
    let unread = || Failure::new(Exit::Failure, "the answer cannot be shown");
    let descriptor = obvert_proto::pool().get_message_by_name(&M::full_name());
    let mut message = DynamicMessage::new(descriptor.ok_or_else(unread)?);
    message.transcode_from(known).map_err(|_| unread())?;
    value_of(&message)
}

/// Text as a terminal may get it: a character that steers it stands as `\u001b`, as in JSON, so that
/// the JSON of programs stays the same value.
pub(crate) fn plain(text: &str) -> Cow<'_, str> {
    // Marks that turn the reading direction are none of Unicode's control characters.
    let steers = |c: char| {
        c.is_control() && !matches!(c, '\n' | '\t')
            || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    if !text.contains(steers) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 5);
    for c in text.chars() {
        match steers(c) {
            true => shown.push_str(&format!("\\u{:04x}", u32::from(c))),
            false => shown.push(c),
        }
    }
    Cow::Owned(shown)
}

/// A cell of a table, on its one line.
fn in_cell(text: &str) -> String {
    plain(text).replace(['\n', '\t'], " ")
}

fn print(text: &str) -> Result<(), Failure> {
    write_row(&plain(text))
}

fn write_row(text: &str) -> Result<(), Failure> {
    match writeln!(std::io::stdout(), "{text}") {
        // A reader such as `head` may close the pipe; that is no failure.
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(Failure::new(
            Exit::Failure,
            format!("standard output: {error}"),
        )),
        _ => Ok(()),
    }
}
