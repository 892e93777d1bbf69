//! The plots of one log, on the stations of its run.

use obvert_engineering::{
    cure_log::{Band, Placement, RunLength, Setup, StationRange, Train, figures},
    plots::{Mark, MarkKind, Plot, cure_plots},
};
use obvert_proto::{
    installation::v1::{CureHeader, CureRecord, Run},
    material::v1::ToleranceBand,
    project::v1::Segment,
};

use super::samples::Samples;
use crate::{
    segment_file::{Kept, SegmentFile, by_name},
    stations::from_inside_wall,
};

/// Draws the plots of a log, each of them the same for the same samples.
pub(super) fn plots(
    file: &SegmentFile,
    log: &CureRecord,
    run: &Kept<Run>,
    samples: &Samples,
    band: Option<&ToleranceBand>,
) -> Vec<Plot> {
    let header = log.header.clone().unwrap_or_default();
    let setup = setup(&header, file, run);
    let band = band.map(entered);
    let channels = samples.channels();
    let drawn = figures(&channels, &setup, band.as_ref());
    cure_plots(&channels, &setup, &drawn, band.as_ref(), &marks(file, run))
}

fn setup(header: &CureHeader, file: &SegmentFile, run: &Run) -> Setup {
    let between_walls_m = RunLength {
        wall_to_wall_m: segments(file, run)
            .map(|s| s.length_wall_to_wall_m)
            .collect(),
        intermediate_manholes_m: vec![run.intermediate_manholes_m],
        ends_m: [0.0, 0.0],
    }
    .total_m();
    Setup {
        train: Train {
            lamp_offsets_m: header.lamp_offsets_m.clone(),
            infrared_offsets_m: header.infrared_offsets_m.clone(),
            lamp_power_w: header.lamp_power_in_use_w(),
        },
        placement: Placement {
            station_at_zero_m: -header.datum_offset_m,
            ..Placement::default()
        },
        host: (header.counts_from_inside_wall() && between_walls_m > 0.0).then_some(StationRange {
            from_m: 0.0,
            to_m: between_walls_m,
        }),
        ..Setup::default()
    }
}

/// Segments of the run whose records are on file, in order of travel.
fn segments<'a>(file: &'a SegmentFile, run: &'a Run) -> impl Iterator<Item = &'a Kept<Segment>> {
    run.segments
        .iter()
        .filter_map(|name| by_name(&file.segments, name))
}

/// Manholes of the run and laterals of this segment, from the inside wall of the first manhole.
fn marks(file: &SegmentFile, run: &Run) -> Vec<Mark> {
    let mark = |kind, label: &str, station_m| Mark {
        kind,
        label: label.to_owned(),
        station_m,
    };
    let joints = run.segments.len().saturating_sub(1);
    let opening_m = if joints == 0 {
        0.0
    } else {
        run.intermediate_manholes_m / joints as f64
    };
    let mut marks = Vec::new();
    let mut start_m = 0.0;
    for (place, segment) in segments(file, run).enumerate() {
        let label = run.manholes.get(place).map_or("", String::as_str);
        let middle_m = if place == 0 {
            start_m
        } else {
            start_m - opening_m / 2.0
        };
        marks.push(mark(MarkKind::Manhole, label, middle_m));
        if segment.name == file.name {
            let with_flow = run.manholes.get(place) != Some(&segment.downstream_manhole);
            for lateral in &file.laterals {
                let from_upstream_m = from_inside_wall(
                    (lateral.station_m, lateral.datum()),
                    segment.upstream_manhole_radius_m,
                )
                .station
                .station_m;
                let along_m = if with_flow {
                    from_upstream_m
                } else {
                    segment.length_wall_to_wall_m - from_upstream_m
                };
                marks.push(mark(
                    MarkKind::Lateral,
                    &lateral.number(),
                    start_m + along_m,
                ));
            }
        }
        start_m += segment.length_wall_to_wall_m + opening_m;
    }
    if let Some(last) = run.manholes.last() {
        marks.push(mark(MarkKind::Manhole, last, start_m - opening_m));
    }
    marks
}

fn entered(band: &ToleranceBand) -> Band {
    let bar = |kpa: f64| kpa / 100.0;
    Band {
        speed_min_m_per_min: band.speed_min_m_per_min,
        speed_max_m_per_min: band.speed_max_m_per_min,
        pressure_min_bar_g: band.pressure_min_kpa.map(bar),
        pressure_max_bar_g: band.pressure_max_kpa.map(bar),
        wall_temperature_min_c: band.wall_temperature_min_celsius,
        wall_temperature_max_c: band.wall_temperature_max_celsius,
        reaction_temperature_c: None,
        lamps_least: u32::try_from(band.least_lamps_count).ok(),
        lamp_power_w: Some(band.lamp_power_w),
    }
}
