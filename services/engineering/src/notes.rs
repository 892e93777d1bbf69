//! What a reader should know about a result that is in order: a floor that was applied, a range
//! beyond which practice asks for more.

use crate::encased_buckling::{
    ENHANCEMENT_WARNING_BELOW_DIMENSION_RATIO as LEAST_DR, EquivalentEnhancement,
};
use crate::external_load::{BuoyancyFactor, ExternalLoadSi, ExternalLoadUs, LEAST_BUOYANCY_FACTOR};
use crate::live_load::{HighwayLiveLoad, RailwayLiveLoad};
use crate::ovality::OVALITY_FOR_ANALYSIS_PERCENT;
use crate::pull_in::WinchForce;
use crate::registry::Formula;
use crate::retention::{LongTermModulus, RETENTION_FOR_TEST};

/// One note: the formula, when it applies to inputs and results, and its words.
struct Note {
    formula: &'static str,
    applies: fn(&[f64], &[Option<f64>]) -> bool,
    words: &'static str,
}

/// Notes on a result, in the order of the list.
pub(crate) fn notes(
    formula: &Formula,
    values: &[f64],
    results: &[Option<f64>],
) -> Vec<&'static str> {
    let own = NOTES.iter().filter(|note| note.formula == formula.name);
    let mut found: Vec<&'static str> = own
        .filter(|note| (note.applies)(values, results))
        .map(|note| note.words)
        .collect();
    let at = |name: &str| {
        let index = formula.inputs.iter().position(|field| field.name == name)?;
        values.get(index).copied()
    };
    if at("ovality_percent").is_some_and(|q| q > OVALITY_FOR_ANALYSIS_PERCENT) {
        found.push("Above 6 percent of ovality German practice asks for an analysis of its own.");
    }
    if let Some(factor) = at("enhancement_factor")
        && let Some(diameter) = at("host_diameter_mm")
        && let Some(wall) = wall(formula, values, results)
        && factor > 0.5 * (diameter / wall - 1.0).max(0.0).powf(0.8)
    {
        found.push(
            "At this dimension ratio the enhancement factor is more than even a perfect tight \
             liner reaches (Glock, from memory).",
        );
    }
    found
}

/// The wall of a formula, given or found.
fn wall(formula: &Formula, values: &[f64], results: &[Option<f64>]) -> Option<f64> {
    let given = formula.inputs.iter().zip(values);
    let given = given.filter(|(field, _)| field.name == "wall_thickness_mm");
    let found = formula.outputs.iter().zip(results);
    let found = found.filter(|(output, _)| output.name.ends_with("wall_thickness_mm"));
    let mut all = given
        .map(|(_, value)| Some(*value))
        .chain(found.map(|(_, value)| *value));
    all.next().flatten()
}

fn floor_applies(factor: Option<f64>) -> bool {
    factor == Some(LEAST_BUOYANCY_FACTOR)
}

const FLOOR: &str = "The buoyancy factor stands at its floor of 0.67: the equation alone gives \
                     the lower factor_before_floor.";
const FROM_MEMORY: &str = "The table was set down from memory: compare it with the owner's.";

static NOTES: &[Note] = &[
    Note {
        formula: BuoyancyFactor::FORMULA.name,
        applies: |_, results| floor_applies(results[0]),
        words: FLOOR,
    },
    Note {
        formula: ExternalLoadUs::FORMULA.name,
        applies: |_, results| floor_applies(results[1]),
        words: FLOOR,
    },
    Note {
        formula: ExternalLoadSi::FORMULA.name,
        applies: |_, results| floor_applies(results[1]),
        words: FLOOR,
    },
    Note {
        formula: EquivalentEnhancement::FORMULA.name,
        applies: |values, _| values[0] < LEAST_DR,
        words: "Below a dimension ratio of 28 an enhancement factor of 7 is more than even a \
                perfect tight liner reaches.",
    },
    Note {
        formula: HighwayLiveLoad::FORMULA.name,
        applies: |_, _| true,
        words: FROM_MEMORY,
    },
    Note {
        formula: RailwayLiveLoad::FORMULA.name,
        applies: |_, _| true,
        words: FROM_MEMORY,
    },
    Note {
        formula: WinchForce::FORMULA.name,
        applies: |_, results| results[0] == Some(0.0),
        words: "The slope alone moves the liner: no force is computed for holding it back.",
    },
    Note {
        formula: LongTermModulus::FORMULA.name,
        applies: |values, _| values[1] > RETENTION_FOR_TEST,
        words: "A retention above 0.5 asks for a test of 10 000 h by a third party.",
    },
];
