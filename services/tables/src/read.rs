//! A table as records.

use obvert_proto::Violation;
use prost_reflect::{DynamicMessage, MessageDescriptor};

use crate::{assemble::Assembly, bind::bind, column_map::ColumnMap, problems::Problems, sheet};

/// One record read from a table.
#[derive(Debug, Clone, PartialEq)]
pub struct TableRow {
    /// First row of the record, counted from 1 with the header, as a spreadsheet shows it.
    pub row: usize,
    /// Id of the record inside its collection.
    pub record_id: String,
    /// The record, of the kind's message type, with every rule of the schema kept.
    pub body: DynamicMessage,
}

/// Reads a CSV file as records of one kind, in the order of their first rows.
///
/// Bare ids in fields that name records become full names inside `project`. `file_name` serves
/// messages alone.
///
/// # Errors
///
/// Everything wrong with the map, the header, the cells and the records, each by file, row and
/// column; past a thousand, a count of the rest.
pub fn read(
    csv: &[u8],
    map: &ColumnMap,
    kind: &MessageDescriptor,
    project: &str,
    file_name: &str,
) -> Result<Vec<TableRow>, Vec<Violation>> {
    let mut problems = Problems::new(file_name);
    let bound = bind(map, kind, project, &mut problems);
    let fits = problems.none();
    let sheet = sheet::open(csv, map, &mut problems);
    let Some(sheet) = sheet.filter(|_| fits) else {
        return Err(problems.into_violations());
    };
    let mut assembly = Assembly::new(map, &bound, kind, &sheet);
    for (number, cells) in &sheet.rows {
        assembly.add(*number, cells, &mut problems);
    }
    let rows = assembly.finish(&mut problems);
    if problems.none() {
        Ok(rows)
    } else {
        Err(problems.into_violations())
    }
}
