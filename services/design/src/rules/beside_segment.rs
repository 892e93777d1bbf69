//! Notes on a design beside the segment it is for.

use obvert_proto::{
    Violation,
    common::v1::{Finding, RecordRef},
    design::v1::WallInputs,
    project::v1::Segment,
};

use super::findings::RATIO_NEAR;
use crate::record::feet_and_metres;

/// How far a cover may lie from the segment's own before it is noted. Own proposal.
const COVER_NEAR_M: f64 = 0.1;
/// Share by which the host's bore may differ from the nominal diameter before it is noted.
/// Own proposal.
const DIAMETER_NEAR: f64 = 0.1;

/// Notes on inputs that do not fit the segment.
pub(super) fn findings(
    inputs: &WallInputs,
    name: &str,
    revision: i64,
    segment: &Segment,
) -> Vec<Finding> {
    let mut found = Vec::new();
    let covers = || inputs.sections.iter().map(|section| section.cover_m);
    let (least, most) = (
        covers().fold(f64::INFINITY, f64::min),
        covers().fold(0.0, f64::max),
    );
    found.extend(
        segment
            .cover_max_m
            .and_then(|deepest| cover("deepest", deepest, most)),
    );
    found.extend(
        segment
            .cover_min_m
            .and_then(|shallowest| cover("shallowest", shallowest, least)),
    );
    let (bore, nominal) = (inputs.host_inside_diameter_mm, segment.nominal_diameter_mm);
    if (bore / nominal - 1.0).abs() > DIAMETER_NEAR {
        let message = format!(
            "The host's inside diameter is {bore} mm, the segment's nominal one {nominal} mm: \
             check both."
        );
        found.push(Finding::note(
            "diameter-not-nominal",
            message,
            &[("host_mm", bore), ("nominal_mm", nominal)],
        ));
    }
    let length = segment.length_centre_to_centre_m;
    for station in inputs.sections.iter().map(|section| section.station_m) {
        if station > length {
            let message = format!(
                "Station {station} m lies beyond the segment's {length} m: check the station."
            );
            found.push(Finding::note(
                "station-beyond-segment",
                message,
                &[("station_m", station)],
            ));
        }
    }
    let record = RecordRef {
        name: name.to_owned(),
        revision,
    };
    found
        .into_iter()
        .map(|one| Finding {
            records: vec![record.clone()],
            ..one
        })
        .collect()
}

/// Covers of the sections that are those of the segment in another unit.
pub(super) fn refusals(inputs: &WallInputs, segment: &Segment) -> Vec<Violation> {
    let covers = || inputs.sections.iter().map(|section| section.cover_m);
    let (least, most) = (
        covers().fold(f64::INFINITY, f64::min),
        covers().fold(0.0, f64::max),
    );
    let pairs = [
        ("shallowest", segment.cover_min_m, least),
        ("deepest", segment.cover_max_m, most),
    ];
    let wrong = pairs.into_iter().filter_map(|(which, of_segment, cover)| {
        let of_segment = of_segment?;
        let index = covers().position(|own| own == cover)?;
        let message = format!(
            "is {cover} m, the segment's {which} cover is {of_segment} m, in the ratio of foot and \
             metre: give metres, or correct the segment"
        );
        feet_and_metres(of_segment, cover, RATIO_NEAR)
            .then(|| Violation::new(format!("sections[{index}].cover_m"), message))
    });
    wrong.collect()
}

fn cover(which: &str, of_segment_m: f64, of_sections_m: f64) -> Option<Finding> {
    let facts = [
        ("segment_cover_m", of_segment_m),
        ("section_cover_m", of_sections_m),
    ];
    ((of_segment_m - of_sections_m).abs() > COVER_NEAR_M).then(|| {
        let message = format!(
            "The {which} section has {of_sections_m} m of cover, the segment's {which} cover is \
             {of_segment_m} m: add a section there."
        );
        Finding::note("cover-not-checked", message, &facts)
    })
}
