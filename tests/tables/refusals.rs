//! Tables that are refused, and what the refusal says.

use obvert_tables::{MAX_BYTES, MAX_ROWS};

use super::*;

#[test]
fn every_bad_cell_is_named_at_once_by_file_row_and_column() {
    let csv = segments(&[
        "A,B,C,eight,250,246",
        "D,B,C,8,250 ft,0.1",
        "E,B,,8,250,246",
    ]);
    let found = refused(&segment(), SEGMENTS, csv);
    assert_eq!(found.len(), 4, "{found:#?}");
    says(
        &found,
        &[
            "quillfern.csv row 2 column \"Size (in)\": \"eight\"",
            "decimal sign '.'",
            "in in",
        ],
    );
    says(
        &found,
        &[
            "quillfern.csv row 3 column \"Length (ft)\": \"250 ft\"",
            "write the number alone",
        ],
    );
    says(
        &found,
        &[
            "row 3 column \"Clear length (ft)\"",
            "1 to 600 m",
            "the cell says \"0.1\" ft",
        ],
    );
    says(
        &found,
        &[
            "row 4 column \"Dn MH\"",
            "downstream_manhole is missing: fill it",
        ],
    );
}

#[test]
fn a_column_that_the_map_does_not_know_is_refused_with_the_nearest_one() {
    let csv = "Pipe ID,Up MH,Dn MH,Size (in),Lenght (ft),Clear length (ft)\nA,B,C,8,250,246\n";
    let found = refused(&segment(), SEGMENTS, csv);
    says(
        &found,
        &[
            "row 1 column \"Lenght (ft)\"",
            "not in the column map",
            "did you mean \"Length (ft)\"?",
        ],
    );
    says(
        &found,
        &["row 1 column \"Length (ft)\"", "is missing", "did you mean"],
    );
}

#[test]
fn a_column_that_the_map_does_not_know_may_be_ignored_by_word_of_the_map() {
    let map = SEGMENTS.replace("[id]", "unmapped_columns = \"ignore\"\n[id]");
    let csv = format!("{SEGMENT_HEADER},Foreman,\nA,B,C,8,250,246,x,y\n");
    assert_eq!(rows(&segment(), &map, csv).len(), 1);
}

#[test]
fn two_columns_of_one_name_are_refused() {
    let csv = format!("{SEGMENT_HEADER},Up MH\nA,B,C,8,250,246,B\n");
    let found = refused(&segment(), SEGMENTS, csv);
    says(
        &found,
        &["row 1 column \"Up MH\"", "stands in columns 2 and 7"],
    );
}

#[test]
fn two_rows_that_give_one_id_are_refused_naming_both() {
    let csv = segments(&["A 1,B,C,8,250,246", "X,B,C,8,250,246", "a-1,B,C,8,250,246"]);
    let found = refused(&segment(), SEGMENTS, csv);
    says(
        &found,
        &["quillfern.csv row 4", "\"s-a-1\"", "as row 2 does"],
    );
}

#[test]
fn a_cell_that_gives_no_id_is_refused() {
    let csv = segments(&[",B,C,8,250,246", "***,B,C,8,250,246"]);
    let found = refused(&segment(), SEGMENTS, csv);
    says(&found, &["row 2 column \"Pipe ID\"", "is blank"]);
    says(&found, &["row 3 column \"Pipe ID\"", "no letter or digit"]);
    let bare = SEGMENTS.replace("prefix = \"s-\"\n", "");
    let found = refused(&segment(), &bare, segments(&["12,B,C,8,250,246"]));
    says(
        &found,
        &[
            "row 2 column \"Pipe ID\"",
            "ids begin with a letter",
            "prefix",
        ],
    );
    let long = "x".repeat(62);
    let found = refused(
        &segment(),
        SEGMENTS,
        segments(&[&format!("{long},B,C,8,250,246")]),
    );
    says(&found, &["64 characters, 63 fit"]);
}

#[test]
fn thousands_separators_and_the_other_decimal_sign_are_never_guessed() {
    for (cell, parts) in [
        (
            "\"1,250.5\"",
            ["\"1,250.5\"", "thousands separators are not read"],
        ),
        ("1 250", ["\"1 250\"", "thousands separators are not read"]),
        ("1'250", ["\"1'250\"", "thousands separators are not read"]),
        (
            "1.250.000",
            ["\"1.250.000\"", "thousands separators are not read"],
        ),
        (
            "\"12,345\"",
            ["may mean 12.345 or 12345", "write the one that is meant"],
        ),
        (
            "\"250,5\"",
            ["write 250.5, or set decimal = \",\"", "decimal sign '.'"],
        ),
        ("NaN", ["\"NaN\"", "write the number alone"]),
        ("1e999", ["\"1e999\"", "beyond the numbers"]),
        ("0x10", ["\"0x10\"", "write the number alone"]),
    ] {
        let csv = segments(&[&format!("A,B,C,8,{cell},246")]);
        let found = refused(&segment(), SEGMENTS, csv);
        assert_eq!(found.len(), 1, "{found:#?}");
        says(&found, &parts);
    }
}

