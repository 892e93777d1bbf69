//! Missing evidence never releases.

use obvert_proto::{
    acceptance::v1::{LaboratoryReport, Survey},
    closeout::v1::{PointState, PointStatus, Verdict},
    common::v1::PaperGrade,
    installation::v1::{CureRecord, CureVerdict, LateralOutcome, Run},
    material::v1::{LinerOrder, ReceivingCheck},
    project::v1::{AccessPermit, Document},
};

use obvert_records::names::id_of;
use prost::Message;

use super::{
    Fixture,
    fixture::{
        SEGMENT,
        asked::{PLANS, clean_under},
        full, on,
    },
};

/// Records of the clean segment that no point needs. A parcel's record holds only its number and
/// the digest of its sheet; a movement can only speak against a liner whose transport was logged.
const NOT_NEEDED: &[&str] = &[
    "linerMovements/m-1",
    "parcels/p-1",
    "parcels/p-2",
    "parcels/p-3",
];

#[test]
fn the_clean_segment_is_accepted() {
    let status = Fixture::clean().signed();
    for point in &status.points {
        assert_eq!(
            point.state(),
            PointState::Released,
            "{}: {:?}",
            point.point,
            point.findings
        );
        assert!(
            !point.evidence.is_empty(),
            "{} rests on nothing",
            point.point
        );
    }
    assert!(status.accepted);
}

#[test]
fn the_clean_segment_of_a_shared_run_is_accepted() {
    let status = Fixture::shared_run().signed();
    let held: Vec<_> = status
        .points
        .iter()
        .filter(|p| p.state() != PointState::Released)
        .collect();
    assert!(status.accepted, "{held:?}");
}

/// Records of the clean segment that a plan does not need beside those that none needs.
fn not_needed_under(file: &str) -> Vec<String> {
    let more: &[&str] = match file {
        // A laminate tested tight in the laboratory stands for a test in the field; of the look before
        // the lamps only its time in the run is asked for, and of yards nothing.
        "hollinreed.toml" => &[
            "documents/property-release-p-1",
            "documents/property-release-p-3",
            "documents/restoration-photos-p-1",
            "documents/restoration-photos-p-3",
            "leakTests/t-1",
            "surveys/v-pre",
        ],
        // The warranty is inspected after acceptance.
        "ostervane.toml" => &["surveys/warranty-inspection"],
        _ => &[],
    };
    let mut names: Vec<_> = NOT_NEEDED.iter().chain(more).map(|s| full(s)).collect();
    names.sort();
    names
}

/// Whether the segment is accepted once everything that awaits a release is signed. No signature but
/// a variance passes a verdict that holds, so what is held is not signed at all.
fn accepted(fixture: &mut Fixture) -> bool {
    let status = fixture.status();
    let mut points = status.points.iter();
    let holds = |point: &PointStatus| {
        point.verdict() == Verdict::Held
            && !fixture
                .plan
                .after_acceptance()
                .contains(point.point.as_str())
    };
    !points.any(holds) && fixture.signed().accepted
}

/// Every record of the fixture but its project.
fn names(fixture: &Fixture) -> Vec<String> {
    let names = fixture.records.keys();
    names
        .filter(|name| *name != "projects/quillfern")
        .cloned()
        .collect()
}

#[test]
fn without_any_one_required_record_the_segment_is_not_accepted() {
    let under = PLANS.iter().map(|(file, text)| (*file, clean_under(text)));
    let shared = [("marrowby.toml", Fixture::shared_run())];
    for (file, clean) in under.chain(shared) {
        let mut not_needed = Vec::new();
        for name in names(&clean) {
            let mut without = clean.clone();
            without.records.remove(&name);
            if accepted(&mut without) {
                not_needed.push(name);
            }
        }
        assert_eq!(not_needed, not_needed_under(file), "{file}");
    }
}

