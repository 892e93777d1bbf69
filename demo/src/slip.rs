//! Mistakes on paper: the work was as it should be, and a record of it is missing or says otherwise.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::{
    mistake::Mistake,
    site::Site,
    when::{instant, later},
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
    planted
        .flat_map(|(place, mistake)| of(site, place, mistake))
        .collect()
}

fn of(site: &Site, place: usize, mistake: Mistake) -> Vec<((&'static str, String), Slip)> {
    let pipe = &site.pipes[place];
    let (run, _) = site.run_of(place);
    let liner = site.liner_of(run);
    let id = || pipe.id.clone();
    let noted = |kind, id, field, value| ((kind, id), Slip::Noted(vec![(field, value)]));
    match mistake {
        Mistake::UnfitOrder => {
            let nominal = pipe.diameter_mm();
            let fields = vec![
                ("hostDiameterMinMm", (nominal * 0.9).round().into()),
                ("hostDiameterMaxMm", (nominal * 0.97).round().into()),
            ];
            vec![(("linerOrder", liner.order.clone()), Slip::Noted(fields))]
        }
        Mistake::NoFieldSurvey => vec![
            (("fieldSurvey", id()), Slip::Omitted),
            noted("wallDesign", id(), "fieldSurvey", Value::Null),
        ],
        // Without the one, the other is refused.
        Mistake::NoCertificate => vec![
            (("linerCertificate", liner.id.clone()), Slip::Omitted),
            (
                ("linerMovement", format!("{}-out", liner.id)),
                Slip::Omitted,
            ),
        ],
        Mistake::UnsignedRegister => vec![(("lateralRegister", id()), Slip::Omitted)],
        Mistake::NoNotice => {
            let tap = pipe.first_opened();
            tap.map(|tap| (("notice", tap.lot.clone()), Slip::Omitted))
                .into_iter()
                .collect()
        }
        Mistake::NoPermit => vec![(("accessPermit", pipe.taps[0].lot.clone()), Slip::Omitted)],
        Mistake::ShutOverNight => {
            let seen = instant(later(run.date, 1), 455.0);
            let tap = pipe.first_opened();
            tap.map(|tap| noted("lateralOutcome", tap.id.clone(), "flowSeenTime", seen))
                .into_iter()
                .collect()
        }
        Mistake::NoFinalSurvey => vec![(("survey", format!("{}-post", pipe.id)), Slip::Omitted)],
        Mistake::DraftDesign => {
            let fields = vec![("sealedBy", Value::Null), ("sealedDate", Value::Null)];
            vec![(("wallDesign", id()), Slip::Noted(fields))]
        }
        Mistake::NoHoopMark => {
            let id = crate::acceptance::sample_number(pipe).to_lowercase();
            vec![noted("sample", id, "hoopDirectionMarked", false.into())]
        }
        Mistake::WarmVan => {
            let id = format!("{}-in", liner.id);
            vec![noted("linerMovement", id, "storageMaxCelsius", 31.5.into())]
        }
        Mistake::HardPull => vec![noted("run", run.id.clone(), "pullForceMaxKn", 26.4.into())],
        Mistake::UnfitPipe => {
            let id = format!("{}-ready", pipe.id);
            vec![noted("survey", id, "readyToLine", false.into())]
        }
        _ => Vec::new(),
    }
}
