//! The sheet of an as-built check: what each check of the design bears on measured values.

use obvert_engineering::{
    back_check::EquivalentThickness, ovality::OvalityReduction, retention::LongTermModulus,
};
use obvert_proto::{
    common::v1::Provenance,
    design::v1::{
        AchievedSafety, AsBuiltCheck, AsBuiltInputs, AsBuiltResult, ConstantsPath, OvalityPlace,
        SectionLoads, WallInputs,
    },
};
use obvert_typeset::{
    calculation_sheet::{Answer, CalculationSheet, CheckRow, Input, Step, StepGroup},
    figures::{Units, after, number, on, percent, plain},
    segment_sheet::Figure,
};

use super::{
    Subject,
    hydraulics::group,
    inputs::{input, standing},
    numbers::{Printed, entered, factor},
    steps::{held, met, step},
    tables,
    top::{around, fact, number_or, wall_facts},
};

/// Source of the checks run backwards.
const BACKWARDS: &str = "the design's own equation, solved for the load";

/// The whole sheet.
pub(super) fn sheet(subject: &Subject, check: &AsBuiltCheck) -> CalculationSheet {
    let measured = check.inputs.clone().unwrap_or_default();
    let result = check.result.clone().unwrap_or_default();
    let mut design = subject.named_design.inputs.clone().unwrap_or_default();
    design.ovality_percent = measured.ovality_percent.unwrap_or(design.ovality_percent);
    let loads = subject.named_design.result.clone().unwrap_or_default();
    let mut facts = vec![
        fact("Wall design", number_or(&check.design, "none named")),
        fact("Report", number_or(&check.laboratory_report, "none named")),
        fact(
            "Nonconformance",
            number_or(&check.nonconformance, "none named"),
        ),
    ];
    facts.extend(wall_facts(&subject.named_design));
    let us = design.constants() == ConstantsPath::Us;
    let writing = Writing {
        measured: &measured,
        design: &design,
        result: &result,
        loads: &loads.section_loads,
        units: subject.units(design.constants()),
        printed: Printed { us },
    };
    let limits = [
        "The checks of the design are run backwards on what was measured. That informs a disposition \
         and is no acceptance: whether less than was designed may stay is for the engineer and the \
         owner to decide.",
        "Wall, modulus and strength stand on the design's basis. Modulus and strength keep the share \
         over the design life that the design grants them; nobody has measured that share here.",
    ];
    let mut sheet = CalculationSheet {
        answer: writing.answer(),
        inputs: writing.inputs(),
        sections: tables::sections(&loads, writing.units),
        groups: writing.groups(),
        checks_head: tables::head(["Station", "Check", "Capacity over demand", "Asked for"]),
        checks: writing.checks(),
        limits_of_method: limits.map(str::to_owned).to_vec(),
        ..around(subject, "installed liner", facts, &result.findings)
    };
    "This sheet informs a disposition. ".clone_into(&mut sheet.seal.words);
    sheet.seal.words += "The record names no engineer who disposed of anything.";
    sheet
}

struct Writing<'a> {
    measured: &'a AsBuiltInputs,
    /// Inputs of the design, with the ovality as measured.
    design: &'a WallInputs,
    result: &'a AsBuiltResult,
    loads: &'a [SectionLoads],
    units: Units,
    printed: Printed,
}