#[test]
fn what_is_held_for_want_of_a_record_names_the_record_or_its_kind() {
    for (file, text) in PLANS {
        let clean = clean_under(text);
        let not_needed = not_needed_under(file);
        for name in names(&clean)
            .iter()
            .filter(|name| !not_needed.contains(name))
        {
            let mut without = clean.clone();
            without.records.remove(name);
            let status = without.status();
            let points = status.points.iter();
            let mut findings = points.flat_map(|p| &p.findings).filter(|f| f.holds);
            let collection = name.rsplit('/').nth(1).unwrap();
            let (_, word) = WORDS.iter().find(|(c, _)| *c == collection).unwrap();
            let (missing, id) = (format!("missing-{word}"), id_of(name));
            let paper = Document::decode(clean.records[name].body.clone());
            let kind = paper.map_or(String::new(), |paper| paper.evidence_kind);
            let missing = [missing, format!("missing-{kind}")];
            let named = findings.any(|f| missing.contains(&f.code) || f.message.contains(id));
            assert!(named, "{file}: nothing names {name}");
        }
    }
}

/// Kinds by which a missing record of a collection is named.
const WORDS: &[(&str, &str)] = &[
    ("accessPermits", "access-permit"),
    ("batches", "batch"),
    ("certificates", "liner-certificate"),
    ("cureRecords", "cure-log"),
    ("designs", "wall-design"),
    ("documents", "document"),
    ("fieldSurveys", "field-survey"),
    ("hydraulicChecks", "hydraulic-check"),
    ("laboratoryReports", "laboratory-report"),
    ("lateralOutcomes", "lateral-outcome"),
    ("lateralRegisters", "lateral-register"),
    ("laterals", "lateral"),
    ("leakTests", "leak-test"),
    ("liners", "liner"),
    ("makerSheets", "maker-sheet"),
    ("notices", "resident-notice"),
    ("orders", "liner-order"),
    ("parcelRelations", "parcel-relation"),
    ("pullInChecks", "pull-in-check"),
    ("receivingChecks", "receiving-check"),
    ("runs", "run"),
    ("samples", "sample"),
    ("segments", "segment"),
    ("surveys", "cctv-survey"),
];

#[test]
fn held_for_want_of_one_record_a_segment_is_not_accepted_without_another() {
    for (file, text) in PLANS {
        let clean = clean_under(text);
        let not_needed = not_needed_under(file);
        let names = names(&clean);
        let mut without_both = Vec::new();
        for first in names.iter().filter(|name| !not_needed.contains(name)) {
            // Of two needed records each pair is tried once.
            let tried = |second: &&String| not_needed.contains(second) || *second > first;
            for second in names.iter().filter(tried) {
                let mut without = clean.clone();
                without.records.remove(first);
                without.records.remove(second);
                if accepted(&mut without) {
                    without_both.push((first.clone(), second.clone()));
                }
            }
        }
        assert!(without_both.is_empty(), "{file}: {without_both:?}");
    }
}

#[test]
fn a_missing_record_is_named_by_its_kind() {
    let kinds = [
        ("lateralRegisters/g-1", "missing-lateral-register"),
        ("fieldSurveys/f-1", "missing-field-survey"),
        ("designs/d-1", "missing-wall-design"),
        ("orders/o-1", "missing-liner-order"),
        ("liners/n-1", "missing-liner"),
        ("certificates/c-1", "missing-liner-certificate"),
        ("receivingChecks/k-1", "missing-receiving-check"),
        ("accessPermits/p-1", "missing-access-permit"),
        ("notices/p-1", "missing-resident-notice"),
        ("runs/r-1", "missing-run"),
        ("cureRecords/u-1", "missing-cure-log"),
        ("lateralOutcomes/l-1", "missing-lateral-outcome"),
        ("samples/a-1", "missing-sample"),
        ("laboratoryReports/y-1", "missing-laboratory-report"),
        ("leakTests/t-1", "missing-leak-test"),
        ("surveys/v-ready", "missing-cctv-survey"),
        ("surveys/v-pre", "missing-cctv-survey"),
        ("surveys/v-post", "missing-cctv-survey"),
        ("batches/b-1", "missing-batch"),
        ("segments/s-1", "missing-segment"),
    ];
    for (short, code) in kinds {
        let mut fixture = Fixture::clean();
        fixture.remove(short);
        let status = fixture.status();
        let named = |code: &str| {
            let mut findings = status.points.iter().flat_map(|point| &point.findings);
            findings.any(|f| f.holds && f.code == code)
        };
        assert!(named(code), "nothing says {code} without {short}");
    }
}

