//! A build stops when in whose name it works may not any more, and goes on in another's.

use std::collections::BTreeSet;

use futures::StreamExt;
use obvert_access::Caller;
use obvert_closeout::Closeout;
use obvert_ledger::Ledger;
use obvert_proto::{
    closeout::v1::{
        Build, BuildState, BuildStatus, Package, ResumeBuildRequest, WatchBuildRequest,
        closeout_service_server::CloseoutService,
    },
    dates::from_unix_ms,
    project::v1::{ApiKey, Role},
};
use prost::Message;
use tonic::Status;

use super::{
    assembling::{Store, caller, request},
    building::{
        begun, file_key, key, left, packages, reason, service, two_segments, watched, write,
    },
    sample::{blobs, logged, press},
};
use crate::closeout::fixture::{full, many};

const NAME: &str = "builds/b-left";

/// The build that a stopped server left, taken up by the next one with the key in such a state.
async fn stopped_by(ledger: &Ledger, state: &ApiKey) -> (Closeout, Build) {
    left(ledger, &full(NAME)).await;
    file_key(ledger, "k-1", state).await;
    let service = service(ledger, press());
    service.resume_builds().await.unwrap();
    let last = watched(&service, &full(NAME)).await.pop().unwrap();
    (service, last)
}

async fn resumed(
    service: &Closeout,
    name: &str,
    by: Caller,
    id: &str,
) -> Result<BuildStatus, Status> {
    let message = ResumeBuildRequest {
        write: write(id),
        name: name.into(),
    };
    Ok(service
        .resume_build(request(message, by))
        .await?
        .into_inner())
}

/// The key of who began it once it is revoked.
fn revoked() -> ApiKey {
    ApiKey {
        revoke_time: Some(from_unix_ms(1_800_000_000_000)),
        ..key(Role::Owner)
    }
}

/// Files the key of [`another`].
async fn file_own(ledger: &Ledger) {
    let own = ApiKey {
        principal: "person/ines-holt".into(),
        ..key(Role::Office)
    };
    file_key(ledger, "k-2", &own).await;
}

