//! Tables that owners and laboratories send, read by three maps.

use obvert_tables::{ColumnMap, read};

use super::Target;
use crate::tables::{
    LATERAL_HEADER, LATERALS, REPORT_HEADER, REPORTS, SEGMENT_HEADER, SEGMENTS, lateral, report,
    segment,
};

#[test]
fn no_table_panics() {
    let kinds = [
        (segment(), SEGMENTS, SEGMENT_HEADER, "A,B,C,8,250,246"),
        (lateral(), LATERALS, LATERAL_HEADER, "A7,3,101.5,2.5,4,live"),
        (report(), REPORTS, REPORT_HEADER, ""),
    ];
    let seeds = kinds
        .iter()
        .map(|(_, _, header, row)| format!("{header}\n{row}\n{row}\n").into_bytes())
        .collect();
    let maps: Vec<_> = kinds
        .iter()
        .map(|(kind, map, _, _)| (kind, ColumnMap::parse(map).unwrap()))
        .collect();
    let mut play = |input: &[u8]| {
        for (kind, map) in &maps {
            if let Err(found) = read(input, map, kind, "quillfern", "") {
                assert!(!found.is_empty(), "a refusal says why");
            }
        }
        if let Ok(text) = std::str::from_utf8(input) {
            let _ = ColumnMap::parse(text);
        }
    };
    Target {
        name: "csv_import",
        seeds,
        ordinary: 3_000,
        play: &mut play,
    }
    .run();
}
