//! The sheet of a pressure design: hole or ring for the full pipe, the wall design for the empty
//! one.

use obvert_engineering::{
    hole_wall::HoleWall, pressure_pipe::HoleLimit, ring_tension::RingTensionWall,
};
use obvert_proto::design::v1::{
    PressureDesign, PressureInputs, PressureResult, WallCheck, WallInputs, WallResult,
};
use obvert_typeset::{
    calculation_sheet::{Answer, CalculationSheet, CheckRow, Input, Step},
    figures::{Units, after, number, on, plain},
    segment_sheet::{Mark, State},
};

use super::{
    Subject,
    hydraulics::group,
    inputs::input,
    numbers::{Printed, entered, factor},
    steps::{held, reached, step},
    tables,
    top::{around, fact, number_or, wall_facts},
};

/// The whole sheet.
pub(super) fn sheet(subject: &Subject, design: &PressureDesign) -> CalculationSheet {
    let inputs = design.inputs.clone().unwrap_or_default();
    let result = design.result.clone().unwrap_or_default();
    let external = subject.named_design.inputs.clone().unwrap_or_default();
    let empty = subject.named_design.result.clone().unwrap_or_default();
    let mut facts = vec![fact(
        "Wall design",
        format!(
            "{}, which checks the empty pipe",
            number_or(&design.design, "none")
        ),
    )];
    facts.extend(wall_facts(&subject.named_design));
    let constants = external.constants();
    let writing = Writing {
        inputs: &inputs,
        result: &result,
        external: &external,
        empty: &empty,
        units: subject.units(constants),
        printed: Printed {
            us: constants == obvert_proto::design::v1::ConstantsPath::Us,
        },
    };
    let limits = [
        "X1.5 to X1.7 were set down from memory, and no published number was found to prove them: \
         check them against the standard before use. At the limit of X1.5 plate and ring do not meet; \
         the jump is the method's.",
        "Surge, fatigue, thrust, fittings and the ends of the liner are not in this calculation. The \
         equations of the empty pipe stand on the sheet of the wall design.",
    ];
    CalculationSheet {
        answer: writing.answer(),
        inputs: writing.inputs(),
        groups: vec![
            group("Full pipe", writing.full()),
            group("Full and empty pipe together", writing.together()),
        ],
        checks_head: tables::head(["Pipe", "Check", "Wall it asks for", "Wall in the pipe"]),
        checks: writing.checks(),
        limits_of_method: limits.map(str::to_owned).to_vec(),
        ..around(
            subject,
            "liner under internal pressure",
            facts,
            &result.findings,
        )
    }
}

struct Writing<'a> {
    inputs: &'a PressureInputs,
    result: &'a PressureResult,
    external: &'a WallInputs,
    /// Result of the wall design, which is the empty pipe.
    empty: &'a WallResult,
    units: Units,
    printed: Printed,
}

