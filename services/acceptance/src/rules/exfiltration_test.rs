//! The exfiltration test: how much water may be lost, and under which head.

use obvert_engineering::{
    exfiltration::{ExfiltrationSi, USUAL_LIMIT_L_PER_MM_KM_DAY},
    units::m_from_ft,
};
use obvert_proto::{acceptance::v1::LeakTest, common::v1::Finding};

/// Seconds in an hour, for which a test lasts at least (ASTM F1216, section 8, from memory).
const HOUR_S: f64 = 3600.0;
/// Least head above crown or groundwater (ASTM F1216, section 8, from memory).
const LEAST_HEAD_FT: f64 = 2.0;
/// Greatest head at the low end (ASTM F1216, section 8, from memory).
const GREATEST_HEAD_FT: f64 = 10.0;
/// Diameter up to which the test is usual: 36 in (ASTM F1216, section 8, from memory).
const LARGE_DIAMETER_MM: f64 = 914.4;

/// Outcome of an exfiltration test.
pub(super) struct Judged {
    pub(super) allowed_loss_litre: Option<f64>,
    pub(super) findings: Vec<Finding>,
}

/// Judges an exfiltration test that has loss and head.
pub(super) fn judged(test: &LeakTest) -> Judged {
    let mut findings = conditions(test);
    let allowance = ExfiltrationSi {
        diameter_mm: test.diameter_mm,
        length_m: test.length_m,
        duration_h: test.timed_s / HOUR_S,
        limit_l_per_mm_km_day: USUAL_LIMIT_L_PER_MM_KM_DAY,
    };
    let allowed_loss_litre = match allowance.allowance_l() {
        Ok(allowed) => Some(allowed),
        Err(problems) => {
            let text = format!("No allowance can be worked out for this test: {problems}");
            findings.push(Finding::holding("exfiltration-outside-method", text, &[]));
            None
        }
    };
    let lost = test.water_lost_litre.unwrap_or_default();
    if let Some(allowed) = allowed_loss_litre.filter(|allowed| lost > *allowed) {
        let message = format!(
            "{lost} litre were lost, {allowed:.2} litre are allowed: let trapped air out, find the \
             leak and test again."
        );
        let facts = [("water_lost_litre", lost), ("allowed_loss_litre", allowed)];
        findings.push(Finding::holding(
            "exfiltration-above-allowed",
            message,
            &facts,
        ));
    }
    Judged {
        allowed_loss_litre,
        findings,
    }
}

fn conditions(test: &LeakTest) -> Vec<Finding> {
    let mut found = Vec::new();
    let (timed, head) = (test.timed_s, test.head_m.unwrap_or_default());
    if timed < HOUR_S {
        let message =
            format!("The test lasted {timed:.0} s, at least {HOUR_S} s are usual: test again.");
        found.push(Finding::holding(
            "exfiltration-short",
            message,
            &[("timed_s", timed)],
        ));
    }
    let (least, greatest) = (m_from_ft(LEAST_HEAD_FT), m_from_ft(GREATEST_HEAD_FT));
    if head < least {
        let message = format!(
            "The head was {head} m, at least {least:.2} m above crown or groundwater are needed: \
             fill higher and test again."
        );
        found.push(Finding::holding(
            "exfiltration-head-low",
            message,
            &[("head_m", head)],
        ));
    } else if head > greatest {
        let message = format!(
            "The head was {head} m, above {greatest:.2} m: test a shorter stretch with less head."
        );
        found.push(Finding::holding(
            "exfiltration-head-high",
            message,
            &[("head_m", head)],
        ));
    }
    if test.diameter_mm > LARGE_DIAMETER_MM {
        let message = format!(
            "The diameter is {} mm; the test is usual up to {LARGE_DIAMETER_MM} mm.",
            test.diameter_mm
        );
        found.push(Finding::note("exfiltration-large-diameter", message, &[]));
    }
    found
}
