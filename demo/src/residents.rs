//! Rights to enter lots, notices to homes, and lots given back.

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

/// Kinds of the papers by which a lot is given back.
pub(crate) const SHOWN: &str = "restoration-photos";
pub(crate) const RELEASED: &str = "property-release";

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
    folder.records("notices.jsonl", &notices(site))?;
    folder.records("yards.jsonl", &yards(site))
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

/// What the inspector files three weeks after the work: photographs of all lots along a pipe, and a
/// release of each, signed by its owner.
fn yards(site: &Site) -> Vec<Row> {
    let entered = entered(site);
    let mut rows = Vec::new();
    for (place, pipe) in site.pipes.iter().enumerate() {
        let along = || entered.iter().filter(|(_, _, other)| other.id == pipe.id);
        let lots: Vec<_> = along().map(|(lot, ..)| name("parcels", lot)).collect();
        let signed = local_date(later(site.run_of(place).0.date, 21));
        let yard = |id: &str, (kind, title, signed_by): (&str, &str, &str), lots: &[String]| {
            let body = json!({
                "evidenceKind": kind,
                "subjects": lots,
                "attachments": [name("attachments", &format!("{kind}-{}", pipe.id))],
                "title": title,
                "issuer": signed_by,
                "signedBy": signed_by,
                "signedDate": signed,
            });
            Row {
                id: format!("yard-{id}"),
                kind: "document",
                observed: None,
                body,
            }
        };
        let photos = (SHOWN, "Yards after the work", "inspector");
        rows.push(yard(&pipe.id, photos, &lots));
        let release = (RELEASED, "Release of the yard", "owner of the lot");
        rows.extend(along().map(|(lot, ..)| yard(lot, release, &[name("parcels", lot)])));
    }
    rows
}
