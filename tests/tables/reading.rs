//! What a table says is what the records hold.

use obvert_proto::common::v1::LocalDate;
use prost_reflect::{DynamicMessage, Value};

use super::*;

const NOTICES: &str = r#"
collection = "notices"
delimiter = ";"
decimal = ","
time_zone = "America/New_York"
date_form = "dd.mm.yyyy"
blank = ["-", "n.a."]
unmapped_columns = "ignore"
[id]
column = "Notice"
prefix = "n-"
[[column]]
column = "Lot"
field = "parcel"
prefix = "p-"
[[column]]
column = "Pipes"
field = "segments"
list = ","
prefix = "s-"
[[column]]
column = "Given"
field = "delivered_time"
[[column]]
column = "How"
field = "delivery_method"
words = { hanger = "door-hanger", talk = "in-person" }
[[column]]
column = "From"
field = "outage_start_time"
[[column]]
column = "To"
field = "outage_end_time"
[[fixed]]
field = "wording_revision"
value = 3
"#;

fn seconds(body: &DynamicMessage, field: &str) -> i64 {
    let value = body.get_field_by_name(field).expect("a field");
    let time = value.as_message().expect("a time");
    time.get_field_by_name("seconds")
        .and_then(|v| v.as_i64())
        .expect("seconds")
}

#[test]
fn a_pipe_list_in_feet_becomes_segments_in_metres_with_ids_of_the_owner() {
    let csv = segments(&[
        "MH12 / MH13,MH-12,MH-13,8,250,246",
        "A.7,MH-13,MH-14,10,312.5,308.5",
    ]);
    let found = rows(&segment(), SEGMENTS, csv);
    assert_eq!(found.iter().map(|r| r.row).collect::<Vec<_>>(), [2, 3]);
    assert_eq!(found[0].record_id, "s-mh12-mh13");
    assert_eq!(found[1].record_id, "s-a-7");
    assert_eq!(text(&found[0].body, "owner_segment_id"), "MH12 / MH13");
    assert_eq!(
        number(&found[0].body, "nominal_diameter_mm").to_bits(),
        203.2_f64.to_bits()
    );
    assert_eq!(
        number(&found[0].body, "length_centre_to_centre_m").to_bits(),
        76.2_f64.to_bits()
    );
}

#[test]
fn several_columns_make_one_id_and_bare_names_become_full_names() {
    let csv = format!(
        "{LATERAL_HEADER}\nA.7,3,101,2.5,4,Live\nprojects/other/segments/s-z,4,120,10,4,dead\n"
    );
    let found = rows(&lateral(), LATERALS, csv);
    assert_eq!(found[0].record_id, "l-a-7-3");
    assert_eq!(
        text(&found[0].body, "segment"),
        "projects/quillfern/segments/s-a-7"
    );
    assert_eq!(
        text(&found[1].body, "segment"),
        "projects/other/segments/s-z"
    );
    assert_eq!(
        found[0].body.get_field_by_name("state").as_deref(),
        Some(&Value::EnumNumber(1))
    );
    assert_eq!(
        found[1].body.get_field_by_name("state").as_deref(),
        Some(&Value::EnumNumber(2))
    );
    assert_eq!(
        found[1].body.get_field_by_name("datum").as_deref(),
        Some(&Value::EnumNumber(2))
    );
}

#[test]
fn rows_of_one_report_make_one_record_with_one_specimen_each() {
    let csv = format!(
        "{REPORT_HEADER}\n\
         FM-1,Q 01,05/04/2026,05/06/2026,05/07/2026,1,50,6.1,1200000,20000,6.1;6.2;6.3\n\
         FM-2,Q 02,05/04/2026,05/06/2026,05/07/2026,1,50,6.0,1100000,19000,6.0;6.0;6.1\n\
         FM-1,Q 01,,,,2,50,6.2,1210000,20100,\n\
         FM-1,Q 01,05/04/2026,,,3,50,6.0,1190000,19900,\n\
         FM-2,,,,,2,50,6.0,1100000,19000,\n\
         FM-2,,,,,3,50,6.0,1100000,19000,\n"
    );
    let found = rows(&report(), REPORTS, csv);
    assert_eq!(found.len(), 2);
    assert_eq!((found[0].row, found[0].record_id.as_str()), (2, "lr-fm-1"));
    let depths: Vec<f64> = items(&found[0].body, "specimens")
        .iter()
        .map(|specimen| number(specimen.as_message().expect("a specimen"), "depth_mm"))
        .collect();
    assert_eq!(depths, [6.1, 6.2, 6.0]);
    assert_eq!(
        items(&found[1].body, "wall_readings_mm"),
        [6.0, 6.0, 6.1].map(Value::F64)
    );
    assert_eq!(
        text(&found[0].body, "sample"),
        "projects/quillfern/samples/q-01"
    );
    assert_eq!(text(&found[0].body, "sample_number_in_report"), "Q 01");
    let date = found[0]
        .body
        .get_field_by_name("tested_date")
        .expect("a date");
    let date: LocalDate = date
        .as_message()
        .expect("a date")
        .transcode_to()
        .expect("a date");
    assert_eq!((date.year, date.month, date.day), (2026, 5, 6));
}

