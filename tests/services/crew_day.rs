//! The key of a crew's day: one role, one project, the work of its own days, and then it ends.

use jiff::{Timestamp, ToSpan, civil::Date, tz::TimeZone};
use obvert_access::{Caller, Keys};
use obvert_proto::{
    common::v1::LocalDate,
    dates::from_unix_ms,
    project::v1::{
        CreateCrewKeyRequest, DiameterPlace, DiameterReading, FieldSurvey, Role, record::Body,
    },
};

use super::{
    keys::access,
    store::{
        PROJECT, Store, caller, create, fact, named, office, reason, revise, segment, write_as,
    },
};

const HOUR_MS: i64 = 3_600_000;

/// Tomorrow at the site.
fn tomorrow() -> Date {
    let zone = TimeZone::get("America/New_York").unwrap();
    zone.to_datetime(Timestamp::now())
        .date()
        .tomorrow()
        .unwrap()
}

/// Tomorrow at the site at a full hour, in milliseconds since 1970-01-01T00:00:00Z.
fn tomorrow_ms(hour: i8) -> i64 {
    let zone = TimeZone::get("America/New_York").unwrap();
    let at = zone.to_timestamp(tomorrow().at(hour, 0, 0, 0)).unwrap();
    at.as_millisecond()
}

fn asking(ends: &str, ends_next_day: bool) -> CreateCrewKeyRequest {
    CreateCrewKeyRequest {
        write: write_as(&format!("crew-{ends}-{ends_next_day}")),
        project: PROJECT.into(),
        key_id: "crew-2".into(),
        work_date: Some(LocalDate::from_civil(tomorrow())),
        end_time_of_day: ends.into(),
        ends_next_day,
    }
}

/// A crew's key for tomorrow until 18:00, as its secret and as the caller it stands for.
async fn crew(store: &Store) -> (String, Keys, Caller) {
    let keys = Keys::new(store.ledger.clone());
    let (access, office) = (access(store, &keys), office());
    let made = access.crew_day(&office, asking("18:00", false));
    let made = made.await.unwrap();
    assert_eq!(made.sign_in_path, format!("/sign-in#{}", made.secret));
    keys.refresh().await.unwrap();
    let known = keys.caller(&made.secret, obvert_records::now_ms()).unwrap();
    (made.secret, keys, known)
}

#[tokio::test]
async fn a_crew_s_key_ends_an_hour_after_its_shift_in_the_time_zone_of_the_site() {
    let store = Store::with_project().await;
    let (secret, keys, known) = crew(&store).await;
    assert_eq!(known.principal, "crew/crew-2");
    let roles = known
        .bindings
        .iter()
        .map(|b| (b.project.as_str(), b.role()));
    assert_eq!(roles.collect::<Vec<_>>(), [(PROJECT, Role::Crew)]);
    let end_ms = tomorrow_ms(18);
    assert_eq!(known.expire_time_ms, end_ms + HOUR_MS);
    assert!(keys.caller(&secret, end_ms + HOUR_MS - 1).is_ok());
    let ended = keys.caller(&secret, end_ms + HOUR_MS).unwrap_err();
    assert!(ended.message.contains("has expired"), "{ended}");
    assert!(keys.still("crew-2", end_ms + HOUR_MS).is_err());
}

#[tokio::test]
async fn a_shift_over_midnight_has_two_days_and_one_that_is_over_gets_no_key() {
    let store = Store::with_project().await;
    let keys = Keys::new(store.ledger.clone());
    let access = access(&store, &keys);
    let made = access.crew_day(&office(), asking("02:00", true)).await;
    let shift = made.unwrap().key.unwrap().shift.unwrap();
    let day = tomorrow();
    assert_eq!(shift.first_date.unwrap().to_civil(), Some(day));
    let next = day.checked_add(1.day()).ok();
    assert_eq!(shift.last_date.unwrap().to_civil(), next);
    let past = CreateCrewKeyRequest {
        key_id: "crew-3".into(),
        work_date: Some(LocalDate::from_civil(day.checked_sub(3.days()).unwrap())),
        ..asking("18:00", false)
    };
    let refused = access.crew_day(&office(), past).await.unwrap_err();
    assert!(refused.to_string().contains("must lie ahead"), "{refused}");
    let wrong = asking("six", false);
    let refused = access.crew_day(&office(), wrong).await.unwrap_err();
    assert!(refused.to_string().contains("such as 18:00"), "{refused}");
    let crew = caller(Role::Crew, PROJECT);
    let denied = access.crew_day(&crew, asking("18:00", false)).await;
    let told = denied.unwrap_err().to_string();
    assert!(told.contains("may not make keys of a crew's day"), "{told}");
}

#[tokio::test]
async fn a_crew_s_key_writes_the_work_of_its_own_day_only() {
    let store = Store::with_project().await;
    let (_, _, known) = crew(&store).await;
    let mut by_office = store.projects(office());
    let pipe = Body::Segment(segment("Q-014", "MH-7", "MH-8"));
    create(&mut by_office, PROJECT, "s-014", pipe)
        .await
        .unwrap();
    let mut crew = store.projects(known);
    let own = tomorrow_ms(9);
    let other = own - 48 * HOUR_MS;
    create(&mut crew, PROJECT, "f-1", survey(own))
        .await
        .unwrap();
    let refused = create(&mut crew, PROJECT, "f-2", survey(other)).await;
    let refused = refused.unwrap_err();
    assert_eq!(reason(&refused), "NOT_ALLOWED");
    assert_eq!(fact(&refused, "first_date"), tomorrow().to_string());
    // What was filed of another day is not the crew's to revise, not even to its own day.
    let filed = create(&mut by_office, PROJECT, "f-3", survey(other)).await;
    let meta = filed.unwrap().meta.unwrap();
    let refused = revise(&mut crew, &meta.name, &meta.etag, survey(own)).await;
    assert_eq!(reason(&refused.unwrap_err()), "NOT_ALLOWED");
}

fn survey(at_ms: i64) -> Body {
    let reading = |place: DiameterPlace| DiameterReading {
        place: place.into(),
        max_diameter_mm: 202.0,
        min_diameter_mm: 199.0,
    };
    Body::FieldSurvey(FieldSurvey {
        segment: named("segments", "s-014"),
        survey_time: Some(from_unix_ms(at_ms)),
        diameters: vec![
            reading(DiameterPlace::UpstreamEnd),
            reading(DiameterPlace::Inside),
            reading(DiameterPlace::DownstreamEnd),
        ],
        length_wall_to_wall_m: 90.2,
        groundwater_above_crown_m: None,
        surveyor: "K. L.".into(),
    })
}