type Spoil = fn(&mut Fixture);

/// Ways in which evidence itself can be wrong.
const SPOILED: &[(&str, Spoil)] = &[
    ("cure-log", |f| {
        f.edit("cureRecords/u-1", |l: &mut CureRecord| {
            l.verdict = CureVerdict::OutsideTolerance.into()
        });
    }),
    ("laboratory-report", |f| {
        f.edit("laboratoryReports/y-1", |y: &mut LaboratoryReport| {
            y.specimens
                .iter_mut()
                .for_each(|s| s.flexural_modulus_mpa = 6000.0);
        });
    }),
    ("laboratory-report", |f| {
        f.edit("laboratoryReports/y-1", |y: &mut LaboratoryReport| {
            y.grade = PaperGrade::Transcribed.into();
        });
    }),
    ("ordered-length", |f| {
        f.edit("orders/o-1", |o: &mut LinerOrder| o.ordered_length_m = 51.0)
    }),
    ("received-liner", |f| {
        f.edit("receivingChecks/k-1", |k: &mut ReceivingCheck| {
            k.packing_intact = false
        });
    }),
    ("right-of-entry", |f| {
        f.edit("accessPermits/p-1", |p: &mut AccessPermit| {
            p.valid_until_date = on("2026-05-01")
        });
    }),
    ("laterals-reopened", |f| {
        f.edit("lateralOutcomes/l-1", |o: &mut LateralOutcome| {
            o.opening_percent = Some(80.0)
        });
    }),
    ("laterals-reopened", |f| {
        f.edit("surveys/v-post", |s: &mut Survey| {
            s.observations.truncate(1)
        });
    }),
    ("pull-in", |f| {
        f.edit("runs/r-1", |r: &mut Run| r.elongation_percent = Some(5.0))
    }),
];

#[test]
fn on_a_held_segment_taking_a_record_away_never_releases() {
    for (file, text) in PLANS {
        let mut points_released = Vec::new();
        for (id, spoil) in SPOILED {
            let mut spoiled = clean_under(text);
            spoil(&mut spoiled);
            let status = spoiled.clone().signed();
            let held = super::point(&status, id).state();
            assert_eq!(held, PointState::Held, "{file}: {id}");
            for name in names(&spoiled) {
                let mut without = spoiled.clone();
                without.records.remove(&name);
                // No signature but a variance passes a point whose verdict holds.
                if super::point(&without.status(), id).verdict() != Verdict::Held {
                    points_released.push((*id, name));
                }
            }
        }
        assert!(points_released.is_empty(), "{file}: {points_released:?}");
    }
}

#[test]
fn an_empty_file_holds_every_point() {
    for (file, text) in PLANS {
        let mut fixture = clean_under(text);
        let project = |name: &String| name == "projects/quillfern";
        fixture.records.retain(|name, _| project(name));
        let status = fixture.status();
        assert_eq!(status.points.len(), fixture.plan.points.len());
        for point in &status.points {
            let (id, state) = (&point.point, point.state());
            assert_eq!(state, PointState::Held, "{file}: {id} without any record");
        }
        assert_eq!(status.segment, SEGMENT);
    }
}

#[test]
fn an_unreadable_record_counts_as_missing() {
    let mut fixture = Fixture::clean();
    let stored = fixture.records.get_mut(&full("leakTests/t-1")).unwrap();
    stored.body = vec![0xff, 0xff].into();
    super::held_in(&fixture, "leak-test", "missing-leak-test", "");
}

#[test]
fn the_same_file_gives_the_same_answer() {
    let fixture = Fixture::clean();
    assert_eq!(fixture.status(), fixture.status());
}
