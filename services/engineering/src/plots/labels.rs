//! Labels moved apart where they would lie on each other.

/// Places along a line, at least `apart` from each other and within the limits where they fit,
/// each as near to the place wished as that allows. The order of the result is that of `wished`.
pub(super) fn apart(wished: &[f64], apart: f64, from: f64, to: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wished.len()).collect();
    order.sort_by(|&a, &b| wished[a].total_cmp(&wished[b]));
    // Groups of labels that touch: their first place and their members in order.
    let mut groups: Vec<(f64, Vec<usize>)> = Vec::new();
    for label in order {
        groups.push((wished[label].clamp(from, to.max(from)), vec![label]));
        while let [.., before, last] = groups.as_mut_slice() {
            if before.0 + before.1.len() as f64 * apart <= last.0 {
                break;
            }
            before.1.append(&mut last.1);
            let members = before.1.len() as f64;
            let middle = before
                .1
                .iter()
                .enumerate()
                .map(|(place, label)| wished[*label] - place as f64 * apart)
                .sum::<f64>()
                / members;
            let highest = (to - (members - 1.0) * apart).max(from);
            before.0 = middle.clamp(from, highest);
            groups.pop();
        }
    }
    let mut placed = vec![0.0; wished.len()];
    for (start, members) in groups {
        for (place, label) in members.into_iter().enumerate() {
            placed[label] = start + place as f64 * apart;
        }
    }
    placed
}

/// Row, of `rows`, for each text of a width centred on a place, so that none lies on another;
/// none where no row has room. Places must be in order.
pub(super) fn in_rows(places: &[(f64, f64)], rows: usize, gap: f64) -> Vec<Option<usize>> {
    let mut ends = vec![f64::NEG_INFINITY; rows];
    places
        .iter()
        .map(|(centre, width)| {
            let start = centre - width / 2.0;
            let row = ends.iter().position(|end| end + gap <= start)?;
            ends[row] = centre + width / 2.0;
            Some(row)
        })
        .collect()
}

/// Width of a text as a sans-serif font of that size draws it, about.
pub(super) fn text_width(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * 0.56
}
