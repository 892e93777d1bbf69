//! Laboratory reports, failed ones included, against the design and the plan's floors.

use obvert_engineering::wall_tolerance::WallTolerance;
use obvert_proto::acceptance::v1;
use obvert_typeset::{
    figures::NBSP,
    segment_sheet::{Figure, LaboratoryReport, LaboratoryResult, Mark, Specimens, State},
};

use super::{
    View, papers,
    statements::{design_basis, mean},
};
use crate::{
    package::{
        figures::{after, number, on, plain, with_unit},
        words::{self, state},
    },
    plan::{LimitValue, Operator},
    segment_file::{Kept, by_name},
};

pub(super) fn reports(view: &View<'_>) -> Vec<LaboratoryReport> {
    view.file
        .reports
        .iter()
        .map(|report| entry(view, report))
        .collect()
}

fn entry(view: &View<'_>, report: &Kept<v1::LaboratoryReport>) -> LaboratoryReport {
    let sample = by_name(&view.file.samples, &report.sample);
    let taken = sample.map_or("unknown to this segment".to_owned(), |sample| {
        format!(
            "cut at {}, {}",
            sample.manhole,
            words::sample_method(sample.method())
        )
    });
    LaboratoryReport {
        record: view.record(report),
        laboratory: format!(
            "{}, report {} of {}, accreditation {}",
            report.laboratory,
            report.report_number,
            words::date(report.reported_date.as_ref(), "no date"),
            report.accreditation_number
        ),
        sample: format!("{}, {taken}", report.sample_number_in_report),
        method: report.method.clone(),
        grade: papers::grade(view, &report.name),
        specimens: (!report.specimens.is_empty()).then(|| specimens(report)),
        results: vec![
            strength(view, report, true),
            strength(view, report, false),
            wall(view, report),
            tightness(report),
        ],
    }
}

fn specimens(report: &v1::LaboratoryReport) -> Specimens {
    let columns = [
        "Specimen",
        "Span",
        "Width, mm",
        "Depth, mm",
        "Modulus, MPa",
        "Strength, MPa",
    ];
    let row = |specimen: &v1::Specimen| {
        vec![
            specimen.specimen_number.clone(),
            if specimen.hoop_direction {
                "hoop"
            } else {
                "axial"
            }
            .to_owned(),
            number(specimen.width_mm, 1),
            number(specimen.depth_mm, 2),
            number(specimen.flexural_modulus_mpa, 0),
            number(specimen.flexural_strength_mpa, 1),
        ]
    };
    Specimens {
        columns: columns.map(str::to_owned).to_vec(),
        rows: report.specimens.iter().map(row).collect(),
    }
}

fn met(is_met: bool) -> State {
    if is_met {
        state("met", Mark::Met)
    } else {
        state("not met", Mark::Failed)
    }
}

fn nothing() -> State {
    state("nothing to compare", Mark::NotApplicable)
}

/// Modulus or strength of the specimens.
fn strength(view: &View<'_>, report: &v1::LaboratoryReport, modulus: bool) -> LaboratoryResult {
    let units = view.units;
    let value = |s: &v1::Specimen| {
        if modulus {
            s.flexural_modulus_mpa
        } else {
            s.flexural_strength_mpa
        }
    };
    let values: Vec<f64> = report.specimens.iter().map(value).collect();
    let found = mean(&values);
    let inputs = view.file.design().and_then(|design| design.inputs.as_ref());
    let wanted = inputs.map(|inputs| match modulus {
        true => inputs.short_term_flexural_modulus_mpa,
        false => inputs.short_term_flexural_strength_mpa,
    });
    let parameter = if modulus {
        "flexural_modulus_mpa"
    } else {
        "flexural_strength_mpa"
    };
    let floor = view.plan.limit(parameter, Operator::AtLeast);
    LaboratoryResult {
        property: format!(
            "Flexural {}, initial",
            if modulus { "modulus" } else { "strength" }
        ),
        mean: units.stress(found),
        sample_deviation: deviation(&values),
        design_value: wanted.map_or(plain("no design"), |wanted| units.stress(wanted)),
        against_design: wanted.map_or(nothing(), |wanted| met(found >= wanted - 1e-9)),
        standard_floor: floor.map_or(plain("none in the plan"), |floor| {
            on(units.stress(floor.number()), &*floor.source)
        }),
        against_floor: floor.map_or(nothing(), |floor| met(floor.takes(found))),
    }
}

