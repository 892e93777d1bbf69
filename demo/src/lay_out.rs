//! Pipes with their laterals, bores and walls.

use crate::{
    Wanted, design,
    dice::{Dice, rounded},
    mistake::Mistake,
    plant,
    site::{Pipe, Tap, TapState},
};

/// Streets of a block: first manhole, number of pipes, diameter in inches, shallowest cover in feet.
const STREETS: [(usize, usize, f64, f64); 4] = [
    (101, 9, 8.0, 6.0),
    (201, 7, 10.0, 8.0),
    (301, 6, 12.0, 10.0),
    (401, 4, 15.0, 11.0),
];
/// Pipes of a block, and manhole numbers set aside for it.
const BLOCK: (usize, usize) = (26, 400);
/// Pairs of pipes that one liner goes through, by their numbers in the block.
const THROUGH: [(usize, usize); 3] = [(2, 3), (11, 12), (23, 24)];
/// Pipe whose design was issued again in time, so that its first liner was left over.
pub(crate) const ORDERED_TWICE: usize = 20;
/// Step of groundwater that is tried, m.
const WATER_STEP_M: f64 = 0.1;
/// Laterals of a pipe, by its number.
const TAPS: [usize; 5] = [7, 6, 8, 7, 7];

/// Whether a pipe, by the owner's number, is one of a pair that one liner goes through.
pub(crate) fn in_pair(number: usize) -> bool {
    let in_block = (number - 1) % BLOCK.0 + 1;
    let mut pairs = THROUGH.iter();
    pairs.any(|(first, second)| *first == in_block || *second == in_block)
}

/// Whether a pipe, by the owner's number, lies in one of the two deep streets of its block.
pub(crate) fn lies_deep(number: usize) -> bool {
    let shallow: usize = STREETS[..2].iter().map(|(_, count, ..)| count).sum();
    (number - 1) % BLOCK.0 >= shallow
}

/// All pipes of the site, block after block.
pub(crate) fn pipes(wanted: &Wanted) -> Vec<Pipe> {
    let streets = STREETS
        .into_iter()
        .flat_map(|(manhole, count, inch, cover)| {
            (0..count).map(move |place| (manhole + place, (inch, cover)))
        });
    let streets: Vec<_> = streets.collect();
    let planted = plant::mistakes(wanted.seed, wanted.segments, wanted.planted);
    let mut pipes: Vec<Pipe> = Vec::new();
    let mut taps_before = 0;
    for (place, mistake) in planted.into_iter().enumerate() {
        let (block, in_block) = (place / BLOCK.0, place % BLOCK.0);
        let (manhole, sizes) = streets[in_block];
        let mut pipe = bare(wanted.seed, place + 1, manhole + block * BLOCK.1, sizes);
        pipe.block = block;
        pipe.continues = THROUGH.iter().any(|(_, second)| *second == in_block + 1);
        pipe.mistake = mistake;
        pipe.taps = taps(wanted.seed, &pipe, place + 1, taps_before);
        taps_before += pipe.taps.len();
        pipe.wall_mm = design::order_wall_mm(&pipe, pipe.water_m);
        pipes.push(pipe);
    }
    walls(&mut pipes);
    pipes
}

fn bare(seed: u64, number: usize, manhole: usize, (inch, cover): (f64, f64)) -> Pipe {
    let mut dice = Dice::of(seed, &format!("pipe {number}"));
    let (from, to) = if in_pair(number) {
        (186.0, 206.0)
    } else {
        (212.0, 318.0)
    };
    let centre_to_centre_ft = (dice.between(from, to) * 2.0).round() / 2.0;
    let cover_min_ft = rounded(cover + dice.between(0.0, 1.5), 1);
    let mut pipe = Pipe {
        block: 0,
        continues: false,
        id: format!("q-{number:03}"),
        owner_id: format!("Q-{number:03}"),
        upstream: format!("MQ-{manhole}"),
        downstream: format!("MQ-{}", manhole + 1),
        diameter_in: inch,
        centre_to_centre_ft,
        cover_min_ft,
        cover_max_ft: rounded(cover_min_ft + dice.between(1.0, 4.0), 1),
        water_m: rounded(dice.between(0.5, 1.1), 1),
        bores_mm: [(0.0, 0.0); 3],
        surveyed_m: 0.0,
        taps: Vec::new(),
        wall_mm: 0.0,
        reissued: None,
        mistake: None,
        taken_from: None,
    };
    pipe.surveyed_m = rounded(dice.scattered(pipe.wall_to_wall_m(), 0.03), 2);
    for bore in &mut pipe.bores_mm {
        let mean = dice.scattered(inch * 25.4, 0.6);
        let ovality = dice.between(0.003, 0.015);
        *bore = (
            rounded(mean * (1.0 + ovality), 1),
            rounded(mean * (1.0 - ovality), 1),
        );
    }
    pipe
}

