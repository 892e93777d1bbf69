//! The owner's mark names one content of the plan, and every state of it is told with who filed it.

use obvert_closeout::load_segment;
use obvert_proto::{
    closeout::v1::{
        Plan, PlanState, Record, ReviseRecordRequest, closeout_service_server::CloseoutService,
        record::Body,
    },
    common::v1::Write,
    project::v1::{Project, Role},
};
use prost::Message;

use super::{
    fixture::{PLAN, SEGMENT, full, store},
    stored::{Site, by, reason},
};

/// The plan of the tests with other days for the report, under a mark.
fn edition(mark: &str, days: &str) -> String {
    let days = format!("value = {days}\n");
    let changed = PLAN.replacen("value = 21\n", &days, 1);
    changed.replacen("revision = \"C\"", &format!("revision = \"{mark}\""), 1)
}

async fn revise(site: &Site, source: String, why: &str) -> Result<(), tonic::Status> {
    let name = full("plans/itp");
    let stored = site.ledger.get(name.clone(), 0).await.unwrap().unwrap();
    let text = obvert_closeout::plan::parse(&source).unwrap();
    let plan = Plan {
        title: text.title,
        owner: text.owner,
        plan_revision: text.revision,
        source,
    };
    let request = ReviseRecordRequest {
        write: Some(Write {
            request_id: why.into(),
            reason: why.into(),
            etag: obvert_records::etag(stored.revision),
            ..Write::default()
        }),
        name,
        record: Some(Record {
            meta: None,
            body: Some(Body::Plan(plan)),
        }),
    };
    let answer = site.closeout.revise_record(by(Role::Office, request));
    answer.await.map(|_| ())
}

async fn states(site: &Site) -> Vec<PlanState> {
    let loaded = load_segment(&site.ledger, SEGMENT, 0).await.unwrap();
    loaded.status().plan_states
}

#[tokio::test]
async fn other_content_under_the_owners_unchanged_mark_is_refused() {
    let site = Site::clean().await;
    revise(&site, edition("C", "21"), "the owner's mark")
        .await
        .unwrap();
    let refused = revise(&site, edition("C", "99"), "more days")
        .await
        .unwrap_err();
    assert_eq!(reason(&refused), "FIELDS_INVALID");
    let said = refused.message().to_owned();
    assert!(
        said.contains("the mark of the owner's new edition"),
        "{said}"
    );
    let remark = format!("# Entered from the owner's letter.\n{}", edition("C", "21"));
    revise(&site, remark, "a remark").await.unwrap();
    revise(&site, edition("D", "99"), "letter of the owner")
        .await
        .unwrap();
}

#[tokio::test]
async fn every_state_of_the_plan_is_told_with_who_filed_it_why_and_what_it_changed() {
    let site = Site::clean().await;
    let first = states(&site).await;
    assert_eq!(first.len(), 1);
    assert!(first[0].changes.is_empty(), "{first:?}");
    revise(&site, edition("D", "99"), "letter of the owner")
        .await
        .unwrap();
    let now = states(&site).await;
    assert_eq!(now.len(), 2);
    assert_eq!(now[0], first[0]);
    let told = &now[1];
    let filed = [
        &told.principal,
        &told.role,
        &told.reason,
        &told.plan_revision,
    ];
    assert_eq!(
        filed,
        ["person/ines-holt", "office", "letter of the owner", "D"]
    );
    let changes: Vec<_> = told
        .changes
        .iter()
        .filter(|c| c.contains("99 days"))
        .collect();
    assert_eq!(changes.len(), 1, "{told:?}");
    assert!(changes[0].contains("laboratory_report_due_days was <= 21 days"));
    revise(&site, edition("E", "21"), "back").await.unwrap();
    revise(&site, edition("D", "50"), "the mark of before")
        .await
        .unwrap();
    let reused = states(&site).await.pop().unwrap().changes;
    let said = reused.last().unwrap();
    assert!(said.contains("mark \"D\" stood on other content"), "{said}");
}

#[tokio::test]
async fn a_plan_that_the_project_names_in_place_of_another_is_told_as_a_change() {
    let mut site = Site::clean().await;
    let source = edition("C", "99");
    site.fixture.add(
        "plans/itp-2",
        Plan {
            source,
            ..Plan::default()
        },
    );
    let mut project = site.fixture.records["projects/quillfern"].clone();
    let mut named = Project::decode(project.body.clone()).unwrap();
    named.plan = full("plans/itp-2");
    project.body = named.encode_to_vec().into();
    let plan = &site.fixture.records[&full("plans/itp-2")];
    store::commit(
        &site.ledger,
        "quillfern",
        vec![plan, &project],
        site.fixture.time_ms,
    )
    .await;
    let told = states(&site).await;
    assert_eq!(told.len(), 2, "{told:?}");
    let changes = &told[1].changes;
    assert!(
        changes[0].contains("in place of projects/quillfern/plans/itp@"),
        "{changes:?}"
    );
    assert!(
        changes.iter().any(|change| change.contains("<= 99 days")),
        "{changes:?}"
    );
}
