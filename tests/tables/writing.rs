//! What is written is CSV that no spreadsheet takes for formulas.

use obvert_tables::write;

use super::*;

fn written(location: &str) -> String {
    let map = map(&format!(
        "{SEGMENTS}[[column]]\ncolumn = \"Where\"\nfield = \"location\"\n"
    ));
    let csv = segments(&["A,B,C,8,250,246"]);
    let mut body = rows(&segment(), SEGMENTS, csv).remove(0).body;
    body.set_field_by_name("location", Value::String(location.to_owned()));
    String::from_utf8(write(&segment(), &[("s-a".to_owned(), body)], &map)).expect("UTF-8")
}

#[test]
fn a_table_is_written_in_the_owners_columns_and_units_with_line_ends_of_rfc_4180() {
    assert_eq!(
        written("rear lot"),
        format!("{SEGMENT_HEADER},Where\r\nA,B,C,8,250,246,rear lot\r\n")
    );
    assert!(written("a, \"b\"\nc").ends_with(",\"a, \"\"b\"\"\nc\"\r\n"));
}

#[test]
fn text_that_begins_like_a_formula_gets_a_quote_before_it() {
    for text in ["=1+1", "+1", "-1", "@sum", "\tx", "\rx", "'=1"] {
        let csv = written(text);
        assert!(csv.contains(&format!("'{text}")), "{csv:?}");
    }
    assert!(written("a=1").ends_with(",a=1\r\n"));
    assert!(written("'tis").ends_with(",'tis\r\n"));
}

#[test]
fn negative_numbers_stay_numbers() {
    let toml = "collection = \"runs\"\n[id]\ncolumn = \"Run\"\n\
                [[column]]\ncolumn = \"Elongation\"\n\
                field = \"elongation_percent\"\nunit = \"percent\"\n";
    let kind = kind("obvert.installation.v1.Run");
    let mut body = DynamicMessage::new(kind.clone());
    body.set_field_by_name("elongation_percent", Value::F64(-1.5));
    let csv = write(&kind, &[("r-1".to_owned(), body)], &map(toml));
    assert_eq!(
        String::from_utf8(csv).expect("UTF-8"),
        "Run,Elongation\r\nr-1,-1.5\r\n"
    );
}

#[test]
fn a_decimal_comma_words_and_bare_names_come_back_out() {
    let toml = LATERALS.replace("[id]", "delimiter = \";\"\ndecimal = \",\"\n[id]");
    let csv = format!(
        "{}\nA7;3;101,5;2,5;4;live\n",
        LATERAL_HEADER.replace(',', ";")
    );
    let found = rows(&lateral(), &toml, &csv);
    let records = [(found[0].record_id.clone(), found[0].body.clone())];
    let back = String::from_utf8(write(&lateral(), &records, &map(&toml))).expect("UTF-8");
    // The second column of the id fills no field, so its cell stays blank.
    assert_eq!(back, csv.replace("A7;3;", "a7;;").replace('\n', "\r\n"));
}
