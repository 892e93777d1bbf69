//! Notices to witnesses: which papers tell a witness of a point, and what a lapse rests on.
//!
//! A lapse lets a witness point pass on the proof that its witness was told in time, so that paper is
//! evidence as any other: it has the least grade of the point, and the release stands only while the
//! paper says the same.

use jiff::tz::TimeZone;
use obvert_proto::{
    closeout::v1::{EvidenceUsed, Release, ReleaseKind},
    project::v1::Document,
};
use obvert_records::Digest;

use crate::{
    hold_points::{Found, paper},
    plan::Point,
    segment_file::{Evidence, Kept, SegmentFile, by_name},
};

/// Kind of the papers that tell the witness of a point.
pub(crate) fn kind(point: &Point) -> String {
    format!("witness-notice-{}", point.id)
}

/// Signed papers on file that tell the witness of a point about the segment.
pub(crate) fn notices<'a>(file: &'a SegmentFile, point: &Point) -> Vec<&'a Kept<Document>> {
    let kind = kind(point);
    let about = |paper: &&Kept<Document>| {
        paper.evidence_kind == kind
            && paper.subjects.contains(&file.name)
            && !paper.signed_by.trim().is_empty()
    };
    file.documents.iter().filter(about).collect()
}

/// When a notice counts as given: at the end of its stated day, since the paper gives no hour, or when
/// it was filed as it is now, if that was later. A day that nobody saw written down proves no notice.
pub(crate) fn given_ms(paper: &Kept<Document>, zone: &TimeZone) -> Option<i64> {
    let day = paper.signed_date.as_ref()?.to_civil()?.tomorrow().ok()?;
    let stated = day.to_zoned_datetime(zone.clone()).ok()?;
    Some(
        stated
            .timestamp()
            .as_millisecond()
            .max(paper.commit_time_ms),
    )
}

/// What keeps a notice from being taken: its grade, or a difference from its original.
pub(crate) fn against(file: &SegmentFile, point: &Point, paper: &Kept<Document>) -> Vec<Found> {
    let standing = file.standings.get(&paper.name);
    standing.map_or(Vec::new(), |standing| {
        paper::findings(paper, standing, point.least_grade)
    })
}

/// Digest of the facts that a lapse rests on: those of the point, and what the notice says. None when
/// the paper is no notice of the point, or is not taken as one.
pub(crate) fn lapse_digest(
    file: &SegmentFile,
    point: &Point,
    facts_digest: &[u8],
    paper: &str,
) -> Option<[u8; 32]> {
    let notices = notices(file, point);
    let paper = notices.into_iter().find(|notice| notice.name == paper)?;
    let date = paper.signed_date.as_ref()?.to_civil()?;
    if !against(file, point, paper).is_empty() {
        return None;
    }
    let digest = Digest::default()
        .part(b"lapse")
        .part(facts_digest)
        .part(paper.name.as_bytes())
        .part(paper.signed_by.as_bytes())
        .part(date.to_string().as_bytes());
    Some(digest.finish())
}

/// Digest that a release must carry to stand on these facts now.
pub(crate) fn digest_now(
    file: &SegmentFile,
    point: &Point,
    facts_digest: [u8; 32],
    release: &Release,
) -> Option<[u8; 32]> {
    if release.release_kind() != ReleaseKind::Lapse {
        return Some(facts_digest);
    }
    let notice = notice_of(file, point, release)?;
    lapse_digest(file, point, &facts_digest, &notice.name)
}

/// The notice on which a lapse was given, as it is now.
fn notice_of<'a>(
    file: &'a SegmentFile,
    point: &Point,
    release: &Release,
) -> Option<&'a Kept<Document>> {
    let kind = kind(point);
    let named = release.evidence.iter();
    let mut papers = named.filter_map(|record| by_name(&file.documents, &record.name));
    papers.find(|paper| paper.evidence_kind == kind)
}

/// The notice as evidence of a point that lapsed.
pub(crate) fn evidence(
    file: &SegmentFile,
    point: &Point,
    release: &Release,
) -> Option<EvidenceUsed> {
    if release.release_kind() != ReleaseKind::Lapse {
        return None;
    }
    let notice = notice_of(file, point, release)?;
    Some(EvidenceUsed {
        evidence_kind: Document::WORD.to_owned(),
        record: Some(notice.record()),
        grade: file.grade(&notice.name).into(),
    })
}
