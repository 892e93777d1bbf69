//! Agreements and disagreements of one chain, each said with both values and both records.

mod lengths;
mod walls;

use jiff::civil::Date;
use obvert_proto::{
    common::v1::{LocalDate, ThicknessBasis},
    dates::unix_ms,
    installation::v1::StepKind,
};
use obvert_typeset::segment_sheet::{Mark, Statement};

use super::{View, chain::Chain};
use crate::{
    package::words,
    segment_file::{Kept, diameters_mm, step_start_ms},
};

pub(super) use {lengths::run_length_m, walls::wall_decimals};

/// Walls and lengths that differ by less are the same on paper.
const SAME: f64 = 0.005;

/// What one record says.
struct Said {
    by: &'static str,
    text: String,
    record: String,
}

impl Said {
    fn new<M>(view: &View<'_>, by: &'static str, text: impl Into<String>, kept: &Kept<M>) -> Self {
        Self {
            by,
            text: text.into(),
            record: view.record(kept),
        }
    }

    fn words(&self) -> String {
        format!("{} says {} ({})", self.by, self.text, self.record)
    }
}

/// Every comparison of one chain.
pub(super) fn of(view: &View<'_>, chain: &Chain<'_>) -> Vec<Statement> {
    let mut found = identity(view, chain);
    found.extend(walls::of(view, chain));
    found.extend(lengths::of(view, chain));
    found.extend(diameter(view, chain));
    found.extend(dates(view, chain));
    found
}

fn statement(what: &str, a: &Said, b: &Said, (mark, verdict): (Mark, String)) -> Statement {
    Statement {
        mark,
        text: format!("{what}: {}, {}: {verdict}.", a.words(), b.words()),
    }
}

fn agree(agrees: bool, otherwise: &str) -> (Mark, String) {
    if agrees {
        (Mark::Met, "they agree".to_owned())
    } else {
        (Mark::Failed, otherwise.to_owned())
    }
}

fn identity(view: &View<'_>, chain: &Chain<'_>) -> Vec<Statement> {
    let Some(liner) = chain.liner else {
        let text = "Identity: no liner is on file for this segment; nothing to compare.".to_owned();
        return vec![Statement {
            mark: Mark::Open,
            text,
        }];
    };
    let own = Said::new(view, "the liner's record", &*liner.serial, liner);
    let mut said = Vec::new();
    said.extend(
        chain
            .certificate
            .map(|c| Said::new(view, "the certificate", &*c.serial, c)),
    );
    said.extend(
        chain
            .receiving
            .map(|r| Said::new(view, "the receiving check", &*r.label_serial, r)),
    );
    said.extend(
        chain
            .run
            .map(|run| Said::new(view, "the run", &*run.serial_at_pull_in, run)),
    );
    said.extend(chain.log.map(|log| {
        let serial = log
            .header
            .as_ref()
            .map_or("", |header| &header.liner_serial);
        Said::new(view, "the cure log", words::or(serial, "no serial"), log)
    }));
    said.extend(
        chain
            .sample
            .map(|s| Said::new(view, "the sample", &*s.liner_serial, s)),
    );
    let (same, other): (Vec<_>, Vec<_>) = said
        .into_iter()
        .partition(|said| said.text.trim() == own.text.trim());
    let mut found: Vec<_> = other
        .iter()
        .map(|said| statement("Identity", said, &own, agree(false, "they name two liners")))
        .collect();
    if !same.is_empty() {
        let named = same
            .iter()
            .map(|said| format!("{} ({})", said.by, said.record));
        let named = named.collect::<Vec<_>>().join(", ");
        let text = format!(
            "Identity: {named} and {} ({}) name one liner, {}.",
            own.by, own.record, own.text
        );
        found.push(Statement {
            mark: Mark::Met,
            text,
        });
    }
    found
}

