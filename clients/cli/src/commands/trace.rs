//! The chain of records behind each figure of a segment.

use clap::ArgMatches;
use obvert_proto::closeout::v1::{
    SegmentTrace, TraceSegmentRequest, TracedFact, TracedFigure,
    closeout_service_client::CloseoutServiceClient,
};

use super::{Session, text};
use crate::{Failure, output::value_of_known};

pub(crate) async fn run(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let request = TraceSegmentRequest {
        segment: text(given, "name").to_owned(),
        revision: given
            .get_one::<i64>("revision")
            .copied()
            .unwrap_or_default(),
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let trace = client.trace_segment(request).await?.into_inner();
    if session.output.is_json() {
        return session.output.json(&value_of_known(&trace)?);
    }
    show(session, &trace)
}

fn show(session: &Session, trace: &SegmentTrace) -> Result<(), Failure> {
    let output = session.output;
    output.say(&format!("{} at revision {}", trace.segment, trace.revision))?;
    for fact in &trace.facts {
        output.say("")?;
        output.say(&title(fact))?;
        let rows: Vec<_> = fact.figures.iter().map(row).collect();
        output.table(&["stage", "figure", "record", "paper", "by"], &rows)?;
    }
    output.say("")?;
    for statement in &trace.statements {
        output.say(statement)?;
    }
    Ok(())
}

fn title(fact: &TracedFact) -> String {
    if fact.basis.is_empty() {
        return fact.title.clone();
    }
    format!("{} ({})", fact.title, fact.basis)
}

fn row(figure: &TracedFigure) -> Vec<String> {
    let basis = if figure.basis.is_empty() {
        String::new()
    } else {
        format!(", {}", figure.basis)
    };
    let sign = if figure.disagrees { " (disagrees)" } else { "" };
    let record = figure.record.as_ref();
    vec![
        figure.stage.clone(),
        format!("{}{basis}{sign}", figure.figure),
        record.map_or(String::new(), |r| format!("{}@{}", r.name, r.revision)),
        figure.grade.clone(),
        figure.principal.clone(),
    ]
}
