//! What is written is read back unchanged.

use obvert_tables::write;
use proptest::prelude::*;
use prost::Message;

use super::*;

/// Text as fields hold it: no control characters, no blanks at its ends, anything else.
fn words() -> impl Strategy<Value = String> {
    "[-=+@'\"a-zA-Z0-9,;. äß水]{1,20}"
        .prop_map(|text| text.trim().to_owned())
        .prop_filter("not blank", |t| !t.is_empty())
}

fn a_segment() -> impl Strategy<Value = DynamicMessage> {
    let lengths = (
        100.0..1900.0_f64,
        1.0..600.0_f64,
        1.0..600.0_f64,
        prop::option::of(0.1..30.0_f64),
    );
    (words(), words(), words(), 0..9_i32, lengths).prop_map(
        |(up, down, place, ordinal, lengths)| {
            let mut body = DynamicMessage::new(segment());
            body.set_field_by_name("upstream_manhole", Value::String(up));
            body.set_field_by_name("downstream_manhole", Value::String(down));
            body.set_field_by_name("location", Value::String(place));
            body.set_field_by_name("pipe_ordinal", Value::I32(ordinal));
            body.set_field_by_name("nominal_diameter_mm", Value::F64(lengths.0));
            body.set_field_by_name("length_centre_to_centre_m", Value::F64(lengths.1));
            body.set_field_by_name("length_wall_to_wall_m", Value::F64(lengths.2));
            if let Some(cover) = lengths.3 {
                body.set_field_by_name("cover_min_m", Value::F64(cover));
            }
            body
        },
    )
}

fn segment_map(delimiter: &str, decimal: &str, unit: &str) -> String {
    let column = |name: &str, rest: &str| {
        format!("[[column]]\ncolumn = \"{name}\"\nfield = \"{name}\"\n{rest}\n")
    };
    let unit = format!("unit = \"{unit}\"");
    let texts = [
        "owner_segment_id",
        "upstream_manhole",
        "downstream_manhole",
        "location",
        "pipe_ordinal",
    ];
    let numbers = [
        "nominal_diameter_mm",
        "length_centre_to_centre_m",
        "length_wall_to_wall_m",
        "cover_min_m",
    ];
    let columns: String = texts
        .iter()
        .map(|name| column(name, ""))
        .chain(numbers.iter().map(|name| column(name, &unit)))
        .collect();
    format!(
        "collection = \"segments\"\ndelimiter = \"{delimiter}\"\ndecimal = \"{decimal}\"\n\
         [id]\ncolumn = \"owner_segment_id\"\nprefix = \"s-\"\n{columns}"
    )
}

proptest! {
    #[test]
    fn segments_come_back_in_every_delimiter_decimal_sign_and_unit(
        bodies in prop::collection::vec(a_segment(), 1..8),
        delimiter in prop::sample::select(vec![",", ";", "tab"]),
        decimal in prop::sample::select(vec![".", ","]),
        unit in prop::sample::select(vec!["m", "mm", "in", "ft"]),
    ) {
        let map = map(&segment_map(delimiter, decimal, unit));
        let records: Vec<_> = bodies.into_iter().enumerate().map(|(i, mut body)| {
            body.set_field_by_name("owner_segment_id", Value::String(format!("P.{i}")));
            (format!("s-p-{i}"), body)
        }).collect();
        let csv = write(&segment(), &records, &map);
        let found = read(&csv, &map, &segment(), "quillfern", "").expect("what was written");
        prop_assert_eq!(found.len(), records.len());
        for (row, (id, body)) in found.iter().zip(&records) {
            prop_assert_eq!(&row.record_id, id);
            // A conversion may round in the last place of a number.
            for field in segment().fields() {
                let (was, is) = (body.get_field(&field), row.body.get_field(&field));
                match (was.as_f64(), is.as_f64()) {
                    (Some(was), Some(is)) => {
                        prop_assert!((was - is).abs() <= was * 4e-16, "{} {}", was, is);
                    }
                    _ => prop_assert_eq!(was, is),
                }
            }
            if unit == "m" {
                let mm = row.body.get_field_by_name("length_wall_to_wall_m");
                prop_assert_eq!(mm, body.get_field_by_name("length_wall_to_wall_m"));
            }
        }
    }
}

#[test]
fn a_grouped_table_with_dates_lists_and_converted_numbers_comes_back_byte_for_byte() {
    let csv = format!(
        "{REPORT_HEADER}\n\
         FM 1,q-01,05/04/2026,05/06/2026,05/07/2026,1,50,6.1,1200000,20000,6.1;6.2;6.3\n\
         FM 1,,,,,2,50,6.2,1210000,20100,\n\
         FM 1,,,,,3,50,6,1190000.5,19900.25,\n"
    );
    let map = map(REPORTS);
    let first = rows(&report(), REPORTS, csv);
    let records = [(first[0].record_id.clone(), first[0].body.clone())];
    let written = write(&report(), &records, &map);
    let text = String::from_utf8(written.clone()).expect("UTF-8");
    assert!(text.contains(",1190000.5,19900.25,"), "{text}");
    let second =
        read(&written, &map, &report(), "quillfern", "back.csv").expect("what was written");
    assert_eq!(
        second[0].body.encode_to_vec(),
        first[0].body.encode_to_vec()
    );
    assert_eq!(second[0].record_id, first[0].record_id);
    assert_eq!(write(&report(), &records, &map), written);
}

#[test]
fn times_come_back_to_the_nanosecond_before_and_after_1970() {
    let map = map(
        "collection = \"linerMovements\"\ntime_zone = \"America/New_York\"\n[id]\ncolumn = \"Id\"\n\
         [[column]]\ncolumn = \"Liner\"\nfield = \"liner\"\n\
         [[column]]\ncolumn = \"When\"\nfield = \"movement_time\"\n\
         [[fixed]]\nfield = \"movement\"\nvalue = \"MOVEMENT_KIND_STORED\"\n",
    );
    let kind = kind("obvert.material.v1.LinerMovement");
    for when in [
        "2026-05-04T13:15:00.123456789Z",
        "2026-11-01T05:30:00Z",
        "2026-11-01T06:30:00Z",
        "1969-12-31T23:59:59.25Z",
    ] {
        let csv = format!("Id,Liner,When\nm-1,l-1,{when}\n");
        let first = read(csv.as_bytes(), &map, &kind, "quillfern", "").expect("a movement");
        let written = write(&kind, &[("m-1".to_owned(), first[0].body.clone())], &map);
        let second = read(&written, &map, &kind, "quillfern", "").expect("what was written");
        assert_eq!(
            second[0].body.encode_to_vec(),
            first[0].body.encode_to_vec(),
            "{when}"
        );
    }
}
