//! Which segments have a mistake, and which.

use crate::{
    Planted,
    dice::Dice,
    kinds::KINDS,
    lay_out::{ORDERED_TWICE, in_pair, lies_deep},
    mistake::{Mistake, STORIES},
    surveys::FOLDED,
};

/// Mistake of each segment, in order of the owner's numbers.
///
/// By share, the kinds come in turn, in an order of the seed. They stay off pairs that one liner goes
/// through, where one mistake would hold two segments, and off the two segments with stories of their
/// own that are no mistakes.
pub(crate) fn mistakes(seed: u64, segments: usize, planted: Planted) -> Vec<Option<Mistake>> {
    let mut mistakes = vec![None; segments];
    match planted {
        Planted::None => {}
        Planted::Stories => {
            for (mistake, number) in STORIES {
                if let Some(place) = mistakes.get_mut(number - 1) {
                    *place = Some(mistake);
                }
            }
        }
        Planted::Share(share) => {
            let mut dice = Dice::of(seed, "planted");
            let own = [FOLDED, ORDERED_TWICE];
            let free = (1..=segments).filter(|number| !in_pair(*number) && !own.contains(number));
            let free = shuffled(&mut dice, free.collect());
            let kinds = shuffled(&mut dice, KINDS.iter().map(|kind| kind.mistake).collect());
            let count = (share * segments as f64).round() as usize;
            let places = free.into_iter().take(count);
            for (number, mistake) in places.zip(kinds.into_iter().cycle()) {
                mistakes[number - 1] = Some(mistake);
            }
            old_designs_lie_deep(&mut mistakes);
        }
    }
    mistakes
}

/// Where the cover is shallow, no groundwater asks for a thicker wall: an old design is then no
/// mistake, and changes places with another one.
fn old_designs_lie_deep(mistakes: &mut [Option<Mistake>]) {
    let old = Some(Mistake::OldDesign);
    for place in 0..mistakes.len() {
        if mistakes[place] != old || lies_deep(place + 1) {
            continue;
        }
        let fits = |other: &usize| {
            lies_deep(other + 1) && mistakes[*other].is_some() && mistakes[*other] != old
        };
        match (0..mistakes.len()).find(fits) {
            Some(other) => mistakes.swap(place, other),
            None => mistakes[place] = Some(Mistake::MissingReport),
        }
    }
}

fn shuffled<T>(dice: &mut Dice, mut all: Vec<T>) -> Vec<T> {
    for last in (1..all.len()).rev() {
        all.swap(last, dice.whole(0, last as i64) as usize);
    }
    all
}
