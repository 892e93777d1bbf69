//! When a witness point lapses: the role was told in time, and did not come.

use jiff::{civil::Date, tz::TimeZone};
use obvert_proto::{
    Problem, Violation,
    closeout::v1::{PointClass, PointStatus},
    common::v1::Reason,
    pool,
    project::v1::Document,
    rules::{WorkTime, work_times},
};
use prost_reflect::DynamicMessage;

use super::allowed::is_whole;
use crate::{
    Loaded,
    hold_points::figure,
    plan::{Operator, Point},
    segment_file::Kept,
    witness,
};

/// The paper that proves the notice, given long enough before the work.
///
/// # Errors
///
/// `ACT_REFUSED` for a point that is no witness point or without notice in time; `POINTS_HELD`
/// while the evidence itself holds.
pub(super) fn proof<'a>(
    loaded: &'a Loaded,
    point: &Point,
    status: &PointStatus,
    now_ms: i64,
) -> Result<&'a Kept<Document>, Problem> {
    if point.class != PointClass::Witness {
        let message = format!(
            "point {} is no witness point and never lapses: release it",
            point.id
        );
        return Err(refused(point, message));
    }
    is_whole(status)?;
    let file = &loaded.file;
    let (from, paper) = earliest(loaded, point)?;
    let work = work_ms(loaded, point, status);
    if let Some(work) = work.filter(|work| from >= *work) {
        let message = format!(
            "{} counts from {}, the end of its day or when it was filed as it is, and the work was \
             at {}: a notice comes before the work; have it witnessed again, or give a variance",
            paper.called(),
            file.local_time(from),
            file.local_time(work)
        );
        return Err(refused(point, message));
    }
    let limit = loaded.plan.limit("witness_notice_h", Operator::AtLeast);
    let until = work.map_or(now_ms, |work| work.min(now_ms));
    let hours = (until - from) as f64 / 3_600_000.0;
    if limit.is_some_and(|limit| limit.takes(hours)) {
        return Ok(paper);
    }
    let words = limit.map_or("not set".to_owned(), |limit| limit.words());
    let till = match work {
        Some(_) => "up to the work",
        None => "up to now",
    };
    let message = format!(
        "{} gives {} h, counted from the end of its day or its filing {till}, the plan requires \
         {words}: wait, or have the witness come",
        paper.called(),
        figure(hours)
    );
    Err(refused(point, message).fact("notice_age_h", hours))
}

/// The notice that was given first, of those that the point takes.
fn earliest<'a>(loaded: &'a Loaded, point: &Point) -> Result<(i64, &'a Kept<Document>), Problem> {
    let file = &loaded.file;
    let mut against = Vec::new();
    let mut given = Vec::new();
    for paper in witness::notices(file, point) {
        let found = witness::against(file, point, paper);
        if found.is_empty() {
            given.extend(witness::given_ms(paper, &file.zone).map(|from| (from, paper)));
        }
        against.extend(found.into_iter().map(|found| found.holding(true)));
    }
    let first = given.into_iter().min_by_key(|(from, _)| *from);
    first.ok_or_else(|| match against.as_slice() {
        [] => {
            let message = format!(
                "no signed and dated document of the kind {} about {} is on file: file the notice \
                 to the witness",
                witness::kind(point),
                file.segment_number()
            );
            refused(point, message)
        }
        [first, ..] => {
            let all = against.iter();
            let all = all.map(|found| Violation::new(&point.id, &found.message));
            refused(point, first.message.clone()).with_violations(all.collect())
        }
    })
}

/// When the work was done that the point is about, as far as its evidence says: the last record of the
/// evaluator's own kind, else the last beside runs, else the begin of the first run.
fn work_ms(loaded: &Loaded, point: &Point, status: &PointStatus) -> Option<i64> {
    let times = |of: &dyn Fn(&str) -> bool| {
        let used = status.evidence.iter();
        let used = used.filter(|used| of(&used.evidence_kind));
        let names = used.filter_map(|used| used.record.as_ref());
        let times: Vec<i64> = names
            .flat_map(|record| times_of(loaded, &record.name))
            .collect();
        times
    };
    let own = times(&|kind| kind == point.evaluator).into_iter().max();
    let beside = || {
        let beside = |kind: &str| !["run", "nonconformance", "lateral-register"].contains(&kind);
        times(&beside).into_iter().max()
    };
    own.or_else(beside)
        .or_else(|| times(&|kind| kind == "run").into_iter().min())
}

/// Times of work that a record states.
fn times_of(loaded: &Loaded, name: &str) -> Vec<i64> {
    let mut records = loaded.gathered.records.iter();
    let stored = records.find(|stored| stored.name == name);
    let message = stored.and_then(|stored| {
        let kind = pool().get_message_by_name(&stored.type_name)?;
        DynamicMessage::decode(kind, stored.body.clone()).ok()
    });
    let times = message.map_or(Vec::new(), |message| work_times(&message));
    let zone = &loaded.file.zone;
    times
        .into_iter()
        .filter_map(|(_, time)| match time {
            WorkTime::At(time) => Some(time.as_millisecond()),
            WorkTime::On(date) => begin_ms(date, zone),
        })
        .collect()
}

fn begin_ms(date: Date, zone: &TimeZone) -> Option<i64> {
    let begin = date.to_zoned_datetime(zone.clone()).ok()?;
    Some(begin.timestamp().as_millisecond())
}

fn refused(point: &Point, message: String) -> Problem {
    Problem::new(Reason::ActRefused, message).fact("point", &point.id)
}
