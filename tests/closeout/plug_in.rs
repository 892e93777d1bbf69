//! A check of the owner's own: what its stored verdict can and cannot release.

use obvert_closeout::plan::parse;
use obvert_proto::{
    closeout::v1::{PluginVerdict, PointState, Verdict},
    common::v1::{Finding, RecordRef},
    installation::v1::Run,
};

use super::{
    Fixture,
    fixture::{PLAN, SEGMENT, full},
    held_in, holding, point,
};

const POINT: &str = "odour-log";
const VERDICT: &str = "pluginVerdicts/v-1";

/// The clean segment under a plan with one point that a plug-in judges.
fn asking() -> Fixture {
    let mut fixture = Fixture::clean();
    let point = format!(
        "[[point]]\nid = \"{POINT}\"\ntitle = \"Odour log read\"\nstage = \"acceptance\"\n\
         class = \"review\"\nevaluator = \"plug-in\"\n\
         parameters = {{ evaluator = \"odour\" }}\n"
    );
    fixture.plan = parse(&format!("{PLAN}\n{point}")).unwrap();
    fixture
}

/// Files what the plug-in says of the evidence on file now, so changed.
fn says(fixture: &mut Fixture, id: &str, verdict: Verdict, change: fn(&mut PluginVerdict)) {
    let mut said = PluginVerdict {
        segment: SEGMENT.into(),
        point: POINT.into(),
        evaluator: "odour".into(),
        evaluator_version: "1.2.0".into(),
        evidence_digest: fixture.file().evidence_digest().to_vec(),
        verdict: verdict.into(),
        ..PluginVerdict::default()
    };
    change(&mut said);
    fixture.add(&format!("pluginVerdicts/{id}"), said);
}

/// The clean segment with one such verdict.
fn said(verdict: Verdict, change: fn(&mut PluginVerdict)) -> Fixture {
    let mut fixture = asking();
    says(&mut fixture, "v-1", verdict, change);
    fixture
}

fn state(fixture: &Fixture) -> PointState {
    point(&fixture.status(), POINT).state()
}

/// A finding of the plug-in about the run.
fn finding(said: &mut PluginVerdict, holds: bool) {
    said.findings.push(Finding {
        code: "odour-log-gap".into(),
        message: "no reading between 10:00 and 11:00".into(),
        records: vec![RecordRef {
            name: full("runs/r-1"),
            revision: 1,
        }],
        holds,
        ..Finding::default()
    });
}

#[test]
fn a_verdict_on_the_evidence_on_file_releases() {
    let fixture = said(Verdict::Released, |_| {});
    let status = fixture.status();
    let status = point(&status, POINT);
    assert_eq!(
        status.state(),
        PointState::Released,
        "{:?}",
        status.findings
    );
    let used = status.evidence[0].record.as_ref().unwrap();
    assert_eq!(used.name, full(VERDICT));
}

#[test]
fn without_a_verdict_of_this_plug_in_on_this_point_of_this_segment_it_holds() {
    held_in(&asking(), POINT, "missing-plug-in-verdict", "");
    let others: [fn(&mut PluginVerdict); 3] = [
        |said| said.point = "cure-log".into(),
        |said| said.evaluator = "odours".into(),
        |said| said.segment = full("segments/s-2"),
    ];
    for other in others {
        let fixture = said(Verdict::Released, other);
        held_in(&fixture, POINT, "missing-plug-in-verdict", "");
    }
}

#[test]
fn a_plug_in_that_holds_or_could_not_say_holds() {
    for verdict in [Verdict::Held, Verdict::Unspecified] {
        held_in(&said(verdict, |_| {}), POINT, "plug-in-held", VERDICT);
    }
}

#[test]
fn a_verdict_on_other_evidence_holds_until_it_is_given_anew() {
    for verdict in [Verdict::Released, Verdict::NotApplicable] {
        let mut fixture = said(verdict, |_| {});
        fixture.edit("runs/r-1", |run: &mut Run| {
            run.pull_force_max_kn = Some(12.0)
        });
        held_in(&fixture, POINT, "plug-in-verdict-stale", VERDICT);
        says(&mut fixture, "v-2", verdict, |_| {});
        assert_ne!(state(&fixture), PointState::Held);
    }
}

#[test]
fn a_verdict_without_a_digest_or_with_a_cut_one_is_stale() {
    let changes: [fn(&mut PluginVerdict); 2] = [
        |said| said.evidence_digest.clear(),
        |said| said.evidence_digest.truncate(31),
    ];
    for change in changes {
        let fixture = said(Verdict::Released, change);
        held_in(&fixture, POINT, "plug-in-verdict-stale", VERDICT);
    }
}

#[test]
fn a_finding_that_holds_outweighs_a_verdict_that_releases() {
    let fixture = said(Verdict::Released, |said| finding(said, true));
    held_in(&fixture, POINT, "odour-log-gap", "runs/r-1");
    let fixture = said(Verdict::NotApplicable, |said| finding(said, true));
    held_in(&fixture, POINT, "odour-log-gap", "runs/r-1");
}

#[test]
fn a_note_of_the_plug_in_is_shown_under_its_name_and_holds_nothing() {
    let fixture = said(Verdict::Released, |said| finding(said, false));
    let status = fixture.status();
    let status = point(&status, POINT);
    assert_eq!(status.state(), PointState::Released);
    assert!(holding(status).is_empty());
    assert_eq!(
        status.findings[0].message,
        "judged by the plug-in odour, version 1.2.0"
    );
    assert_eq!(
        status.findings[1].message,
        "odour 1.2.0: no reading between 10:00 and 11:00"
    );
}

#[test]
fn a_point_that_does_not_apply_says_who_said_so() {
    let fixture = said(Verdict::NotApplicable, |_| {});
    let status = fixture.status();
    let status = point(&status, POINT);
    assert_eq!(status.state(), PointState::NotApplicable);
    assert_eq!(status.reason, "odour 1.2.0 says that it does not apply");
}

#[test]
fn the_last_verdict_decides_whichever_way() {
    let mut fixture = said(Verdict::Held, |_| {});
    says(&mut fixture, "v-2", Verdict::Released, |_| {});
    assert_eq!(state(&fixture), PointState::Released);
    says(&mut fixture, "v-0", Verdict::Held, |_| {});
    held_in(&fixture, POINT, "plug-in-held", "pluginVerdicts/v-0");
}