fn taps(seed: u64, pipe: &Pipe, number: usize, before: usize) -> Vec<Tap> {
    let mut dice = Dice::of(seed, &format!("taps {number}"));
    let count = TAPS[number % TAPS.len()];
    let spacing = (pipe.wall_to_wall_ft() - 20.0) / count as f64;
    let clocks = [9.5, 10.0, 10.5, 1.5, 2.0, 2.5];
    (0..count)
        .map(|place| {
            let middle = 10.0 + spacing * (place as f64 + 0.5);
            let station_ft = middle + dice.between(-0.3, 0.3) * spacing;
            let all = before + place;
            // On that pipe one lateral is called dead, and wrongly.
            let state = match (pipe.has(Mistake::ClosedLateral), place) {
                (true, 2) => TapState::Dead,
                (true, _) => TapState::Live,
                (false, _) => state(all),
            };
            Tap {
                id: format!("{}-t{}", pipe.id, place + 1),
                number: format!("T{}", place + 1),
                station_ft: rounded(station_ft, 1),
                clock_h: clocks[dice.whole(0, 5) as usize],
                diameter_in: if dice.whole(0, 3) == 0 { 6.0 } else { 4.0 },
                state,
                lot: format!("lot-417-{:03}", all + 1),
                crossed: place % 3 == 0,
                through_dwelling: place == 0 && number % 6 == 3,
            }
        })
        .collect()
}

fn state(all: usize) -> TapState {
    match all {
        all if all % 17 == 5 => TapState::Dead,
        all if all % 41 == 11 => TapState::GivenUp,
        all if all % 37 == 20 => TapState::Unknown,
        _ => TapState::Live,
    }
}

/// Walls that the stories need: a design that asks for more after the order, and left-over liners
/// that are taken for others, the first of them thinner.
fn walls(pipes: &mut [Pipe]) {
    for place in 1..pipes.len() {
        if pipes[place].continues {
            let wall = pipes[place - 1].wall_mm.max(pipes[place].wall_mm);
            pipes[place - 1].wall_mm = wall;
            pipes[place].wall_mm = wall;
        }
    }
    let late = pipes.iter_mut().filter(|p| p.has(Mistake::OldDesign));
    late.for_each(reissue);
    if let Some([before, twice]) = pipes.get_mut(ORDERED_TWICE - 2..ORDERED_TWICE) {
        reissue(twice);
        (before.water_m, before.wall_mm) = with_more_water(before, twice.wall_mm);
        before.taken_from = before
            .has(Mistake::SwappedLiner)
            .then_some(ORDERED_TWICE - 1);
    }
    for place in 0..pipes.len() {
        if pipes[place].has(Mistake::SwappedLiner) && pipes[place].taken_from.is_none() {
            let from = spare_near(pipes, place);
            match from {
                Some(from) => reissue(&mut pipes[from]),
                // A small site may have no liner to take.
                None => pipes[place].mistake = Some(Mistake::MissingReport),
            }
            pipes[place].taken_from = from;
        }
    }
}

/// Nearest pipe of the same diameter whose design can be issued again, which leaves a liner over.
fn spare_near(pipes: &[Pipe], place: usize) -> Option<usize> {
    let fits = |other: &usize| {
        let pipe = &pipes[*other];
        pipe.diameter_in == pipes[place].diameter_in
            && pipe.mistake.is_none()
            && pipe.reissued.is_none()
            && !in_pair(*other + 1)
    };
    let others = (0..pipes.len()).filter(fits);
    others.min_by_key(|other| other.abs_diff(place))
}

fn reissue(pipe: &mut Pipe) {
    pipe.reissued = Some(with_more_water(pipe, pipe.wall_mm));
}

/// Least groundwater from that of the pipe on that asks for a thicker wall, and that wall.
fn with_more_water(pipe: &Pipe, wall_mm: f64) -> (f64, f64) {
    let most = pipe.cover_min_ft * 0.3048;
    let mut water = pipe.water_m;
    while design::order_wall_mm(pipe, water) <= wall_mm && water + WATER_STEP_M < most {
        water = rounded(water + WATER_STEP_M, 1);
    }
    (water, design::order_wall_mm(pipe, water))
}
