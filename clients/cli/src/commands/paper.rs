//! Papers: show, check as a second role, ask the issuer.

use clap::ArgMatches;
use obvert_proto::{
    dates::instant,
    project::v1::{
        CheckPaperRequest, MakeIssuerLinkRequest, PaperAnswer, RevokeIssuerLinkRequest,
        ShowPaperRequest, ShowPaperResponse, paper_service_client::PaperServiceClient,
        record::Body,
    },
};

use super::{Session, text, write};
use crate::{Failure, connection::server};

pub(crate) async fn run(session: &Session, verb: &str, given: &ArgMatches) -> Result<(), Failure> {
    match verb {
        "show" => show(session, given).await,
        "check" => check(session, given).await,
        "link" => link(session, given).await,
        _ => revoke_link(session, given).await,
    }
}

async fn shown(session: &Session, given: &ArgMatches) -> Result<ShowPaperResponse, Failure> {
    let paper = text(given, "name").to_owned();
    let mut client = PaperServiceClient::new(session.channel.clone());
    let answer = client.show_paper(ShowPaperRequest { paper }).await?;
    Ok(answer.into_inner())
}

async fn show(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let paper = shown(session, given).await?;
    let grade = paper.grade().word();
    let meta = paper.meta.clone().unwrap_or_default();
    if session.output.is_json() {
        let values = paper.values.iter();
        let values: Vec<_> = values
            .map(|v| serde_json::json!({"field": v.field, "value": v.value, "unit": v.unit}))
            .collect();
        return session.output.json(&serde_json::json!({
            "name": meta.name, "revision": meta.revision, "grade": grade, "values": values,
            "originals": paper.originals.iter().map(|o| &o.name).collect::<Vec<_>>(),
            "openDifferences": paper.open_differences,
        }));
    }
    let values = paper.values.iter();
    let rows: Vec<_> = values
        .map(|v| vec![v.field.clone(), v.value.clone(), v.unit.clone()])
        .collect();
    session.output.table(&["field", "value", "unit"], &rows)?;
    for original in &paper.originals {
        session.output.say(&format!(
            "original {}: {}, SHA-256 {}",
            original.name, original.file_name, original.sha256
        ))?;
    }
    for record in &paper.checks {
        session.output.say(&check_words(record))?;
    }
    session.output.say(&format!(
        "{}@{}, filed by {}, {}: {grade}",
        meta.name, meta.revision, meta.principal, meta.role
    ))
}

async fn check(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let paper_revision = match given.get_one::<i64>("revision") {
        Some(revision) => *revision,
        None => {
            shown(session, given)
                .await?
                .meta
                .unwrap_or_default()
                .revision
        }
    };
    let answer = if given.get_flag("agrees") {
        PaperAnswer::Agrees
    } else {
        PaperAnswer::Differs
    };
    let request = CheckPaperRequest {
        write: Some(write::envelope(given)),
        paper: text(given, "name").to_owned(),
        paper_revision,
        answer: answer.into(),
        remark: text(given, "differs").to_owned(),
    };
    let mut client = PaperServiceClient::new(session.channel.clone());
    let record = client.check_paper(request).await?.into_inner();
    let name = record.meta.unwrap_or_default().name;
    let paper = shown(session, given).await?;
    session.output.say(&format!(
        "{name}: {}@{paper_revision} is {}",
        text(given, "name"),
        if answer == PaperAnswer::Differs {
            "held: it differs from its original"
        } else {
            paper.grade().word()
        }
    ))
}

async fn link(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let request = MakeIssuerLinkRequest {
        write: Some(write::envelope(given)),
        paper: text(given, "name").to_owned(),
        issuer: text(given, "issuer").to_owned(),
        valid_days: given.get_one::<i32>("days").copied(),
    };
    let mut client = PaperServiceClient::new(session.channel.clone());
    let made = client.make_issuer_link(request).await?.into_inner();
    if made.path.is_empty() {
        return session.output.say("a link could be made; none was");
    }
    let url = format!("{}{}", server(given).trim_end_matches('/'), made.path);
    if session.output.is_json() {
        let told = serde_json::json!({ "name": made.name, "url": url });
        return session.output.json(&told);
    }
    let until = made.expire_time.as_ref().and_then(instant);
    let until = until.map_or(String::new(), |t| {
        t.strftime("%Y-%m-%d %H:%M UTC").to_string()
    });
    session.output.say(&url)?;
    session.output.say(&format!(
        "{}: works once, until {until}; whoever has it can answer, so send it to the issuer only",
        made.name
    ))
}

async fn revoke_link(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let link = text(given, "name").to_owned();
    let request = RevokeIssuerLinkRequest {
        write: Some(write::envelope(given)),
        link: link.clone(),
    };
    let mut client = PaperServiceClient::new(session.channel.clone());
    client.revoke_issuer_link(request).await?;
    session.output.say(&format!("{link} is revoked"))
}

fn check_words(record: &obvert_proto::project::v1::Record) -> String {
    let meta = record.meta.clone().unwrap_or_default();
    let Some(Body::PaperCheck(check)) = &record.body else {
        return meta.name;
    };
    let what = match check.answer() {
        PaperAnswer::Differs => format!("differs: {}", check.remark),
        _ => "agrees".to_owned(),
    };
    format!(
        "revision {} compared by {}, {}: {what}",
        check.paper_revision, meta.principal, meta.role
    )
}
