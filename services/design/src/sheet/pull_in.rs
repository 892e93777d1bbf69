//! The sheet of a pull-in check: weight, winch force, carrying and inflation.

use obvert_engineering::pull_in::{LinerMass, WinchForce};
use obvert_proto::design::v1::{PullInCheck, PullInInputs, PullInResult};
use obvert_typeset::{
    calculation_sheet::{Answer, CalculationSheet, CheckRow, Input, Step},
    figures::{Units, after, percent, plain, with_unit},
    segment_sheet::Figure,
};

use super::{
    Subject,
    hydraulics::group,
    inputs::input,
    numbers::entered,
    steps::{held, met, step},
    tables,
    top::{around, fact, number_or},
};

/// The whole sheet.
pub(super) fn sheet(subject: &Subject, check: &PullInCheck) -> CalculationSheet {
    let inputs = check.inputs.clone().unwrap_or_default();
    let result = check.result.clone().unwrap_or_default();
    let segments: Vec<_> = check
        .segments
        .iter()
        .map(|name| number_or(name, ""))
        .collect();
    let facts = vec![
        fact("Segments", segments.join(", ")),
        fact("Liner", number_or(&check.liner, "none named")),
        fact(
            "Certificate",
            number_or(
                &check.certificate,
                "none named: the allowed force is not proven",
            ),
        ),
    ];
    let writing = Writing {
        inputs: &inputs,
        result: &result,
        units: Units { us: subject.us },
    };
    let limits = [
        "The winch force is an estimate for planning. What decides is the force measured at the \
         winch beside the allowed force of this very liner; no generic allowable is used.",
        "Lifting, winches, confined spaces, inside pressure and sewage can hurt people: local codes, \
         the maker's instructions and licensed practice come before this sheet.",
    ];
    CalculationSheet {
        answer: writing.answer(),
        inputs: writing.inputs(),
        groups: vec![
            group("Weight and carrying", writing.weight()),
            group("Winch", writing.winch()),
            group("Inside pressure", writing.pressure()),
        ],
        checks_head: tables::head(["Of", "Check", "Value", "Limit"]),
        checks: writing.checks(),
        limits_of_method: limits.map(str::to_owned).to_vec(),
        ..around(subject, "pull-in and handling", facts, &result.findings)
    }
}

struct Writing<'a> {
    inputs: &'a PullInInputs,
    result: &'a PullInResult,
    units: Units,
}

