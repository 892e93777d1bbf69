//! Pipes with their laterals, bores and walls.

use crate::{
    design,
    dice::{Dice, rounded},
    mistake::{MISTAKES, Mistake},
    site::{Pipe, Tap, TapState},
};

/// Streets: first manhole, number of pipes, diameter in inches, shallowest cover in feet.
const STREETS: [(usize, usize, f64, f64); 4] = [
    (101, 9, 8.0, 6.0),
    (201, 7, 10.0, 8.0),
    (301, 6, 12.0, 10.0),
    (401, 4, 15.0, 11.0),
];
/// Pairs of pipes that one liner goes through, by the owner's numbers.
pub(crate) const THROUGH: [(usize, usize); 3] = [(2, 3), (11, 12), (23, 24)];
/// Pipe whose design was issued again in time, so that its first liner was left over.
pub(crate) const ORDERED_TWICE: usize = 20;
/// Step of groundwater that is tried, m.
const WATER_STEP_M: f64 = 0.1;
/// Laterals of a pipe, by its number.
const TAPS: [usize; 5] = [7, 6, 8, 7, 7];

/// All pipes of the site.
pub(crate) fn pipes(seed: u64, clean: bool) -> Vec<Pipe> {
    let mut pipes = Vec::new();
    let mut taps_before = 0;
    for (first_manhole, count, diameter_in, cover_ft) in STREETS {
        for place in 0..count {
            let number = pipes.len() + 1;
            let ends = (first_manhole + place, first_manhole + place + 1);
            let mut pipe = bare(seed, number, ends, (diameter_in, cover_ft));
            let planted = MISTAKES.into_iter().find(|m| m.segment_number() == number);
            pipe.mistake = planted.filter(|_| !clean);
            pipe.taps = taps(seed, &pipe, number, taps_before);
            taps_before += pipe.taps.len();
            pipe.wall_mm = design::order_wall_mm(&pipe, pipe.water_m);
            pipes.push(pipe);
        }
    }
    walls(&mut pipes, clean);
    pipes
}

fn bare(seed: u64, number: usize, ends: (usize, usize), (inch, cover): (f64, f64)) -> Pipe {
    let mut dice = Dice::of(seed, &format!("pipe {number}"));
    let in_two = THROUGH
        .iter()
        .any(|(first, second)| *first == number || *second == number);
    let (from, to) = if in_two {
        (186.0, 206.0)
    } else {
        (212.0, 318.0)
    };
    let centre_to_centre_ft = (dice.between(from, to) * 2.0).round() / 2.0;
    let cover_min_ft = rounded(cover + dice.between(0.0, 1.5), 1);
    let mut pipe = Pipe {
        id: format!("q-{number:03}"),
        owner_id: format!("Q-{number:03}"),
        upstream: format!("MQ-{}", ends.0),
        downstream: format!("MQ-{}", ends.1),
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

/// Walls that the stories need: a design that asks for more after the order, and a left-over liner
/// that is thinner than the one it is taken for.
fn walls(pipes: &mut [Pipe], clean: bool) {
    for (first, second) in THROUGH {
        let wall = pipes[first - 1].wall_mm.max(pipes[second - 1].wall_mm);
        pipes[first - 1].wall_mm = wall;
        pipes[second - 1].wall_mm = wall;
    }
    reissue(&mut pipes[ORDERED_TWICE - 1]);
    if !clean {
        reissue(&mut pipes[Mistake::OldDesign.segment_number() - 1]);
    }
    let left_over = pipes[ORDERED_TWICE - 1].wall_mm;
    let swapped = &mut pipes[Mistake::SwappedLiner.segment_number() - 1];
    (swapped.water_m, swapped.wall_mm) = with_more_water(swapped, left_over);
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
