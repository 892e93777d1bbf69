//! Lengths of one chain, held against each other by the plan's limits.

use obvert_engineering::cure_log::RunLength;
use obvert_proto::installation::v1::Run;
use obvert_typeset::segment_sheet::{Mark, Statement};

use super::{SAME, Said, agree, statement};
use crate::{
    package::sheet::{View, chain::Chain},
    plan::Operator,
    segment_file::by_name,
};

/// Every comparison of lengths.
pub(super) fn of(view: &View<'_>, chain: &Chain<'_>) -> Vec<Statement> {
    let text = |m: f64| view.units.length(m).text;
    let certified = chain.certificate.map(|c| {
        (
            Said::new(view, "the certificate", text(c.length_m), c),
            c.length_m,
        )
    });
    let received = chain.receiving.map(|r| {
        (
            Said::new(view, "the receiving check", text(r.length_m), r),
            r.length_m,
        )
    });
    let ordered = chain.order.map(|order| {
        (
            Said::new(view, "the order", text(order.ordered_length_m), order),
            order.ordered_length_m,
        )
    });
    let mut found = Vec::new();
    if let (Some((a, a_m)), Some((b, b_m))) = (&certified, &ordered) {
        let verdict = if a_m + SAME >= *b_m {
            (Mark::Met, "long enough".to_owned())
        } else {
            (
                Mark::Failed,
                format!("{} shorter than ordered", text(b_m - a_m)),
            )
        };
        found.push(statement("Length", a, b, verdict));
    }
    if let (Some((a, a_m)), Some((b, b_m))) = (&received, &certified) {
        let differ = format!("they differ by {}", text((a_m - b_m).abs()));
        found.push(statement(
            "Length",
            a,
            b,
            agree((a_m - b_m).abs() < SAME, &differ),
        ));
    }
    let logged = chain
        .log
        .and_then(|log| Some((log, log.figures.as_ref()?.logged_length_m)));
    if let (Some((log, logged_m)), Some(run)) = (logged, chain.run)
        && let Some(run_m) = run_length_m(view, run)
    {
        let a = Said::new(view, "the cure log", text(logged_m), log);
        let b = Said::new(view, "the run", text(run_m), run);
        let limits = ("cure_log_length_m", "cure_log_length_percent");
        found.push(statement(
            "Length",
            &a,
            &b,
            closure(view, logged_m - run_m, run_m, limits),
        ));
    }
    if let (Some(survey), Some(segment)) = (view.file.field_survey(), view.file.segment()) {
        let (measured_m, kept_m) = (survey.length_wall_to_wall_m, segment.length_wall_to_wall_m);
        let a = Said::new(view, "the field survey", text(measured_m), survey);
        let b = Said::new(view, "the segment's record", text(kept_m), segment);
        let limits = ("length_closure_m", "length_closure_percent");
        found.push(statement(
            "Length",
            &a,
            &b,
            closure(view, measured_m - kept_m, kept_m, limits),
        ));
    }
    found
}

/// A difference of two lengths against the larger of the plan's two limits.
fn closure(
    view: &View<'_>,
    difference_m: f64,
    reference_m: f64,
    limits: (&str, &str),
) -> (Mark, String) {
    let limit = |parameter| {
        view.plan
            .limit(parameter, Operator::AtMost)
            .map(|limit| limit.number())
    };
    let text = |m: f64| view.units.length(m).text;
    let differ = format!("they differ by {}", text(difference_m.abs()));
    match (limit(limits.0), limit(limits.1)) {
        (None, None) => (
            Mark::NotApplicable,
            format!("{differ}, the plan sets no limit"),
        ),
        (length, share) => {
            let share = share.map_or(0.0, |share| share / 100.0 * reference_m);
            let most = length.unwrap_or(0.0).max(share);
            let within = difference_m.abs() <= most + 1e-9;
            let mark = if within { Mark::Met } else { Mark::Failed };
            let word = if within { "within" } else { "outside" };
            (
                mark,
                format!("{differ}, {word} the {} of the plan", text(most)),
            )
        }
    }
}

/// Length of a run with its manholes and ends; none while a segment's record is missing.
pub(in crate::package::sheet) fn run_length_m(view: &View<'_>, run: &Run) -> Option<f64> {
    let of_segment = |name: &String| {
        by_name(&view.file.segments, name).map(|segment| segment.length_wall_to_wall_m)
    };
    let length = RunLength {
        wall_to_wall_m: run.segments.iter().map(of_segment).collect::<Option<_>>()?,
        intermediate_manholes_m: vec![run.intermediate_manholes_m],
        ends_m: [run.ends_beyond_walls_m, 0.0],
    };
    Some(length.total_m())
}
