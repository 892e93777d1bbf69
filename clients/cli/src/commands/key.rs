//! Keys of callers.

use std::{fs::OpenOptions, io::Write as _, os::unix::fs::OpenOptionsExt};

use clap::ArgMatches;
use obvert_proto::{
    dates::instant,
    project::v1::{
        CreateKeyRequest, ListKeysRequest, RevokeKeyRequest, Role, RoleBinding, WhoAmIRequest,
        access_service_client::AccessServiceClient,
    },
};

use super::{Session, file, text, write};
use crate::{Exit, Failure};

pub(crate) async fn run(session: &Session, verb: &str, given: &ArgMatches) -> Result<(), Failure> {
    match verb {
        "new" => new(session, given).await,
        "list" => list(session).await,
        "revoke" => revoke(session, given).await,
        _ => whoami(session).await,
    }
}

async fn new(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let out = file(given, "out")?;
    let words: Vec<_> = given
        .get_many::<String>("role")
        .into_iter()
        .flatten()
        .collect();
    let bindings: Result<Vec<_>, _> = words.into_iter().map(|word| binding(word)).collect();
    // The file is made first: a secret that cannot be kept must not be made.
    let options = OpenOptions::new()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(out);
    let mut target = options.map_err(|error| Failure::file(out, &error))?;
    let request = CreateKeyRequest {
        write: Some(write::envelope(given)),
        key_id: text(given, "id").to_owned(),
        principal: text(given, "principal").to_owned(),
        bindings: bindings?,
        valid_days: given.get_one::<i32>("days").copied().unwrap_or_default(),
    };
    let mut client = AccessServiceClient::new(session.channel.clone());
    let made = client.create_key(request).await;
    let answer = made
        .inspect_err(|_| drop(std::fs::remove_file(out)))?
        .into_inner();
    writeln!(target, "{}", answer.secret).map_err(|error| Failure::file(out, &error))?;
    session.output.say(&format!(
        "{}: its secret is in {}",
        answer.name,
        out.display()
    ))
}

async fn list(session: &Session) -> Result<(), Failure> {
    let mut client = AccessServiceClient::new(session.channel.clone());
    let keys = client
        .list_keys(ListKeysRequest {})
        .await?
        .into_inner()
        .keys;
    let rows = keys.into_iter().map(|listed| {
        let name = listed.meta.unwrap_or_default().name;
        let key = listed.key.unwrap_or_default();
        let until = key.expire_time.as_ref().and_then(instant);
        let until = until.map_or(String::new(), |time| time.strftime("%Y-%m-%d").to_string());
        let state = if key.revoke_time.is_some() {
            "revoked"
        } else {
            "in force"
        };
        vec![
            name,
            key.principal,
            roles(&key.bindings),
            until,
            state.to_owned(),
        ]
    });
    let rows: Vec<_> = rows.collect();
    if session.output.is_json() {
        return session.output.json(&rows);
    }
    session
        .output
        .table(&["key", "principal", "roles", "until", "state"], &rows)
}

async fn revoke(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let name = text(given, "name").to_owned();
    let request = RevokeKeyRequest {
        write: Some(write::envelope(given)),
        name: name.clone(),
    };
    let mut client = AccessServiceClient::new(session.channel.clone());
    client.revoke_key(request).await?;
    session.output.say(&format!("{name} is revoked"))
}

async fn whoami(session: &Session) -> Result<(), Failure> {
    let mut client = AccessServiceClient::new(session.channel.clone());
    let known = client.who_am_i(WhoAmIRequest {}).await?.into_inner();
    if session.output.is_json() {
        let told = serde_json::json!({ "principal": known.principal, "keyId": known.key_id,
            "roles": roles(&known.bindings) });
        return session.output.json(&told);
    }
    session.output.say(&format!(
        "{} by key {}: {}",
        known.principal,
        known.key_id,
        roles(&known.bindings)
    ))
}

/// Role in a project, from `quillfern:crew` or `*:office`.
fn binding(word: &str) -> Result<RoleBinding, Failure> {
    let wrong = || {
        let message = format!("--role {word}: write project:role, such as quillfern:crew");
        Failure::new(Exit::Usage, message)
    };
    let (project, role) = word.split_once(':').ok_or_else(wrong)?;
    let role = Role::from_str_name(&format!("ROLE_{}", role.to_uppercase())).ok_or_else(wrong)?;
    Ok(RoleBinding {
        project: project.to_owned(),
        role: role.into(),
    })
}

fn roles(bindings: &[RoleBinding]) -> String {
    let word = |binding: &RoleBinding| {
        let role = binding
            .role()
            .as_str_name()
            .trim_start_matches("ROLE_")
            .to_lowercase();
        format!("{}:{role}", binding.project)
    };
    bindings.iter().map(word).collect::<Vec<_>>().join(", ")
}
