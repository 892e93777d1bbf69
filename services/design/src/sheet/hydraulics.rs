//! The sheet of a hydraulic check: Manning's equation before and after lining.

use std::f64::consts::PI;

use obvert_engineering::{
    capacity::{BreakEvenRoughness, CapacityRatio},
    full_flow::FullFlow,
    partial_flow::PartialFlow,
};
use obvert_proto::design::v1::{HydraulicCheck, HydraulicInputs, HydraulicResult};
use obvert_typeset::{
    calculation_sheet::{Answer, CalculationSheet, Input, Step, StepGroup},
    figures::{Units, after, number, on, percent, plain, with_unit},
};

use super::{
    Subject,
    inputs::input,
    numbers::{entered, factor},
    steps::{held, step},
    top::{around, fact, number_or},
};

/// The whole sheet.
pub(super) fn sheet(subject: &Subject, check: &HydraulicCheck) -> CalculationSheet {
    let inputs = check.inputs.clone().unwrap_or_default();
    let result = check.result.clone().unwrap_or_default();
    let units = Units { us: subject.us };
    let facts = vec![
        fact(
            "Method",
            "Manning's equation, SI form with the factor 1; n the same at every depth",
        ),
        fact("Wall design", number_or(&check.design, "none named")),
    ];
    let writing = Writing {
        inputs: &inputs,
        result: &result,
        units,
    };
    let limits = [
        "A uniform wall raises both inverts alike, so the slope stays. Drops and benches at the \
         manholes, losses at manholes and laterals, backwater and deposits are not in this \
         calculation.",
        "Manning's n is an estimate: the sheet says whose. Roughness by k_s is not implemented.",
    ];
    CalculationSheet {
        answer: writing.answer(),
        inputs: writing.inputs(),
        groups: writing.groups(),
        limits_of_method: limits.map(str::to_owned).to_vec(),
        ..around(
            subject,
            "capacity of the lined pipe",
            facts,
            &result.findings,
        )
    }
}

struct Writing<'a> {
    inputs: &'a HydraulicInputs,
    result: &'a HydraulicResult,
    units: Units,
}

