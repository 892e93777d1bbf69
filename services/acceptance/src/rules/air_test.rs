//! The low-pressure air test: how long the pressure had to hold, and where it had to start.

use obvert_engineering::{
    leak_air::{AirTestPressure, AirTestTime, LARGEST_PRESSURE_PSIG, STANDARD_LOSS_CFM_PER_FT2},
    units::{ft_from_m, in_from_mm, mpa_from_psi, psi_from_mpa},
};
use obvert_proto::{acceptance::v1::LeakTest, common::v1::Finding};

/// Least drop that is timed; a smaller one must hold as long as this one.
const LEAST_DROP_PSI: f64 = 0.5;
/// Pressure at the start without groundwater (ASTM F1417, from memory).
const START_PSIG: f64 = 3.5;
/// Pressure above the prescribed one from which a start is noted: the test is filled to 4.0 psig
/// and timed from 3.5 psig (from memory).
const FILL_ABOVE_START_PSI: f64 = 0.5;
/// What two pressures may differ by and be the same reading.
const READING_PSI: f64 = 0.05;
/// Diameter above which the standard's notes ask for the maker's advice (ASTM F1417-11a).
const LARGE_DIAMETER_IN: f64 = 30.0;

/// Outcome of an air test.
pub(super) struct Judged {
    pub(super) required_time_s: Option<f64>,
    pub(super) findings: Vec<Finding>,
}

/// Judges an air test that has both pressures.
pub(super) fn judged(test: &LeakTest) -> Judged {
    let psi = |kpa: Option<f64>| psi_from_mpa(kpa.unwrap_or_default() / 1000.0);
    let (start_psig, end_psig) = (psi(test.start_pressure_kpa), psi(test.end_pressure_kpa));
    let mut findings = pressure(test, start_psig);
    let diameter_in = in_from_mm(test.diameter_mm);
    let time = AirTestTime {
        diameter_in,
        length_ft: ft_from_m(test.length_m),
        pressure_drop_psi: (start_psig - end_psig).max(LEAST_DROP_PSI),
        loss_cfm_per_ft2: STANDARD_LOSS_CFM_PER_FT2,
    };
    let required_time_s = match time.time_s() {
        Ok(required) => Some(required),
        Err(problems) => {
            let text = format!("No time can be worked out for this air test: {problems}");
            findings.push(Finding::holding("air-test-outside-method", text, &[]));
            None
        }
    };
    if let Some(required) = required_time_s.filter(|required| test.timed_s < *required) {
        let timed = test.timed_s;
        let message = format!(
            "The pressure was timed for {timed:.0} s, {required:.0} s are required for this drop: \
             find the leak and test again, or time for longer."
        );
        let facts = [("timed_s", timed), ("required_time_s", required)];
        findings.push(Finding::holding("air-test-short", message, &facts));
    }
    if diameter_in > LARGE_DIAMETER_IN {
        let message = format!(
            "The diameter is {} mm, above 762 mm (30 in): the method asks for the maker's advice.",
            test.diameter_mm
        );
        findings.push(Finding::note(
            "air-test-large-diameter",
            message,
            &[("diameter_mm", test.diameter_mm)],
        ));
    }
    Judged {
        required_time_s,
        findings,
    }
}

/// Findings on the pressure at the start.
fn pressure(test: &LeakTest, start_psig: f64) -> Vec<Finding> {
    let mut found = Vec::new();
    let start_kpa = test.start_pressure_kpa.unwrap_or_default();
    if start_psig > LARGEST_PRESSURE_PSIG {
        let message = format!(
            "The pressure was {start_kpa} kPa, above {:.1} kPa (9 psig), which no air test may \
             exceed: plugs can fly; keep everybody out of the manholes.",
            kpa(LARGEST_PRESSURE_PSIG)
        );
        found.push(Finding::holding(
            "air-test-pressure-above-9-psig",
            message,
            &[("start_kpa", start_kpa)],
        ));
    }
    let prescribed = AirTestPressure {
        start_pressure_psig: START_PSIG,
        groundwater_above_invert_ft: ft_from_m(test.groundwater_above_invert_m),
    };
    let prescribed_psig = match prescribed.pressure_psig() {
        Ok(pressure) => pressure,
        Err(problems) => {
            let text = format!("The groundwater is too high for an air test: {problems}");
            found.push(Finding::holding("air-test-groundwater-high", text, &[]));
            return found;
        }
    };
    let prescribed_kpa = kpa(prescribed_psig);
    let facts = [("start_kpa", start_kpa), ("prescribed_kpa", prescribed_kpa)];
    if start_psig < prescribed_psig - READING_PSI {
        let message = format!(
            "Timing began at {start_kpa} kPa, below {prescribed_kpa:.1} kPa, which is 3.5 psig and \
             the groundwater's pressure: test again from there."
        );
        found.push(Finding::holding("air-test-start-low", message, &facts));
    } else if start_psig > prescribed_psig + FILL_ABOVE_START_PSI + READING_PSI {
        let message = format!(
            "Timing began at {start_kpa} kPa, {prescribed_kpa:.1} kPa is prescribed: the time \
             holds for a start there."
        );
        found.push(Finding::note("air-test-start-high", message, &facts));
    }
    found
}

fn kpa(psig: f64) -> f64 {
    mpa_from_psi(psig) * 1000.0
}
