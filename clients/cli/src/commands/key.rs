//! Keys of callers.

use std::{fs::OpenOptions, io::Write as _, os::unix::fs::OpenOptionsExt, path::Path};

use clap::ArgMatches;
use obvert_proto::{
    dates::instant,
    project::v1::{
        CreateKeyRequest, ListKeysRequest, RevokeKeyRequest, Role, RoleBinding, RotateKeyRequest,
        WhoAmIRequest, access_service_client::AccessServiceClient,
    },
};

use prost_types::Timestamp;

use super::{Session, file, text, write};
use crate::{Exit, Failure};

/// Said of a write that was only checked.
pub(super) const NONE_MADE: &str = "a key could be made; none was";

pub(crate) async fn run(session: &Session, verb: &str, given: &ArgMatches) -> Result<(), Failure> {
    match verb {
        "new" => new(session, given).await,
        "rotate" => rotate(session, given).await,
        "list" => list(session).await,
        "revoke" => revoke(session, given).await,
        _ => whoami(session).await,
    }
}

async fn new(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let words: Vec<_> = given
        .get_many::<String>("role")
        .into_iter()
        .flatten()
        .collect();
    let bindings: Result<Vec<_>, _> = words.into_iter().map(|word| binding(word)).collect();
    let request = CreateKeyRequest {
        write: Some(write::envelope(given)),
        key_id: text(given, "id").to_owned(),
        principal: text(given, "principal").to_owned(),
        bindings: bindings?,
        valid_days: given.get_one::<i32>("days").copied().unwrap_or_default(),
    };
    let mut client = AccessServiceClient::new(session.channel.clone());
    let target = SecretFile::make(file(given, "out")?)?;
    let made = client.create_key(request).await;
    let answer = made.inspect_err(|_| target.remove())?.into_inner();
    if !target.keep_made(&answer.secret)? {
        return session.output.say(NONE_MADE);
    }
    session.output.say(&format!(
        "{}: its secret is in {}",
        answer.name,
        target.path.display()
    ))
}

async fn rotate(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let number = |name: &str| given.get_one::<i32>(name).copied();
    let request = RotateKeyRequest {
        write: Some(write::envelope(given)),
        name: text(given, "name").to_owned(),
        key_id: text(given, "id").to_owned(),
        valid_days: number("days"),
        overlap_hours: number("overlap-hours"),
    };
    let mut client = AccessServiceClient::new(session.channel.clone());
    let target = SecretFile::make(file(given, "out")?)?;
    let made = client.rotate_key(request).await;
    let answer = made.inspect_err(|_| target.remove())?.into_inner();
    if !target.keep_made(&answer.secret)? {
        return session.output.say(NONE_MADE);
    }
    session.output.say(&format!(
        "{}: its secret is in {}; {} works until {}",
        answer.name,
        target.path.display(),
        text(given, "name"),
        minute(answer.old_expire_time.as_ref())
    ))
}

/// A new file that only its owner reads, made before the secret is: one that cannot be kept must not
/// be made.
pub(super) struct SecretFile<'a> {
    pub(super) path: &'a Path,
}

impl<'a> SecretFile<'a> {
    pub(super) fn make(path: &'a Path) -> Result<Self, Failure> {
        let mut options = OpenOptions::new();
        let made = options.write(true).create_new(true).mode(0o600).open(path);
        made.map_err(|error| Failure::file(path, &error))?;
        Ok(Self { path })
    }

    pub(super) fn remove(&self) {
        drop(std::fs::remove_file(self.path));
    }

    /// Keeps the secret of a key that was made; takes the file away where none was.
    pub(super) fn keep_made(&self, secret: &str) -> Result<bool, Failure> {
        if secret.is_empty() {
            self.remove();
            return Ok(false);
        }
        self.keep(secret).map(|()| true)
    }

    pub(super) fn keep(&self, secret: &str) -> Result<(), Failure> {
        let file = OpenOptions::new().write(true).open(self.path);
        file.and_then(|mut file| writeln!(file, "{secret}"))
            .map_err(|error| Failure::file(self.path, &error))
    }
}

/// A time to the minute, or nothing.
pub(super) fn minute(time: Option<&Timestamp>) -> String {
    let time = time.and_then(instant);
    time.map_or(String::new(), |time| {
        time.strftime("%Y-%m-%d %H:%M UTC").to_string()
    })
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
            minute(listed.last_use_time.as_ref()),
        ]
    });
    let rows: Vec<_> = rows.collect();
    if session.output.is_json() {
        return session.output.json(&rows);
    }
    session.output.table(
        &["key", "principal", "roles", "until", "state", "last used"],
        &rows,
    )
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
