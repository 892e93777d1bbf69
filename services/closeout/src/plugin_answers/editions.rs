//! Which version of a plug-in answers now.

use std::time::Duration;

use obvert_plugins::{Edition, Kind, Plugin, edition};
use tokio::time::Instant;

use super::{RETRY_FIRST, RETRY_LONGEST};

/// How often a plug-in is asked who it is: without a commit, and at most after each.
const EVERY: Duration = Duration::from_secs(10);
const SHORTEST: Duration = Duration::from_secs(1);

/// Editions of the services whose answers are kept; none where it was never said.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Editions {
    evaluator: Option<Edition>,
    section: Option<Edition>,
}

/// The editions that count, with when they were asked for and taken.
#[derive(Default)]
pub(super) struct Versions {
    taken: Editions,
    asked_at: Option<Instant>,
    taken_at: Option<Instant>,
    wait: Duration,
}

impl Editions {
    /// Edition of a service.
    pub(super) fn of(&self, kind: Kind) -> Option<&Edition> {
        match kind {
            Kind::Evaluator => self.evaluator.as_ref(),
            Kind::PackageSection => self.section.as_ref(),
            Kind::LogReader => None,
        }
    }
}

impl Versions {
    /// The editions whose answers are wanted.
    pub(super) fn taken(&self) -> &Editions {
        &self.taken
    }

    /// When the plug-in is asked who it is though nothing was written.
    pub(super) fn next(&self) -> Instant {
        self.asked_at.unwrap_or_else(Instant::now) + EVERY
    }

    /// Asks the plug-in who it is, unless it was asked just now. One that does not say is taken for
    /// what it was. One that is another at each call is taken for another later and later, so that
    /// it fills no journal.
    pub(super) async fn renew(&mut self, plugin: &Plugin) {
        let begun = Instant::now();
        if self.asked_at.is_some_and(|at| begun < at + SHORTEST) {
            return;
        }
        let mut heard = self.taken.clone();
        if plugin.is(Kind::Evaluator) {
            heard.evaluator = edition(plugin, Kind::Evaluator).await.or(heard.evaluator);
        }
        if plugin.is(Kind::PackageSection) {
            let section = edition(plugin, Kind::PackageSection).await;
            heard.section = section.or(heard.section);
        }
        let now = Instant::now();
        self.asked_at = Some(now);
        let stood = self.taken_at.map(|at| now - at);
        if heard == self.taken || stood.is_some_and(|stood| stood < self.wait) {
            return;
        }
        self.wait = match stood {
            Some(stood) if stood < RETRY_LONGEST => (self.wait * 2).min(RETRY_LONGEST),
            _ => RETRY_FIRST,
        };
        self.taken = heard;
        self.taken_at = Some(now);
    }
}
