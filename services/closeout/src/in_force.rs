//! Which release of a point is in force, and why one is no more.
//!
//! A release stands while the facts do that it rests on, and a variance until its last day.

use obvert_proto::{
    closeout::v1::{PointClass, Release, ReleaseKind},
    common::v1::Finding,
};

use crate::{
    hold_points::{Found, Judging, Outcome, found},
    segment_file::{Kept, SegmentFile},
    witness,
};

/// Finding that a release stands no more.
const REOPENED: &str = "release-reopened";
/// Its fact for a variance that ran out: the last day on which it stood.
const RAN_OUT: &str = "ran_out_date";

/// Whether a finding says why a point is open: it holds, or a variance ran out and leaves what held.
pub(crate) fn tells_why(finding: &Finding) -> bool {
    finding.holds || finding.facts.contains_key(RAN_OUT)
}

/// The release in force, and the last one that no longer stands.
pub(crate) fn releases<'a>(
    judging: &Judging<'a>,
    outcome: &Outcome,
) -> (Option<&'a Kept<Release>>, Option<&'a Kept<Release>>) {
    let point = judging.point;
    let file = judging.file;
    let allowed = |release: &&Kept<Release>| match release.release_kind() {
        ReleaseKind::Variance => point.varied_by.contains(&release.role),
        ReleaseKind::Lapse => point.class == PointClass::Witness,
        ReleaseKind::Release => point.released_by.contains(&release.role),
        ReleaseKind::Unspecified => false,
    };
    let own = file
        .releases
        .iter()
        .filter(|release| release.point == point.id)
        .filter(allowed);
    let mut own: Vec<_> = own.collect();
    own.sort_by_key(|release| release.revision);
    let stands = |release: &&&Kept<Release>| {
        let digest = witness::digest_now(file, point, outcome.facts_digest, release);
        !has_run_out(file, release)
            && digest.is_some_and(|digest| release.facts_digest == digest[..])
    };
    let current = own.iter().rev().find(stands).copied();
    let lost = own.iter().rev().find(|release| !stands(release)).copied();
    (current, if current.is_some() { None } else { lost })
}

/// Whether the day on which a release ends is past, or is none.
fn has_run_out(file: &SegmentFile, release: &Release) -> bool {
    let today = file.local_date(file.commit_time_ms);
    let until = release.valid_until_date.as_ref();
    until.is_some_and(|until| until.to_civil().is_none_or(|until| until < today))
}

/// Note of a release that stands no more, and why.
pub(crate) fn reopened_by(file: &SegmentFile, lost: &Kept<Release>) -> Found {
    let given = file.local_time(lost.commit_time_ms);
    let until = lost.valid_until_date.as_ref().and_then(|d| d.to_civil());
    match until.filter(|_| has_run_out(file, lost)) {
        Some(until) => {
            let message = format!(
                "the variance of {given} ran out on {until}: settle what holds, or have another given"
            );
            found(REOPENED, message).fact(RAN_OUT, until)
        }
        None => {
            let message = format!(
                "the release of {given} rested on other facts: look at the evidence and release \
                 again"
            );
            found(REOPENED, message)
        }
    }
    .of(lost.record())
}
