//! The equations with their numbers: once for pipe and liner, then at the sections that matter.

use obvert_engineering::{
    deflection::TrenchLoad,
    external_load::BuoyancyFactor,
    groundwater::GroundwaterPressureUs,
    nominal_wall::NominalWall,
    ovality::{Ovality, OvalityReduction},
    retention::LongTermModulus,
};
use obvert_proto::design::v1::{
    ConstantsPath, OvalityPlace, SectionLoads, WallCheck, WallInputs, WallResult,
};
use obvert_typeset::{
    calculation_sheet::{Step, StepGroup},
    figures::{Units, after, percent, plain},
    segment_sheet::{Figure, Mark, State},
};

use super::{
    equations::{with_numbers, with_symbols},
    numbers::{Printed, entered, factor},
    tables::{installed_mm, place},
};
use crate::record::ovality_of;

/// One design while its equations are written out.
struct Writing<'a> {
    inputs: &'a WallInputs,
    result: &'a WallResult,
    units: Units,
    printed: Printed,
    /// Ovality reduction factor.
    c: f64,
}

/// Equations of the pipe and liner, and those of the shallowest, the deepest and the governing
/// section.
pub(super) fn groups(inputs: &WallInputs, result: &WallResult, units: Units) -> Vec<StepGroup> {
    let reduction = OvalityReduction {
        ovality_percent: inputs.ovality_percent,
    };
    let writing = Writing {
        inputs,
        result,
        units,
        printed: Printed {
            us: inputs.constants() == ConstantsPath::Us,
        },
        c: reduction.reduction_factor().unwrap_or(f64::NAN),
    };
    let mut groups = vec![StepGroup {
        title: "Pipe and liner, alike at every section".to_owned(),
        steps: writing.of_pipe(),
    }];
    for loads in &result.section_loads {
        let place = place(loads, result);
        if !place.is_empty() {
            groups.push(StepGroup {
                title: format!("Section at {}, {place}", units.length(loads.station_m).text),
                steps: writing.of_section(loads),
            });
        }
    }
    groups
}

