//! A leak test has what its method needs, and ends after it began.

use obvert_proto::{
    Violation,
    acceptance::v1::{LeakMethod, LeakTest},
    dates::unix_ms,
};

pub(super) fn check(test: &LeakTest) -> Vec<Violation> {
    let mut wrong = Vec::new();
    let ends = test
        .start_time
        .as_ref()
        .map(unix_ms)
        .zip(test.end_time.as_ref().map(unix_ms));
    if ends.is_some_and(|(start, end)| end < start) {
        wrong.push(Violation::new(
            "end_time",
            "lies before start_time: correct one of the two",
        ));
    }
    let air = [
        ("start_pressure_kpa", test.start_pressure_kpa),
        ("end_pressure_kpa", test.end_pressure_kpa),
    ];
    let water = [
        ("water_lost_litre", test.water_lost_litre),
        ("head_m", test.head_m),
    ];
    let (needed, word) = match test.method() {
        LeakMethod::LowPressureAir => (air, "air test"),
        LeakMethod::Exfiltration => (water, "exfiltration test"),
        LeakMethod::Unspecified => return wrong,
    };
    for (field, _) in needed.into_iter().filter(|(_, value)| value.is_none()) {
        wrong.push(Violation::new(
            field,
            format!("is missing: an {word} needs it"),
        ));
    }
    if let (Some(start), Some(end)) = (test.start_pressure_kpa, test.end_pressure_kpa)
        && end > start
    {
        let message = format!("is {end} kPa, above start_pressure_kpa {start} kPa: exchange them");
        wrong.push(Violation::new("end_pressure_kpa", message));
    }
    wrong
}