#[test]
fn local_times_take_the_zone_of_the_map_and_a_written_offset_wins() {
    let csv = "Notice;Lot;Pipes;Given;How;From;To;Remark\n\
               7;41-8;A1, A2;04.05.2026 09:15;Hanger;\
               2026-05-11T08:00:00-07:00;11.05.2026 16:00:30;x\n";
    let found = rows(&kind("obvert.project.v1.Notice"), NOTICES, csv);
    // New York keeps UTC-4 in May: 09:15 is 13:15Z.
    assert_eq!(seconds(&found[0].body, "delivered_time"), 1_777_900_500);
    assert_eq!(seconds(&found[0].body, "outage_start_time"), 1_778_511_600);
    assert_eq!(seconds(&found[0].body, "outage_end_time"), 1_778_529_630);
    assert_eq!(text(&found[0].body, "delivery_method"), "door-hanger");
    assert_eq!(text(&found[0].body, "wording_revision"), "3");
    let names = ["a1", "a2"].map(|id| Value::String(format!("projects/quillfern/segments/s-{id}")));
    assert_eq!(items(&found[0].body, "segments"), names);
}

#[test]
fn an_hour_that_happens_twice_or_never_needs_its_offset() {
    let csv = "Notice;Lot;Pipes;Given;How;From;To\n\
               7;41-8;A1;01.11.2026 01:30;hanger;08.03.2026 02:30;11.05.2026 16:00\n";
    let found = refused(&kind("obvert.project.v1.Notice"), NOTICES, csv);
    says(
        &found,
        &[
            "row 2 column \"Given\"",
            "01.11.2026 01:30",
            "twice or never",
            "offset",
        ],
    );
    says(
        &found,
        &[
            "row 2 column \"From\"",
            "08.03.2026 02:30",
            "twice or never",
        ],
    );
}

#[test]
fn a_local_time_without_a_zone_in_the_map_is_refused() {
    let csv = "Notice;Lot;Pipes;Given;How;From;To\n\
               7;41-8;A1;01.10.2026 01:30;hanger;08.05.2026 02:30;11.05.2026 16:00\n";
    let map = NOTICES.replace("time_zone = \"America/New_York\"", "");
    let found = refused(&kind("obvert.project.v1.Notice"), &map, csv);
    says(&found, &["column \"Given\"", "has no zone", "time_zone"]);
}

#[test]
fn words_of_the_map_for_nothing_leave_a_field_absent() {
    let map = SEGMENTS.replace("[id]", "blank = [\"-\", \"9999\"]\n[id]")
        + "[[column]]\ncolumn = \"Cover\"\nfield = \"cover_min_m\"\nunit = \"ft\"\n";
    let csv = format!(
        "{SEGMENT_HEADER},Cover\nA,B,C,8,250,246,-\nD,B,C,8,250,246,9999\nE,B,C,8,250,246, \n"
    );
    for row in rows(&segment(), &map, csv) {
        assert!(!row.body.has_field_by_name("cover_min_m"), "{row:?}");
    }
}

#[test]
fn nine_nines_are_a_number_unless_the_map_says_otherwise() {
    let found = refused(&segment(), SEGMENTS, segments(&["A,B,C,8,9999,246"]));
    says(
        &found,
        &["row 2 column \"Length (ft)\"", "9999", "ft", "1 to 600 m"],
    );
}

