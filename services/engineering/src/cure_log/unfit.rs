//! Reasons why a log cannot be judged, each as a sentence that says what to do.

use super::rows::lamp_bits;
use super::{Channels, LAMP_MASK_ABSENT, RowCounts, Rows, Setup};

/// Lamps that the bits of a mask tell apart.
const LAMPS_MAX: usize = 31;

/// Problems that keep any figure from being drawn.
pub(super) fn columns(channels: &Channels, setup: &Setup) -> Vec<String> {
    let mut found: Vec<String> = channels
        .ragged()
        .into_iter()
        .map(|ragged| {
            format!(
                "Column {} has {} rows, elapsed_s has {}. Import the file again.",
                ragged.channel, ragged.rows, ragged.expected
            )
        })
        .collect();
    if channels.rows() == 0 {
        found.push("The log has no rows. File the log of this run.".to_owned());
    }
    let lamps = setup.train.lamp_offsets_m.len();
    if lamps > LAMPS_MAX {
        found.push(format!(
            "The train has {lamps} lamps, the most is {LAMPS_MAX}."
        ));
    }
    if u32::try_from(channels.rows()).is_err() {
        let rows = channels.rows();
        found.push(format!(
            "The log has {rows} rows, the most is {}. Split it.",
            u32::MAX
        ));
    }
    found
}

/// Problems of rows that could be placed.
pub(super) fn rows(rows: &Rows<'_>, setup: &Setup) -> Vec<String> {
    let mut found = Vec::new();
    let channels = &*rows.channels;
    if channels.lamp_mask.is_empty() && channels.lamps_on.is_empty() {
        found.push("The log has no lamp states. Map the lamp columns of the file.".to_owned());
    } else if rows.lit_rows.is_none() {
        found.push("No lamp is lit in any row. Check the file and the lamp columns.".to_owned());
    }
    let lamps = setup.train.lamp_offsets_m.len();
    if lamps == 0 {
        found.push("The train has no lamp offsets. Enter one offset per lamp.".to_owned());
    } else if more_lamps_in_log(channels, lamps) {
        found.push(format!(
            "The log shows more lamps than the {lamps} of the train. Check the train's sheet."
        ));
    }
    let sensors = channels.infrared_c.len();
    let offsets = setup.train.infrared_offsets_m.len();
    if offsets < sensors {
        found.push(format!(
            "The log has {sensors} infrared sensors, the train {offsets} sensor offsets. Enter \
             one offset per sensor."
        ));
    }
    let numbers = setup
        .train
        .lamp_offsets_m
        .iter()
        .chain(&setup.train.infrared_offsets_m);
    if numbers.into_iter().any(|offset| !offset.is_finite()) {
        found.push("An offset of the train is not a number. Enter it again.".to_owned());
    }
    found.extend(unplaced(rows.counts, setup.settings.missing_percent));
    found
}

fn more_lamps_in_log(channels: &Channels, lamps: usize) -> bool {
    let stray = |mask: &u32| *mask != LAMP_MASK_ABSENT && mask & !lamp_bits(lamps) != 0;
    let over = |count: &f64| count.is_finite() && *count > lamps as f64 + 0.5;
    channels.lamp_mask.iter().any(stray) || channels.lamps_on.iter().any(over)
}

fn unplaced(counts: RowCounts, most_percent: f64) -> Option<String> {
    let percent = 100.0 * counts.unplaced as f64 / counts.read.max(1) as f64;
    (percent > most_percent).then(|| {
        format!(
            "{} of {} rows have no time or no position ({percent:.1} %, limit {most_percent} %). \
             Check the column map.",
            counts.unplaced, counts.read
        )
    })
}

/// What stands in the way once the figures are known.
pub(super) fn implausible(rows: usize, setup: &Setup) -> Option<String> {
    let settings = &setup.settings;
    (rows > 0).then(|| {
        format!(
            "{rows} rows with lamps lit have a speed above {} m/min, a pressure above {} bar or a \
             temperature above {} degrees C. Check the units of the columns.",
            settings.plausible_speed_m_per_min,
            settings.plausible_pressure_bar_g,
            settings.plausible_temperature_c
        )
    })
}
