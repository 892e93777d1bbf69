//! Tables in and out by an owner's column map.

mod hostile;
mod maps;
mod reading;
mod refusals;
mod round_trip;
mod units;
mod writing;

use obvert_proto::Violation;
use obvert_tables::{ColumnMap, TableRow, read};
use prost_reflect::{DynamicMessage, MessageDescriptor, Value};

/// Map of an invented owner's pipe list.
pub(crate) const SEGMENTS: &str = r#"
collection = "segments"
[id]
column = "Pipe ID"
prefix = "s-"
[[column]]
column = "Pipe ID"
field = "owner_segment_id"
[[column]]
column = "Up MH"
field = "upstream_manhole"
[[column]]
column = "Dn MH"
field = "downstream_manhole"
[[column]]
column = "Size (in)"
field = "nominal_diameter_mm"
unit = "in"
[[column]]
column = "Length (ft)"
field = "length_centre_to_centre_m"
unit = "ft"
[[column]]
column = "Clear length (ft)"
field = "length_wall_to_wall_m"
unit = "ft"
"#;
pub(crate) const SEGMENT_HEADER: &str =
    "Pipe ID,Up MH,Dn MH,Size (in),Length (ft),Clear length (ft)";

/// Map of an invented owner's lateral list.
pub(crate) const LATERALS: &str = r#"
collection = "laterals"
[id]
column = ["Pipe ID", "No"]
prefix = "l-"
[[column]]
column = "Pipe ID"
field = "segment"
prefix = "s-"
[[column]]
column = "Station (ft)"
field = "station_m"
unit = "ft"
[[column]]
column = "Clock"
field = "clock_h"
[[column]]
column = "Dia (in)"
field = "nominal_diameter_mm"
unit = "in"
[[column]]
column = "State"
field = "state"
words = { live = "LATERAL_STATE_ACTIVE", dead = "LATERAL_STATE_INACTIVE" }
[[fixed]]
field = "datum"
value = "DATUM_INSIDE_WALL"
"#;
pub(crate) const LATERAL_HEADER: &str = "Pipe ID,No,Station (ft),Clock,Dia (in),State";

/// Map of an invented laboratory's table: one row for each specimen.
pub(crate) const REPORTS: &str = r#"
collection = "laboratoryReports"
date_form = "mm/dd/yyyy"
[id]
column = "Report"
prefix = "lr-"
[group]
by = "Report"
repeated = "specimens"
[[column]]
column = "Report"
field = "report_number"
[[column]]
column = "Sample"
field = "sample"
[[column]]
column = "Sample"
field = "sample_number_in_report"
[[column]]
column = "Received"
field = "received_date"
[[column]]
column = "Tested"
field = "tested_date"
[[column]]
column = "Signed"
field = "reported_date"
[[column]]
column = "Specimen"
field = "specimens.specimen_number"
[[column]]
column = "Width (mm)"
field = "specimens.width_mm"
unit = "mm"
[[column]]
column = "Depth (mm)"
field = "specimens.depth_mm"
unit = "mm"
[[column]]
column = "E (psi)"
field = "specimens.flexural_modulus_mpa"
unit = "psi"
[[column]]
column = "Strength (psi)"
field = "specimens.flexural_strength_mpa"
unit = "psi"
[[column]]
column = "Walls (mm)"
field = "wall_readings_mm"
unit = "mm"
list = ";"
[[fixed]]
field = "specimens.hoop_direction"
value = true
[[fixed]]
field = "laboratory"
value = "Fernmoss Materials Laboratory"
[[fixed]]
field = "accreditation_number"
value = "INVENTED-17"
[[fixed]]
field = "method"
value = "invented method, first edition"
[[fixed]]
field = "thickness_basis"
value = "THICKNESS_BASIS_COMPOSITE"
"#;
pub(crate) const REPORT_HEADER: &str = "Report,Sample,Received,Tested,Signed,Specimen,Width (mm),Depth (mm),\
                             E (psi),Strength (psi),Walls (mm)";

fn kind(name: &str) -> MessageDescriptor {
    obvert_proto::pool()
        .get_message_by_name(name)
        .expect("a kind of the schema")
}

pub(crate) fn segment() -> MessageDescriptor {
    kind("obvert.project.v1.Segment")
}

pub(crate) fn lateral() -> MessageDescriptor {
    kind("obvert.project.v1.Lateral")
}

pub(crate) fn report() -> MessageDescriptor {
    kind("obvert.acceptance.v1.LaboratoryReport")
}

fn map(toml: &str) -> ColumnMap {
    ColumnMap::parse(toml).unwrap_or_else(|found| panic!("{found:#?}"))
}

fn read_rows(
    kind: &MessageDescriptor,
    toml: &str,
    csv: impl AsRef<[u8]>,
) -> Result<Vec<TableRow>, Vec<Violation>> {
    read(csv.as_ref(), &map(toml), kind, "quillfern", "quillfern.csv")
}

fn rows(kind: &MessageDescriptor, toml: &str, csv: impl AsRef<[u8]>) -> Vec<TableRow> {
    read_rows(kind, toml, csv).unwrap_or_else(|found| panic!("{found:#?}"))
}

/// Every violation as one text of `field: message`.
fn refused(kind: &MessageDescriptor, toml: &str, csv: impl AsRef<[u8]>) -> Vec<String> {
    let found = read_rows(kind, toml, csv).expect_err("the table is refused");
    found
        .into_iter()
        .map(|v| format!("{}: {}", v.field, v.message))
        .collect()
}

/// Segment rows below the usual header.
fn segments(lines: &[&str]) -> String {
    format!("{SEGMENT_HEADER}\n{}\n", lines.join("\n"))
}

#[track_caller]
fn says(found: &[String], parts: &[&str]) {
    let one = found
        .iter()
        .any(|text| parts.iter().all(|part| text.contains(part)));
    assert!(one, "no violation says {parts:?} in {found:#?}");
}

fn number(body: &DynamicMessage, field: &str) -> f64 {
    body.get_field_by_name(field)
        .and_then(|v| v.as_f64())
        .expect("a number")
}

fn text(body: &DynamicMessage, field: &str) -> String {
    body.get_field_by_name(field)
        .and_then(|v| v.as_str().map(str::to_owned))
        .expect("a text")
}

fn items(body: &DynamicMessage, field: &str) -> Vec<Value> {
    let value = body.get_field_by_name(field).expect("a field");
    value.as_list().expect("a list").to_vec()
}
