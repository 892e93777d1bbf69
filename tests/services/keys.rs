//! Keys: shown once, ended for good, never listed with their digest.

use obvert_access::{Keys, LinkSigner, digest_of};
use obvert_project::{Access, Links, bootstrap_key};
use obvert_proto::{
    common::v1::Write,
    project::v1::{
        CreateKeyRequest, ListKeysRequest, RevokeKeyRequest, Role, RoleBinding, WhoAmIRequest,
        access_service_client::AccessServiceClient, access_service_server::AccessServiceServer,
    },
};
use tonic::service::interceptor::InterceptedService;

use super::store::{As, Store, caller, fact, office, reason, violates, write, write_as};

const NOW_MS: i64 = 1_770_000_000_000;

type Door = AccessServiceClient<InterceptedService<AccessServiceServer<Access>, As>>;

fn door(store: &Store, caller: obvert_access::Caller) -> Door {
    let keys = Keys::new(store.ledger.clone());
    let server = AccessServiceServer::new(access(store, &keys));
    AccessServiceClient::new(InterceptedService::new(server, As(caller)))
}

/// The service over a store, with what is known of its keys.
pub(super) fn access(store: &Store, keys: &Keys) -> Access {
    let links = Links::new(store.ledger.clone(), LinkSigner::new(&[7; 32]));
    Access::new(store.ledger.clone(), keys.clone(), links)
}

fn asking(key_id: &str, request_id: &str) -> CreateKeyRequest {
    CreateKeyRequest {
        write: write_as(request_id),
        key_id: key_id.into(),
        principal: "machine/gis-sync".into(),
        bindings: vec![RoleBinding {
            project: "quillfern".into(),
            role: Role::Integrator.into(),
        }],
        valid_days: 30,
    }
}

#[tokio::test]
async fn a_key_works_from_its_secret_which_a_repeated_request_does_not_show_again() {
    let store = Store::empty().await;
    let mut office = door(&store, office());
    let made = office
        .create_key(asking("k-7", "key-7"))
        .await
        .unwrap()
        .into_inner();
    assert_eq!(
        made.key.unwrap().secret_sha256,
        b"",
        "the digest is not shown"
    );
    let keys = Keys::new(store.ledger.clone());
    keys.refresh().await.unwrap();
    let known = keys.caller(&made.secret, NOW_MS).unwrap();
    assert_eq!(
        (known.principal.as_str(), known.key_id.as_str()),
        ("machine/gis-sync", "k-7")
    );
    let again = office.create_key(asking("k-7", "key-7")).await.unwrap_err();
    assert_eq!(reason(&again), "REQUEST_ID_REUSED");
    assert!(
        again.message().contains("its secret was shown then, once"),
        "{}",
        again.message()
    );
    assert_eq!(fact(&again, "name"), made.name);
    let exists = office.create_key(asking("k-7", "key-8")).await.unwrap_err();
    assert_eq!(reason(&exists), "RECORD_EXISTS");
}

#[tokio::test]
async fn only_the_digest_of_a_secret_is_committed_and_no_list_shows_it() {
    let store = Store::empty().await;
    let mut office = door(&store, office());
    let made = office
        .create_key(asking("k-7", "key-7"))
        .await
        .unwrap()
        .into_inner();
    let commit = store
        .ledger
        .commit_bytes("office".into(), 1)
        .await
        .unwrap()
        .unwrap();
    let holds = |text: &[u8]| commit.windows(text.len()).any(|window| window == text);
    assert!(!holds(made.secret.as_bytes()));
    assert!(holds(&digest_of(&made.secret).unwrap()));
    let listed = office
        .list_keys(ListKeysRequest {})
        .await
        .unwrap()
        .into_inner()
        .keys;
    assert_eq!(listed.len(), 1);
    assert_eq!(
        listed[0].meta.as_ref().unwrap().name,
        "projects/office/keys/k-7"
    );
    assert_eq!(listed[0].key.as_ref().unwrap().secret_sha256, b"");
}

