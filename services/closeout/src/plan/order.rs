//! The order in which points wait for each other.

use obvert_tables::{did_you_mean, toml_text::Faults};

use super::{Point, points::Placed};

/// Faults of the `after` lists: unknown ids, and points that wait for each other.
pub(super) fn check(points: &[Placed], faults: &mut Faults<'_>) {
    let ids: Vec<_> = points
        .iter()
        .map(|placed| placed.point.id.as_str())
        .collect();
    for placed in points {
        for (after, place) in &placed.after_places {
            if *after == placed.point.id {
                faults.add(
                    *place,
                    format!("point {after} waits for itself: take it out"),
                );
            } else if !ids.contains(&after.as_str()) {
                let near = did_you_mean(after, ids.iter().copied());
                faults.add(
                    *place,
                    format!("after names \"{after}\", which is no point of the plan{near}"),
                );
            }
        }
    }
    let all: Vec<_> = points.iter().map(|placed| placed.point.clone()).collect();
    let ordered = in_order(&all);
    for placed in points
        .iter()
        .filter(|p| !ordered.iter().any(|point| point.id == p.point.id))
    {
        let waits = placed
            .point
            .after
            .iter()
            .filter(|a| !ordered.iter().any(|point| point.id == **a));
        let waits: Vec<_> = waits
            .filter(|a| ids.contains(&a.as_str()))
            .cloned()
            .collect();
        if !waits.is_empty() && !placed.point.after.contains(&placed.point.id) {
            let message = format!(
                "point {} can never be reached, since it waits in a circle with {}: break the \
                 circle",
                placed.point.id,
                waits.join(", ")
            );
            faults.add(placed.after_place, message);
        }
    }
}

/// Points so ordered that each comes after those it waits for; points of a circle are left out.
/// The order of the text is kept otherwise.
pub(super) fn in_order(points: &[Point]) -> Vec<&Point> {
    let mut ordered: Vec<&Point> = Vec::new();
    loop {
        let waits = |point: &Point| {
            let known = |id: &&String| points.iter().any(|other| other.id == **id);
            let mut open = point.after.iter().filter(known);
            open.any(|id| !ordered.iter().any(|done| done.id == *id))
        };
        let next = points
            .iter()
            .find(|point| !ordered.iter().any(|done| std::ptr::eq(*done, *point)) && !waits(point));
        match next {
            Some(point) => ordered.push(point),
            None => return ordered,
        }
    }
}
