//! Plans in words: what one asks for, and what one changes of another.

use std::path::Path;

use clap::ArgMatches;
use obvert_proto::{
    closeout::v1::{
        CheckPlanRequest, CheckPlanResponse, ComparePlansRequest, PlanPoint, PointClass,
        closeout_service_client::CloseoutServiceClient, record::Body,
    },
    common::v1::GetRecordRequest,
};
use serde_json::{Value, json};

use super::{Session, plan::refused, read_text, text};
use crate::{Exit, Failure, output::value_of_known};

pub(crate) async fn explain(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let named = text(given, "plan");
    let source = source_of(session, named).await?;
    let request = CheckPlanRequest {
        source,
        ..CheckPlanRequest::default()
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let answer = client.check_plan(request).await?;
    let answer = answer.into_inner();
    if !answer.faults.is_empty() {
        return Err(refused(Path::new(named), answer.faults));
    }
    if session.output.is_json() {
        return session.output.json(&whole(&answer)?);
    }
    let head = (&answer.title, &answer.owner, &answer.plan_revision);
    let (title, owner, revision) = head;
    let head = format!("{title}, plan of {owner}, revision {revision}");
    session.output.say(&head)?;
    let mut stages: Vec<&str> = Vec::new();
    for point in &answer.explained {
        if !stages.contains(&point.stage.as_str()) {
            stages.push(&point.stage);
        }
    }
    for stage in stages {
        session.output.say(&format!("== {stage} =="))?;
        for point in answer.explained.iter().filter(|p| p.stage == stage) {
            session.output.say(&words_of(point))?;
        }
    }
    let left_out = format!("== package ==\nits document leaves out {}", answer.left_out);
    session.output.say(&left_out)?;
    if !answer.plugin_sections.is_empty() {
        let plugins = answer.plugin_sections.join(", ");
        let asked = format!("a section is asked of the plug-ins {plugins}");
        session.output.say(&asked)?;
    }
    for row in &answer.cover {
        session.output.say(&format!("owner's cover, {row}"))?;
    }
    Ok(())
}

/// The whole plan for programs, with the same keys at the top for every plan.
fn whole(answer: &CheckPlanResponse) -> Result<Value, Failure> {
    let limits: Result<Vec<_>, _> = answer.limits.iter().map(value_of_known).collect();
    let points: Result<Vec<_>, _> = answer.explained.iter().map(value_of_known).collect();
    Ok(json!({
        "title": answer.title,
        "owner": answer.owner,
        "planRevision": answer.plan_revision,
        "limits": limits?,
        "points": points?,
        "package": {
            "leftOut": answer.left_out,
            "pluginSections": answer.plugin_sections,
            "cover": answer.cover,
        },
    }))
}

pub(crate) async fn diff(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let (older, newer) = (text(given, "older"), text(given, "newer"));
    let before = source_of(session, older).await?;
    let after = source_of(session, newer).await?;
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let before_is_after = before == after;
    let request = ComparePlansRequest { before, after };
    let changes = client.compare_plans(request).await?.into_inner().changes;
    if session.output.is_json() {
        session.output.json(&changes)?;
    } else {
        for change in &changes {
            session.output.say(change)?;
        }
    }
    if changes.is_empty() {
        let what = match before_is_after {
            true => "have the same text",
            false => "ask for the same",
        };
        return session.output.say(&format!("{older} and {newer} {what}"));
    }
    let places = match changes.len() {
        1 => "1 place".to_owned(),
        many => format!("{many} places"),
    };
    let message = format!("the plans differ in {places}");
    Err(Failure::new(Exit::Failure, message))
}

/// Text of a plan: a file, or a stored plan by its name, with `@revision` for an old state.
async fn source_of(session: &Session, named: &str) -> Result<String, Failure> {
    if !named.starts_with("projects/") {
        return read_text(Path::new(named));
    }
    let usage = |what: &str| Failure::new(Exit::Usage, format!("{named}: {what}"));
    let (name, revision) = match named.split_once('@') {
        Some((name, revision)) => {
            let revision = revision.parse();
            (
                name,
                revision.map_err(|_| usage("the revision is no number"))?,
            )
        }
        None => (named, 0),
    };
    if named.contains('@') && revision < 1 {
        return Err(usage("revisions begin with 1; leave it out for the newest"));
    }
    let request = GetRecordRequest {
        name: name.to_owned(),
        revision,
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    match client.get_record(request).await?.into_inner().body {
        Some(Body::Plan(plan)) => Ok(plan.source),
        _ => Err(Failure::new(
            Exit::DataInvalid,
            format!("{named} is no plan"),
        )),
    }
}

/// A point for people, a row for each thing that the plan says of it.
fn words_of(point: &PlanPoint) -> String {
    let class = match point.point_class() {
        PointClass::Hold => "hold: work stops until a role releases it",
        PointClass::Witness => "witness: a role is invited; lapses after due notice",
        PointClass::Review | PointClass::Unspecified => "review: released by its evidence",
    };
    let mut rows = vec![format!("{}  {}", point.point, point.title)];
    let mut row = |label: &str, text: String| {
        if !text.is_empty() {
            rows.push(format!("    {label:<14}{text}"));
        }
    };
    row("class", class.to_owned());
    row("proves", point.proves.clone());
    row("needs", point.needs.join("; "));
    row("evidence", point.evidence_rows.join("; "));
    for limit in &point.limits {
        row("limit", limit.clone());
    }
    row("released by", point.released_by.join(", "));
    if point.self_release {
        let who = "who recorded the result may release it too";
        row("own result", who.to_owned());
    }
    row("varied by", point.varied_by.join(", "));
    row("paper", format!("{} or better", point.least_grade));
    row("follows", point.after.join(", "));
    row("asked of", point.sampling.clone());
    row("due", point.due.clone());
    row("clause", point.source_clause.clone());
    rows.join("\n")
}
