//! # Holds
//! The order, when the host pipe as measured lies outside the range the liner is ordered for.
//! # Why
//! A liner too small leaves an annulus, one too large folds.
//! # Released when
//! Every diameter of the last field survey lies within the range of every order in force.
//! # Evidence
//! Field survey, liner order.
//! # Parameters
//! None.
//! # Source
//! Own rule; the range is the maker's, as ordered.

use crate::segment_file::diameters_mm;

use super::{Evaluator, Judging, Outcome, found, ordered_wall::orders};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "host-diameter",
    proves: "the host pipe as measured fits the liner as ordered",
    parameters: &[],
    limits: &[],
    evidence: &["field-survey", "liner-order"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let orders = orders(judging, &mut j);
    let Some(survey) = judging.file.field_survey() else {
        j.missing(
            "field-survey",
            "the field survey",
            "measure the diameters and file it",
        );
        return j.outcome();
    };
    j.uses(survey);
    let (least, most) = diameters_mm(survey);
    if survey.diameters.is_empty() {
        let message = "the field survey holds no diameter: read them and revise it";
        j.hold(found("diameter-missing", message).of(survey.record()));
    }
    j.fact("least_diameter_mm", least);
    j.fact("most_diameter_mm", most);
    for order in orders {
        let (from, to) = (order.host_diameter_min_mm, order.host_diameter_max_mm);
        j.fact(format!("{}.host_diameter_min_mm", order.id()), from);
        j.fact(format!("{}.host_diameter_max_mm", order.id()), to);
        if least < from || most > to {
            let message = format!(
                "the host pipe measures {least} to {most} mm, order {} fits {from} to {to} mm: \
                 order another size",
                order.number()
            );
            let found = found("host-diameter-outside", message)
                .of(survey.record())
                .of(order.record());
            j.hold(
                found
                    .fact("least_diameter_mm", least)
                    .fact("most_diameter_mm", most),
            );
        }
    }
    j.outcome()
}
