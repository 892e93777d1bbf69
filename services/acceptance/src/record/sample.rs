//! A sample is cut first and handed over after, in order of time.

use obvert_proto::{Violation, acceptance::v1::Sample, dates::unix_ms};

pub(super) fn check(sample: &Sample) -> Vec<Violation> {
    let mut wrong = Vec::new();
    let mut before = sample
        .cut_time
        .as_ref()
        .map(|time| (unix_ms(time), "the cut"));
    for (index, step) in sample.custody.iter().enumerate() {
        let Some(time) = step.custody_time.as_ref().map(unix_ms) else {
            continue;
        };
        if let Some((earlier, what)) = before
            && time < earlier
        {
            let message = format!("lies before {what}: list the steps in order of time");
            wrong.push(Violation::new(
                format!("custody[{index}].custody_time"),
                message,
            ));
        }
        before = Some((time, "the step above"));
    }
    wrong
}