/// Another who may assemble packages.
fn another() -> Caller {
    Caller {
        principal: "person/ines-holt".into(),
        key_id: "k-2".into(),
        ..caller(Role::Office)
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_build_stops_before_the_next_package_once_its_starter_may_not_any_more() {
    let expired = ApiKey {
        expire_time: Some(from_unix_ms(1_500_000_000_000)),
        ..key(Role::Owner)
    };
    for (state, why) in [
        (
            revoked(),
            "person/ruan-ashgill has no key in force any more",
        ),
        (expired, "person/ruan-ashgill has no key in force any more"),
        (
            key(Role::Crew),
            "no key in force of person/ruan-ashgill may do this",
        ),
    ] {
        let store = two_segments().await;
        let (_, last) = stopped_by(&store.ledger, &state).await;
        assert_eq!(last.state(), BuildState::Stopped);
        assert!(last.stop_reason.contains(why), "{}", last.stop_reason);
        assert!(packages(&store.ledger).await.is_empty());
        let build = store.ledger.get(full(NAME), 0).await.unwrap().unwrap();
        assert_eq!(build.caller.principal, "server", "nobody's act");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn another_key_of_the_same_principal_keeps_its_build_going() {
    let store = two_segments().await;
    file_key(&store.ledger, "k-9", &key(Role::Owner)).await;
    let (_, last) = stopped_by(&store.ledger, &revoked()).await;
    assert_eq!((last.state(), last.package_count), (BuildState::Done, 1));
    assert!(last.stop_reason.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn who_may_goes_on_with_a_stopped_build_in_its_own_name() {
    let store = two_segments().await;
    let ledger = &store.ledger;
    let (service, last) = stopped_by(ledger, &key(Role::Crew)).await;
    assert_eq!(last.state(), BuildState::Stopped);
    let refused = resumed(&service, &full(NAME), caller(Role::Crew), "one").await;
    assert_eq!(reason(&refused.unwrap_err()), "NOT_ALLOWED");
    file_own(ledger).await;
    let status = resumed(&service, &full(NAME), another(), "two")
        .await
        .unwrap();
    assert_eq!(status.build.unwrap().state(), BuildState::Running);
    let last = watched(&service, &full(NAME)).await.pop().unwrap();
    assert_eq!((last.state(), last.package_count), (BuildState::Done, 1));
    let made = packages(ledger).await;
    assert_eq!(made[0].caller.principal, "person/ines-holt");
    let refused = resumed(&service, &full(NAME), another(), "three").await;
    assert_eq!(reason(&refused.unwrap_err()), "ACT_REFUSED");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stopped_build_keeps_no_other_from_beginning() {
    let store = two_segments().await;
    let (service, _) = stopped_by(&store.ledger, &key(Role::Crew)).await;
    file_key(&store.ledger, "k-1", &key(Role::Owner)).await;
    let begun = begun(&service, "next").await.unwrap();
    let next = begun.meta.unwrap().name;
    let last = watched(&service, &next).await.pop().unwrap();
    assert_eq!((last.state(), last.package_count), (BuildState::Done, 1));
    let status = resumed(&service, &full(NAME), caller(Role::Owner), "again")
        .await
        .unwrap();
    assert_eq!(status.build.unwrap().state(), BuildState::Running);
    let last = watched(&service, &full(NAME)).await.pop().unwrap();
    assert_eq!(last.state(), BuildState::Done);
}

/// Waits until a build under way has made a package.
async fn first_package(service: &Closeout, name: &str) {
    let message = WatchBuildRequest { name: name.into() };
    let states = service.watch_build(request(message, caller(Role::Auditor)));
    let mut states = states.await.unwrap().into_inner();
    while let Some(state) = states.next().await {
        if state.unwrap().build.unwrap().package_count > 0 {
            return;
        }
    }
    panic!("the build ended without a package");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_key_revoked_under_way_stops_the_build_and_another_makes_only_what_is_missing() {
    // The revocation passes through the same committer as each package, long before the last.
    const SEGMENTS: usize = 8;
    let store = Store::empty().await;
    let ledger = &store.ledger;
    for blob in blobs().into_values() {
        ledger.blobs().put(blob).await.unwrap();
    }
    many::accepted(ledger, &mut logged(), SEGMENTS).await;
    file_key(ledger, "k-1", &key(Role::Owner)).await;
    let service = service(ledger, press());
    let name = begun(&service, "one").await.unwrap().meta.unwrap().name;
    first_package(&service, &name).await;
    file_key(ledger, "k-1", &revoked()).await;
    let last = watched(&service, &name).await.pop().unwrap();
    assert_eq!(last.state(), BuildState::Stopped, "{last:?}");
    let why = "person/ruan-ashgill has no key in force any more";
    assert!(last.stop_reason.contains(why), "{}", last.stop_reason);
    let before = packages(ledger).await;
    assert!((1..SEGMENTS).contains(&before.len()), "{}", before.len());
    assert_eq!(last.package_count as usize, before.len());
    file_own(ledger).await;
    resumed(&service, &name, another(), "two").await.unwrap();
    let last = watched(&service, &name).await.pop().unwrap();
    assert_eq!(last.state(), BuildState::Done, "{last:?}");
    assert_eq!(last.package_count as usize, SEGMENTS);
    let after = packages(ledger).await;
    assert_eq!(after.len(), SEGMENTS);
    let mut segments = BTreeSet::new();
    for made in after {
        let began = before.iter().find(|known| known.name == made.name);
        match began {
            Some(began) => assert_eq!(&made, began, "what was finished stays as it was"),
            None => assert_eq!(made.caller.principal, "person/ines-holt"),
        }
        segments.insert(Package::decode(made.body).unwrap().segment);
    }
    assert_eq!(segments.len(), SEGMENTS, "one for each segment");
}
