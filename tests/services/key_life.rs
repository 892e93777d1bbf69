//! Two keys of a principal, the next and the old; when each was last used.

use obvert_access::Keys;
use obvert_project::{Access, keep_key_uses};
use obvert_proto::{
    common::v1::Write,
    dates::unix_ms,
    project::v1::{
        CreateKeyRequest, ListKeysRequest, ListedKey, RevokeKeyRequest, Role, RoleBinding,
        RotateKeyRequest, access_service_client::AccessServiceClient,
        access_service_server::AccessServiceServer,
    },
};
use tonic::service::interceptor::InterceptedService;

use super::{
    keys::access,
    store::{As, Store, office, reason, write, write_as},
};

const HOUR_MS: i64 = 3_600_000;

type Door = AccessServiceClient<InterceptedService<AccessServiceServer<Access>, As>>;

fn door(store: &Store, keys: &Keys, caller: obvert_access::Caller) -> Door {
    let server = AccessServiceServer::new(access(store, keys));
    AccessServiceClient::new(InterceptedService::new(server, As(caller)))
}

/// Makes a key of the machine and gives its secret.
async fn made(office: &mut Door, key_id: &str) -> Result<String, tonic::Status> {
    let request = CreateKeyRequest {
        write: write_as(key_id),
        key_id: key_id.into(),
        principal: "machine/gis-sync".into(),
        bindings: vec![RoleBinding {
            project: "quillfern".into(),
            role: Role::Integrator.into(),
        }],
        valid_days: 30,
    };
    Ok(office.create_key(request).await?.into_inner().secret)
}

#[tokio::test]
async fn a_principal_has_two_keys_in_force_and_a_third_is_refused_until_one_ends() {
    let store = Store::empty().await;
    let keys = Keys::new(store.ledger.clone());
    let mut office = door(&store, &keys, office());
    made(&mut office, "k-1").await.unwrap();
    made(&mut office, "k-2").await.unwrap();
    let refused = made(&mut office, "k-3").await.unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
    let told = refused.message();
    assert!(
        told.contains("machine/gis-sync has 2 keys in force"),
        "{told}"
    );
    assert!(told.contains("revoke one first"), "{told}");
    let end = RevokeKeyRequest {
        write: write().map(|write| Write {
            reason: "the machine was replaced".into(),
            ..write
        }),
        name: "projects/office/keys/k-1".into(),
    };
    office.revoke_key(end).await.unwrap();
    made(&mut office, "k-3").await.unwrap();
}

#[tokio::test]
async fn a_principal_rotates_its_own_key_and_the_old_one_runs_out() {
    let store = Store::empty().await;
    let keys = Keys::new(store.ledger.clone());
    let old = made(&mut door(&store, &keys, office()), "k-7")
        .await
        .unwrap();
    keys.refresh().await.unwrap();
    let now = obvert_records::now_ms();
    let machine = keys.caller(&old, now).unwrap();
    let rotate = |id: &str| RotateKeyRequest {
        write: write(),
        name: format!("projects/office/keys/{id}"),
        key_id: "k-8".into(),
        valid_days: None,
        overlap_hours: Some(2),
    };
    let mut own = door(&store, &keys, machine.clone());
    let theirs = own.rotate_key(rotate("other")).await.unwrap_err();
    assert_eq!(reason(&theirs), "NOT_ALLOWED");
    let next = own.rotate_key(rotate("k-7")).await.unwrap().into_inner();
    keys.refresh().await.unwrap();
    let known = keys.caller(&next.secret, now).unwrap();
    assert_eq!(
        (known.principal, known.key_id),
        (machine.principal, "k-8".to_owned())
    );
    assert_eq!(known.bindings, machine.bindings);
    assert!(
        keys.caller(&old, now + HOUR_MS).is_ok(),
        "the old key overlaps"
    );
    let ended = keys.caller(&old, now + 3 * HOUR_MS).unwrap_err();
    assert!(ended.message.contains("expired"), "{ended}");
    assert!(keys.caller(&next.secret, now + 3 * HOUR_MS).is_ok());
}

#[tokio::test]
async fn the_last_use_of_keys_is_listed_and_kept_in_one_commit_for_all() {
    let store = Store::empty().await;
    let keys = Keys::new(store.ledger.clone());
    let mut door_office = door(&store, &keys, office());
    let mut secrets = Vec::new();
    for id in ["k-1", "k-2"] {
        secrets.push(made(&mut door_office, id).await.unwrap());
    }
    keys.refresh().await.unwrap();
    let before = head(&store).await;
    let now = obvert_records::now_ms();
    for secret in secrets.iter().chain(&secrets) {
        keys.caller(secret, now).unwrap();
    }
    assert_eq!(uses(&mut door_office).await, [Some(now), Some(now)]);
    assert_eq!(head(&store).await, before, "no call commits its use");
    keep_key_uses(&store.ledger, &keys, now).await.unwrap();
    keep_key_uses(&store.ledger, &keys, now).await.unwrap();
    assert_eq!(
        head(&store).await,
        before + 1,
        "one commit for both, none for none"
    );
    let afresh = Keys::new(store.ledger.clone());
    let mut door_office = door(&store, &afresh, office());
    assert_eq!(uses(&mut door_office).await, [Some(now), Some(now)]);
}

async fn head(store: &Store) -> i64 {
    store.ledger.head("office".into()).await.unwrap().revision
}

async fn uses(office: &mut Door) -> Vec<Option<i64>> {
    let listed = office.list_keys(ListKeysRequest {}).await.unwrap();
    let last = |key: ListedKey| key.last_use_time.as_ref().map(unix_ms);
    listed.into_inner().keys.into_iter().map(last).collect()
}
