//! Runs and the times of their steps.

use jiff::{Timestamp, ZonedDateTime, tz::TimeZone};
use obvert_proto::{
    common::v1::RecordRef,
    installation::v1::{Run, RunStep},
    plugin::v1::Evidence,
};
use prost::{Message, Name};

/// A run as it was sent.
pub(crate) struct SentRun {
    pub(crate) record: RecordRef,
    pub(crate) run: Run,
}

/// Every run over a segment, and the records that should be runs and cannot be read.
pub(crate) fn runs(segment: &str, evidence: Vec<Evidence>) -> (Vec<SentRun>, Vec<RecordRef>) {
    let (mut runs, mut unread) = (Vec::new(), Vec::new());
    for Evidence { record, body } in evidence {
        let record = record.unwrap_or_default();
        let body = body.unwrap_or_default();
        if body.type_url.rsplit('/').next() != Some(Run::full_name().as_str()) {
            continue;
        }
        match Run::decode(body.value.as_slice()) {
            // A batch shared with another segment brings that one's runs as well.
            Ok(run) if !run.segments.iter().any(|over| over == segment) => {}
            Ok(run) => runs.push(SentRun { record, run }),
            Err(_) => unread.push(record),
        }
    }
    (runs, unread)
}

/// Begin and end of a step on site, by the reference clock.
pub(crate) fn on_site(step: &RunStep, zone: &TimeZone) -> Option<(ZonedDateTime, ZonedDateTime)> {
    let ahead_ms = (step.clock_offset_s * 1_000.0) as i64;
    let local = |time: &Option<_>| {
        let time: &prost_types::Timestamp = time.as_ref()?;
        let ms = time.seconds * 1_000 + i64::from(time.nanos) / 1_000_000 - ahead_ms;
        Some(
            Timestamp::from_millisecond(ms)
                .ok()?
                .to_zoned_datetime(zone.clone()),
        )
    };
    Some((local(&step.start_time)?, local(&step.end_time)?))
}
