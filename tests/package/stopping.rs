//! A build stops when in whose name it works may not any more, and goes on in another's.

use obvert_access::Caller;
use obvert_closeout::Closeout;
use obvert_ledger::Ledger;
use obvert_proto::{
    closeout::v1::{
        Build, BuildState, BuildStatus, ResumeBuildRequest,
        closeout_service_server::CloseoutService,
    },
    dates::from_unix_ms,
    project::v1::{ApiKey, Role},
};
use tonic::Status;

use super::{
    assembling::{caller, request},
    building::{
        begun, file_key, key, left, packages, reason, service, two_segments, watched, write,
    },
    sample::press,
};
use crate::closeout::fixture::full;

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

async fn resumed(service: &Closeout, by: Caller, id: &str) -> Result<BuildStatus, Status> {
    let message = ResumeBuildRequest {
        write: write(id),
        name: full(NAME),
    };
    Ok(service
        .resume_build(request(message, by))
        .await?
        .into_inner())
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
    let revoked = ApiKey {
        revoke_time: Some(from_unix_ms(1_800_000_000_000)),
        ..key(Role::Owner)
    };
    let expired = ApiKey {
        expire_time: Some(from_unix_ms(1_500_000_000_000)),
        ..key(Role::Owner)
    };
    for (state, why) in [
        (revoked, "person/ruan-ashgill has no key in force any more"),
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
    let revoked = ApiKey {
        revoke_time: Some(from_unix_ms(1_800_000_000_000)),
        ..key(Role::Owner)
    };
    let (_, last) = stopped_by(&store.ledger, &revoked).await;
    assert_eq!((last.state(), last.package_count), (BuildState::Done, 1));
    assert!(last.stop_reason.is_empty());
}

#[tokio::test(flavor = "multi_thread")]
async fn who_may_goes_on_with_a_stopped_build_in_its_own_name() {
    let store = two_segments().await;
    let ledger = &store.ledger;
    let (service, last) = stopped_by(ledger, &key(Role::Crew)).await;
    assert_eq!(last.state(), BuildState::Stopped);
    let refused = resumed(&service, caller(Role::Crew), "one").await;
    assert_eq!(reason(&refused.unwrap_err()), "NOT_ALLOWED");
    let own = ApiKey {
        principal: "person/ines-holt".into(),
        ..key(Role::Office)
    };
    file_key(ledger, "k-2", &own).await;
    let status = resumed(&service, another(), "two").await.unwrap();
    assert_eq!(status.build.unwrap().state(), BuildState::Running);
    let last = watched(&service, &full(NAME)).await.pop().unwrap();
    assert_eq!((last.state(), last.package_count), (BuildState::Done, 1));
    let made = packages(ledger).await;
    assert_eq!(made[0].caller.principal, "person/ines-holt");
    let refused = resumed(&service, another(), "three").await;
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
    let status = resumed(&service, caller(Role::Owner), "again")
        .await
        .unwrap();
    assert_eq!(status.build.unwrap().state(), BuildState::Running);
    let last = watched(&service, &full(NAME)).await.pop().unwrap();
    assert_eq!(last.state(), BuildState::Done);
}
