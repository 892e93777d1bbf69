//! What holds a segment in one line, for lists of many segments.

use obvert_proto::{
    closeout::v1::{PointState, PointStatus, SegmentStatus, Verdict},
    common::v1::Finding,
};

use crate::{PAST, in_force::tells_why};

/// The point that says most about why a segment is not accepted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FirstHeld {
    /// Title of the point.
    pub title: String,
    /// The first finding that holds it, or that it awaits its release.
    pub reason: String,
    /// Where it stands.
    pub state: PointState,
    /// Points beside it that are held or await a release.
    pub more_count: usize,
}

impl FirstHeld {
    /// The point of a segment that its evidence holds; else one that awaits its release; else one
    /// that waits for others. None when every point is past.
    pub fn of(status: &SegmentStatus) -> Option<Self> {
        let open: Vec<_> = status
            .points
            .iter()
            .filter(|point| !PAST.contains(&point.state()))
            .collect();
        let awaits = |point: &&&PointStatus| point.state() == PointState::AwaitsRelease;
        let by_evidence =
            |point: &&&PointStatus| !awaits(point) && point.verdict() == Verdict::Held;
        let first = open.iter().find(by_evidence);
        let first = first.or_else(|| open.iter().find(awaits));
        let first = first.or(open.first())?;
        let ran_out = |finding: &&Finding| !finding.holds && tells_why(finding);
        let ran_out = first.findings.iter().find(ran_out);
        let holding = first.findings.iter().find(|finding| finding.holds);
        let holding = ran_out.or(holding);
        let reason = match (first.state(), holding) {
            (PointState::AwaitsRelease, _) => "awaits its release".to_owned(),
            (_, Some(finding)) => finding.message.clone(),
            (_, None) => "held".to_owned(),
        };
        Some(Self {
            title: first.title.clone(),
            reason,
            state: first.state(),
            more_count: open.len() - 1,
        })
    }

    /// All of it as one line.
    pub fn words(&self) -> String {
        let line = format!("{}: {}", self.title, self.reason);
        match self.more_count {
            0 => line,
            1 => format!("{line}; and 1 more point"),
            count => format!("{line}; and {count} more points"),
        }
    }
}