impl Writing<'_> {
    fn answer(&self) -> Answer {
        let (result, units) = (self.result, self.units);
        let verdict = if result.capacity_percent >= 100.0 {
            "The lined pipe carries at least what the host pipe did"
        } else {
            "The lined pipe carries less than the host pipe did"
        };
        let of = |percents: f64| percent(percents, 1);
        Answer {
            sentence: format!(
                "{verdict}: {} of it, with n {} before and {} after.",
                of(result.capacity_percent),
                entered(self.inputs.roughness_before),
                entered(self.inputs.roughness_after)
            ),
            figures: vec![
                (
                    "Full host pipe".to_owned(),
                    units.flow(result.full_flow_before_litre_per_s),
                ),
                (
                    "Full lined pipe".to_owned(),
                    units.flow(result.full_flow_after_litre_per_s),
                ),
                (
                    "Greatest n without loss".to_owned(),
                    plain(number(result.roughness_no_loss, 5)),
                ),
            ],
        }
    }

    fn inputs(&self) -> Vec<Input> {
        let (i, units) = (self.inputs, self.units);
        let row = |name: (&str, &str, &str), value| input(&i.sources, name, value);
        let mut rows = vec![
            row(
                (
                    "host_inside_diameter_mm",
                    "Mean inside diameter of the host pipe",
                    "D",
                ),
                units.wall(i.host_inside_diameter_mm),
            ),
            row(
                ("total_wall_mm", "Total wall of the liner", "t_total"),
                on(units.wall(i.total_wall_mm), "with films and wear layer"),
            ),
            row(
                (
                    "roughness_before",
                    "Manning's n of the host pipe",
                    "n_before",
                ),
                plain(entered(i.roughness_before)),
            ),
            row(
                ("roughness_after", "Manning's n of the liner", "n_after"),
                plain(entered(i.roughness_after)),
            ),
            row(
                ("slope_percent", "Fall of the invert", "S"),
                plain(percent(i.slope_percent, 3)),
            ),
            row(
                (
                    "velocity_min_m_per_s",
                    "Owner's least full velocity",
                    "V_min",
                ),
                units.velocity(i.velocity_min_m_per_s),
            ),
        ];
        rows.extend(i.design_flow_litre_per_s.map(|flow| {
            let name = ("design_flow_litre_per_s", "Design flow", "Q");
            row(name, units.flow(flow))
        }));
        rows
    }

    fn groups(&self) -> Vec<StepGroup> {
        let (i, r) = (self.inputs, self.result);
        let bore_mm = i.host_inside_diameter_mm - 2.0 * i.total_wall_mm;
        let mut after_lining = vec![step(
            ("bore", "Bore of the lined pipe"),
            vec![
                ("Di", with_unit(bore_mm, 2, "mm")),
                ("D", with_unit(i.host_inside_diameter_mm, 2, "mm")),
                ("tt", with_unit(i.total_wall_mm, 2, "mm")),
            ],
            self.units.wall(bore_mm),
            "definition",
        )];
        let flow = (r.full_flow_after_litre_per_s, r.velocity_after_m_per_s);
        after_lining.extend(self.full(bore_mm, i.roughness_after, flow));
        let flow = (r.full_flow_before_litre_per_s, r.velocity_before_m_per_s);
        let before = self.full(i.host_inside_diameter_mm, i.roughness_before, flow);
        let mut groups = vec![
            group("Full host pipe", before),
            group("Full lined pipe", after_lining),
            group("Before and after", self.compared()),
        ];
        let full = [
            (
                "before lining",
                r.full_flow_before_litre_per_s,
                r.velocity_before_m_per_s,
                r.relative_depth_before,
            ),
            (
                "after lining",
                r.full_flow_after_litre_per_s,
                r.velocity_after_m_per_s,
                r.relative_depth_after,
            ),
        ];
        for (when, full_flow, full_velocity, depth) in full {
            let steps = self.partly(full_flow, full_velocity, depth);
            if !steps.is_empty() {
                groups.push(group(&format!("Design flow, {when}"), steps));
            }
        }
        groups
    }

    fn full(&self, bore_mm: f64, roughness: f64, (flow, velocity): (f64, f64)) -> Vec<Step> {
        let source = FullFlow::FORMULA.source;
        let numbers = vec![
            ("n", entered(roughness)),
            ("Di", with_unit(bore_mm / 1000.0, 4, "m")),
            ("J", entered(self.inputs.slope_percent / 100.0)),
        ];
        let with = |name: &'static str, value: String| {
            let mut numbers = numbers.clone();
            numbers.push((name, value));
            numbers
        };
        vec![
            step(
                ("full-flow", "Flow of the full pipe"),
                with("Q", with_unit(flow / 1000.0, 5, "m³/s")),
                self.units.flow(flow),
                source,
            ),
            step(
                ("full-velocity", "Velocity in the full pipe"),
                with("V", with_unit(velocity, 4, "m/s")),
                self.units.velocity(velocity),
                source,
            ),
        ]
    }

    fn compared(&self) -> Vec<Step> {
        let (i, r) = (self.inputs, self.result);
        let ratio = factor(i.host_inside_diameter_mm / i.total_wall_mm);
        let before = entered(i.roughness_before);
        let capacity = step(
            ("capacity", "Capacity after lining, of the capacity before"),
            vec![
                ("Ca", percent(r.capacity_percent, 2)),
                ("nb", before.clone()),
                ("na", entered(i.roughness_after)),
                ("DR", ratio.clone()),
            ],
            plain(percent(r.capacity_percent, 2)),
            CapacityRatio::FORMULA.source,
        );
        let velocity = vec![
            ("Va", percent(r.velocity_percent, 2)),
            ("V", with_unit(r.velocity_after_m_per_s, 4, "m/s")),
            ("Vb", with_unit(r.velocity_before_m_per_s, 4, "m/s")),
        ];
        let no_loss = step(
            (
                "no-loss",
                "Greatest n of the liner at which no capacity is lost",
            ),
            vec![
                ("nm", number(r.roughness_no_loss, 5)),
                ("nb", before),
                ("DR", ratio),
            ],
            plain(number(r.roughness_no_loss, 5)),
            BreakEvenRoughness::FORMULA.source,
        );
        let slope = step(
            ("least-slope", "Least slope for the owner's velocity"),
            vec![
                ("Jm", percent(r.slope_min_percent, 4)),
                ("J", percent(i.slope_percent, 4)),
                ("Vm", with_unit(i.velocity_min_m_per_s, 3, "m/s")),
                ("V", with_unit(r.velocity_after_m_per_s, 4, "m/s")),
            ],
            plain(percent(r.slope_min_percent, 4)),
            "follows from Manning's equation",
        );
        let n_after = i.roughness_after;
        vec![
            held(
                capacity,
                after("at least", plain(percent(100.0, 0))),
                r.capacity_percent >= 100.0,
            ),
            step(
                (
                    "velocity-share",
                    "Velocity after lining, of the velocity before",
                ),
                velocity,
                plain(percent(r.velocity_percent, 2)),
                "definition",
            ),
            held(
                no_loss,
                after("at least n_after", plain(entered(n_after))),
                n_after <= r.roughness_no_loss + 1e-12,
            ),
            held(
                slope,
                after("at most the slope of", plain(percent(i.slope_percent, 3))),
                r.slope_min_percent <= i.slope_percent + 1e-12,
            ),
        ]
    }

    /// Depth and velocity at the design flow; nothing where no depth carries it.
    fn partly(&self, full_flow: f64, full_velocity: f64, depth: Option<f64>) -> Vec<Step> {
        let Some((depth, flow)) = depth.zip(self.inputs.design_flow_litre_per_s) else {
            return Vec::new();
        };
        let angle = 2.0 * (1.0 - 2.0 * depth).clamp(-1.0, 1.0).acos();
        let angle_text = with_unit(angle.min(2.0 * PI), 4, "rad");
        let source = PartialFlow::FORMULA.source;
        let found = PartialFlow {
            relative_depth: depth,
        };
        let velocity = full_velocity * found.velocity_ratio().unwrap_or(f64::NAN);
        vec![
            step(
                ("part-flow", "Depth over diameter, the lower one of two"),
                vec![
                    ("Q", with_unit(flow, 2, "L/s")),
                    ("Qf", with_unit(full_flow, 2, "L/s")),
                    ("th", angle_text.clone()),
                    ("y", factor(depth)),
                ],
                plain(factor(depth)),
                source,
            ),
            step(
                ("part-velocity", "Velocity at that depth"),
                vec![
                    ("V", with_unit(velocity, 3, "m/s")),
                    ("Vf", with_unit(full_velocity, 4, "m/s")),
                    ("th", angle_text),
                ],
                self.units.velocity(velocity),
                source,
            ),
        ]
    }
}

/// Equations under a heading.
pub(super) fn group(title: &str, steps: Vec<Step>) -> StepGroup {
    StepGroup {
        title: title.to_owned(),
        steps,
    }
}
