//! Points that a plan asks of some segments only.

use obvert_closeout::plan::parse;
use obvert_proto::{
    acceptance::v1::LaboratoryReport,
    closeout::v1::PointState,
    installation::v1::{Run, RunOutcome},
    material::v1::{Liner, LinerCertificate},
};

use super::{
    Fixture,
    fixture::{PLAN, full},
    point,
};

fn sampled(sampling: &str) -> Fixture {
    let asked = format!("evaluator = \"laboratory-report\"\nsampling = \"{sampling}\"\n");
    let mut fixture = Fixture::clean();
    let plan = PLAN.replacen("evaluator = \"laboratory-report\"\n", &asked, 1);
    fixture.plan = parse(&plan).unwrap();
    fixture
}

/// Lets so many other segments be lined before this one.
pub(super) fn lined_before(fixture: &mut Fixture, count: i64) {
    for number in 0..count {
        let run = Run {
            segments: vec![full(&format!("segments/o-{number}"))],
            liner: full("liners/other"),
            outcome: RunOutcome::Complete.into(),
            ..Run::default()
        };
        let short = format!("runs/o-{number}");
        fixture.add(&short, run);
        let stored = fixture.records.get_mut(&full(&short)).unwrap();
        stored.create_revision = number - count;
    }
}

fn state(fixture: &Fixture) -> PointState {
    point(&fixture.status(), "laboratory-report").state()
}

#[test]
fn the_first_three_and_then_one_in_five_are_asked() {
    let mut asked = Vec::new();
    for turn in 1..=14 {
        let mut fixture = sampled("first-three-then-one-in-five");
        lined_before(&mut fixture, turn - 1);
        fixture.remove("laboratoryReports/y-1");
        match state(&fixture) {
            PointState::Held => asked.push(turn),
            other => assert_eq!(other, PointState::NotApplicable, "segment {turn}"),
        }
    }
    assert_eq!(asked, [1, 2, 3, 8, 13]);
}

#[test]
fn a_segment_that_is_not_sampled_says_why_and_one_not_lined_yet_is_held() {
    let mut fixture = sampled("first-three-then-one-in-five");
    lined_before(&mut fixture, 4);
    fixture.remove("laboratoryReports/y-1");
    let status = fixture.status();
    let report = point(&status, "laboratory-report");
    assert!(
        report.reason.contains("segment 5 in the order of lining"),
        "{}",
        report.reason
    );
    assert!(
        report.reason.ends_with("next for segment 8"),
        "{}",
        report.reason
    );
    fixture.remove("runs/r-1");
    assert_eq!(state(&fixture), PointState::Held);
}

#[test]
fn sampling_never_hides_a_result_that_fails() {
    let mut fixture = sampled("first-three-then-one-in-five");
    lined_before(&mut fixture, 4);
    assert_eq!(state(&fixture), PointState::Released, "tested all the same");
    fixture.edit("laboratoryReports/y-1", |report: &mut LaboratoryReport| {
        report
            .specimens
            .iter_mut()
            .for_each(|s| s.flexural_modulus_mpa = 100.0);
    });
    assert_eq!(state(&fixture), PointState::Held);
}

#[test]
fn one_segment_of_each_batch_is_asked() {
    let mut fixture = sampled("one-per-batch");
    fixture.remove("laboratoryReports/y-1");
    assert_eq!(state(&fixture), PointState::Held, "the first of its batch");
    lined_before(&mut fixture, 1);
    fixture.add("liners/other", Liner::default());
    let certificate = LinerCertificate {
        liner: full("liners/other"),
        batches: vec![full("batches/b-1")],
        ..LinerCertificate::default()
    };
    fixture.add("certificates/other", certificate);
    let status = fixture.status();
    let report = point(&status, "laboratory-report");
    assert_eq!(
        report.state(),
        PointState::NotApplicable,
        "{:?}",
        report.findings
    );
    assert!(
        report
            .reason
            .contains("batch B-7 is sampled at segment O-0, run O-0"),
        "{}",
        report.reason
    );
    for gone in ["certificates/other", "runs/o-0", "certificates/c-1"] {
        let mut without = fixture.clone();
        without.remove(gone);
        assert_eq!(state(&without), PointState::Held, "without {gone}");
    }
}