fn deviation(values: &[f64]) -> String {
    let count = values.len();
    if count < 2 {
        return format!("none, n{NBSP}={NBSP}{count}");
    }
    let middle = mean(values);
    let sum: f64 = values.iter().map(|value| (value - middle).powi(2)).sum();
    let deviation = (sum / (count as f64 - 1.0)).sqrt();
    let decimals = if deviation < 10.0 { 1 } else { 0 };
    format!(
        "{}, n{NBSP}={NBSP}{count}",
        with_unit(deviation, decimals, "MPa")
    )
}

fn wall(view: &View<'_>, report: &v1::LaboratoryReport) -> LaboratoryResult {
    let units = view.units;
    let readings = &report.wall_readings_mm;
    let (found, basis) = (mean(readings), report.thickness_basis());
    let result = view.file.design().and_then(|design| design.result.as_ref());
    let required = result.map(|result| result.required_wall_thickness_mm);
    let same = basis == design_basis(view);
    let least = readings.iter().copied().fold(f64::INFINITY, f64::min);
    let (rule, against_floor) = rule(view, readings, required.filter(|_| same));
    LaboratoryResult {
        property: "Wall thickness".to_owned(),
        mean: on(units.wall(found), basis.word()),
        sample_deviation: format!(
            "least {}, n{NBSP}={NBSP}{}",
            units.wall(least).text,
            readings.len()
        ),
        design_value: required.map_or(plain("no design"), |mm| after("at least", units.wall(mm))),
        against_design: match required {
            Some(_) if !same => state("not comparable", Mark::NotApplicable),
            Some(required) => met(found >= required - 1e-9),
            None => nothing(),
        },
        standard_floor: rule,
        against_floor,
    }
}

/// The plan's rule for readings, and what it says of them.
fn rule(view: &View<'_>, readings: &[f64], required: Option<f64>) -> (Figure, State) {
    let limit = view.plan.limit("wall_rule", Operator::Equal);
    let Some(LimitValue::Word(word)) = limit.map(|limit| &limit.value) else {
        return (plain("none in the plan"), nothing());
    };
    let ordered = view.file.orders_in_force();
    let ordered = ordered
        .first()
        .and_then(|order| order.wall.as_ref())
        .map(|w| w.wall_thickness_mm);
    let (rule, asked) = match word.as_str() {
        "mean-of-readings" => (WallTolerance::MeanOfReadings, required),
        "point-at-87.5-percent" => (WallTolerance::PointAt87Percent, required),
        "five-percent-of-ordered" => (WallTolerance::FivePercentOfOrdered, ordered),
        _ => (WallTolerance::Iso, required),
    };
    let source = limit.map_or("", |limit| &limit.source);
    let judged = asked.and_then(|asked| rule.judge(readings, asked).ok());
    let text =
        judged
            .and_then(|judged| judged.minimum_limit_mm)
            .map_or(format!("rule {word}"), |least| {
                format!(
                    "rule {word}, no reading below {}",
                    view.units.wall(least).text
                )
            });
    (
        on(plain(text), source),
        judged.map_or(nothing(), |judged| met(judged.is_met())),
    )
}

fn tightness(report: &v1::LaboratoryReport) -> LaboratoryResult {
    let (text, verdict) = match report.laminate_tight {
        Some(true) => ("tight", met(true)),
        Some(false) => ("leaky", met(false)),
        None => ("not tested", nothing()),
    };
    LaboratoryResult {
        property: "Tightness of the laminate".to_owned(),
        mean: plain(text),
        sample_deviation: "tight or leaky only".to_owned(),
        design_value: plain("none"),
        against_design: nothing(),
        standard_floor: plain("tight at every spot"),
        against_floor: verdict,
    }
}
