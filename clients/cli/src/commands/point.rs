//! Points: what holds a segment, and releases.

use clap::ArgMatches;
use obvert_proto::{
    closeout::v1::{
        EvaluateProjectRequest, EvaluateSegmentRequest, EvidenceRow, PointState, PointStatus,
        ReleaseKind, ReleasePointRequest, SegmentStatus, Verdict,
        closeout_service_client::CloseoutServiceClient,
    },
    common::v1::LocalDate,
};

use super::{Session, text, write};
use crate::{Exit, Failure, output::value_of_known, progress};

pub(crate) async fn list(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let name = text(given, "name");
    let revision = given
        .get_one::<i64>("revision")
        .copied()
        .unwrap_or_default();
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let statuses = if name.contains("/segments/") {
        let request = EvaluateSegmentRequest {
            segment: name.to_owned(),
            revision,
        };
        vec![client.evaluate_segment(request).await?.into_inner()]
    } else {
        let project = name.trim_start_matches("projects/").to_owned();
        let request = EvaluateProjectRequest { project, revision };
        let mut answers = client.evaluate_project(request).await?.into_inner();
        let bar = progress::steps(0, "evaluating");
        let mut statuses = Vec::new();
        while let Some(status) = answers.message().await? {
            bar.inc(1);
            statuses.push(status);
        }
        bar.finish_and_clear();
        statuses
    };
    if session.output.is_json() {
        let values: Result<Vec<_>, _> = statuses.iter().map(value_of_known).collect();
        return session.output.json(&values?);
    }
    if let ([status], true) = (statuses.as_slice(), given.get_flag("evidence")) {
        return show_evidence(session, status);
    }
    if let [status] = statuses.as_slice() {
        return show_points(session, status, given.get_flag("held"));
    }
    let rows: Vec<_> = statuses.iter().map(segment_row).collect();
    session.output.table(
        &["segment", "state", "released", "points", "because"],
        &rows,
    )
}

pub(crate) async fn release(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let variance = given.get_one::<String>("variance");
    let release_kind = match variance {
        Some(_) => ReleaseKind::Variance,
        None if given.get_flag("lapse") => ReleaseKind::Lapse,
        None => ReleaseKind::Release,
    };
    let request = ReleasePointRequest {
        write: Some(write::envelope(given)),
        segment: text(given, "segment").to_owned(),
        point: text(given, "point").to_owned(),
        release_kind: release_kind.into(),
        note: variance
            .cloned()
            .unwrap_or_else(|| text(given, "note").to_owned()),
        valid_until_date: until(given)?,
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let answer = client.release_point(request).await?.into_inner();
    let state = answer
        .status
        .as_ref()
        .map_or("", |status| status.state().word());
    let meta = answer.meta.unwrap_or_default();
    session.output.say(&format!(
        "{}@{}: {} is {state}",
        meta.name,
        meta.revision,
        text(given, "point")
    ))
}

fn show_points(session: &Session, status: &SegmentStatus, only_held: bool) -> Result<(), Failure> {
    let shown = |point: &&PointStatus| !only_held || point.state() == PointState::Held;
    let mut points: Vec<_> = status.points.iter().filter(shown).collect();
    // What holds comes first, then what awaits somebody; the plan's order otherwise.
    points.sort_by_key(|point| point.state().urgency());
    let rows: Vec<_> = points.into_iter().map(point_row).collect();
    session
        .output
        .table(&["point", "stage", "state", "by", "because"], &rows)?;
    for change in &status.plan_changes {
        session.output.say(change)?;
    }
    Ok(())
}

fn point_row(point: &PointStatus) -> Vec<String> {
    let first = point.findings.iter().find(|finding| finding.holds);
    let why = first.map_or(point.reason.as_str(), |finding| &finding.message);
    let until = point
        .valid_until_date
        .as_ref()
        .and_then(LocalDate::to_civil);
    let until = until.map_or(String::new(), |day| format!(", until {day}"));
    vec![
        point.point.clone(),
        point.stage.clone(),
        point.state().word().to_owned(),
        format!("{}{until}", point.released_by),
        why.to_owned(),
    ]
}

fn show_evidence(session: &Session, status: &SegmentStatus) -> Result<(), Failure> {
    let row = |row: &EvidenceRow| {
        let by = match row.waived_by.as_str() {
            "" => row.reason.clone(),
            by => format!("{by}: {}", row.reason),
        };
        let state = row.state().word().to_owned();
        vec![
            row.row.clone(),
            row.title.clone(),
            state,
            row.points.join(", "),
            by,
        ]
    };
    let rows: Vec<_> = status.evidence.iter().map(row).collect();
    session
        .output
        .table(&["row", "evidence", "state", "points", "because"], &rows)
}

/// Last day of a variance, where one is given.
fn until(given: &ArgMatches) -> Result<Option<LocalDate>, Failure> {
    let Some(word) = given.get_one::<String>("until") else {
        return Ok(None);
    };
    let day: jiff::civil::Date = word.parse().map_err(|error| {
        Failure::new(
            Exit::Usage,
            format!("--until {word}: {error}; write it as 2026-06-30"),
        )
    })?;
    Ok(Some(LocalDate::from_civil(day)))
}

fn segment_row(status: &SegmentStatus) -> Vec<String> {
    let of_state = |state| status.points.iter().filter(move |p| p.state() == state);
    // A point that only waits for others is held, but not by its evidence.
    let by_evidence: Vec<_> = of_state(PointState::Held)
        .filter(|point| point.verdict() == Verdict::Held)
        .collect();
    let awaits: Vec<_> = of_state(PointState::AwaitsRelease).collect();
    let state = match (status.accepted, by_evidence.is_empty()) {
        (true, _) => "accepted",
        (false, false) => "held",
        (false, true) => "awaits release",
    };
    let shown = if by_evidence.is_empty() {
        &awaits
    } else {
        &by_evidence
    };
    let points: Vec<_> = shown.iter().map(|point| point.point.as_str()).collect();
    let mut findings = by_evidence.iter().flat_map(|point| &point.findings);
    let because = findings.find(|finding| finding.holds);
    let because = because.map_or(String::new(), |finding| finding.message.clone());
    let open = awaits.len() + of_state(PointState::Held).count();
    let released = format!("{} of {}", status.points.len() - open, status.points.len());
    vec![
        status.owner_segment_id.clone(),
        state.to_owned(),
        released,
        points.join(", "),
        because,
    ]
}