#[test]
fn a_decimal_comma_is_read_where_the_map_says_so() {
    let map = SEGMENTS.replace("[id]", "delimiter = \"tab\"\ndecimal = \",\"\n[id]");
    let csv = segments(&["A,B,C,8,250;5,246"])
        .replace(',', "\t")
        .replace(';', ",");
    let found = rows(&segment(), &map, csv);
    assert_eq!(
        number(&found[0].body, "length_centre_to_centre_m").to_bits(),
        76.3524_f64.to_bits()
    );
}

#[test]
fn a_byte_order_mark_line_ends_of_windows_and_blank_rows_do_no_harm() {
    let csv =
        segments(&["A,B,C,8,250,246", "", ",,,,,", "D,B,C,8,bad,246", ""]).replace('\n', "\r\n");
    let found = refused(&segment(), SEGMENTS, format!("\u{feff}{csv}"));
    assert_eq!(found.len(), 1, "{found:#?}");
    says(
        &found,
        &["quillfern.csv row 5 column \"Length (ft)\"", "\"bad\""],
    );
}

#[test]
fn rows_count_as_a_spreadsheet_counts_them_past_line_breaks_in_quotes() {
    let csv = segments(&["\"A\",\"B\nnorth\",C,8,250,246", "D,B,C,8,bad,246"]);
    says(
        &refused(&segment(), SEGMENTS, csv),
        &["quillfern.csv row 3 column"],
    );
}

/// Column map of orders whose segments stand a row each.
const ORDERS: &str = r#"
collection = "orders"
[id]
column = "Order"
prefix = "o-"
[group]
by = "Order"
repeated = "segments"
[[column]]
column = "Pipe"
field = "segments.segment"
[[column]]
column = "Design"
field = "segments.design"
[[column]]
column = "Rev"
field = "segments.design_revision"
[[column]]
column = "Wall (mm)"
field = "wall.wall_thickness_mm"
unit = "mm"
[[fixed]]
field = "wall.basis"
value = "THICKNESS_BASIS_COMPOSITE"
[[fixed]]
field = "maker_sheet"
value = "Fernmoss 3"
[[fixed]]
field = "nominal_diameter_mm"
value = 200
[[fixed]]
field = "host_diameter_min_mm"
value = 198.5
[[fixed]]
field = "host_diameter_max_mm"
value = 205
[[fixed]]
field = "ordered_length_m"
value = 81
[[fixed]]
field = "order_date"
value = "2026-04-01"
"#;

#[test]
fn nested_fields_are_filled_by_path() {
    let csv = "Order,Pipe,Design,Rev,Wall (mm)\n1,s a,d a,4,6.5\n1,s b,d b,7.0,\n";
    let found = rows(&kind("obvert.material.v1.LinerOrder"), ORDERS, csv);
    let wall = found[0]
        .body
        .get_field_by_name("wall")
        .expect("a wall")
        .into_owned();
    assert_eq!(
        number(wall.as_message().expect("a wall"), "wall_thickness_mm").to_bits(),
        6.5_f64.to_bits()
    );
    assert_eq!(
        text(&found[0].body, "maker_sheet"),
        "projects/quillfern/makerSheets/fernmoss-3"
    );
    let second = items(&found[0].body, "segments")[1].clone();
    let second = second.as_message().expect("an ordered segment");
    assert_eq!(
        second
            .get_field_by_name("design_revision")
            .and_then(|v| v.as_i64()),
        Some(7)
    );
}

#[test]
fn several_columns_fill_one_list() {
    let map = REPORTS.replace("list = \";\"\n", "")
        + "[[column]]\ncolumn = \"W2\"\nfield = \"wall_readings_mm\"\nunit = \"mm\"\n\
           [[column]]\ncolumn = \"W3\"\nfield = \"wall_readings_mm\"\nunit = \"mm\"\n";
    let csv = format!(
        "{REPORT_HEADER},W2,W3\n\
         F,Q,05/04/2026,05/06/2026,05/07/2026,1,50,6.1,1200000,20000,6.1,6.2,6.3\n\
         F,,,,,2,50,6.1,1200000,20000,,,\nF,,,,,3,50,6.1,1200000,20000,,,\n"
    );
    let found = rows(&report(), &map, csv);
    assert_eq!(
        items(&found[0].body, "wall_readings_mm"),
        [6.1, 6.2, 6.3].map(Value::F64)
    );
}
