//! Tables that are written: no cell that a spreadsheet takes for a formula.

use obvert_proto::{pool, rules};
use obvert_tables::{ColumnMap, write};
use prost_reflect::Kind;

use super::scripts::poisoned;
use crate::fuzz::schema::fill;
use crate::package::sample::{built, files, sources};

const SIGNS: [&str; 10] = [
    "=", "+", "-", "@", "\t=", "\r=", "\0=", "'=", "''-", "=\"a\"&",
];

/// Map that writes every text field of a kind.
fn map_of(kind: &rules::Kind) -> Option<(ColumnMap, Vec<String>)> {
    let message = pool().get_message_by_name(&kind.type_name)?;
    let texts = message.fields().filter(|field| {
        let single = !field.is_list() && !field.is_map();
        field.kind() == Kind::String && single && rules::rule(field).refers.is_none()
    });
    let texts: Vec<_> = texts.map(|field| field.name().to_owned()).collect();
    let columns = texts
        .iter()
        .map(|name| format!("[[column]]\ncolumn = \"{name}\"\nfield = \"{name}\"\n"));
    let columns: String = columns.collect();
    let toml = format!(
        "collection = \"{}\"\n[id]\ncolumn = \"Id\"\n{columns}",
        kind.collection
    );
    ColumnMap::parse(&toml).ok().map(|map| (map, texts))
}

#[test]
fn no_text_of_any_kind_is_written_as_a_formula() {
    let mut cells = 0;
    for kind in rules::kinds().values() {
        let Some((map, texts)) = map_of(kind) else {
            continue;
        };
        let message = pool().get_message_by_name(&kind.type_name).unwrap();
        for sign in SIGNS {
            let body = fill(&message, 0, &format!("{sign}cmd|' /C calc'!A0"), 3);
            let csv = write(&message, &[("r-1".to_owned(), body)], &map);
            let mut rows = csv_rows(&csv);
            let row = rows.pop().unwrap();
            for cell in &row {
                let first = cell.chars().next().unwrap_or('x');
                assert!(
                    !"=+-@\t\r\0".contains(first),
                    "{}: {cell:?}",
                    kind.collection
                );
                cells += usize::from(cell.contains("calc"));
            }
            assert!(row.len() > texts.len(), "{}: {row:?}", kind.collection);
        }
    }
    assert!(cells > 300, "{cells} cells");
}

#[test]
fn no_cell_of_a_package_s_own_tables_is_a_formula() {
    let built = built(&sources(&poisoned()));
    let mut cells = 0;
    for (path, data) in files(&built.bytes) {
        // Originals are what they are, and leave the server untouched.
        if !path.ends_with(".csv") || path.starts_with("data/originals/") {
            continue;
        }
        let text = String::from_utf8(data).unwrap();
        for cell in text.lines().flat_map(|row| row.split(',')) {
            let is_number = cell.parse::<f64>().is_ok();
            let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\0']);
            assert!(is_number || !formula, "{path}: {cell:?}");
            assert!(!cell.contains("script"), "{path}: {cell:?}");
            cells += 1;
        }
    }
    assert!(cells > 1_000, "{cells} cells");
}

/// Cells of a table after RFC 4180, read without the crate that wrote it.
fn csv_rows(csv: &[u8]) -> Vec<Vec<String>> {
    let text = std::str::from_utf8(csv).unwrap();
    let (mut rows, mut row, mut cell, mut quoted) = (vec![], vec![], String::new(), false);
    let mut characters = text.chars().peekable();
    while let Some(c) = characters.next() {
        match c {
            '"' if quoted && characters.peek() == Some(&'"') => {
                cell.push('"');
                characters.next();
            }
            '"' => quoted = !quoted,
            ',' if !quoted => row.push(std::mem::take(&mut cell)),
            '\r' if !quoted && characters.peek() == Some(&'\n') => {
                characters.next();
                row.push(std::mem::take(&mut cell));
                rows.push(std::mem::take(&mut row));
            }
            c => cell.push(c),
        }
    }
    rows
}