impl Writing<'_> {
    fn answer(&self) -> Answer {
        let (r, units) = (self.result, self.units);
        let basis = self.external.thickness_basis().word();
        let governs = match r.governing_check.as_str() {
            "empty-pipe" => "The empty pipe governs",
            "X1.6" => "Bending over a hole (X1.6) governs",
            _ => "The ring in tension (X1.7) governs",
        };
        let ratio = self.external.host_inside_diameter_mm / r.order_wall_thickness_mm;
        Answer {
            sentence: format!("{governs}."),
            figures: vec![
                (
                    "Required wall".to_owned(),
                    on(units.wall(r.required_wall_thickness_mm), basis),
                ),
                (
                    "Wall to order".to_owned(),
                    on(units.wall(r.order_wall_thickness_mm), basis),
                ),
                (
                    "Least wall it leaves in the pipe".to_owned(),
                    on(units.wall(r.installed_wall_thickness_mm), basis),
                ),
                (
                    "Dimension ratio D/t to order".to_owned(),
                    plain(number(ratio, 1)),
                ),
            ],
        }
    }

    fn inputs(&self) -> Vec<Input> {
        let (i, units) = (self.inputs, self.units);
        let row = |name: (&str, &str, &str), value| input(&i.sources, name, value);
        let mut rows = vec![
            input(
                &self.external.sources,
                (
                    "host_inside_diameter_mm",
                    "Mean inside diameter of the host pipe",
                    "D",
                ),
                units.wall(self.external.host_inside_diameter_mm),
            ),
            row(
                ("internal_pressure_mpa", "Internal pressure", "P_i"),
                units.load(i.internal_pressure_mpa),
            ),
            row(
                (
                    "long_term_flexural_strength_mpa",
                    "Long-term flexural strength",
                    "σ_L",
                ),
                units.stress(i.long_term_flexural_strength_mpa),
            ),
            row(
                (
                    "long_term_tensile_strength_mpa",
                    "Long-term TENSILE strength",
                    "σ_TL",
                ),
                units.stress(i.long_term_tensile_strength_mpa),
            ),
            row(
                ("safety_factor", "Factor of safety", "N"),
                plain(entered(i.safety_factor)),
            ),
        ];
        rows.extend(i.hole_diameter_mm.map(|hole| {
            let name = ("hole_diameter_mm", "Largest hole in the host pipe", "d");
            row(name, units.wall(hole))
        }));
        rows
    }

    fn full(&self) -> Vec<Step> {
        let (i, p) = (self.inputs, self.printed);
        let diameter = self.external.host_inside_diameter_mm;
        let mut steps = Vec::new();
        for check in &self.result.checks {
            let Some(wall) = check.wall_thickness_mm else {
                continue;
            };
            let mut numbers = vec![
                ("t", p.wall(wall)),
                ("D", p.diameter(diameter)),
                ("DR", factor(diameter / wall)),
                ("Pin", p.pressure(i.internal_pressure_mpa)),
                ("N", entered(i.safety_factor)),
                ("sigma", p.modulus(i.long_term_flexural_strength_mpa)),
                ("sT", p.modulus(i.long_term_tensile_strength_mpa)),
            ];
            let hole = i.hole_diameter_mm.unwrap_or_default();
            numbers.push(("d", p.diameter(hole)));
            let (key, source) = match check.equation.as_str() {
                "X1.6" => ("X1.6", HoleWall::FORMULA.source),
                _ => ("X1.7", RingTensionWall::FORMULA.source),
            };
            let title = format!("{} {}", check.equation, check.title);
            let full = step((key, &title), numbers, self.units.wall(wall), source);
            let stands = self.result.installed_wall_thickness_mm;
            let limit = after("at most", self.units.wall(stands));
            steps.push(held(full, limit, wall <= stands + 1e-9));
        }
        steps
    }

    fn together(&self) -> Vec<Step> {
        let (r, p) = (self.result, self.printed);
        let checks = r.checks.iter();
        let full = checks.filter_map(|check| check.wall_thickness_mm);
        let diameter = self.external.host_inside_diameter_mm;
        vec![
            step(
                ("thicker", "Wall for both"),
                vec![
                    ("t", p.wall(r.required_wall_thickness_mm)),
                    ("tf", p.wall(full.fold(0.0, f64::max))),
                    ("te", p.wall(r.empty_pipe_wall_thickness_mm)),
                ],
                self.units.wall(r.required_wall_thickness_mm),
                "both cases happen: the thicker wall serves both",
            ),
            step(
                (
                    "X1.5",
                    "X1.5 largest hole over which the wall in the pipe is a plate",
                ),
                vec![
                    ("dm", p.diameter(r.hole_diameter_max_mm)),
                    ("t", p.wall(r.installed_wall_thickness_mm)),
                    ("D", p.diameter(diameter)),
                ],
                self.units.wall(r.hole_diameter_max_mm),
                HoleLimit::FORMULA.source,
            ),
        ]
    }

    fn checks(&self) -> Vec<CheckRow> {
        let (r, units) = (self.result, self.units);
        let stands = r.installed_wall_thickness_mm;
        let row = |pipe: &str, name: String, wall: Option<f64>, why_not: &str| CheckRow {
            station: plain(pipe),
            check: name,
            wall: wall.map_or_else(|| plain(why_not), |wall| units.wall(wall)),
            state: wall.map_or_else(does_not_apply, |wall| reached(wall, stands)),
        };
        let full = r.checks.iter().map(|check| {
            let name = format!("{} {}", check.equation, check.title);
            row(
                "full",
                name,
                check.wall_thickness_mm,
                &check.not_applicable_reason,
            )
        });
        let mut rows: Vec<_> = full.collect();
        // The empty pipe, check by check where it asks for most of all sections.
        for equation in ["X1.1", "X1.2", "X1.3", "X1.4"] {
            let own = self.empty.checks.iter().filter(|c| c.equation == equation);
            let most = own.max_by(|a, b| {
                let wall = |c: &WallCheck| c.wall_thickness_mm.unwrap_or_default();
                wall(a).total_cmp(&wall(b))
            });
            rows.extend(most.map(|check| {
                let name = format!("{} {}", check.equation, check.title);
                row(
                    "empty",
                    name,
                    check.wall_thickness_mm,
                    &check.not_applicable_reason,
                )
            }));
        }
        rows
    }
}

fn does_not_apply() -> State {
    State {
        word: "does not apply".to_owned(),
        mark: Mark::NotApplicable,
    }
}
