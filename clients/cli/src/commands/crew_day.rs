//! The key of a crew's day, as a code on the terminal.

use clap::ArgMatches;
use jiff::civil::Date;
use obvert_proto::{
    common::v1::LocalDate,
    project::v1::{CreateCrewKeyRequest, access_service_client::AccessServiceClient},
};
use qrcode::{QrCode, render::unicode::Dense1x2};

use super::{
    Session, file,
    key::{NONE_MADE, SecretFile, minute},
    text, write,
};
use crate::{Exit, Failure, connection::server};

/// Makes the key and shows where it signs in; the key stands behind the "#", which no server sees.
pub(super) async fn run(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let date: Date = text(given, "date").parse().map_err(|_| {
        let message = format!("--date {}: write YYYY-MM-DD", text(given, "date"));
        Failure::new(Exit::Usage, message)
    })?;
    let request = CreateCrewKeyRequest {
        write: Some(write::envelope(given)),
        project: text(given, "project").to_owned(),
        key_id: text(given, "id").to_owned(),
        work_date: Some(LocalDate::from_civil(date)),
        end_time_of_day: text(given, "ends").to_owned(),
        ends_next_day: given.get_flag("ends-next-day"),
    };
    let mut client = AccessServiceClient::new(session.channel.clone());
    let target = match given.contains_id("out") {
        true => Some(SecretFile::make(file(given, "out")?)?),
        false => None,
    };
    let made = client.create_crew_key(request).await;
    let made = made
        .inspect_err(|_| target.iter().for_each(SecretFile::remove))?
        .into_inner();
    let key = made.key.unwrap_or_default();
    let until = minute(key.expire_time.as_ref());
    if made.secret.is_empty() {
        target.iter().for_each(SecretFile::remove);
        return session.output.say(NONE_MADE);
    }
    if let Some(target) = target {
        target.keep(&made.secret)?;
        let path = target.path.display();
        let told = format!(
            "{}: its secret is in {path}; it works until {until}",
            made.name
        );
        return session.output.say(&told);
    }
    let url = format!(
        "{}{}",
        server(given).trim_end_matches('/'),
        made.sign_in_path
    );
    if session.output.is_json() {
        let told = serde_json::json!({ "name": made.name, "url": url, "until": until });
        return session.output.json(&told);
    }
    let code = QrCode::new(url.as_bytes())
        .map_err(|error| Failure::new(Exit::Failure, format!("the code: {error}")))?;
    let drawn = code.render::<Dense1x2>().build();
    session.output.say(&format!(
        "{drawn}\n{url}\n{} works until {until}",
        made.name
    ))
}
