//! # Holds
//! The order, until an engineer has sealed a design that rests on what was measured.
//! # Why
//! A wall designed on a drawing's diameter or groundwater may be too thin for the pipe that is
//! there.
//! # Released when
//! The design written last is sealed, names the last field survey, was sealed no earlier than the
//! survey, and takes its diameter, its ovality and its groundwater at least as they were found.
//! # Evidence
//! Wall design, field survey.
//! # Parameters
//! None.
//! # Source
//! Calculations per section, sealed by an engineer, before lining: City of Nashua NH 2019, CIPP
//! lining of existing sewers (ultraviolet), 1.06 and 1.07.

use obvert_proto::{
    design::v1::{SectionLoads, WallDesign, WallInputs},
    project::v1::FieldSurvey,
};

use super::{
    Evaluator, Judgement, Judging, Outcome, figure, found,
    words::{date, ms},
};
use crate::{plan::Operator, segment_file::Kept};

const DIAMETER: (&str, Operator) = ("design_diameter_difference_percent", Operator::AtMost);

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "sealed-design",
    proves: "the wall is designed on the field survey and sealed",
    parameters: &[],
    limits: &[DIAMETER],
    evidence: &["wall-design", "field-survey"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let Some(design) = judging.file.design() else {
        j.missing(
            "wall-design",
            "the design of the wall",
            "design it on the field survey and seal it",
        );
        return j.outcome();
    };
    j.uses(design);
    sealed(&mut j, design);
    let survey = judging.file.field_survey();
    match survey {
        Some(survey) => {
            j.uses(survey);
            rests_on(judging, &mut j, design, survey);
        }
        None => j.missing(
            "field-survey",
            "the field survey the design rests on",
            "file it",
        ),
    }
    j.outcome()
}

fn sealed(j: &mut Judgement<'_>, design: &Kept<WallDesign>) {
    let seal = date(design.sealed_date.as_ref());
    j.fact("sealed_by", &design.sealed_by);
    j.fact(
        "sealed_date",
        seal.map_or(String::new(), |seal| seal.to_string()),
    );
    if design.sealed_by.trim().is_empty() || seal.is_none() {
        let message = format!(
            "design {}, revision {}, is a draft: have the engineer seal it",
            design.number(),
            design.revision
        );
        j.hold(found("design-not-sealed", message).of(design.record()));
    }
    match &design.result {
        Some(result) => j.fact(
            "required_wall_thickness_mm",
            result.required_wall_thickness_mm,
        ),
        None => {
            let message = format!("design {} has no result: write it again", design.number());
            j.hold(found("design-without-result", message).of(design.record()));
        }
    }
}

fn rests_on(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    design: &Kept<WallDesign>,
    survey: &Kept<FieldSurvey>,
) {
    let both = [design.record(), survey.record()];
    if design.field_survey != survey.name {
        let message = format!(
            "design {} rests on {}, the last field survey is {}: check the design against it and \
             revise",
            design.number(),
            match design.field_survey.as_str() {
                "" => "no survey".to_owned(),
                named => judging.file.number_of(named),
            },
            survey.number()
        );
        j.hold(found("design-on-other-survey", message).of_all(both.clone()));
    }
    let measured = ms(survey.survey_time.as_ref()).map(|ms| judging.file.local_date(ms));
    if let (Some(measured), Some(seal)) = (measured, date(design.sealed_date.as_ref()))
        && seal < measured
    {
        let message = format!(
            "the design was sealed on {seal}, before the survey of {measured}: seal it again"
        );
        j.hold(found("seal-before-survey", message).of_all(both.clone()));
    }
    let Some(inputs) = &design.inputs else {
        let message = format!("design {} has no inputs: write it again", design.number());
        j.hold(found("design-without-inputs", message).of(design.record()));
        return;
    };
    let loads = design.result.as_ref().map_or(&[][..], |r| &r.section_loads);
    as_measured(j, (inputs, loads), survey, &both);
}

fn as_measured(
    j: &mut Judgement<'_>,
    (inputs, loads): (&WallInputs, &[SectionLoads]),
    survey: &Kept<FieldSurvey>,
    both: &[obvert_proto::common::v1::RecordRef],
) {
    let means: Vec<f64> = survey
        .diameters
        .iter()
        .map(|d| (d.max_diameter_mm + d.min_diameter_mm) / 2.0)
        .collect();
    let mean = means.iter().sum::<f64>() / means.len() as f64;
    let difference = 100.0 * (inputs.host_inside_diameter_mm - mean).abs() / mean;
    let remedy = format!(
        "the design takes {} mm, the survey's mean is {} mm, revise the design",
        figure(inputs.host_inside_diameter_mm),
        figure(mean)
    );
    j.within(
        ("design-diameter-differs", "diameter_difference_percent"),
        difference,
        DIAMETER,
        ("difference of designed and measured diameter", &remedy),
        both,
    );
    let ovality = |d: &obvert_proto::project::v1::DiameterReading| {
        let mean = (d.max_diameter_mm + d.min_diameter_mm) / 2.0;
        100.0 * (d.max_diameter_mm - mean) / mean
    };
    let found_percent = survey.diameters.iter().map(ovality).fold(0.0, f64::max);
    j.fact("ovality_percent", inputs.ovality_percent);
    if found_percent > inputs.ovality_percent + 1e-9 {
        let message = format!(
            "the design takes an ovality of {} percent, the survey found {} percent: revise the design",
            figure(inputs.ovality_percent),
            figure(found_percent)
        );
        let found = found("design-ovality-below-found", message).of_all(both.iter().cloned());
        j.hold(
            found
                .fact("ovality_percent", inputs.ovality_percent)
                .fact("found_percent", found_percent),
        );
    }
    let entered = inputs.sections.iter().map(|s| s.groundwater_above_crown_m);
    let by_rule = loads.iter().map(|l| l.groundwater_above_crown_m);
    let water = entered.chain(by_rule).fold(0.0, f64::max);
    j.fact("groundwater_above_crown_m", water);
    if let Some(seen) = survey
        .groundwater_above_crown_m
        .filter(|seen| *seen > water + 1e-9)
    {
        let message = format!(
            "the design has groundwater {} m above the crown, the survey found {} m: revise the \
             design",
            figure(water),
            figure(seen)
        );
        let found = found("design-groundwater-below-found", message).of_all(both.iter().cloned());
        j.hold(
            found
                .fact("groundwater_above_crown_m", water)
                .fact("found_m", seen),
        );
    }
}
