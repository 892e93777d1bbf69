//! Time order and exact duplicates.

use std::borrow::Cow;

use super::Channels;

/// What became of the rows of a file before any figure was drawn.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct RowCounts {
    /// Rows in the file.
    pub read: usize,
    /// Rows that repeat another one in every channel; dropped.
    pub duplicate: usize,
    /// Rows without a time or a position; set aside, so that they show as a gap.
    pub unplaced: usize,
    /// Rows, duplicates apart, whose time lies before that of the row above; sorted into place.
    pub back_in_time: usize,
}

/// Rows of one time compared with each other at most; beyond it a repeated row stays.
const COMPARED_MAX: usize = 64;

/// The rows in time order without exact duplicates. A sound file is borrowed, not copied.
pub(super) fn in_time_order(channels: &Channels) -> (Cow<'_, Channels>, RowCounts) {
    let rows = channels.rows();
    let mut counts = RowCounts {
        read: rows,
        ..RowCounts::default()
    };
    let times = &channels.elapsed_s;
    let placed = |row: usize| times[row].is_finite() && channels.position_m[row].is_finite();
    let sound = (0..rows).all(placed) && times.windows(2).all(|pair| pair[0] < pair[1]);
    if sound {
        return (Cow::Borrowed(channels), counts);
    }
    let mut sorted: Vec<u32> = (0..rows as u32)
        .filter(|&row| placed(row as usize))
        .collect();
    counts.unplaced = rows - sorted.len();
    sorted.sort_by(|&a, &b| times[a as usize].total_cmp(&times[b as usize]));
    let mut kept: Vec<u32> = Vec::with_capacity(sorted.len());
    for row in sorted {
        let repeats = kept
            .iter()
            .rev()
            .take(COMPARED_MAX)
            .take_while(|&&other| times[other as usize] == times[row as usize])
            .any(|&other| channels.same_row(other as usize, row as usize));
        if repeats {
            counts.duplicate += 1;
        } else {
            kept.push(row);
        }
    }
    let mut in_file_order = kept.clone();
    in_file_order.sort_unstable();
    counts.back_in_time = in_file_order
        .windows(2)
        .filter(|pair| times[pair[1] as usize] < times[pair[0] as usize])
        .count();
    (Cow::Owned(channels.pick(&kept)), counts)
}
