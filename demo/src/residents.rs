//! Rights to enter lots, and notices to homes.

use std::io;

use serde_json::json;

use crate::{
    dice::Dice,
    folder::{Folder, Row, name},
    site::{Pipe, Site, Tap},
    tables::access_lot,
    when::{instant, later, local_date},
};

/// Revision of the wording that the owner approved.
pub(crate) const WORDING: &str = "R3";

/// Lots that are entered, each once, whether the permit covers the dwelling, and a pipe there.
pub(crate) fn entered(site: &Site) -> Vec<(String, bool, &Pipe)> {
    let with_pipe = |pipe| move |tap| (pipe, tap);
    let taps = site
        .pipes
        .iter()
        .flat_map(|pipe| pipe.taps.iter().map(with_pipe(pipe)));
    let taps = taps.filter(|(_, tap): &(&Pipe, &Tap)| tap.is_on_entered_lot());
    let mut lots: Vec<_> = taps
        .map(|(pipe, tap)| (tap.lot.clone(), tap.through_dwelling, pipe))
        .collect();
    lots.extend(
        (0..site.pipes.len())
            .step_by(2)
            .map(|place| (access_lot(place), false, &site.pipes[place])),
    );
    lots
}

/// Writes permits and notices.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    let permits = entered(site)
        .into_iter()
        .enumerate()
        .map(|(number, (lot, dwelling, pipe))| {
            let instrument = if dwelling {
                format!(
                    "permit form {:03}, signed by owner and occupant",
                    number + 1
                )
            } else {
                format!("recorded easement, book 41, page {}", 201 + number)
            };
            let body = json!({
                "parcel": name("parcels", &lot),
                "instrument": instrument,
                "validFromDate": local_date(pipe.day(4, 1)),
                "validUntilDate": local_date(pipe.day(6, 30)),
                "coversDwelling": dwelling,
                "conditions": "gate shut behind the crew, plantings boarded over",
                "beforePhotos": [name("attachments", &format!("before-{lot}"))],
            });
            Row {
                id: lot,
                kind: "accessPermit",
                observed: None,
                body,
            }
        });
    folder.records("permits.jsonl", &permits.collect::<Vec<_>>())?;
    folder.records("notices.jsonl", &notices(site))
}

fn notices(site: &Site) -> Vec<Row> {
    let mut dice = Dice::of(site.seed, "notices");
    let mut rows = Vec::new();
    for (place, pipe) in site.pipes.iter().enumerate() {
        let (run, _) = site.run_of(place);
        for tap in &pipe.taps {
            let delivered = instant(later(run.date, -3), dice.between(900.0, 1080.0));
            let in_person = tap.through_dwelling;
            let body = json!({
                "parcel": name("parcels", &tap.lot),
                "segments": [name("segments", &pipe.id)],
                "deliveredTime": delivered,
                "deliveryMethod": if in_person { "in-person" } else { "door-hanger" },
                "wordingRevision": WORDING,
                "outageStartTime": instant(run.date, 450.0),
                "outageEndTime": instant(run.date, 1080.0),
            });
            let id = tap.lot.clone();
            rows.push(Row {
                id,
                kind: "notice",
                observed: None,
                body,
            });
        }
    }
    rows
}