impl Writing<'_> {
    fn answer(&self) -> Answer {
        let (i, r, units) = (self.inputs, self.result, self.units);
        Answer {
            sentence: format!(
                "The liner weighs {}; the winch is expected to pull {} of {} allowed.",
                units.mass(r.mass_kg).text,
                units.force(r.pull_force_kn).text,
                units.force(i.pull_force_allowed_kn).text
            ),
            figures: vec![
                ("Mass".to_owned(), units.mass(r.mass_kg)),
                ("Winch force".to_owned(), units.force(r.pull_force_kn)),
                (
                    "Inside pressure above the outside one".to_owned(),
                    units.pressure(r.pressure_margin_kpa),
                ),
            ],
        }
    }

    fn inputs(&self) -> Vec<Input> {
        let mut rows = self.of_liner();
        rows.extend(self.of_limits());
        rows
    }

    fn of_liner(&self) -> Vec<Input> {
        let (i, units) = (self.inputs, self.units);
        let row = |(name, value): ((&str, &str, &str), Figure)| input(&i.sources, name, value);
        let share = |value: f64| plain(percent(value, 2));
        [
            (
                (
                    "host_inside_diameter_mm",
                    "Inside diameter of the host",
                    "D",
                ),
                units.wall(i.host_inside_diameter_mm),
            ),
            (
                ("wet_wall_mm", "Wall of the wet liner", "t"),
                units.wall(i.wet_wall_mm),
            ),
            (
                ("density_kg_per_m3", "Density of the wet liner", "ρ"),
                plain(with_unit(i.density_kg_per_m3, 0, "kg/m³")),
            ),
            (
                ("films_percent", "Films and foils", "f"),
                share(i.films_percent),
            ),
            (
                ("length_m", "Length carried and pulled", "L"),
                units.length(i.length_m),
            ),
            (
                ("friction_coefficient", "Friction coefficient", "μ"),
                plain(entered(i.friction_coefficient)),
            ),
            (
                (
                    "uphill_slope_percent",
                    "Rise in the direction of the pull",
                    "tan α",
                ),
                share(i.uphill_slope_percent),
            ),
            (
                ("total_bend_degrees", "Sum of all bends", "θ"),
                plain(with_unit(i.total_bend_degrees, 1, "°")),
            ),
        ]
        .map(row)
        .to_vec()
    }

    fn of_limits(&self) -> Vec<Input> {
        let (i, units) = (self.inputs, self.units);
        let row = |(name, value): ((&str, &str, &str), Figure)| input(&i.sources, name, value);
        let share = |value: f64| plain(percent(value, 2));
        let carriers: Vec<_> = i.carry_modes.iter().map(|one| one.mode.as_str()).collect();
        [
            (
                (
                    "pull_force_allowed_kn",
                    "Allowed force by certificate",
                    "F_allowed",
                ),
                units.force(i.pull_force_allowed_kn),
            ),
            (
                ("elongation_percent", "Elongation", ""),
                share(i.elongation_percent),
            ),
            (
                ("elongation_max_percent", "Maker's greatest elongation", ""),
                share(i.elongation_max_percent),
            ),
            (
                ("internal_pressure_kpa", "Inside pressure", "p_in"),
                units.pressure(i.internal_pressure_kpa),
            ),
            (
                (
                    "groundwater_above_invert_m",
                    "Groundwater above the invert",
                    "h_g",
                ),
                units.length(i.groundwater_above_invert_m),
            ),
            (
                ("sewage_above_invert_m", "Sewage above the invert", "h_s"),
                units.length(i.sewage_above_invert_m),
            ),
            (
                ("carry_modes", "Ways of carrying", ""),
                plain(if carriers.is_empty() {
                    "none given".to_owned()
                } else {
                    carriers.join(", ")
                }),
            ),
        ]
        .map(row)
        .to_vec()
    }

    fn weight(&self) -> Vec<Step> {
        let (i, r, units) = (self.inputs, self.result, self.units);
        let each = with_unit(r.mass_kg_per_m, 4, "kg/m");
        let mut steps = vec![
            step(
                ("liner-mass", "Mass of one metre"),
                vec![
                    ("m", each.clone()),
                    ("rho", with_unit(i.density_kg_per_m3, 0, "kg/m³")),
                    ("D", with_unit(i.host_inside_diameter_mm / 1000.0, 4, "m")),
                    ("t", with_unit(i.wet_wall_mm / 1000.0, 5, "m")),
                    ("f", entered(i.films_percent)),
                ],
                units.mass_of_length(r.mass_kg_per_m),
                LinerMass::FORMULA.source,
            ),
            step(
                ("total-mass", "Mass of the liner"),
                vec![
                    ("M", with_unit(r.mass_kg, 1, "kg")),
                    ("m", each),
                    ("L", with_unit(i.length_m, 2, "m")),
                ],
                units.mass(r.mass_kg),
                LinerMass::FORMULA.source,
            ),
        ];
        for (mode, load) in i.carry_modes.iter().zip(&r.carry_loads) {
            let carry = step(
                ("carry", &format!("Load of each carrier, {}", mode.mode)),
                vec![
                    ("mc", with_unit(load.load_kg, 1, "kg")),
                    ("M", with_unit(r.mass_kg, 1, "kg")),
                    ("k", mode.carrier_count.to_string()),
                ],
                units.mass(load.load_kg),
                "an even share of the mass",
            );
            let limit = after("at most", units.mass(load.limit_kg));
            steps.push(held(carry, limit, load.load_kg <= load.limit_kg));
        }
        steps
    }

    fn winch(&self) -> Vec<Step> {
        let (i, r, units) = (self.inputs, self.result, self.units);
        let slope = (i.uphill_slope_percent / 100.0).atan();
        let force = step(
            ("winch", "Winch force expected"),
            vec![
                ("F", with_unit(r.pull_force_kn * 1000.0, 0, "N")),
                ("m", with_unit(r.mass_kg_per_m, 4, "kg/m")),
                ("L", with_unit(i.length_m, 2, "m")),
                ("mu", entered(i.friction_coefficient)),
                ("al", with_unit(slope.to_degrees(), 3, "°")),
                ("th", with_unit(i.total_bend_degrees.to_radians(), 4, "rad")),
            ],
            units.force(r.pull_force_kn),
            WinchForce::FORMULA.source,
        );
        let allowed = i.pull_force_allowed_kn;
        vec![
            held(
                force,
                after("at most", units.force(allowed)),
                r.pull_force_kn <= allowed,
            ),
            step(
                ("force-share", "Share of the allowed force"),
                vec![
                    ("Fs", percent(r.pull_force_percent, 1)),
                    ("F", with_unit(r.pull_force_kn, 3, "kN")),
                    ("Fa", with_unit(allowed, 3, "kN")),
                ],
                plain(percent(r.pull_force_percent, 1)),
                "definition",
            ),
        ]
    }

    fn pressure(&self) -> Vec<Step> {
        let (i, r, units) = (self.inputs, self.result, self.units);
        let outside = with_unit(r.outside_pressure_kpa, 2, "kPa");
        let surplus = step(
            ("surplus", "Inside pressure above the outside one"),
            vec![
                ("dp", with_unit(r.pressure_margin_kpa, 2, "kPa")),
                ("pin", with_unit(i.internal_pressure_kpa, 2, "kPa")),
                ("po", outside.clone()),
            ],
            units.pressure(r.pressure_margin_kpa),
            "statics",
        );
        let limit = after("above", units.pressure(0.0));
        vec![
            step(
                ("outside", "Outside pressure at the invert"),
                vec![
                    ("po", outside),
                    ("hg", with_unit(i.groundwater_above_invert_m, 2, "m")),
                    ("hs", with_unit(i.sewage_above_invert_m, 2, "m")),
                ],
                units.pressure(r.outside_pressure_kpa),
                "statics of water, 9.81 kPa a metre",
            ),
            held(surplus, limit, r.pressure_margin_kpa > 0.0),
        ]
    }

    fn checks(&self) -> Vec<CheckRow> {
        let (i, r, units) = (self.inputs, self.result, self.units);
        let row = |of: &str, check: &str, value: Figure, limit: Figure, is_met: bool| {
            let mut state = met(is_met);
            state.word = format!("at most {}: {}", limit.text, state.word);
            CheckRow {
                station: plain(of),
                check: check.to_owned(),
                wall: value,
                state,
            }
        };
        let allowed = i.pull_force_allowed_kn;
        let share = |value: f64| plain(percent(value, 2));
        let mut rows = vec![
            row(
                "winch",
                "force expected",
                units.force(r.pull_force_kn),
                units.force(allowed),
                r.pull_force_kn <= allowed,
            ),
            row(
                "liner",
                "elongation by its own marks",
                share(i.elongation_percent),
                share(i.elongation_max_percent),
                i.elongation_percent <= i.elongation_max_percent,
            ),
            row(
                "inflation",
                "outside pressure beside the inside one",
                units.pressure(r.outside_pressure_kpa),
                units.pressure(i.internal_pressure_kpa),
                r.pressure_margin_kpa > 0.0,
            ),
        ];
        rows.extend(r.carry_loads.iter().map(|load| {
            row(
                "carrying",
                &load.mode,
                units.mass(load.load_kg),
                units.mass(load.limit_kg),
                load.load_kg <= load.limit_kg,
            )
        }));
        rows
    }
}
