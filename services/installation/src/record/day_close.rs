//! The end of a crew's day: each run and each home once, with deadlines that lie ahead.

use obvert_proto::{Violation, dates::unix_ms, installation::v1::DayClose};

use super::repeated;

pub(super) fn check(close: &DayClose) -> Vec<Violation> {
    let mut wrong = repeated(close.runs.iter().map(String::as_str), |i| {
        format!("runs[{i}]")
    });
    let homes = close.homes_shut.iter().map(|home| home.lateral.as_str());
    wrong.extend(repeated(homes, |i| format!("homes_shut[{i}].lateral")));
    let Some(closed) = close.close_time.as_ref().map(unix_ms) else {
        return wrong;
    };
    for (index, home) in close.homes_shut.iter().enumerate() {
        let mut push = |field: &str, message: &str| {
            wrong.push(Violation::new(
                format!("homes_shut[{index}].{field}"),
                message,
            ));
        };
        if home
            .owner_told_time
            .as_ref()
            .is_some_and(|told| unix_ms(told) > closed)
        {
            push(
                "owner_told_time",
                "lies after close_time: tell the owner before the day ends",
            );
        }
        if home
            .deadline_time
            .as_ref()
            .is_some_and(|deadline| unix_ms(deadline) <= closed)
        {
            push(
                "deadline_time",
                "does not lie after close_time: give a new deadline",
            );
        }
    }
    wrong
}