impl Writing<'_> {
    fn of_pipe(&self) -> Vec<Step> {
        let i = self.inputs;
        let mut steps = self.roundness();
        steps.extend([
            step(
                ("ovality", "Ovality reduction factor C"),
                vec![("q", entered(i.ovality_percent)), ("C", factor(self.c))],
                plain(factor(self.c)),
                OvalityReduction::FORMULA.source,
            ),
            step(
                ("retention", "Long-term flexural modulus"),
                vec![
                    ("EL", self.long_term_modulus()),
                    ("E", self.printed.modulus(i.short_term_flexural_modulus_mpa)),
                    ("r", entered(i.modulus_retention_factor)),
                ],
                self.units
                    .stress(self.result.long_term_flexural_modulus_mpa),
                LongTermModulus::FORMULA.source,
            ),
        ]);
        let stiffness = self
            .result
            .checks
            .iter()
            .find(|check| check.equation == "X1.4");
        steps.extend(stiffness.and_then(|check| self.check(check, None)));
        steps.extend(self.order());
        steps
    }

    /// Ovality from the diameters, where they are given.
    fn roundness(&self) -> Vec<Step> {
        let (i, p) = (self.inputs, self.printed);
        let diameters = i.host_diameter_max_mm.zip(i.host_diameter_min_mm);
        let found = ovality_of(i).and_then(Result::ok);
        let Some(((most, least), found)) = diameters.zip(found) else {
            return Vec::new();
        };
        let numbers = vec![
            ("qd", percent(found, 3)),
            ("Dx", p.diameter(most)),
            ("D", p.diameter(i.host_inside_diameter_mm)),
            ("Dn", p.diameter(least)),
        ];
        let from_diameters = step(
            ("ovality-of-diameters", "Ovality of the diameters measured"),
            numbers,
            plain(percent(found, 3)),
            Ovality::FORMULA.source,
        );
        let used = after(
            "at most the ovality used,",
            plain(percent(i.ovality_percent, 2)),
        );
        vec![held(
            from_diameters,
            used,
            found <= i.ovality_percent + 0.005,
        )]
    }

    /// Nominal wall of the tube, where it loses something between the order and the pipe.
    fn order(&self) -> Option<Step> {
        let (i, r, p) = (self.inputs, self.result, self.printed);
        let order = i.order.as_ref()?;
        let made = order.made_diameter_mm.unwrap_or(i.host_inside_diameter_mm);
        let numbers = vec![
            ("tn", p.wall(r.nominal_wall_thickness_mm)),
            ("tr", p.wall(r.required_wall_thickness_mm)),
            ("D", p.diameter(i.host_inside_diameter_mm)),
            ("Dm", p.diameter(made)),
            ("ta", entered(order.order_tolerance_percent)),
        ];
        let nominal = step(
            ("nominal", "Nominal wall, with tolerance and stretch"),
            numbers,
            self.units.wall(r.nominal_wall_thickness_mm),
            NominalWall::FORMULA.source,
        );
        let limit = after("at most", self.units.wall(r.order_wall_thickness_mm));
        let is_met = r.nominal_wall_thickness_mm <= r.order_wall_thickness_mm + 1e-9;
        Some(held(nominal, limit, is_met))
    }

    fn of_section(&self, loads: &SectionLoads) -> Vec<Step> {
        let here = |check: &&WallCheck| check.station_m == loads.station_m;
        let of_soil = self
            .result
            .checks
            .iter()
            .any(|check| check.equation == "X1.3");
        let mut steps = vec![self.pressure(loads)];
        if of_soil {
            steps.extend(self.soil(loads));
        }
        let checks = self.result.checks.iter().filter(here);
        let own = checks.filter(|check| check.equation != "X1.4");
        steps.extend(own.filter_map(|check| self.check(check, Some(loads))));
        steps.extend(self.deflection(loads));
        steps
    }

    fn pressure(&self, loads: &SectionLoads) -> Step {
        let pressure = self.printed.pressure(loads.groundwater_pressure_mpa);
        step(
            (
                self.of_path("pressure-us", "pressure-si"),
                "Groundwater pressure at the invert",
            ),
            vec![
                ("P", pressure),
                ("h", self.printed.height(loads.groundwater_above_invert_m)),
            ],
            self.units.load(loads.groundwater_pressure_mpa),
            GroundwaterPressureUs::FORMULA.source,
        )
    }

    fn soil(&self, loads: &SectionLoads) -> Vec<Step> {
        let p = self.printed;
        let (cover, water) = (
            p.height(loads.cover_m),
            p.height(loads.groundwater_above_crown_m),
        );
        let (rw, support) = (factor(loads.buoyancy_factor), factor(loads.elastic_support));
        let source = BuoyancyFactor::FORMULA.source;
        let numbers = vec![
            ("Rw", rw.clone()),
            ("Hw", water.clone()),
            ("H", cover.clone()),
        ];
        vec![
            step(
                ("buoyancy", "Water buoyancy factor"),
                numbers,
                plain(rw.clone()),
                source,
            ),
            step(
                (
                    self.of_path("support-us", "support-si"),
                    "Coefficient of elastic support",
                ),
                vec![("B", support.clone()), ("H", cover.clone())],
                plain(support),
                source,
            ),
            step(
                (self.of_path("load-us", "load-si"), "Total external load"),
                vec![
                    ("qt", p.pressure(loads.external_load_mpa)),
                    ("Hw", water),
                    ("w", p.unit_weight(self.inputs.soil_unit_weight_kn_per_m3)),
                    ("H", cover),
                    ("Rw", rw),
                    ("Ws", p.pressure(loads.live_load_mpa)),
                ],
                self.units.load(loads.external_load_mpa),
                source,
            ),
        ]
    }

    /// One check; nothing where it does not apply.
    fn check(&self, check: &WallCheck, loads: Option<&SectionLoads>) -> Option<Step> {
        let wall = check.wall_thickness_mm?;
        let (i, p) = (self.inputs, self.printed);
        let key = match (check.equation.as_str(), i.ovality_place()) {
            ("X1.3", OvalityPlace::BeforeRoot) => "X1.3-before-2007",
            (other, _) => other,
        };
        let limit = i.constants();
        let stiffness_mpa = match limit {
            ConstantsPath::Us => obvert_engineering::stiffness::STIFFNESS_LIMIT_US_MPA,
            _ => obvert_engineering::stiffness::STIFFNESS_LIMIT_SI_MPA,
        };
        let mut numbers = vec![
            ("t", p.wall(wall)),
            ("D", p.diameter(i.host_inside_diameter_mm)),
            ("DR", factor(i.host_inside_diameter_mm / wall)),
            ("K", entered(i.enhancement_factor)),
            ("E", p.modulus(i.short_term_flexural_modulus_mpa)),
            ("EL", self.long_term_modulus()),
            ("C", factor(self.c)),
            ("N", entered(i.safety_factor)),
            ("nu", entered(i.poisson_ratio)),
            ("delta", entered(i.ovality_percent / 100.0)),
            ("sigma", p.modulus(i.long_term_flexural_strength_mpa)),
            ("Es", p.modulus(i.soil_modulus_mpa)),
            ("S", p.stiffness_limit(stiffness_mpa)),
        ];
        if let Some(loads) = loads {
            numbers.extend([
                ("P", p.pressure(loads.groundwater_pressure_mpa)),
                ("qt", p.pressure(loads.external_load_mpa)),
                ("Rw", factor(loads.buoyancy_factor)),
                ("B", factor(loads.elastic_support)),
            ]);
        }
        let title = format!("{} {}", check.equation, check.title);
        let step = step((key, &title), numbers, self.units.wall(wall), &check.source);
        let stands = installed_mm(self.result);
        let limit = after("at most", self.units.wall(stands));
        Some(held(step, limit, wall <= stands + 1e-9))
    }

    fn deflection(&self, loads: &SectionLoads) -> Vec<Step> {
        let (i, p) = (self.inputs, self.printed);
        let here = |d: &&obvert_proto::design::v1::DeflectionCheck| d.station_m == loads.station_m;
        let found = self.result.deflections.iter().find(here);
        let Some((found, asked)) = found.zip(i.deflection.as_ref()) else {
            return Vec::new();
        };
        let soil = p.pressure(found.soil_load_mpa);
        let trench = vec![
            ("W", soil.clone()),
            ("km", entered(asked.trench_friction_coefficient)),
            ("H", p.height(loads.cover_m)),
            ("Bd", p.height(asked.trench_width_m)),
            ("w", p.unit_weight(i.soil_unit_weight_kn_per_m3)),
        ];
        let ratio = i.host_inside_diameter_mm / installed_mm(self.result);
        let numbers = vec![
            ("Y", percent(found.deflection_percent, 2)),
            ("Kb", entered(asked.bedding_constant)),
            ("DL", entered(asked.deflection_lag)),
            ("W", soil),
            ("Ws", p.pressure(loads.live_load_mpa)),
            ("E", p.modulus(i.short_term_flexural_modulus_mpa)),
            ("DR", factor(ratio)),
            ("Es", p.modulus(i.soil_modulus_mpa)),
        ];
        let value = plain(percent(found.deflection_percent, 2));
        let title = "Deflection of the wall in the pipe";
        let mut deflection = step(("deflection", title), numbers, value, &found.source);
        let most = percent(found.deflection_max_percent, 1);
        deflection.limit = Some(after("at most", plain(most)));
        deflection.state = Some(reached(
            found.deflection_percent,
            found.deflection_max_percent,
        ));
        let load = self.units.load(found.soil_load_mpa);
        let key = self.of_path("trench-us", "trench-si");
        let source = TrenchLoad::FORMULA.source;
        vec![
            step((key, "Soil load of the trench"), trench, load, source),
            deflection,
        ]
    }

    fn long_term_modulus(&self) -> String {
        self.printed
            .modulus(self.result.long_term_flexural_modulus_mpa)
    }

    fn of_path<'k>(&self, us: &'k str, si: &'k str) -> &'k str {
        if self.printed.us { us } else { si }
    }
}

/// An equation with its numbers.
pub(super) fn step(
    (key, title): (&str, &str),
    numbers: Vec<(&str, String)>,
    result: Figure,
    source: &str,
) -> Step {
    Step {
        equation: key.to_owned(),
        title: title.to_owned(),
        symbols: with_symbols(key),
        substituted: with_numbers(key, numbers.iter().cloned()),
        values: numbers
            .into_iter()
            .map(|(name, value)| (name.to_owned(), value))
            .collect(),
        result,
        limit: None,
        state: None,
        source: source.to_owned(),
    }
}

/// The equation held against a limit.
pub(super) fn held(step: Step, limit: Figure, is_met: bool) -> Step {
    Step {
        limit: Some(limit),
        state: Some(met(is_met)),
        ..step
    }
}

/// Whether a value stays at or below its limit.
pub(super) fn reached(value: f64, limit: f64) -> State {
    met(value <= limit + 1e-9)
}

/// A limit that is met or not, in word and shape.
pub(super) fn met(met: bool) -> State {
    State {
        word: if met { "met" } else { "not met" }.to_owned(),
        mark: if met { Mark::Met } else { Mark::Failed },
    }
}