#[test]
fn rows_with_too_many_or_too_few_cells_are_refused() {
    let found = refused(
        &segment(),
        SEGMENTS,
        segments(&["A,B,C,8,250", "D,B,C,8,250,246,7"]),
    );
    says(&found, &["row 2", "has 5 cells, the header has 6"]);
    says(&found, &["row 3", "has 7 cells, the header has 6"]);
}

#[test]
fn a_header_of_one_cell_points_at_the_delimiter() {
    let csv = segments(&["A,B,C,8,250,246"]).replace(',', ";");
    says(
        &refused(&segment(), SEGMENTS, csv),
        &["the header is one cell: check delimiter"],
    );
}

#[test]
fn a_row_that_is_not_utf_8_is_named() {
    let mut csv = segments(&["A,B,C,8,250,246"]).into_bytes();
    csv.extend(b"D,M\xfchle,C,8,250,246\n");
    says(
        &refused(&segment(), SEGMENTS, csv),
        &["quillfern.csv row 3", "is not UTF-8"],
    );
}

#[test]
fn a_quote_that_is_never_closed_is_refused_instead_of_swallowing_rows() {
    let csv = segments(&["A,B,C,8,250,246", "D,B,C,8,250,\"246", "E,B,C,8,250,246"]);
    says(
        &refused(&segment(), SEGMENTS, csv),
        &["row 3", "quote that is never closed"],
    );
}

#[test]
fn a_table_without_rows_is_refused() {
    says(
        &refused(&segment(), SEGMENTS, ""),
        &["no row below its header"],
    );
    says(
        &refused(&segment(), SEGMENTS, segments(&[])),
        &["no row below its header"],
    );
}

#[test]
fn a_table_beyond_the_limits_of_size_is_refused() {
    let found = refused(&segment(), SEGMENTS, vec![b'a'; MAX_BYTES + 1]);
    says(&found, &["67108865 bytes", "67108864 bytes (64 MiB)"]);
    let row = "A,B,C,8,250,246\n";
    let most = format!("{SEGMENT_HEADER}\n{}", row.repeat(MAX_ROWS));
    let found = refused(&segment(), SEGMENTS, &most);
    says(&found, &["row 3", "as row 2 does"]);
    says(
        &found,
        &[&format!("{} more are not listed", MAX_ROWS - 1 - 1_000)],
    );
    let found = refused(&segment(), SEGMENTS, most + row);
    says(&found, &["more than 100000 rows"]);
    assert_eq!(found.len(), 1);
}

#[test]
fn a_word_that_is_neither_the_owners_nor_the_schemas_is_refused() {
    let csv = format!("{LATERAL_HEADER}\nA,1,10,2,4,lvie\nA,2,10,2,4,LATERAL_STATE_UNSPECIFIED\n");
    let found = refused(&lateral(), LATERALS, csv);
    says(
        &found,
        &[
            "row 2 column \"State\"",
            "\"lvie\" is none of dead, live, LATERAL_STATE_ACTIVE",
            "did you mean \"live\"?",
        ],
    );
    says(
        &found,
        &["row 3 column \"State\"", "LATERAL_STATE_UNSPECIFIED"],
    );
}

#[test]
fn rows_of_a_group_that_contradict_each_other_are_refused() {
    let csv = format!(
        "{REPORT_HEADER}\n\
         F,Q,05/04/2026,05/06/2026,05/07/2026,1,50,6.1,1200000,20000,6.1;6.2;6.3\n\
         F,Q,05/05/2026,,,2,50,6.1,1200000,20000,\n\
         F,Q,,,,3,50,0,1200000,20000,\n,Q,,,,3,50,6,1200000,20000,\n"
    );
    let found = refused(&report(), REPORTS, csv);
    says(
        &found,
        &[
            "row 3 column \"Received\"",
            "row 2 of the same record says \"05/04/2026\"",
        ],
    );
    says(
        &found,
        &[
            "row 4 column \"Depth (mm)\"",
            "specimens[2].depth_mm",
            "0.5 to 80 mm",
        ],
    );
    says(&found, &["row 5 column \"Report\"", "is blank"]);
}

#[test]
fn a_date_of_another_form_or_no_day_at_all_is_refused() {
    let csv = format!(
        "{REPORT_HEADER}\n\
         F,Q,13/04/2026,2026-05-06,02/30/2026,1,50,6.1,1200000,20000,6.1;x;6.3\n"
    );
    let found = refused(&report(), REPORTS, csv);
    says(
        &found,
        &["column \"Received\": \"13/04/2026\" is no day in the form mm/dd/yyyy"],
    );
    says(&found, &["column \"Tested\": \"2026-05-06\""]);
    says(&found, &["column \"Signed\": \"02/30/2026\""]);
    says(&found, &["column \"Walls (mm)\": \"x\""]);
}
