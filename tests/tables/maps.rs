//! Column maps that are refused, and what the refusal says.

use super::*;

#[track_caller]
fn bad_map(toml: &str) -> Vec<String> {
    let found = ColumnMap::parse(toml).expect_err("the map is refused");
    found
        .into_iter()
        .map(|v| format!("{}: {}", v.field, v.message))
        .collect()
}

/// The usual segment map with one more column entry.
fn with_column(entry: &str) -> String {
    format!("{SEGMENTS}[[column]]\ncolumn = \"New\"\n{entry}\n")
}

#[track_caller]
fn unfit(toml: &str, parts: &[&str]) {
    let csv = format!("{SEGMENT_HEADER},New\nA,B,C,8,250,246,1\n");
    says(&refused(&segment(), toml, csv), parts);
}

#[test]
fn unknown_keys_are_refused_by_line_and_column_all_at_once_with_the_nearest_key() {
    let map = "colection = \"segments\"\n[id]\ncolumn = \"A\"\n\
               [[column]]\ncolumn = \"A\"\n  feild = \"x\"\n";
    let found = bad_map(map);
    assert_eq!(found.len(), 2, "{found:#?}");
    says(
        &found,
        &[
            "column map line 1 column 1",
            "\"colection\"",
            "did you mean \"collection\"?",
        ],
    );
    says(
        &found,
        &[
            "column map line 6 column 3",
            "\"feild\"",
            "did you mean \"field\"?",
        ],
    );
}

#[test]
fn what_is_no_toml_or_of_another_type_is_refused_by_line_and_column() {
    says(
        &bad_map("collection = \"segments\"\nid = ["),
        &["column map line 2"],
    );
    says(
        &bad_map(&SEGMENTS.replace("[id]", "delimiter = \"|\"\n[id]")),
        &["column map line 3", "unknown variant `|`"],
    );
    says(
        &bad_map("collection = \"segments\"\n"),
        &["missing field `id`"],
    );
    says(
        &bad_map(&"#".repeat(65_537)),
        &["65537 bytes, 65536 are allowed"],
    );
}

#[test]
fn values_that_can_never_be_right_are_refused() {
    let map = SEGMENTS
        .replace("[id]", "time_zone = \"Marrowby/Lane\"\n[id]")
        .replace("\"s-\"", "\"S_\"");
    let found = bad_map(&map);
    says(&found, &["time_zone", "\"Marrowby/Lane\"", "IANA"]);
    says(&found, &["[id]", "\"S_\"", "a-z"]);
    says(
        &bad_map("collection = \"segments\"\n[id]\ncolumn = \"A\"\n"),
        &["[[column]]", "at least one"],
    );
    says(
        &bad_map(&with_column("field = \"location\"\nlist = \"x\"")),
        &["column \"New\"", "would split values"],
    );
    says(
        &bad_map(&SEGMENTS.replace("\"Up MH\"", "\" Up MH\"")),
        &["column \" Up MH\"", "trim it"],
    );
}

#[test]
fn a_number_with_a_unit_needs_a_unit_that_fits() {
    let column = |rest: &str| with_column(&format!("field = \"cover_min_m\"\n{rest}"));
    unfit(
        &column(""),
        &[
            "column map, column \"New\"",
            "names no unit",
            "mm, cm, m, in, ft",
        ],
    );
    unfit(
        &column("unit = \"psi\""),
        &[
            "unit \"psi\" does not fit cover_min_m in m",
            "use one of mm",
        ],
    );
    unfit(
        &column("unit = \"fet\""),
        &["unit \"fet\" does not fit", "did you mean \"ft\"?"],
    );
    unfit(
        &with_column("field = \"pipe_ordinal\"\nunit = \"m\""),
        &["has no unit", "remove unit"],
    );
    unfit(
        &with_column("field = \"location\"\nunit = \"m\""),
        &["holds no number", "remove unit"],
    );
}

#[test]
fn a_field_must_exist_hold_a_value_and_be_filled_once() {
    unfit(
        &with_column("field = \"locaton\""),
        &[
            "Segment has no field \"locaton\"",
            "did you mean \"location\"?",
        ],
    );
    unfit(
        &with_column("field = \"location.x\""),
        &["location has no fields of its own"],
    );
    unfit(
        &with_column("field = \"upstream_manhole\""),
        &["column \"New\"", "filled twice"],
    );
    unfit(
        &with_column("field = \"location\"\nlist = \";\""),
        &["holds one value", "remove list"],
    );
    unfit(
        &with_column("field = \"location\"\nprefix = \"x\""),
        &["names no record"],
    );
    unfit(
        &with_column("field = \"cover_min_m\"\nunit = \"m\"\nwords = { a = \"b\" }"),
        &["takes no words"],
    );
    let fixed = format!("{SEGMENTS}[[fixed]]\nfield = \"upstream_manhole\"\nvalue = \"MH\"\n");
    says(
        &refused(&segment(), &fixed, segments(&["A,B,C,8,250,246"])),
        &["fixed upstream_manhole", "filled twice"],
    );
}

