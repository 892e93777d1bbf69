//! Words of the schema's enumerations, and how records and times are written, for people.

use obvert_proto::{
    acceptance::v1::{Disposition, LeakMethod, SampleMethod},
    closeout::v1::{PointState, SegmentStatus},
    common::v1::{Datum, LocalDate, PaperGrade, RecordRef},
    installation::v1::{CureVerdict, ReopeningOutcome, RunOutcome},
};
use obvert_typeset::segment_sheet::{Mark, State};

pub(super) use obvert_proto::{counted, counts};

/// A state with its shape.
pub(super) fn state(word: impl Into<String>, mark: Mark) -> State {
    State {
        word: word.into(),
        mark,
    }
}

/// Name and revision without the project: `orders/o-114@41`.
pub(super) fn record(name: &str, revision: i64) -> String {
    let short = name.splitn(3, '/').nth(2).unwrap_or("project");
    let office = if name.starts_with("projects/office/") {
        "office/"
    } else {
        ""
    };
    format!("{office}{short}@{revision}")
}

pub(super) fn reference(record: Option<&RecordRef>) -> String {
    record.map_or(String::new(), |r| self::record(&r.name, r.revision))
}

/// Calendar date as 2026-03-09, or `otherwise`.
pub(super) fn date(date: Option<&LocalDate>, otherwise: &str) -> String {
    let date = date.and_then(LocalDate::to_civil);
    date.map_or(otherwise.to_owned(), |date| date.to_string())
}

pub(super) fn grade(grade: PaperGrade) -> &'static str {
    match grade {
        PaperGrade::Unspecified => "ungraded",
        PaperGrade::Transcribed => "transcribed",
        PaperGrade::CheckedBySecondRole => "checked by second role",
        PaperGrade::ConfirmedByIssuer => "confirmed by issuer",
        PaperGrade::Direct => "direct",
    }
}

pub(super) fn datum(datum: Datum) -> &'static str {
    match datum {
        Datum::ManholeCentre => "centre of manhole",
        Datum::InsideWall => "inside wall",
        Datum::PipeEnd => "pipe end",
        Datum::Assumed | Datum::Unspecified => "assumed: inside wall",
    }
}

pub(super) fn cure_verdict(verdict: CureVerdict) -> State {
    match verdict {
        CureVerdict::Unspecified => state("not judged", Mark::Open),
        CureVerdict::WithinTolerance => state("within the entered tolerance", Mark::Met),
        CureVerdict::OutsideTolerance => state("outside the entered tolerance", Mark::Failed),
        CureVerdict::NoToleranceGiven => state("no tolerance given", Mark::NotApplicable),
        CureVerdict::DataUnfit => state("unfit", Mark::Failed),
    }
}

pub(super) fn run_outcome(outcome: RunOutcome) -> &'static str {
    match outcome {
        RunOutcome::Unspecified => "outcome not said",
        RunOutcome::PulledIn => "pulled in, not lit",
        RunOutcome::Complete => "complete",
        RunOutcome::Partial => "partial",
        RunOutcome::AbortedBeforeLights => "given up before the lamps were lit",
        RunOutcome::AbortedAfterLights => "given up after the lamps were lit",
    }
}

pub(super) fn reopening(outcome: ReopeningOutcome) -> State {
    match outcome {
        ReopeningOutcome::Unspecified => state("held", Mark::Open),
        ReopeningOutcome::Open => state("open", Mark::Met),
        ReopeningOutcome::LeftClosedByDirection => {
            state("left closed by written direction", Mark::Varied)
        }
        ReopeningOutcome::OwnerAbandoned => state("abandoned by the owner", Mark::NotApplicable),
        ReopeningOutcome::NotFound => state("not found", Mark::Failed),
    }
}

pub(super) fn leak_method(method: LeakMethod) -> &'static str {
    match method {
        LeakMethod::Unspecified => "method not said",
        LeakMethod::LowPressureAir => "Low-pressure air between plugs, time for a pressure drop",
        LeakMethod::Exfiltration => "Water lost out of the filled segment between plugs",
    }
}

pub(super) fn sample_method(method: SampleMethod) -> &'static str {
    match method {
        SampleMethod::Unspecified => "method not said",
        SampleMethod::Restrained => "tube in a restraining pipe",
        SampleMethod::Plate => "flat plate, no evidence of thickness",
        SampleMethod::CutFromWall => "cut out of the wall",
    }
}

pub(super) fn disposition(disposition: Disposition) -> &'static str {
    match disposition {
        Disposition::Unspecified => "none yet",
        Disposition::UseAsIs => "used as it is",
        Disposition::Repair => "repaired",
        Disposition::Reline => "lined again",
        Disposition::Replace => "replaced by digging",
        Disposition::Credit => "accepted with a credit",
    }
}

/// How a segment stands, in words with counts.
pub(super) fn standing(status: &SegmentStatus) -> String {
    let count = |state: PointState| status.points.iter().filter(|p| p.state() == state).count();
    let (released, varied) = (count(PointState::Released), count(PointState::Variance));
    let beside = count(PointState::NotApplicable);
    let word = if status.accepted { "accepted" } else { "held" };
    let points = if released == 1 {
        "point released"
    } else {
        "points released"
    };
    let told = counts([
        (released, points),
        (varied, "with a variance"),
        (beside, "not applicable"),
        (status.points.len() - released - varied - beside, "held"),
    ]);
    format!("{word}: {told}")
}

/// "is" or "are".
pub(super) fn is_are(count: usize) -> &'static str {
    if count == 1 { "is" } else { "are" }
}

/// A text, or what stands where it is empty.
pub(super) fn or(text: &str, otherwise: &str) -> String {
    if text.is_empty() {
        otherwise.to_owned()
    } else {
        text.to_owned()
    }
}