#[tokio::test]
async fn a_revoked_key_is_refused_from_then_on_and_stays_revoked() {
    let store = Store::empty().await;
    let mut office = door(&store, office());
    let made = office
        .create_key(asking("k-7", "key-7"))
        .await
        .unwrap()
        .into_inner();
    let request = |reason: &str| RevokeKeyRequest {
        write: write().map(|write| Write {
            reason: reason.into(),
            ..write
        }),
        name: made.name.clone(),
    };
    let refused = office.revoke_key(request("")).await.unwrap_err();
    violates(&refused, &[("write.reason", "say why the key is ended")]);
    let ended = office
        .revoke_key(request("laptop lost"))
        .await
        .unwrap()
        .into_inner();
    assert!(ended.revoke_time.is_some());
    let keys = Keys::new(store.ledger.clone());
    keys.refresh().await.unwrap();
    let refused = keys.caller(&made.secret, NOW_MS).unwrap_err();
    assert!(refused.message.contains("revoked"), "{refused}");
    let again = office
        .revoke_key(request("asked twice"))
        .await
        .unwrap()
        .into_inner();
    assert_eq!(again.revoke_time, ended.revoke_time);
}

#[tokio::test]
async fn keys_are_managed_by_the_office_of_the_store_only() {
    let store = Store::empty().await;
    for caller in [caller(Role::Office, "quillfern"), caller(Role::Owner, "*")] {
        let mut other = door(&store, caller);
        let denied = other.create_key(asking("k-7", "key-7")).await.unwrap_err();
        assert_eq!(reason(&denied), "NOT_ALLOWED");
        let listed = other.list_keys(ListKeysRequest {}).await.unwrap();
        assert_eq!(listed.into_inner().keys, [], "nobody lists another's keys");
    }
    let mut crew = door(&store, caller(Role::Crew, "quillfern"));
    let known = crew.who_am_i(WhoAmIRequest {}).await.unwrap().into_inner();
    assert_eq!(
        (known.principal.as_str(), known.key_id.as_str()),
        ("person/crew", "k-1")
    );
}

#[tokio::test]
async fn all_that_is_wrong_with_an_asked_key_is_said_at_once() {
    let store = Store::empty().await;
    let mut office = door(&store, office());
    let binding = |project: &str| RoleBinding {
        project: project.into(),
        role: 2,
    };
    let wrong = CreateKeyRequest {
        principal: "ines.holt".into(),
        bindings: vec![
            binding("All Projects"),
            binding("quillfern"),
            binding("quillfern"),
        ],
        ..asking("Key 7", "key-7")
    };
    let refused = office.create_key(wrong).await.unwrap_err();
    let expected = [
        ("key_id", "Key 7"),
        ("principal", "write person/ or machine/ and an id"),
        ("bindings[0].project", "All Projects"),
        ("bindings[2]", "gives crew in quillfern again"),
    ];
    violates(&refused, &expected);
    let wrong = CreateKeyRequest {
        valid_days: 2_000,
        ..asking("k-7", "key-7")
    };
    let refused = office.create_key(wrong).await.unwrap_err();
    violates(&refused, &[("valid_days", "0 to 1100 days")]);
}

#[tokio::test]
async fn a_store_without_keys_gets_one_for_the_office_and_only_one() {
    let store = Store::empty().await;
    let secret = bootstrap_key(&store.ledger, [7; 32], NOW_MS)
        .await
        .unwrap()
        .unwrap();
    assert_eq!(
        bootstrap_key(&store.ledger, [8; 32], NOW_MS).await.unwrap(),
        None
    );
    let keys = Keys::new(store.ledger.clone());
    keys.refresh().await.unwrap();
    let known = keys.caller(&secret, NOW_MS).unwrap();
    assert_eq!(known.key_id, "bootstrap");
    let mut door = door(&store, known);
    door.create_key(asking("k-7", "key-7")).await.unwrap();
}
