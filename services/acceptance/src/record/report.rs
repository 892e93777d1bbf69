//! A report's dates in their order, and each specimen once.

use obvert_proto::{
    Violation,
    acceptance::v1::{LaboratoryReport, Specimen},
    common::v1::LocalDate,
};

/// Specimens that a mean needs at least.
const LEAST_SPECIMENS: usize = 3;

pub(super) fn check(report: &LaboratoryReport) -> Vec<Violation> {
    let mut wrong = Vec::new();
    let dates = [
        ("received_date", &report.received_date),
        ("tested_date", &report.tested_date),
        ("reported_date", &report.reported_date),
    ];
    for pair in dates.windows(2) {
        let [(first, a), (second, b)] = pair else {
            continue;
        };
        let day = |date: &Option<LocalDate>| date.as_ref().and_then(LocalDate::to_civil);
        if let (Some(a), Some(b)) = (day(a), day(b))
            && b < a
        {
            let message = format!("is {b}, before {first} {a}: correct one of the two");
            wrong.push(Violation::new(*second, message));
        }
    }
    let specimens = &report.specimens;
    for (
        index,
        Specimen {
            specimen_number: number,
            ..
        },
    ) in specimens.iter().enumerate()
    {
        if specimens[..index]
            .iter()
            .any(|other| other.specimen_number == *number)
        {
            let message = format!("repeats {number}: name each specimen once");
            wrong.push(Violation::new(
                format!("specimens[{index}].specimen_number"),
                message,
            ));
        }
    }
    let hoop = specimens
        .iter()
        .filter(|specimen| specimen.hoop_direction)
        .count();
    if (1..LEAST_SPECIMENS).contains(&hoop) {
        let message = format!(
            "has {hoop} specimens in the hoop direction, which alone count where there are any: \
             give {LEAST_SPECIMENS} or more"
        );
        wrong.push(Violation::new("specimens", message));
    }
    wrong
}
