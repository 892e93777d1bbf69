//! Statuses for which there is no room: right all the same, and no more kept than there is room for.

use obvert_closeout::{StatusRoom as Room, Statuses, load_segment};
use obvert_ledger::{Ledger, LedgerConfig};
use obvert_proto::project::v1::Parcel;

use super::{
    fixture::{Fixture, full, many, store},
    statuses::Project,
};

#[tokio::test]
async fn without_room_every_status_is_right_and_no_more_is_kept() {
    let room = Room {
        statuses: 2,
        office_names: 3,
    };
    let mut project = Project::filled_with(false, room).await;
    for _ in 0..4 {
        assert!((1..=3).contains(&project.compare().await));
        assert_eq!(project.statuses.size().await.statuses, 2);
    }
    for _ in 0..9 {
        project.change(11, 0, 0).await;
    }
    project.compare().await;
    assert_eq!(project.statuses.size().await.office_names, 3);
    // The sheet changes, and what says so is forgotten before a commit makes it count.
    project.change(9, 0, 1).await;
    for _ in 0..9 {
        project.change(11, 0, 0).await;
    }
    project.compare().await;
    project
        .write(&full("parcels/p-9"), &Parcel::default())
        .await;
    assert_eq!(project.compare().await, 3, "nothing is known of that time");
    let stored = project.statuses.size().await;
    assert!(stored.statuses <= 2 && stored.office_names <= 3);
}

#[tokio::test]
async fn one_segment_more_than_there_is_room_for_costs_few_evaluations_each_round() {
    let folder = tempfile::tempdir().unwrap();
    let ledger = Ledger::open(LedgerConfig::new(folder.path())).await;
    let ledger = ledger.unwrap();
    let mut fixture = Fixture::clean();
    store::fill(&ledger, &mut fixture).await;
    many::copy(&ledger, &fixture, 11).await;
    let room = Room {
        statuses: 10,
        ..Room::default()
    };
    let statuses = Statuses::with_room(ledger.clone(), room);
    let now = statuses.now("quillfern").await.unwrap();
    let rounds = 6;
    for _ in 0..rounds {
        for number in 0..=11 {
            let status = statuses.at(&many::segment(number), now).await.unwrap();
            let whole = load_segment(&ledger, &many::segment(number), now.revision).await;
            assert_eq!(status, whole.unwrap().status());
        }
        assert_eq!(statuses.size().await.statuses, 10);
    }
    // By age, each round would work out all 12 again.
    let again = statuses.evaluation_count() - 12;
    assert!(again < 12 * (rounds - 1) * 3 / 4, "{again} evaluations");
}
