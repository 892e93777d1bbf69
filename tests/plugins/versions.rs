//! Another version of a plug-in: it judges again what is open, and nothing that is accepted.

use obvert_closeout::load_segment;
use obvert_ledger::Ledger;
use obvert_plugins::Kind;
use obvert_proto::{
    closeout::v1::{Plan, PluginVerdict, PointState, PointStatus, SegmentStatus},
    plugin::v1::{EvaluateRequest, EvaluateResponse},
};
use prost::Message;
use tonic::Status;

use super::{
    fake::{Fake, held, released},
    process::Process,
    site::{Site, ask, is_held_by, point, within_patience},
};
use crate::{
    closeout::fixture::{PLAN, SEGMENT, point_of},
    package::{assembling::stored, sample::signed},
};

const ID: &str = "owner-check";

fn says(point: &PointStatus, part: &str) -> bool {
    let mut findings = point.findings.iter();
    findings.any(|finding| finding.message.contains(part))
}

/// The segment once the plug-in of a process has released its point.
async fn released_by(process: &Process) -> (Site, SegmentStatus) {
    let site = Site::under(&point(ID, "")).await;
    site.ask(process.plugin());
    let is_released = |point: &PointStatus| point.state() == PointState::Released;
    let before = site.until(ID, is_released).await;
    (site, before)
}

#[tokio::test]
async fn another_version_judges_again_and_the_older_verdict_stands_until_then() {
    let mut process = Process::that_is("honest", ID);
    let (site, before) = released_by(&process).await;
    assert!(says(point_of(&before, ID), "owner-check, version 1.0.0"));
    process.kill();
    process.start("holding@2.0.0");
    let after = site.until(ID, |point| is_held_by(point, "yard-open")).await;
    let now = point_of(&after, ID);
    assert!(says(now, "owner-check 2.0.0: "), "{:?}", now.findings);
    assert!(
        says(now, "owner-check, version 2.0.0"),
        "{:?}",
        now.findings
    );
    // Up to the newer verdict each revision says what the older one said.
    for revision in before.revision..after.revision {
        let loaded = load_segment(&site.ledger, SEGMENT, revision).await.unwrap();
        let status = loaded.status();
        assert!(says(point_of(&status, ID), "owner-check, version 1.0.0"));
    }
    let verdicts = load_segment(&site.ledger, SEGMENT, 0).await.unwrap().file;
    let [verdict] = &verdicts.plugin_verdicts[..] else {
        panic!("{:?}", verdicts.plugin_verdicts)
    };
    let former = site.ledger.get(verdict.name.clone(), before.revision).await;
    let former = PluginVerdict::decode(former.unwrap().unwrap().body).unwrap();
    assert_eq!(former.evaluator_version, "1.0.0");
}

#[tokio::test]
async fn another_contract_of_the_same_version_holds_what_the_older_one_released() {
    let mut process = Process::that_is("honest", ID);
    let (site, _) = released_by(&process).await;
    process.kill();
    process.start("other-contract");
    let after = site
        .until(ID, |point| is_held_by(point, "plug-in-other-contract"))
        .await;
    assert_eq!(point_of(&after, ID).state(), PointState::Held);
}

#[tokio::test]
async fn one_that_is_out_of_reach_leaves_its_verdicts_and_is_asked_nothing_when_it_is_the_same() {
    let mut process = Process::that_is("honest", ID);
    let (site, before) = released_by(&process).await;
    process.kill();
    // A task that begins without it asks for nothing that is on file.
    site.ask(process.plugin());
    process.start("honest");
    tokio::time::sleep(std::time::Duration::from_secs(3)).await;
    let status = site.status().await;
    assert_eq!(status.revision, before.revision, "nothing was committed");
}

/// One that holds whatever is not the point of its own name.
fn lenient(request: EvaluateRequest) -> Result<EvaluateResponse, Status> {
    match request.point.as_str() {
        ID => Ok(released(request)),
        _ => Ok(held(&request, "not-yet", "a year has not passed")),
    }
}

/// Where the segment stands once the point after its acceptance is held by a code.
async fn once_held(ledger: &Ledger, code: &str) -> SegmentStatus {
    within_patience(async || {
        let loaded = load_segment(ledger, SEGMENT, 0).await.unwrap();
        let status = loaded.status();
        is_held_by(point_of(&status, "later"), code).then_some(status)
    })
    .await
}

#[tokio::test]
async fn a_newer_version_alone_asks_nothing_that_is_past_on_an_accepted_segment() {
    let after = "class = \"review\"\nafter = [\"final-acceptance\"]";
    let later = point("later", "")
        .replace("evaluator = \"later\"", &format!("evaluator = \"{ID}\""))
        .replace("class = \"review\"", after);
    let mut fixture = signed();
    fixture.edit("plans/itp", |plan: &mut Plan| {
        plan.source = format!("{PLAN}{}{later}", point(ID, ""));
    });
    let store = stored(&fixture).await;
    let older = Fake::new(ID, lenient).serve();
    let stop = ask(&store.ledger, older.plugin(ID, Kind::Evaluator));
    let before = once_held(&store.ledger, "not-yet").await;
    assert!(before.accepted);
    drop(stop);
    let mut stricter = Fake::new(ID, |request| {
        Ok(held(&request, "yard-open", "it stood open"))
    });
    stricter.description.version = "2.0.0".into();
    let newer = stricter.serve();
    let _stop = ask(&store.ledger, newer.plugin(ID, Kind::Evaluator));
    let status = once_held(&store.ledger, "yard-open").await;
    let judged = point_of(&status, ID);
    assert!(status.accepted && judged.state() == PointState::Released);
    assert!(says(judged, "owner-check, version 1.0.0"));
    assert_eq!(
        stricter.call_count(),
        1,
        "only the point after the acceptance"
    );
}
