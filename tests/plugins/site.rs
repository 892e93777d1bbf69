//! The clean segment in a ledger, under a plan with points that plug-ins judge.

use std::time::{Duration, Instant};

use obvert_closeout::{Statuses, keep_plugin_answers, load_segment};
use obvert_ledger::{Ledger, LedgerConfig};
use obvert_plugins::Plugin;
use obvert_proto::closeout::v1::{PointStatus, SegmentStatus};
use prost::{Message, Name};
use tempfile::TempDir;
use tokio::sync::watch;

use crate::{
    closeout::fixture::{Fixture, PLAN, SEGMENT, full, point_of, store},
    package::sample,
    server::support::PATIENCE,
};

/// A ledger with the segment, and the tasks that ask plug-ins about it.
pub(super) struct Site {
    _folder: TempDir,
    pub(super) ledger: Ledger,
    pub(super) fixture: Fixture,
    stop: watch::Sender<bool>,
}

/// A review point that a plug-in of the same name judges.
pub(super) fn point(id: &str, settings: &str) -> String {
    format!(
        "\n[[point]]\nid = \"{id}\"\ntitle = \"A check of the owner's own\"\n\
         stage = \"acceptance\"\nclass = \"review\"\nevaluator = \"plug-in\"\n\
         parameters = {{ evaluator = \"{id}\", settings = [{settings}] }}\n"
    )
}

/// The same as a hold point, which a person must release.
pub(super) fn hold_point(id: &str) -> String {
    let review = "class = \"review\"";
    point(id, "").replace(review, "class = \"hold\"\nreleased_by = [\"owner\"]")
}

impl Site {
    /// The segment under the example plan with more points.
    pub(super) async fn under(points: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let ledger = Ledger::open(LedgerConfig::new(folder.path()))
            .await
            .unwrap();
        let mut fixture = sample::logged();
        for blob in sample::blobs().into_values() {
            ledger.blobs().put(blob).await.unwrap();
        }
        store::fill_under(&ledger, &mut fixture, &format!("{PLAN}{points}")).await;
        Self {
            _folder: folder,
            ledger,
            fixture,
            stop: watch::channel(false).0,
        }
    }

    /// Asks a plug-in from now on, as the server does.
    pub(super) fn ask(&self, plugin: Plugin) {
        spawn(&self.ledger, plugin, self.stop.subscribe());
    }

    pub(super) async fn status(&self) -> SegmentStatus {
        load_segment(&self.ledger, SEGMENT, 0)
            .await
            .unwrap()
            .status()
    }

    /// The status once a point is as wanted.
    pub(super) async fn until(
        &self,
        id: &str,
        wanted: impl Fn(&PointStatus) -> bool,
    ) -> SegmentStatus {
        within_patience(async || {
            let status = self.status().await;
            wanted(point_of(&status, id)).then_some(status)
        })
        .await
    }

    /// Revises a record in the ledger.
    pub(super) async fn edit<M: Message + Name + Default>(
        &mut self,
        short: &str,
        change: impl FnOnce(&mut M),
    ) {
        self.fixture.edit(short, change);
        let stored = &self.fixture.records[&full(short)];
        // The request id is made of the name; one revision of a record is enough for a test.
        store::commit(
            &self.ledger,
            "quillfern",
            vec![stored],
            stored.commit_time_ms,
        )
        .await;
    }
}

/// Asks a plug-in about the segments of a ledger until the sender is dropped.
pub(super) fn ask(ledger: &Ledger, plugin: Plugin) -> watch::Sender<bool> {
    let (stop, stopped) = watch::channel(false);
    spawn(ledger, plugin, stopped);
    stop
}

fn spawn(ledger: &Ledger, plugin: Plugin, stop: watch::Receiver<bool>) {
    let statuses = Statuses::new(ledger.clone());
    tokio::spawn(keep_plugin_answers(ledger.clone(), statuses, plugin, stop));
}

/// What a question gives once it gives something.
pub(super) async fn within_patience<T>(question: impl AsyncFn() -> Option<T>) -> T {
    let begun = Instant::now();
    loop {
        if let Some(answer) = question().await {
            return answer;
        }
        assert!(begun.elapsed() < PATIENCE, "it does not come");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

/// Whether a point is held by a finding of a code.
pub(super) fn is_held_by(point: &PointStatus, code: &str) -> bool {
    let mut findings = point.findings.iter();
    findings.any(|finding| finding.holds && finding.code == code)
}
