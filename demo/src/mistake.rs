//! Mistakes that cost money at closeout, each planted on one segment.

use serde_json::{Value, json};

use crate::{
    acceptance::sample_number,
    folder::name,
    kinds::{KINDS, Kind},
    laboratory::report_number,
    site::Site,
};

/// A planted mistake; [`KINDS`] says each in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mistake {
    SwappedLiner,
    ForeignCureLog,
    UntracedSample,
    MissingReport,
    WallBasis,
    StationDatum,
    ClosedLateral,
    OldDesign,
    OverAge,
    LateLeakTest,
    UnfitOrder,
    NoFieldSurvey,
    NoCertificate,
    UncomparedCertificate,
    UnsignedRegister,
    NoNotice,
    NoPermit,
    ShutOverNight,
    WeakLaminate,
    TooFast,
    NoFinalSurvey,
    OpenDeviation,
    DraftDesign,
    NoHoopMark,
    WarmVan,
    HardPull,
    UnfitPipe,
    UntickedLateral,
    ShortOrder,
    TornPacking,
    HotFilm,
    ShortLeakTest,
    UntestedBatch,
    ShortSurvey,
    LateSeal,
    NoYardRelease,
}

/// The ten that the demonstration tells, by the owner's numbers of their segments.
pub(crate) const STORIES: [(Mistake, usize); 10] = [
    (Mistake::SwappedLiner, 19),
    (Mistake::ForeignCureLog, 5),
    (Mistake::UntracedSample, 13),
    (Mistake::MissingReport, 14),
    (Mistake::WallBasis, 7),
    (Mistake::StationDatum, 16),
    (Mistake::ClosedLateral, 9),
    (Mistake::OldDesign, 21),
    (Mistake::OverAge, 25),
    (Mistake::LateLeakTest, 8),
];

/// The list that the checks read: `names` are the records of which the finding must name each.
pub(crate) fn list(site: &Site) -> Value {
    let planted = site.pipes.iter().enumerate();
    let rows = planted.filter_map(|(place, pipe)| {
        let kind = kind_of(pipe.mistake?)?;
        let words = match kind.mistake {
            Mistake::SwappedLiner | Mistake::ForeignCureLog => of_other(site, place, kind.words),
            _ => kind.words.to_owned(),
        };
        Some(json!({
            "segment": pipe.id,
            "kind": format!("{:?}", kind.mistake),
            "heldBy": kind.held_by,
            "code": kind.code,
            "names": names(site, place, kind.mistake),
            "mistake": words,
        }))
    });
    json!({ "about": crate::folder::INVENTED, "mistakes": rows.collect::<Vec<_>>() })
}

fn kind_of(mistake: Mistake) -> Option<&'static Kind> {
    KINDS.iter().find(|kind| kind.mistake == mistake)
}

/// The story's words with the segments that are meant here.
fn of_other(site: &Site, place: usize, words: &str) -> String {
    let (run, _) = site.run_of(place);
    let pipe = |place: usize| site.pipes[place].owner_id.as_str();
    let words = words.replace("Q-020", pipe(site.read_at_pull_in(run).pipes[0]));
    words.replace("Q-004", pipe(site.beside(run).pipes[0]))
}

fn names(site: &Site, place: usize, mistake: Mistake) -> Vec<String> {
    let pipe = &site.pipes[place];
    let (run, _) = site.run_of(place);
    let liner = site.liner_of(run);
    let report = || name("laboratoryReports", &report_number(pipe).to_lowercase());
    let order = || name("orders", &liner.order);
    let certificate = || name("certificates", &liner.id);
    let survey = |word: &str| name("surveys", &format!("{}-{word}", pipe.id));
    let sample = || name("samples", &sample_number(pipe).to_lowercase());
    let cure = || name("cureRecords", &run.id);
    let design = || name("designs", &pipe.id);
    match mistake {
        Mistake::SwappedLiner | Mistake::MissingReport | Mistake::HardPull | Mistake::HotFilm => {
            vec![name("runs", &run.id)]
        }
        Mistake::ForeignCureLog | Mistake::TooFast => vec![cure()],
        Mistake::UntracedSample => vec![report(), sample()],
        Mistake::WallBasis => vec![report()],
        Mistake::StationDatum | Mistake::ShortSurvey => vec![survey("post")],
        Mistake::ClosedLateral => vec![name("laterals", &pipe.taps[2].id)],
        Mistake::OldDesign | Mistake::ShortOrder => vec![order()],
        Mistake::OverAge => vec![certificate(), name("liners", &liner.id)],
        Mistake::LateLeakTest | Mistake::ShortLeakTest => vec![name("leakTests", &pipe.id)],
        Mistake::UnfitOrder => vec![order(), name("fieldSurveys", &pipe.id)],
        Mistake::NoFieldSurvey | Mistake::UnsignedRegister | Mistake::NoFinalSurvey => Vec::new(),
        Mistake::NoCertificate => vec![name("liners", &liner.id)],
        Mistake::UncomparedCertificate => vec![certificate()],
        Mistake::NoPermit | Mistake::NoYardRelease => vec![name("parcels", &pipe.taps[0].lot)],
        Mistake::NoNotice => pipe
            .first_opened()
            .map(|tap| name("parcels", &tap.lot))
            .into_iter()
            .collect(),
        Mistake::ShutOverNight => {
            let tap = pipe.first_opened();
            tap.map(|tap| name("lateralOutcomes", &tap.id))
                .into_iter()
                .collect()
        }
        Mistake::WeakLaminate => vec![report(), design()],
        Mistake::OpenDeviation => vec![name("nonconformances", &format!("n-{}", pipe.id))],
        Mistake::DraftDesign => vec![design()],
        Mistake::LateSeal => vec![design(), order()],
        Mistake::TornPacking => vec![name("receivingChecks", &liner.id)],
        Mistake::UntestedBatch => vec![name("batches", &liner.batches[0])],
        Mistake::NoHoopMark => vec![sample()],
        Mistake::WarmVan => vec![name("linerMovements", &format!("{}-in", liner.id))],
        Mistake::UnfitPipe => vec![survey("ready")],
        Mistake::UntickedLateral => {
            let tap = pipe.first_opened();
            let tap = tap.map(|tap| name("laterals", &tap.id));
            tap.into_iter().chain([survey("pre-cure")]).collect()
        }
    }
}