impl Writing<'_> {
    fn wall_mm(&self) -> f64 {
        self.measured.wall.unwrap_or_default().wall_thickness_mm
    }

    fn least(&self) -> Option<&AchievedSafety> {
        let ratio = |c: &AchievedSafety| c.achieved_safety_factor / c.required_safety_factor;
        let checks = self.result.checks.iter();
        checks.min_by(|a, b| ratio(a).total_cmp(&ratio(b)))
    }

    fn answer(&self) -> Answer {
        let units = self.units;
        let basis = self.design.thickness_basis().word();
        let sentence = self.least().map_or_else(
            || "No check sets a limit here.".to_owned(),
            |check| {
                format!(
                    "{} at station {} reaches {} where the design asks for {}. No acceptance.",
                    check.equation,
                    units.length(check.station_m).text,
                    number(check.achieved_safety_factor, 3),
                    entered(check.required_safety_factor)
                )
            },
        );
        Answer {
            sentence,
            figures: vec![
                (
                    "Wall as measured".to_owned(),
                    on(units.wall(self.wall_mm()), basis),
                ),
                (
                    "As stiff as, of the design's modulus".to_owned(),
                    on(units.wall(self.result.equivalent_wall_thickness_mm), basis),
                ),
                (
                    "Wall the design requires".to_owned(),
                    on(units.wall(self.result.required_wall_thickness_mm), basis),
                ),
            ],
        }
    }

    fn inputs(&self) -> Vec<Input> {
        let (m, d, units) = (self.measured, self.design, self.units);
        let measured = |name: (&str, &str, &str), value| input(&m.sources, name, value);
        let of_design = |name: (&str, &str, &str), value: Figure| {
            let row = input(&d.sources, name, value);
            Input {
                source: format!("design: {}", row.source),
                ..row
            }
        };
        let ovality = ("ovality_percent", "Ovality", "q");
        let percent_of = plain(percent(d.ovality_percent, 2));
        let ovality = match m.ovality_percent {
            Some(_) => measured(ovality, percent_of),
            None => of_design(ovality, percent_of),
        };
        let modulus = "short_term_flexural_modulus_mpa";
        let strength = "short_term_flexural_strength_mpa";
        let mut rows = vec![
            measured(
                ("wall", "Mean wall as measured", "t_m"),
                on(units.wall(self.wall_mm()), d.thickness_basis().word()),
            ),
            measured(
                (modulus, "Flexural modulus as tested", "E_m"),
                units.stress(m.short_term_flexural_modulus_mpa),
            ),
            measured(
                (strength, "Flexural strength as tested", "σ_m"),
                units.stress(m.short_term_flexural_strength_mpa),
            ),
            ovality,
            of_design(
                (modulus, "Flexural modulus of the design", "E"),
                units.stress(d.short_term_flexural_modulus_mpa),
            ),
            of_design(
                ("modulus_retention_factor", "Modulus retention factor", "r"),
                plain(entered(d.modulus_retention_factor)),
            ),
            of_design(
                (
                    "host_inside_diameter_mm",
                    "Mean inside diameter of the host pipe",
                    "D",
                ),
                units.wall(d.host_inside_diameter_mm),
            ),
            of_design(
                ("poisson_ratio", "Poisson's ratio", "ν"),
                plain(entered(d.poisson_ratio)),
            ),
            of_design(
                ("safety_factor", "Factor of safety asked for", "N"),
                plain(entered(d.safety_factor)),
            ),
            of_design(
                ("enhancement_factor", "Enhancement factor", "K"),
                plain(entered(d.enhancement_factor)),
            ),
            of_design(
                ("soil_modulus_mpa", "Modulus of soil reaction", "E′_s"),
                units.stress(d.soil_modulus_mpa),
            ),
        ];
        for row in &mut rows {
            if row.source.is_empty() || row.source == "design: " {
                row.provenance = standing(Provenance::Unspecified);
            }
        }
        rows
    }

    fn groups(&self) -> Vec<StepGroup> {
        let mut groups = vec![group(
            "Liner as measured, alike at every section",
            self.liner(),
        )];
        // The section with the least ratio is written out; the table holds all.
        let Some(least) = self.least() else {
            return groups;
        };
        let here = self.result.checks.iter();
        let here = here.filter(|check| check.station_m == least.station_m);
        let steps: Vec<_> = here.flat_map(|check| self.backwards(check)).collect();
        let place = self.units.length(least.station_m).text;
        groups.push(group(&format!("Section at {place}, least of all"), steps));
        groups
    }

    fn long_term_modulus_mpa(&self) -> f64 {
        self.measured.short_term_flexural_modulus_mpa * self.design.modulus_retention_factor
    }

    fn long_term_strength_mpa(&self) -> f64 {
        let d = self.design;
        self.measured.short_term_flexural_strength_mpa * d.long_term_flexural_strength_mpa
            / d.short_term_flexural_strength_mpa
    }

    fn liner(&self) -> Vec<Step> {
        let (m, d, p, units) = (self.measured, self.design, self.printed, self.units);
        let equivalent = self.result.equivalent_wall_thickness_mm;
        let modulus = p.modulus(m.short_term_flexural_modulus_mpa);
        let same = step(
            (
                "equivalent",
                "Wall of the design's modulus that is as stiff",
            ),
            vec![
                ("te", p.wall(equivalent)),
                ("tm", p.wall(self.wall_mm())),
                ("Em", modulus.clone()),
                ("E", p.modulus(d.short_term_flexural_modulus_mpa)),
            ],
            units.wall(equivalent),
            EquivalentThickness::FORMULA.source,
        );
        let required = self.result.required_wall_thickness_mm;
        vec![
            held(
                same,
                after("at least", units.wall(required)),
                equivalent >= required - 1e-9,
            ),
            step(
                (
                    "retention",
                    "Long-term flexural modulus, with the design's share",
                ),
                vec![
                    ("EL", p.modulus(self.long_term_modulus_mpa())),
                    ("E", modulus),
                    ("r", entered(d.modulus_retention_factor)),
                ],
                units.stress(self.long_term_modulus_mpa()),
                LongTermModulus::FORMULA.source,
            ),
            step(
                (
                    "long-term-strength",
                    "Long-term strength, with the design's share",
                ),
                vec![
                    ("sigma", p.modulus(self.long_term_strength_mpa())),
                    ("s0", p.modulus(m.short_term_flexural_strength_mpa)),
                    ("sd", p.modulus(d.long_term_flexural_strength_mpa)),
                    ("si", p.modulus(d.short_term_flexural_strength_mpa)),
                ],
                units.stress(self.long_term_strength_mpa()),
                "own rule: the strength keeps the share that the design grants it",
            ),
            step(
                ("ovality", "Ovality reduction factor C"),
                vec![
                    ("q", entered(d.ovality_percent)),
                    ("C", factor(self.reduction())),
                ],
                plain(factor(self.reduction())),
                OvalityReduction::FORMULA.source,
            ),
        ]
    }

    fn reduction(&self) -> f64 {
        let ovality_percent = self.design.ovality_percent;
        let found = OvalityReduction { ovality_percent }.reduction_factor();
        found.unwrap_or(f64::NAN)
    }

    /// A check solved for the load it bears, and the ratio it achieves.
    fn backwards(&self, check: &AchievedSafety) -> [Step; 2] {
        let (d, p) = (self.design, self.printed);
        let key = match (check.equation.as_str(), d.ovality_place()) {
            ("X1.1", _) => "bears-X1.1",
            ("X1.2", _) => "bears-X1.2",
            ("X1.3", OvalityPlace::BeforeRoot) => "bears-X1.3-before-2007",
            ("X1.3", _) => "bears-X1.3",
            _ => "bears-X1.4",
        };
        let here = self.loads.iter();
        let here = here.filter(|loads| loads.station_m == check.station_m);
        let loads = here.cloned().next().unwrap_or_default();
        let capacity = p.pressure(check.capacity_mpa);
        let numbers = vec![
            ("P", capacity.clone()),
            ("qt", capacity.clone()),
            ("St", capacity.clone()),
            ("K", entered(d.enhancement_factor)),
            (
                "E",
                p.modulus(self.measured.short_term_flexural_modulus_mpa),
            ),
            ("EL", p.modulus(self.long_term_modulus_mpa())),
            ("nu", entered(d.poisson_ratio)),
            ("DR", factor(d.host_inside_diameter_mm / self.wall_mm())),
            ("C", factor(self.reduction())),
            ("delta", entered(d.ovality_percent / 100.0)),
            ("sigma", p.modulus(self.long_term_strength_mpa())),
            ("Rw", factor(loads.buoyancy_factor)),
            ("B", factor(loads.elastic_support)),
            ("Es", p.modulus(d.soil_modulus_mpa)),
        ];
        let bears = step(
            (key, &format!("{} at a factor of 1", check.equation)),
            numbers,
            self.units.load(check.capacity_mpa),
            BACKWARDS,
        );
        let ratio = step(
            (
                "achieved",
                &format!("{} capacity over demand", check.equation),
            ),
            vec![
                ("Na", factor(check.achieved_safety_factor)),
                ("Cp", capacity),
                ("De", p.pressure(check.demand_mpa)),
            ],
            plain(factor(check.achieved_safety_factor)),
            "definition",
        );
        let limit = after("at least", plain(entered(check.required_safety_factor)));
        let is_met = check.achieved_safety_factor >= check.required_safety_factor;
        [bears, held(ratio, limit, is_met)]
    }

    fn checks(&self) -> Vec<CheckRow> {
        let row = |check: &AchievedSafety| {
            let mut state = met(check.achieved_safety_factor >= check.required_safety_factor);
            state.word = format!("{}: {}", entered(check.required_safety_factor), state.word);
            CheckRow {
                station: self.units.length(check.station_m),
                check: check.equation.clone(),
                wall: plain(number(check.achieved_safety_factor, 3)),
                state,
            }
        };
        self.result.checks.iter().map(row).collect()
    }
}
