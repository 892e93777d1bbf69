//! Whether a liner can be carried to the manhole, pulled in and held open.

use obvert_engineering::{
    Problems,
    groundwater::WATER_MPA_PER_M,
    pull_in::{LinerMass, WinchForce},
};
use obvert_proto::{
    Problem, Violation,
    common::v1::{Finding, RecordRef},
    design::v1::{CarryLoad, PullInCheck, PullInInputs, PullInResult},
    material::v1::LinerCertificate,
};
use obvert_records::Named;

use super::{engineering::violations, refused};

/// The check with its result.
pub(super) fn judged(check: PullInCheck, named: &Named) -> Result<PullInCheck, Problem> {
    let inputs = check.inputs.clone().unwrap_or_default();
    let certificate = named.get::<LinerCertificate>(&check.certificate);
    if let Some(other) = certificate.as_ref().filter(|c| c.liner != check.liner) {
        let message = format!(
            "is the certificate of {}, the liner here is {}: name its own certificate",
            other.liner, check.liner
        );
        let field = "pull_in_check.certificate";
        return Err(Problem::fields(vec![Violation::new(field, message)]));
    }
    let mut result =
        result(&inputs).map_err(|found| refused("pull_in_check.inputs", violations(&found)))?;
    result.findings = findings(&inputs, &result);
    match certificate {
        Some(certificate) => {
            let record = RecordRef {
                name: check.certificate.clone(),
                revision: named.revision(&check.certificate),
            };
            let weighed = weighed(&result, &certificate);
            result.findings.extend(weighed.map(|finding| Finding {
                records: vec![record],
                ..finding
            }));
        }
        None => {
            let message = "No certificate is named: the allowed winch force has to be that of this \
                           very liner, no general figure exists.";
            let found = Finding::holding("allowed-force-without-certificate", message.into(), &[]);
            result.findings.push(found);
        }
    }
    Ok(PullInCheck {
        result: Some(result),
        ..check
    })
}

fn result(inputs: &PullInInputs) -> Result<PullInResult, Problems> {
    let mass_kg_per_m = LinerMass {
        density_kg_per_m3: inputs.density_kg_per_m3,
        host_diameter_mm: inputs.host_inside_diameter_mm,
        wall_thickness_mm: inputs.wet_wall_mm,
        films_percent: inputs.films_percent,
    }
    .mass_kg_per_m()?;
    let pull_force_kn = WinchForce {
        mass_kg_per_m,
        length_m: inputs.length_m,
        friction_coefficient: inputs.friction_coefficient,
        uphill_slope_percent: inputs.uphill_slope_percent,
        total_bend_degrees: inputs.total_bend_degrees,
    }
    .force_kn()?;
    let mass_kg = mass_kg_per_m * inputs.length_m;
    let carry = |mode: &obvert_proto::design::v1::CarryMode| CarryLoad {
        mode: mode.mode.clone(),
        load_kg: mass_kg / f64::from(mode.carrier_count.max(1)),
        limit_kg: mode.limit_kg,
    };
    let head_m = inputs
        .groundwater_above_invert_m
        .max(inputs.sewage_above_invert_m);
    let outside_pressure_kpa = head_m * WATER_MPA_PER_M * 1000.0;
    Ok(PullInResult {
        mass_kg_per_m,
        mass_kg,
        pull_force_kn,
        pull_force_percent: 100.0 * pull_force_kn / inputs.pull_force_allowed_kn,
        carry_loads: inputs.carry_modes.iter().map(carry).collect(),
        outside_pressure_kpa,
        pressure_margin_kpa: inputs.internal_pressure_kpa - outside_pressure_kpa,
        findings: Vec::new(),
    })
}

fn findings(inputs: &PullInInputs, result: &PullInResult) -> Vec<Finding> {
    let mut found = Vec::new();
    let (force, allowed) = (result.pull_force_kn, inputs.pull_force_allowed_kn);
    let facts = [("pull_force_kn", force), ("pull_force_allowed_kn", allowed)];
    found.push(if force > allowed {
        let message = format!(
            "The winch force expected is {force:.2} kN, above the {allowed} kN allowed: lay a slide \
             foil, lubricate, or pull from the other end."
        );
        Finding::holding("pull-force-above-allowed", message, &facts)
    } else {
        let message = format!(
            "The winch force expected is {force:.2} kN of {allowed} kN allowed. It is an estimate \
             for planning: the force measured at the winch decides."
        );
        Finding::note("pull-force-estimated", message, &facts)
    });
    let (stretch, most) = (inputs.elongation_percent, inputs.elongation_max_percent);
    if stretch > most {
        let message = format!(
            "The elongation is {stretch} percent, above the maker's {most} percent: do not light it, \
             ask the maker."
        );
        found.push(Finding::holding(
            "elongation-above-limit",
            message,
            &[("elongation_percent", stretch)],
        ));
    }
    for carry in &result.carry_loads {
        if carry.load_kg > carry.limit_kg {
            let message = format!(
                "By {} each carrier bears {:.0} kg, above its limit of {} kg: take more carriers or \
                 another way.",
                carry.mode, carry.load_kg, carry.limit_kg
            );
            found.push(Finding::holding(
                "carry-load-above-limit",
                message,
                &[("load_kg", carry.load_kg)],
            ));
        }
    }
    if result.pressure_margin_kpa <= 0.0 {
        let message = format!(
            "The inside pressure of {} kPa does not exceed the {:.1} kPa of groundwater and sewage \
             outside: raise it within the maker's band, or draw the water down.",
            inputs.internal_pressure_kpa, result.outside_pressure_kpa
        );
        let facts = [("pressure_margin_kpa", result.pressure_margin_kpa)];
        found.push(Finding::holding("pressure-below-outside", message, &facts));
    }
    found
}

/// The mass worked out beside the mass that the certificate prints.
fn weighed(result: &PullInResult, certificate: &LinerCertificate) -> Option<Finding> {
    let printed = certificate.weight_kg?;
    let message = format!(
        "The certificate prints {printed} kg, worked out are {:.0} kg: take the larger for lifting.",
        result.mass_kg
    );
    let facts = [("weight_kg", printed), ("mass_kg", result.mass_kg)];
    Some(Finding::note("weight-on-certificate", message, &facts))
}
