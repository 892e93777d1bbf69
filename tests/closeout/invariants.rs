//! Missing evidence never releases.

use obvert_proto::{
    acceptance::v1::{LaboratoryReport, Survey},
    closeout::v1::PointState,
    common::v1::PaperGrade,
    installation::v1::{CureRecord, CureVerdict, LateralOutcome, Run},
    material::v1::{LinerOrder, ReceivingCheck},
    project::v1::AccessPermit,
};

use super::{
    Fixture,
    fixture::{SEGMENT, full, on},
};

/// Records of the clean segment that no point needs. A parcel's record holds only its number and
/// the digest of its sheet; a movement can only speak against a liner whose transport was logged; a
/// relation by which a lot is only passed over can only ask for more.
const NOT_NEEDED: &[&str] = &[
    "linerMovements/m-1",
    "parcelRelations/p-3",
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

#[test]
fn without_any_one_required_record_the_segment_is_not_accepted() {
    for clean in [Fixture::clean(), Fixture::shared_run()] {
        let mut not_needed = Vec::new();
        for name in clean
            .records
            .keys()
            .filter(|name| *name != "projects/quillfern")
        {
            let mut without = clean.clone();
            without.records.remove(name);
            if without.signed().accepted {
                not_needed.push(name.clone());
            }
        }
        let expected: Vec<_> = NOT_NEEDED.iter().map(|short| full(short)).collect();
        assert_eq!(not_needed, expected);
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
    for (id, spoil) in SPOILED {
        let mut spoiled = Fixture::clean();
        spoil(&mut spoiled);
        let status = spoiled.clone().signed();
        assert_eq!(
            super::point(&status, id).state(),
            PointState::Held,
            "{id} is not held"
        );
        for name in spoiled
            .records
            .keys()
            .filter(|name| *name != "projects/quillfern")
        {
            let mut without = spoiled.clone();
            without.records.remove(name);
            assert!(
                !without.signed().accepted,
                "without {name} the spoiled {id} is accepted"
            );
        }
    }
}

#[test]
fn an_empty_file_holds_every_point() {
    let mut fixture = Fixture::clean();
    fixture
        .records
        .retain(|name, _| name == "projects/quillfern");
    let status = fixture.status();
    assert_eq!(status.points.len(), fixture.plan.points.len());
    for point in &status.points {
        assert_eq!(
            point.state(),
            PointState::Held,
            "{} without any record",
            point.point
        );
    }
    assert_eq!(status.segment, SEGMENT);
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
