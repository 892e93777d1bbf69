//! # Holds
//! The order, when the liner would be too short for the run.
//! # Why
//! A liner five feet short is scrap.
//! # Released when
//! Every order in force is at least as long as the sum of its segments, the manholes between them,
//! twice the packer grip, sample and trim, and the reserve. Stretch is never credited.
//! # Evidence
//! Liner order, segments of the order, field survey of this segment.
//! # Parameters
//! None.
//! # Source
//! Own definition, by addition.

use obvert_engineering::liner_length::LinerLength;
use obvert_proto::material::v1::LinerOrder;

use super::{Evaluator, Judgement, Judging, Outcome, figure, found, ordered_wall::orders};
use crate::segment_file::Kept;

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "ordered-length",
    proves: "the liner as ordered is long enough for the run with its ends",
    parameters: &[],
    limits: &[],
    evidence: &["liner-order", "segment", "field-survey"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    for order in orders(judging, &mut j) {
        long_enough(judging, &mut j, order);
    }
    j.outcome()
}

fn long_enough<'a>(judging: &Judging<'a>, j: &mut Judgement<'a>, order: &Kept<LinerOrder>) {
    let Some(lengths) = wall_to_wall_m(judging, j, order) else {
        return;
    };
    let mut between = vec![0.0; lengths.len().saturating_sub(1)];
    if let Some(first) = between.first_mut() {
        *first = order.intermediate_manholes_m;
    }
    let wanted = LinerLength {
        wall_to_wall_m: lengths,
        intermediate_manholes_m: between,
        packer_grip_m: order.packer_grip_m,
        sample_m: order.sample_length_m,
        trim_m: order.trim_length_m,
        reserve_m: order.reserve_m,
    };
    let ordered = order.ordered_length_m;
    j.fact(format!("{}.ordered_length_m", order.id()), ordered);
    match wanted.order_length_m() {
        Ok(wanted) => {
            j.fact(format!("{}.wanted_length_m", order.id()), wanted);
            if ordered < wanted - 1e-9 {
                let message = format!(
                    "the length of order {} is {} m, the run with its ends needs {} m: order a longer \
                     liner",
                    order.number(),
                    figure(ordered),
                    figure(wanted)
                );
                let found = found("ordered-length-too-short", message).of(order.record());
                j.hold(
                    found
                        .fact("ordered_length_m", ordered)
                        .fact("needed_m", wanted),
                );
            }
        }
        Err(problems) => {
            let message = format!("the length to order cannot be worked out: {problems}");
            j.hold(found("length-not-computed", message).of(order.record()));
        }
    }
}

/// Wall-to-wall lengths of an order's segments: this one as measured, the others as registered.
fn wall_to_wall_m<'a>(
    judging: &Judging<'a>,
    j: &mut Judgement<'a>,
    order: &Kept<LinerOrder>,
) -> Option<Vec<f64>> {
    let file = judging.file;
    let mut lengths = Vec::new();
    for part in &order.segments {
        if part.segment != file.name {
            let other = j.named(&file.segments, &part.segment, "segment");
            lengths.extend(other.map(|segment| segment.length_wall_to_wall_m));
        } else if let Some(survey) = file.field_survey() {
            j.uses(survey);
            lengths.push(survey.length_wall_to_wall_m);
        } else {
            j.missing(
                "field-survey",
                "the measured length of this segment",
                "file the field survey",
            );
        }
    }
    (lengths.len() == order.segments.len()).then_some(lengths)
}
