//! The order in which points wait for each other.

use std::{
    cmp::Reverse,
    collections::{BTreeSet, BinaryHeap, HashMap},
};

use obvert_tables::{did_you_mean, toml_text::Faults};

use super::{Point, points::Placed};

/// Faults of the `after` lists: unknown ids, and points that wait for each other.
pub(super) fn check(points: &[Placed], faults: &mut Faults<'_>) {
    let ids: BTreeSet<_> = points
        .iter()
        .map(|placed| placed.point.id.as_str())
        .collect();
    for (placed, (after, place)) in points
        .iter()
        .flat_map(|placed| placed.after_places.iter().map(move |after| (placed, after)))
    {
        if faults.is_full() {
            return;
        }
        if *after == placed.point.id {
            faults.add(
                *place,
                format!("point {after} waits for itself: take it out"),
            );
        } else if !ids.contains(after.as_str()) {
            let near = did_you_mean(after, ids.iter().copied());
            faults.add(
                *place,
                format!("after names \"{after}\", which is no point of the plan{near}"),
            );
        }
    }
    let ordered = in_order(points.iter().map(|placed| &placed.point));
    let ordered: BTreeSet<_> = ordered.into_iter().map(|point| point.id.as_str()).collect();
    for Placed {
        point, after_place, ..
    } in points
    {
        let open = |id: &&str| ids.contains(id) && !ordered.contains(id);
        let waits: Vec<_> = point
            .after
            .iter()
            .map(String::as_str)
            .filter(open)
            .collect();
        if open(&point.id.as_str()) && !waits.is_empty() && !point.after.contains(&point.id) {
            let message = format!(
                "point {} can never be reached, since it waits in a circle with {}: break the \
                 circle",
                point.id,
                waits.join(", ")
            );
            faults.add(*after_place, message);
        }
    }
}

/// Points so ordered that each comes after those it waits for; points of a circle are left out.
/// The order of the text is kept otherwise.
pub(super) fn in_order<'a>(points: impl Iterator<Item = &'a Point>) -> Vec<&'a Point> {
    let points: Vec<_> = points.collect();
    let places = points.iter().enumerate();
    let places: HashMap<_, _> = places
        .map(|(place, point)| (point.id.as_str(), place))
        .collect();
    let mut open_counts = vec![0; points.len()];
    let mut followers = vec![Vec::new(); points.len()];
    for (place, point) in points.iter().enumerate() {
        let before = point.after.iter().filter_map(|id| places.get(id.as_str()));
        for before in before {
            open_counts[place] += 1;
            followers[*before].push(place);
        }
    }
    let free = (0..points.len()).filter(|place| open_counts[*place] == 0);
    let mut free: BinaryHeap<_> = free.map(Reverse).collect();
    let mut ordered = Vec::new();
    while let Some(Reverse(place)) = free.pop() {
        ordered.push(points[place]);
        for follower in &followers[place] {
            open_counts[*follower] -= 1;
            if open_counts[*follower] == 0 {
                free.push(Reverse(*follower));
            }
        }
    }
    ordered
}
