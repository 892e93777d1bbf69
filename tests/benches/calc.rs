//! Formulas in a stream of rows, through the command line.

use std::{
    fs::File,
    io::{self, BufRead, BufReader, BufWriter, Write},
    path::Path,
    process::{Command, Stdio},
    time::Instant,
};

use obvert_engineering::formulas;
use serde_json::Value;

use crate::{
    pairs::{self, Measured},
    support::program,
};

/// First word of the command line that makes this program read rows and print them.
pub(crate) const ROLE: &str = "bare-rows";

/// Rows of one measurement.
const ROWS: u64 = 300_000;

/// Measures `obvert calc --jsonl` beside reading the same rows as JSON and printing them.
pub(crate) async fn measure() {
    let folder = tempfile::tempdir().expect("a folder");
    let rows = folder.path().join("rows.jsonl");
    write_rows(&rows).expect("the rows are written");
    let product = async || {
        run(
            Command::new(program("obvert")).args(["calc", "--jsonl"]),
            &rows,
        )
    };
    let this = std::env::current_exe().expect("this program has a path");
    let ceiling = async || run(Command::new(&this).args([ROLE, "-"]), &rows);
    let what = "formulas run by `obvert calc --jsonl`, ceiling: rows parsed and printed";
    pairs::measure(what, product, ceiling).await;
}

/// Reads rows on standard input as JSON, and prints each again.
pub(crate) fn parse_and_print() -> io::Result<()> {
    let mut input = BufReader::with_capacity(256 << 10, io::stdin().lock());
    let mut output = BufWriter::with_capacity(256 << 10, io::stdout().lock());
    let mut row = Vec::new();
    while input.read_until(b'\n', &mut row)? > 0 {
        let value: Value = serde_json::from_slice(&row)?;
        serde_json::to_writer(&mut output, &value)?;
        output.write_all(b"\n")?;
        row.clear();
    }
    output.flush()
}

/// Every formula in turn, its inputs in the middle of their ranges.
fn write_rows(path: &Path) -> io::Result<()> {
    let mut file = BufWriter::new(File::create(path)?);
    for number in 0..ROWS {
        let place = usize::try_from(number).unwrap_or_default() % formulas().len();
        let formula = &formulas()[place];
        let share = 0.2 + (number % 977) as f64 / 4000.0;
        let inputs = formula.inputs.iter();
        let inputs = inputs.map(|field| {
            let value = field.min + (field.max - field.min) * share;
            (field.name.to_owned(), Value::from(value))
        });
        let inputs = Value::Object(inputs.collect());
        writeln!(
            file,
            "{}",
            serde_json::json!({"formula": formula.name, "inputs": inputs})
        )?;
    }
    file.flush()
}

fn run(command: &mut Command, rows: &Path) -> Measured {
    let began = Instant::now();
    let ended = command
        .stdin(File::open(rows).expect("the rows"))
        .stdout(Stdio::null())
        .status();
    assert!(ended.expect("it runs").success());
    Measured {
        per_second: ROWS as f64 / began.elapsed().as_secs_f64(),
        all: ROWS,
    }
}
