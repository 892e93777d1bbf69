//! Links that open packages in a browser without a key.

use clap::ArgMatches;
use obvert_proto::project::v1::{
    CreateLinkRequest, ListLinksRequest, RevokeLinkRequest,
    access_service_client::AccessServiceClient,
};

use super::{Session, key::minute, text, write};
use crate::{Failure, connection::server};

pub(super) async fn run(session: &Session, verb: &str, given: &ArgMatches) -> Result<(), Failure> {
    match verb {
        "new" => new(session, given).await,
        "list" => list(session, given).await,
        _ => revoke(session, given).await,
    }
}

async fn new(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let request = CreateLinkRequest {
        write: Some(write::envelope(given)),
        link_id: text(given, "id").to_owned(),
        target: text(given, "target").to_owned(),
        note: text(given, "for").to_owned(),
        valid_days: given.get_one::<i32>("days").copied(),
    };
    let mut client = AccessServiceClient::new(session.channel.clone());
    let made = client.create_link(request).await?.into_inner();
    if made.path.is_empty() {
        return session.output.say("a link could be made; none was");
    }
    let name = made.meta.unwrap_or_default().name;
    let until = minute(made.link.and_then(|link| link.expire_time).as_ref());
    let url = format!("{}{}", server(given).trim_end_matches('/'), made.path);
    if session.output.is_json() {
        let told = serde_json::json!({ "name": name, "url": url, "until": until });
        return session.output.json(&told);
    }
    session
        .output
        .say(&format!("{url}\n{name} works until {until}"))
}

async fn list(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let request = ListLinksRequest {
        project: text(given, "project").to_owned(),
    };
    let mut client = AccessServiceClient::new(session.channel.clone());
    let links = client.list_links(request).await?.into_inner().links;
    let rows = links.into_iter().map(|listed| {
        let link = listed.link.unwrap_or_default();
        let until = minute(link.expire_time.as_ref());
        let state = match &link.revoke_time {
            Some(time) => format!("revoked {}", minute(Some(time))),
            None => String::new(),
        };
        let name = listed.meta.unwrap_or_default().name;
        vec![name, link.target, link.note, until, state]
    });
    let rows: Vec<_> = rows.collect();
    if session.output.is_json() {
        return session.output.json(&rows);
    }
    let head = ["link", "opens", "for", "until", "state"];
    session.output.table(&head, &rows)
}

async fn revoke(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let name = text(given, "name").to_owned();
    let request = RevokeLinkRequest {
        write: Some(write::envelope(given)),
        name: name.clone(),
    };
    let mut client = AccessServiceClient::new(session.channel.clone());
    client.revoke_link(request).await?;
    session.output.say(&format!("{name} is revoked"))
}