fn diameter(view: &View<'_>, chain: &Chain<'_>) -> Vec<Statement> {
    let mut found = Vec::new();
    let text = |mm: f64| view.units.diameter(mm).text;
    if let (Some(order), Some(survey)) = (chain.order, view.file.field_survey()) {
        let (least, most) = diameters_mm(survey);
        let a = Said::new(
            view,
            "the field survey",
            view.units.diameters(least, most).text,
            survey,
        );
        let (low, high) = (order.host_diameter_min_mm, order.host_diameter_max_mm);
        let b = Said::new(
            view,
            "the order",
            format!("it fits {}", view.units.diameters(low, high).text),
            order,
        );
        let fits = low <= least && most <= high;
        found.push(statement(
            "Diameter",
            &a,
            &b,
            agree(fits, "the host leaves that range"),
        ));
    }
    let nominal = chain.order.map(|o| {
        (
            Said::new(view, "the order", text(o.nominal_diameter_mm), o),
            o.nominal_diameter_mm,
        )
    });
    let others = [
        chain.certificate.map(|c| {
            (
                Said::new(view, "the certificate", text(c.nominal_diameter_mm), c),
                c.nominal_diameter_mm,
            )
        }),
        chain.receiving.map(|r| {
            (
                Said::new(view, "the receiving check", text(r.nominal_diameter_mm), r),
                r.nominal_diameter_mm,
            )
        }),
    ];
    if let Some((order, order_mm)) = &nominal {
        for (said, mm) in others.into_iter().flatten() {
            let same = (mm - order_mm).abs() < SAME;
            found.push(statement(
                "Diameter",
                &said,
                order,
                agree(same, "they differ"),
            ));
        }
    }
    found
}

fn dates(view: &View<'_>, chain: &Chain<'_>) -> Vec<Statement> {
    let civil = |date: Option<&LocalDate>| date.and_then(LocalDate::to_civil);
    let pulled = chain.run.and_then(|run| {
        let date = view.file.local_date(step_start_ms(run, StepKind::PullIn)?);
        Some((
            Said::new(view, "the run", format!("pull-in on {date}"), run),
            date,
        ))
    });
    let received = chain.receiving.and_then(|check| {
        let date = view.file.local_date(unix_ms(check.received_time.as_ref()?));
        Some((
            Said::new(
                view,
                "the receiving check",
                format!("arrival on {date}"),
                check,
            ),
            date,
        ))
    });
    let made = chain.certificate.and_then(|c| {
        let date = civil(c.wet_out_date.as_ref())?;
        Some((
            Said::new(view, "the certificate", format!("wet out on {date}"), c),
            date,
        ))
    });
    let expiry = chain.certificate.and_then(|c| {
        let date = civil(c.expiry_date.as_ref())?;
        Some((
            Said::new(view, "the certificate", format!("install by {date}"), c),
            date,
        ))
    });
    let tested = chain.report.and_then(|report| {
        let date = civil(report.tested_date.as_ref())?;
        Some((
            Said::new(view, "the laboratory", format!("tested on {date}"), report),
            date,
        ))
    });
    let order = |a: &Option<(Said, Date)>, b: &Option<(Said, Date)>, wrong: &str| {
        let ((a, before), (b, after)) = (a.as_ref()?, b.as_ref()?);
        let verdict = if before <= after {
            (Mark::Met, "in order".to_owned())
        } else {
            (Mark::Failed, wrong.to_owned())
        };
        Some(statement("Dates", a, b, verdict))
    };
    let found = [
        order(&made, &received, "it arrived before it was made"),
        order(&received, &pulled, "it was pulled in before it arrived"),
        order(&pulled, &expiry, "it was pulled in after its last day"),
        order(&pulled, &tested, "it was tested before it was pulled in"),
    ];
    found.into_iter().flatten().collect()
}

/// What the design's wall counts.
pub(super) fn design_basis(view: &View<'_>) -> ThicknessBasis {
    let inputs = view.file.design().and_then(|design| design.inputs.as_ref());
    inputs
        .map(|inputs| inputs.thickness_basis())
        .unwrap_or_default()
}

/// Mean of readings; no number for none.
pub(super) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}
