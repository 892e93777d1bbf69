//! ListReleases: who released what on which evidence, replayed at any revision.

use obvert_proto::closeout::v1::{
    GivenRelease, ListReleasesResponse, PointState, Release, SegmentStatus,
};
use obvert_records::meta;

use crate::Loaded;

/// Every release of the loaded segment in the order in which they were given.
pub(super) fn given(loaded: &Loaded) -> ListReleasesResponse {
    let status = loaded.status();
    let mut own: Vec<_> = loaded.file.releases.iter().collect();
    own.sort_by_key(|release| (release.revision, &release.name));
    let stored = |name: &str| loaded.gathered.records.iter().find(|s| s.name == name);
    let releases = own.into_iter().map(|kept| {
        let reason = why_not(&status, &kept.name, &kept.message);
        GivenRelease {
            meta: stored(&kept.name).map(meta),
            release: Some(kept.message.clone()),
            stands: reason.is_none(),
            reason: reason.unwrap_or_default(),
        }
    });
    ListReleasesResponse {
        segment: loaded.gathered.segment.clone(),
        revision: loaded.gathered.revision,
        releases: releases.collect(),
    }
}

/// Why a release does not stand; none where it does.
fn why_not(status: &SegmentStatus, name: &str, release: &Release) -> Option<String> {
    let point = status.points.iter().find(|p| p.point == release.point);
    let Some(point) = point else {
        return Some("the plan has no such point now".to_owned());
    };
    if point.release == name {
        return None;
    }
    let later = (!point.release.is_empty()).then(|| format!("{} stands instead", point.release));
    let codes = ["release-reopened", "waits-for-earlier-points"];
    let mut findings = point.findings.iter();
    let said = findings.find(|finding| codes.contains(&finding.code.as_str()));
    let beside = point.state() == PointState::NotApplicable;
    let beside = beside.then(|| format!("the point does not apply: {}", point.reason));
    Some(
        later
            .or(said.map(|finding| finding.message.clone()))
            .or(beside)
            .unwrap_or_else(|| "it rested on other facts, or its role may not give it".to_owned()),
    )
}
