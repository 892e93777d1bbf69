//! Who released what on which evidence, replayed at any revision.

use clap::ArgMatches;
use obvert_proto::{
    closeout::v1::{
        GivenRelease, ListReleasesRequest, ReleaseKind,
        closeout_service_client::CloseoutServiceClient,
    },
    common::v1::RecordRef,
    dates::instant,
};

use super::{Session, text};
use crate::{Failure, output::value_of_known};

pub(crate) async fn history(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let revision = given.get_one::<i64>("revision").copied();
    let request = ListReleasesRequest {
        segment: text(given, "segment").to_owned(),
        revision: revision.unwrap_or_default(),
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let answer = client.list_releases(request).await?.into_inner();
    if session.output.is_json() {
        return session.output.json(&value_of_known(&answer)?);
    }
    let rows: Vec<_> = answer.releases.iter().map(row).collect();
    let heads = [
        "release",
        "point",
        "how",
        "by",
        "when",
        "by plan",
        "stands",
        "evidence",
        "because (times on site)",
    ];
    session.output.table(&heads, &rows)
}

fn row(given: &GivenRelease) -> Vec<String> {
    let meta = given.meta.clone().unwrap_or_default();
    let release = given.release.clone().unwrap_or_default();
    let time = meta.commit_time.as_ref().and_then(instant);
    let how = match release.release_kind() {
        ReleaseKind::Variance => format!("variance: {}", release.note),
        ReleaseKind::Lapse => "lapse after notice".to_owned(),
        ReleaseKind::Release | ReleaseKind::Unspecified => "release".to_owned(),
    };
    let stands = if given.stands { "yes" } else { "no" };
    let evidence: Vec<_> = release.evidence.iter().map(shown).collect();
    vec![
        format!("{}@{}", id_of(&meta.name), meta.revision),
        release.point.clone(),
        how,
        format!("{} ({})", meta.principal, meta.role),
        time.map_or(String::new(), |time| {
            time.strftime("%Y-%m-%d %H:%M UTC").to_string()
        }),
        release.plan.as_ref().map_or(String::new(), shown),
        stands.to_owned(),
        evidence.join(", "),
        given.reason.clone(),
    ]
}

/// A record of the project by collection and id, with its revision.
fn shown(record: &RecordRef) -> String {
    let short = record.name.splitn(3, '/').nth(2).unwrap_or(&record.name);
    format!("{short}@{}", record.revision)
}

fn id_of(name: &str) -> &str {
    name.rsplit('/').next().unwrap_or_default()
}
