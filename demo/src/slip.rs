//! Mistakes on paper: the work was as it should be, and a record of it is missing or says otherwise.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::{
    mistake::Mistake,
    site::Site,
    when::{instant, later, local_date},
};

/// What becomes of a record.
pub(crate) enum Slip {
    /// It is not filed.
    Omitted,
    /// These of its fields are filed with other values.
    Noted(Vec<(&'static str, Value)>),
}

/// Slips by kind and id of the record.
pub(crate) type Slips = BTreeMap<(&'static str, String), Slip>;

/// All slips of a site.
pub(crate) fn slips(site: &Site) -> Slips {
    let planted = site.pipes.iter().enumerate();
    let planted = planted.filter_map(|(place, pipe)| Some((place, pipe.mistake?)));
    let mut slips = Slips::new();
    for (place, mistake) in planted {
        let left_out = omitted(site, place, mistake).into_iter();
        slips.extend(left_out.map(|record| (record, Slip::Omitted)));
        let changed = noted(site, place, mistake);
        slips.extend(changed.map(|(record, fields)| (record, Slip::Noted(fields))));
    }
    slips
}

/// Kind and id of the records that are not filed.
fn omitted(site: &Site, place: usize, mistake: Mistake) -> Vec<(&'static str, String)> {
    let pipe = &site.pipes[place];
    let liner = site.liner_of(site.run_of(place).0);
    let release = ("linerMovement", format!("{}-out", liner.id));
    match mistake {
        Mistake::NoFieldSurvey => vec![("fieldSurvey", pipe.id.clone())],
        // Without its certificate, or in torn packing, no liner is released to a crew.
        Mistake::NoCertificate => vec![("linerCertificate", liner.id.clone()), release],
        Mistake::TornPacking => vec![release],
        Mistake::UnsignedRegister => vec![("lateralRegister", pipe.id.clone())],
        Mistake::NoNotice => {
            let tap = pipe.first_opened();
            tap.map(|tap| ("notice", tap.lot.clone()))
                .into_iter()
                .collect()
        }
        Mistake::NoPermit => vec![("accessPermit", pipe.taps[0].lot.clone())],
        Mistake::NoYardRelease => vec![("document", format!("yard-{}", pipe.taps[0].lot))],
        Mistake::NoFinalSurvey => vec![("survey", format!("{}-post", pipe.id))],
        _ => Vec::new(),
    }
}

/// A record, by kind and id, and what is filed of it.
type Changed = ((&'static str, String), Vec<(&'static str, Value)>);

/// The record that is filed with other values.
fn noted(site: &Site, place: usize, mistake: Mistake) -> Option<Changed> {
    let pipe = &site.pipes[place];
    let (run, _) = site.run_of(place);
    let liner = site.liner_of(run);
    let id = || pipe.id.clone();
    let one = |kind, id, field, value| Some(((kind, id), vec![(field, value)]));
    match mistake {
        Mistake::UnfitOrder => {
            let nominal = pipe.diameter_mm();
            let fields = vec![
                ("hostDiameterMinMm", (nominal * 0.9).round().into()),
                ("hostDiameterMaxMm", (nominal * 0.97).round().into()),
            ];
            Some((("linerOrder", liner.order.clone()), fields))
        }
        Mistake::NoFieldSurvey => one("wallDesign", id(), "fieldSurvey", Value::Null),
        Mistake::TornPacking => {
            let id = liner.id.clone();
            one("receivingCheck", id, "packingIntact", false.into())
        }
        Mistake::LateSeal => {
            let sealed = local_date(later(liner.ordered, 7));
            one("wallDesign", id(), "sealedDate", sealed)
        }
        Mistake::ShutOverNight => {
            let seen = instant(later(run.date, 1), 455.0);
            let tap = pipe.first_opened()?;
            one("lateralOutcome", tap.id.clone(), "flowSeenTime", seen)
        }
        Mistake::DraftDesign => {
            let fields = vec![("sealedBy", Value::Null), ("sealedDate", Value::Null)];
            Some((("wallDesign", id()), fields))
        }
        Mistake::NoHoopMark => {
            let id = crate::acceptance::sample_number(pipe).to_lowercase();
            one("sample", id, "hoopDirectionMarked", false.into())
        }
        Mistake::WarmVan => {
            let id = format!("{}-in", liner.id);
            one("linerMovement", id, "storageMaxCelsius", 31.5.into())
        }
        Mistake::HardPull => one("run", run.id.clone(), "pullForceMaxKn", 26.4.into()),
        Mistake::UnfitPipe => {
            let id = format!("{}-ready", pipe.id);
            one("survey", id, "readyToLine", false.into())
        }
        _ => None,
    }
}
