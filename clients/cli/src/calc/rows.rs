//! A stream of rows: one formula in, one answer out, in order.
//!
//! A row that cannot be read or is refused is answered like any other and never ends the stream.
//! What was answered is written out before the next wait, so a program may also ask row by row.

use std::io::{self, BufRead, BufReader, BufWriter, Read, Write};

use obvert_engineering::{Formula, OutOfRange, Problems};
use serde::{Serialize, Serializer};

use super::row::Reading;
use crate::{Exit, Failure};

/// Bytes that are read and written at once.
const BUFFER: usize = 256 << 10;

/// Longest row that is read.
const LONGEST_ROW: usize = 64 << 10;

/// Answers standard input on standard output.
pub(super) fn run() -> Result<(), Failure> {
    let input = BufReader::with_capacity(BUFFER, io::stdin().lock());
    let output = BufWriter::with_capacity(BUFFER, io::stdout().lock());
    match answer_all(input, output) {
        // A reader such as `head` may close the pipe; that is no failure.
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(Failure::new(Exit::Failure, error.to_string()))
        }
        _ => Ok(()),
    }
}

fn answer_all<R: Read>(mut input: BufReader<R>, mut output: impl Write) -> io::Result<()> {
    let mut row = Vec::new();
    let mut reading = Reading::default();
    let mut number = 0_u64;
    loop {
        if input.buffer().is_empty() {
            output.flush()?;
        }
        row.clear();
        let whole = read_row(&mut input, &mut row)?;
        if row.is_empty() && whole == Whole::End {
            return output.flush();
        }
        number += 1;
        let read = if whole == Whole::TooLong {
            reading.formula = None;
            Err(format!("is longer than {LONGEST_ROW} bytes"))
        } else {
            reading.read(&row)
        };
        match read {
            Ok(formula) => answer(&mut output, number, formula, &reading.values)?,
            Err(what) => {
                let error = format!("row {number}: {what}");
                let formula = reading.formula;
                write_row(
                    &mut output,
                    &Malformed {
                        formula,
                        row: number,
                        error,
                    },
                )?;
            }
        }
    }
}

fn answer(
    output: &mut impl Write,
    number: u64,
    formula: &'static Formula,
    values: &[f64],
) -> io::Result<()> {
    match formula.run_entered(values) {
        Ok(results) => {
            let notes = formula.notes(values, &results);
            let result = Named(formula, &results);
            let formula = formula.name;
            write_row(
                output,
                &Answered {
                    formula,
                    result,
                    notes,
                },
            )
        }
        Err(problems) => {
            let error = format!("row {number}: {}", problems.to_string().replace('\n', " "));
            let Problems(found) = &problems;
            let problems = found.iter().map(Wrong::of).collect();
            let formula = formula.name;
            write_row(
                output,
                &Refused {
                    formula,
                    error,
                    problems,
                },
            )
        }
    }
}

fn write_row(output: &mut impl Write, row: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer(&mut *output, row)?;
    output.write_all(b"\n")
}

/// How a row ended.
#[derive(PartialEq, Eq)]
enum Whole {
    Yes,
    TooLong,
    End,
}

/// Reads up to the next end of row; what is too long is passed over and not kept.
fn read_row(input: &mut impl BufRead, row: &mut Vec<u8>) -> io::Result<Whole> {
    let limit = LONGEST_ROW as u64 + 1;
    input.by_ref().take(limit).read_until(b'\n', row)?;
    match row.last() {
        None => return Ok(Whole::End),
        Some(b'\n') => {
            row.pop();
            return Ok(Whole::Yes);
        }
        Some(_) if row.len() <= LONGEST_ROW => return Ok(Whole::End),
        Some(_) => {}
    }
    input.skip_until(b'\n')?;
    Ok(Whole::TooLong)
}

/// A row that could not be read; the formula is null where the row did not get so far.
#[derive(Serialize)]
struct Malformed {
    formula: Option<&'static str>,
    row: u64,
    error: String,
}

#[derive(Serialize)]
struct Answered<'a> {
    formula: &'static str,
    result: Named<'a>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    notes: Vec<&'static str>,
}

#[derive(Serialize)]
struct Refused<'a> {
    formula: &'static str,
    error: String,
    problems: Vec<Wrong<'a>>,
}

/// Results under the names of a formula's outputs; what does not apply is null.
struct Named<'a>(&'static Formula, &'a [Option<f64>]);

impl Serialize for Named<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let names = self.0.outputs.iter().map(|output| output.name);
        serializer.collect_map(names.zip(self.1))
    }
}

/// One input that was refused.
#[derive(Serialize)]
struct Wrong<'a> {
    field: &'a str,
    value: f64,
    min: f64,
    max: f64,
    unit: &'a str,
    remedy: &'a str,
}

impl<'a> Wrong<'a> {
    fn of(problem: &'a OutOfRange) -> Self {
        Self {
            field: &problem.field,
            value: problem.value,
            min: problem.min,
            max: problem.max,
            unit: problem.unit,
            remedy: &problem.remedy,
        }
    }
}
