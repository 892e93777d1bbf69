//! Bytes of any kind never end in a panic, and neither do maps of any kind.

use proptest::prelude::*;

use super::*;

/// Pieces that CSV readers stumble over.
const PIECES: [&str; 18] = [
    ",",
    ";",
    "\"",
    "\"\"",
    "\n",
    "\r\n",
    "\r",
    "\u{feff}",
    "\u{1}",
    "\0",
    "'",
    "=",
    "-",
    "1.5",
    "é",
    "A",
    "05/06/2026",
    "Report",
];

fn pieces() -> impl Strategy<Value = Vec<u8>> {
    let piece = (0..PIECES.len()).prop_map(|i| PIECES[i].as_bytes().to_vec());
    prop::collection::vec(
        prop_oneof![9 => piece, 1 => prop::collection::vec(any::<u8>(), 1..3)],
        0..80,
    )
    .prop_map(|parts| parts.concat())
}

proptest! {
    #[test]
    fn any_bytes_are_read_or_refused(csv in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read_rows(&segment(), SEGMENTS, csv);
    }

    #[test]
    fn any_cells_below_a_right_header_are_read_or_refused_with_a_reason(csv in pieces()) {
        for (kind, map, header) in [
            (segment(), SEGMENTS, SEGMENT_HEADER),
            (report(), REPORTS, REPORT_HEADER),
        ] {
            let table = [header.as_bytes(), b"\n", &csv].concat();
            if let Err(found) = read_rows(&kind, map, table) {
                prop_assert!(!found.is_empty());
                prop_assert!(found.iter().all(|v| !v.field.is_empty() && !v.message.is_empty()));
            }
        }
    }

    #[test]
    fn any_text_is_a_map_or_refused_with_a_reason(text in ".{0,200}", at in 0..SEGMENTS.len()) {
        let inside = format!("{}{text}{}", &SEGMENTS[..at], &SEGMENTS[at..]);
        for map in [text, inside] {
            match ColumnMap::parse(&map) {
                Err(found) => prop_assert!(!found.is_empty()),
                Ok(map) => {
                    let csv = segments(&["A,B,C,8,250,246"]);
                    let _ = read(csv.as_bytes(), &map, &segment(), "quillfern", "");
                }
            }
        }
    }
}
