//! What a record of this service must satisfy when it is written, and how refusals are told.

use obvert_proto::{
    Problem, Violation,
    closeout::v1::{
        Claim, Plan, PlanFault, PointStatus, Record, Release, SegmentStatus, record::Body,
    },
    common::v1::Reason,
    counted,
};
use obvert_records::{Judged, Named, Register};

use crate::{
    PAST,
    in_force::tells_why,
    plan::{self, PlanText},
    record::{check_claim, check_plan},
};

/// The kinds this service keeps.
pub(crate) struct CloseoutRegister;

impl Register for CloseoutRegister {
    type Record = Record;

    const RECORD_TYPE: &'static str = "obvert.closeout.v1.Record";

    fn check(record: &Record) -> Vec<Violation> {
        match &record.body {
            Some(Body::Plan(plan)) => check_plan(plan),
            Some(Body::Claim(claim)) => check_claim(claim),
            _ => Vec::new(),
        }
    }

    fn judge(record: Record, named: &Named) -> Result<Judged<Record>, Problem> {
        if let Some(Body::Plan(text)) = &record.body {
            let read = plan::parse(&text.source);
            let read = read.map_err(|faults| plan_problem("this plan", &faults))?;
            check_mark(&read, named)?;
        }
        if let Some(Body::Claim(claim)) = &record.body {
            check_acceptance(claim, named)?;
        }
        Ok(Judged::plain(record))
    }
}

/// The owner's mark names one content, whoever files it: other content is another edition.
fn check_mark(now: &PlanText, named: &Named) -> Result<(), Problem> {
    let Some((record, before)) = named.before::<Plan>() else {
        return Ok(());
    };
    let same = || plan::parse(&before.source).is_ok_and(|before| before == *now);
    let (old, new) = (before.plan_revision.trim(), now.revision.trim());
    if !old.eq_ignore_ascii_case(new) || same() {
        return Ok(());
    }
    let message = format!(
        "is \"{}\", under which {}@{} holds other content: give the mark of the owner's new edition, \
         in the plan's text too",
        now.revision, record.name, record.revision
    );
    Err(Problem::fields(vec![Violation::new(
        "plan.plan_revision",
        message,
    )]))
}

/// A claim goes against a release of its own segment.
fn check_acceptance(claim: &Claim, named: &Named) -> Result<(), Problem> {
    let release = named.get::<Release>(&claim.acceptance);
    let released = release.map(|release| release.segment).unwrap_or_default();
    if released == claim.segment {
        return Ok(());
    }
    let message = format!(
        "is a release of {released}, the claim is about {}: name the acceptance of that segment",
        claim.segment
    );
    Err(Problem::fields(vec![Violation::new(
        "claim.acceptance",
        message,
    )]))
}

/// A plan that cannot be used, with every fault at its row and column.
pub(crate) fn plan_problem(name: &str, faults: &[PlanFault]) -> Problem {
    let place = |fault: &PlanFault| format!("row {}, column {}", fault.row, fault.column);
    let first = faults
        .first()
        .map_or(String::new(), |f| format!("{}: {}", place(f), f.message));
    let message = format!(
        "{name} has {} faults; the first is at {first}",
        faults.len()
    );
    let violations = faults
        .iter()
        .map(|f| Violation::new(place(f), &f.message))
        .collect();
    Problem::new(Reason::PlanInvalid, message)
        .fact("fault_count", faults.len())
        .with_violations(violations)
}

/// Refusal of an act on a segment of which points are held, with one entry per held point; points
/// after the acceptance are left out.
pub fn held(plan: &PlanText, status: &SegmentStatus) -> Problem {
    let after_acceptance = plan.after_acceptance();
    let asked = status.points.iter();
    let asked: Vec<_> = asked
        .filter(|point| !after_acceptance.contains(point.point.as_str()))
        .collect();
    let held = asked.iter().filter(|point| !PAST.contains(&point.state()));
    let held: Vec<_> = held.collect();
    let message = format!(
        "{} of {} not past in {}: release what holds, or give a variance",
        held.len(),
        counted(asked.len(), "point is", "points are"),
        status.segment
    );
    let entries = held
        .iter()
        .map(|point| Violation::new(&point.point, reasons(point)));
    Problem::new(Reason::PointsHeld, message)
        .fact("segment", &status.segment)
        .fact("held_count", held.len())
        .with_violations(entries.collect())
}

/// Refusal of the release of one point, with one entry per finding that holds it.
pub(crate) fn point_held(status: &PointStatus) -> Problem {
    let holding = status.findings.iter().filter(|finding| finding.holds);
    let violations: Vec<_> = holding
        .map(|finding| Violation::new(&status.point, &finding.message))
        .collect();
    let findings = match violations.len() {
        1 => "1 finding: settle it".to_owned(),
        count => format!("{count} findings: settle them"),
    };
    let message = format!(
        "point {} ({}) is held by {findings}, or give a variance",
        status.point, status.title
    );
    Problem::new(Reason::PointsHeld, message)
        .fact("point", &status.point)
        .fact("finding_count", violations.len())
        .with_violations(violations)
}

fn reasons(point: &PointStatus) -> String {
    let holding: Vec<_> = point
        .findings
        .iter()
        .filter(|finding| tells_why(finding))
        .map(|finding| finding.message.as_str())
        .collect();
    if holding.is_empty() {
        format!("{} awaits its release", point.title)
    } else {
        format!("{}: {}", point.title, holding.join("; "))
    }
}
