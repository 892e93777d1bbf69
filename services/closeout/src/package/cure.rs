//! Cure logs in the payload: samples as CSV in SI columns, and plots with laterals and manholes
//! marked on the station axis.

mod plot;
mod samples;

use std::collections::BTreeMap;

use obvert_ledger::Stored;
use obvert_proto::{
    Problem,
    installation::v1::{CureRecord, Run},
    material::v1::{MakerSheet, ToleranceBand},
};

use super::Sources;
use crate::segment_file::{Kept, by_name};

/// What the payload holds of one cure log.
pub(super) struct DrawnLog {
    /// Name of the cure record.
    pub(super) record: String,
    /// Band it was judged by, with the sheet's revision.
    pub(super) band: Option<(Kept<MakerSheet>, ToleranceBand)>,
    pub(super) plots: Vec<DrawnPlot>,
}

/// One plot as a file.
pub(super) struct DrawnPlot {
    /// Path in the package.
    pub(super) path: String,
    pub(super) title: String,
    /// What it shows, in words.
    pub(super) alt: String,
}

/// Adds series and plots of every log of the segment's runs.
pub(super) fn drawn(
    files: &mut BTreeMap<String, Vec<u8>>,
    sources: &Sources,
) -> Result<Vec<DrawnLog>, Problem> {
    let file = &sources.loaded.file;
    let mut logs = Vec::new();
    for log in &file.cure_records {
        let band = band_of(log, sources);
        let mut plots = Vec::new();
        let sealed = sources.blobs.get(&log.series_sha256);
        if let (Some(sealed), Some(run)) = (sealed, by_name(&file.runs, &log.run)) {
            let samples = samples::Samples::read(sealed)?;
            files.insert(format!("data/series/{}.csv", log.id()), samples.csv());
            plots = plot_files(
                files,
                sources,
                log,
                run,
                &samples,
                band.as_ref().map(|b| &b.1),
            );
        }
        logs.push(DrawnLog {
            record: log.name.clone(),
            band,
            plots,
        });
    }
    Ok(logs)
}

fn plot_files(
    files: &mut BTreeMap<String, Vec<u8>>,
    sources: &Sources,
    log: &Kept<CureRecord>,
    run: &Kept<Run>,
    samples: &samples::Samples,
    band: Option<&ToleranceBand>,
) -> Vec<DrawnPlot> {
    const NAMES: [&str; 6] = [
        "speed",
        "wall-temperature",
        "pressure",
        "lamps",
        "pressure-in-time",
        "way-in-time",
    ];
    let drawn = plot::plots(&sources.loaded.file, log, run, samples, band);
    let file = |(plot, name): (obvert_engineering::plots::Plot, &str)| {
        let path = format!("data/plots/{}-{name}.svg", log.id());
        files.insert(path.clone(), plot.svg.into_bytes());
        DrawnPlot {
            path,
            title: plot.title,
            alt: plot.alt,
        }
    };
    drawn.into_iter().zip(NAMES).map(file).collect()
}

/// Band of the maker's sheet at the revision that the log was judged by.
fn band_of(log: &CureRecord, sources: &Sources) -> Option<(Kept<MakerSheet>, ToleranceBand)> {
    let gathered = &sources.loaded.gathered;
    let states = gathered.records.iter().chain(&gathered.former);
    let mut states = states.chain(sources.histories.iter().flatten());
    let judged_by =
        |s: &&Stored| s.name == log.maker_sheet && s.revision == log.maker_sheet_revision;
    let sheet: Kept<MakerSheet> = states.find(judged_by).and_then(Kept::read)?;
    let index = usize::try_from(log.band_index).ok()?;
    let band = *sheet.bands.get(index)?;
    Some((sheet, band))
}