#[test]
fn a_map_of_another_collection_is_refused() {
    let map = SEGMENTS.replace("\"segments\"", "\"laterals\"");
    says(
        &refused(&segment(), &map, segments(&["A,B,C,8,250,246"])),
        &["column map, collection", "\"segments\""],
    );
}

#[test]
fn words_and_fixed_values_must_mean_something() {
    let csv = format!("{LATERAL_HEADER}\nA,1,10,2,4,live\n");
    let map = LATERALS.replace("LATERAL_STATE_ACTIVE", "LATERAL_STATE_ACTIV");
    says(
        &refused(&lateral(), &map, &csv),
        &[
            "column \"State\"",
            "the word \"live\"",
            "did you mean \"LATERAL_STATE_ACTIVE\"?",
        ],
    );
    let map = LATERALS.replace("DATUM_INSIDE_WALL", "INSIDE");
    says(
        &refused(&lateral(), &map, &csv),
        &["fixed datum", "\"INSIDE\" is none of DATUM_MANHOLE_CENTRE"],
    );
}

#[test]
fn a_required_field_that_nothing_fills_is_said_once() {
    let map = LATERALS.replace(
        "field = \"datum\"\nvalue = \"DATUM_INSIDE_WALL\"",
        "field = \"material\"\nvalue = \"clay\"",
    );
    let csv = format!("{LATERAL_HEADER}\nA,1,10,2,4,live\nA,2,11,2,4,live\n");
    let found = refused(&lateral(), &map, csv);
    assert_eq!(found.len(), 1, "{found:#?}");
    says(
        &found,
        &[
            "column map, datum",
            "is missing",
            "no column or fixed value fills it",
        ],
    );
}

#[test]
fn what_only_the_server_writes_and_what_has_fields_of_its_own_cannot_be_mapped() {
    let csv = format!("{REPORT_HEADER}\nF,Q,,,,1,50,6,1200000,20000,6;6;6\n");
    let change = |field: &str| REPORTS.replace("\"wall_readings_mm\"", &format!("\"{field}\""));
    says(
        &refused(&report(), &change("mean_wall_mm"), &csv),
        &["written by the server only"],
    );
    says(
        &refused(&report(), &change("specimens"), &csv),
        &[
            "specimens has fields of its own",
            "specimens.specimen_number",
        ],
    );
    let ungrouped = REPORTS.replace("[group]\nby = \"Report\"\nrepeated = \"specimens\"\n", "");
    says(
        &refused(&report(), &ungrouped, &csv),
        &["specimens is repeated", "[group]"],
    );
    let wrong = REPORTS.replace("repeated = \"specimens\"", "repeated = \"laboratory\"");
    says(
        &refused(&report(), &wrong, &csv),
        &["[group] repeated", "takes no list"],
    );
}

#[test]
fn a_field_that_may_name_any_record_needs_its_collection() {
    let map = |rest: &str| {
        format!(
            "collection = \"documents\"\n[id]\ncolumn = \"No\"\nprefix = \"d-\"\n\
             [[column]]\ncolumn = \"About\"\nfield = \"subjects\"\nlist = \";\"\n{rest}\n\
             [[column]]\ncolumn = \"No\"\nfield = \"title\"\n\
             [[fixed]]\nfield = \"evidence_kind\"\nvalue = \"right-of-entry\"\n\
             [[fixed]]\nfield = \"issuer\"\nvalue = \"Marrowby Sanitary District\"\n"
        )
    };
    let kind = kind("obvert.project.v1.Document");
    let csv = "No,About\n1,s-1;s-2\n";
    says(
        &refused(&kind, &map(""), csv),
        &["subjects may name any record", "set collection"],
    );
    says(
        &refused(&kind, &map("collection = \"segment\""), csv),
        &["is no collection", "did you mean \"segments\"?"],
    );
    let found = rows(&kind, &map("collection = \"segments\""), csv);
    let names = ["s-1", "s-2"].map(|id| Value::String(format!("projects/quillfern/segments/{id}")));
    assert_eq!(items(&found[0].body, "subjects"), names);
}
