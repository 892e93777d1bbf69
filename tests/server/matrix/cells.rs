//! Every cell of every RPC.

use obvert_access::{
    Action, Cell,
    matrix::{self, Needs, RPCS},
    role_word,
};
use obvert_proto::{closeout::v1::ReleaseKind, project::v1::Role};
use prost_reflect::Value;
use tonic::{Code, Status};
use tonic_types::StatusExt;

use super::{
    call::{asking, call, method, names_one},
    world::{PROJECT, World},
};

#[tokio::test]
async fn every_cell_of_the_table_of_roles_is_as_written() {
    let world = World::start().await;
    let in_project = world.keys(PROJECT).await;
    let in_office = world.keys("office").await;
    let mut wrong = Vec::new();
    let mut cells = 0;
    for (rpc, needs) in RPCS {
        let path = matrix::path(rpc);
        let Some(method) = method(&path).filter(|_| *needs != Needs::NotServed) else {
            continue;
        };
        for (action, collection, project) in rows(&path, *needs) {
            let keys = if project == "office" {
                &in_office
            } else {
                &in_project
            };
            let request = asking(&method, project, &collection, "none");
            for (role, key) in keys {
                let answer = call(&world.channel, key, &path, &request).await;
                let cell = action.map_or(Cell::Allowed, |action| action.cell(*role));
                let allowed = cell == Cell::Allowed || cell == Cell::Own && !names_one(&method);
                cells += 1;
                wrong.extend(judged(&answer, allowed).map(|what| {
                    let role = role_word(*role);
                    format!("{rpc} of {collection} as {role}, {cell:?} in the table: {what}")
                }));
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "{} of {cells}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
    assert!(cells > 1_000, "only {cells} cells were run");
}

#[tokio::test]
async fn a_role_in_one_project_makes_no_keys_and_ends_only_its_own() {
    let world = World::start().await;
    for (role, key) in world.keys(PROJECT).await {
        for rpc in ["CreateKey", "RevokeKey"] {
            let path = format!("/obvert.project.v1.AccessService/{rpc}");
            let request = asking(&method(&path).unwrap(), "office", "keys", "bootstrap");
            let answer = call(&world.channel, &key, &path, &request).await;
            assert_eq!(judged(&answer, false), None, "{rpc} as {role:?}");
        }
    }
}

#[tokio::test]
async fn every_cell_of_a_variance_is_as_written() {
    let world = World::start().await;
    let path = "/obvert.closeout.v1.CloseoutService/ReleasePoint";
    let mut request = asking(&method(path).unwrap(), PROJECT, "segments", "none");
    let kind = Value::EnumNumber(ReleaseKind::Variance.into());
    request.set_field_by_name("release_kind", kind);
    for (role, key) in world.keys(PROJECT).await {
        let answer = call(&world.channel, &key, path, &request).await;
        let allowed = Action::Vary.cell(role) == Cell::Allowed;
        assert_eq!(judged(&answer, allowed), None, "{role:?}");
    }
    assert_eq!(Action::Vary.cell(Role::Inspector), Cell::Denied);
}

/// Rows behind an RPC: its action, and for a write one of each collection that its service keeps.
fn rows(path: &str, needs: Needs) -> Vec<(Option<Action<'static>>, String, &'static str)> {
    let package = path
        .trim_start_matches('/')
        .rsplit_once('/')
        .map(|(s, _)| s);
    let package = package.and_then(|service| service.rsplit_once('.'));
    let kept = matrix::collections(package.map_or("", |(package, _)| package));
    match needs {
        Needs::Act(action @ (Action::MakeKeys | Action::EndKeys)) => {
            vec![(Some(action), "keys".into(), "office")]
        }
        Needs::Act(action) => {
            let collection = kept.first().cloned().unwrap_or_default();
            vec![(Some(action), collection, PROJECT)]
        }
        Needs::KindWrite => {
            let row = |collection: String| {
                let action = Action::Write(collection.clone().leak());
                (Some(action), collection, PROJECT)
            };
            kept.into_iter().map(row).collect()
        }
        _ => vec![(None, String::new(), PROJECT)],
    }
}

/// What is wrong with an answer, if anything.
fn judged(answer: &Result<(), Status>, allowed: bool) -> Option<String> {
    let status = match (answer, allowed) {
        (Ok(()), true) => return None,
        (Ok(()), false) => return Some("was answered".into()),
        (Err(status), _) => status,
    };
    let reason = status.get_details_error_info().map(|info| info.reason);
    let denied = reason.as_deref() == Some("NOT_ALLOWED");
    let unknown = matches!(status.code(), Code::Unauthenticated | Code::Unimplemented);
    let as_written = denied != allowed && !unknown;
    (!as_written).then(|| format!("{:?} {}", status.code(), status.message()))
}
