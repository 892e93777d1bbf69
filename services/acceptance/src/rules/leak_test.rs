//! What a leak test had to reach, and what it did.

use obvert_proto::{
    acceptance::v1::{LeakMethod, LeakTest},
    dates::unix_ms,
};

use super::{air_test, exfiltration_test};

/// The test with required time or allowed loss, the time timed, and findings.
pub(super) fn completed(mut test: LeakTest) -> LeakTest {
    let ms = |time: &Option<prost_types::Timestamp>| time.as_ref().map_or(0, unix_ms);
    test.timed_s = (ms(&test.end_time) - ms(&test.start_time)) as f64 / 1000.0;
    match test.method() {
        LeakMethod::LowPressureAir => {
            let judged = air_test::judged(&test);
            test.required_time_s = judged.required_time_s;
            test.findings = judged.findings;
        }
        LeakMethod::Exfiltration => {
            let judged = exfiltration_test::judged(&test);
            test.allowed_loss_litre = judged.allowed_loss_litre;
            test.findings = judged.findings;
        }
        LeakMethod::Unspecified => {}
    }
    test
}
