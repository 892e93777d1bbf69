//! What the owner's plan makes of the document.

use obvert_closeout::{
    package::document,
    plan::{MOST_POINTS, parse},
};
use obvert_proto::{closeout::v1::PlanState, common::v1::RecordRef, dates::from_unix_ms};
use obvert_typeset::render;

use super::sample::{signed, signed_under, signer, sources};
use crate::closeout::fixture::{PLAN, asked::ISO, full, ms};

#[test]
fn the_document_lists_every_row_of_evidence_and_says_what_the_plan_leaves_out() {
    let mut fixture = signed();
    fixture.plan = parse(ISO).unwrap();
    let sources = sources(&fixture);
    let data = document(&sources, &signer()).unwrap().data;
    let rows = data["evidence"]["rows"].as_array().unwrap();
    let titles = rows
        .iter()
        .take(42)
        .map(|row| row["title"].as_str().unwrap());
    for (number, title) in titles.enumerate() {
        let row = format!("E{:02} ", number + 1);
        assert!(title.starts_with(&row), "{title}");
    }
    let notes = data["cover"]["notes"].as_array().unwrap();
    let last = notes.last().unwrap().as_str().unwrap();
    assert!(
        last.contains("leaves out of this document: leak tests."),
        "{last}"
    );
    assert_eq!(data["left_out"].as_array().unwrap().len(), 1);
}

fn state(revision: i64, mark: &str, changes: Vec<String>) -> PlanState {
    PlanState {
        plan: Some(RecordRef {
            name: full("plans/itp"),
            revision,
        }),
        plan_revision: mark.into(),
        principal: "person/ines-holt".into(),
        role: "office".into(),
        commit_time: Some(from_unix_ms(ms("2026-05-02 08:15"))),
        reason: "letter of the owner".into(),
        changes,
    }
}

#[test]
fn the_document_says_of_every_state_of_the_plan_who_filed_it_and_each_change_once() {
    let mut sources = sources(&signed());
    let change = "limit specimen_count was >= 3 and is >= 1";
    let now = sources.status.plan.clone().unwrap().revision;
    sources.status.plan_states = vec![
        state(1, "B", Vec::new()),
        state(now, "C", vec![change.to_owned()]),
    ];
    let since = format!("since plans/itp@1, by which cure-log stands: {change}");
    sources.status.plan_changes = vec![since];
    let data = document(&sources, &signer()).unwrap().data;
    let filed = "revision C, filed by person/ines-holt (office), 2026-05-02 08:15";
    assert_eq!(data["cover"]["plan_filed"], filed);
    let notes = data["cover"]["notes"].to_string();
    assert!(notes.contains("The plan was changed 1 time"), "{notes}");
    let told = data["plan_states"].as_array().unwrap();
    assert_eq!(told.len(), 2);
    assert_eq!(told[1]["filed"], filed);
    assert_eq!(told[1]["reason"], "Letter of the owner.");
    assert_eq!(data.to_string().matches("specimen_count was").count(), 1);
}

#[test]
fn a_plan_of_as_many_points_as_allowed_makes_a_document_also_when_each_was_changed() {
    let further = parse(PLAN).unwrap().points.len()..MOST_POINTS;
    let ids: Vec<_> = further
        .map(|n| format!("a-further-look-of-the-owner-{n}"))
        .collect();
    let point = |id: &String| {
        format!(
            "\n[[point]]\nid = \"{id}\"\ntitle = \"{id}\"\nstage = \"before ordering\"\nclass = \
             \"review\"\nevaluator = \"field-survey\"\n"
        )
    };
    let points: String = ids.iter().map(point).collect();
    let mut sources = sources(&signed_under(&points, |_| {}));
    assert_eq!(sources.status.points.len(), MOST_POINTS);
    let changed = |id: &String| format!("point {id}: evaluator was leak-test and is field-survey");
    let now = sources.status.plan.clone().unwrap().revision;
    let changes = ids
        .iter()
        .map(changed)
        .chain(ids.iter().map(changed))
        .collect();
    sources.status.plan_states = vec![state(1, "B", Vec::new()), state(now, "C", changes)];
    let pdf = render(&document(&sources, &signer()).unwrap()).unwrap();
    assert!(pdf.starts_with(b"%PDF"));
}
