//! Runs with their times, and the liners that were made for them.

use jiff::civil::Date;
use obvert_engineering::{
    leak_air::{AirTestTime, STANDARD_LOSS_CFM_PER_FT2},
    liner_length::LinerLength,
};

use crate::{
    cure,
    dice::{Dice, rounded},
    maker,
    mistake::Mistake,
    site::{Liner, Pipe, Run, Times, length_m, manhole_m, weeks},
    when::{day, later, working_day},
};

/// Packer grip, sample and trim at each end, and the reserve, m.
pub(crate) const ENDS_M: (f64, f64, f64, f64) = (0.4, 0.3, 0.2, 1.0);
/// Crews, two to a block; they come back to every fourth block, four weeks later.
const CREWS: [[&str; 2]; 4] = [["A", "B"], ["C", "D"], ["E", "F"], ["G", "H"]];
/// Fall of pressure that the air test is timed for, psi.
pub(crate) const DROP_PSI: f64 = 0.5;

/// Runs in order of the pipes, in each block two a day, one for each of its two crews.
pub(crate) fn runs(seed: u64, pipes: &[Pipe]) -> Vec<Run> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (place, pipe) in pipes.iter().enumerate() {
        match groups.last_mut().filter(|_| pipe.continues) {
            Some(group) => group.push(place),
            None => groups.push(vec![place]),
        }
    }
    let mut in_block = (0, 0);
    let mut runs = Vec::new();
    for (place, group) in groups.into_iter().enumerate() {
        let block = pipes[group[0]].block;
        if block != in_block.0 {
            in_block = (block, 0);
        }
        runs.push(run(seed, pipes, (place, in_block), group));
        in_block.1 += 1;
    }
    runs
}

fn run(
    seed: u64,
    pipes: &[Pipe],
    (number, in_block): (usize, (usize, usize)),
    group: Vec<usize>,
) -> Run {
    let mut dice = Dice::of(seed, &format!("run {number}"));
    let with_flow = dice.whole(0, 3) > 0;
    let mut places = group;
    let mut manholes = vec![pipes[places[0]].upstream.clone()];
    manholes.extend(places.iter().map(|place| pipes[*place].downstream.clone()));
    if !with_flow {
        places.reverse();
        manholes.reverse();
    }
    let first = &pipes[places[0]];
    let band = maker::band(first.diameter_in, first.ordered_wall_mm());
    let share = dice.between(0.84, 0.9)
        * if first.has(Mistake::TooFast) {
            1.3
        } else {
            1.0
        };
    let speed = rounded(band.speed_max_m_per_min * share, 2);
    let times = times(&mut dice, pipes, &places, speed);
    Run {
        id: format!("run-{:03}", number + 1),
        place: number,
        in_block,
        with_flow,
        date: later(working_day(day(4, 28), in_block.1 / 2), weeks(in_block.0)),
        crew: CREWS[in_block.0 % CREWS.len()][in_block.1 % 2],
        manholes,
        speed_m_per_min: speed,
        clock_ahead_s: dice.whole(-240, 240) as f64,
        counter_error: dice.between(-0.004, 0.004),
        times,
        pipes: places,
    }
}

/// Whether a mistake was planted on one of some pipes.
fn has(pipes: &[Pipe], places: &[usize], mistake: Mistake) -> bool {
    places.iter().any(|place| pipes[*place].has(mistake))
}

fn times(dice: &mut Dice, pipes: &[Pipe], places: &[usize], speed: f64) -> Times {
    let start = 390.0 + dice.between(0.0, 15.0).round();
    let cleaning = (start, start + dice.between(32.0, 44.0).round());
    let ready_survey = cleaning.1 + 4.0;
    let pull_in = (
        cleaning.1 + 38.0,
        cleaning.1 + dice.between(56.0, 64.0).round(),
    );
    let inflation = pull_in.1 + 8.0;
    let pre_cure = (inflation + 16.0, inflation + 30.0);
    let cure_start = pre_cure.1 + 6.0;
    let lit = cure::lit_minutes(length_m(pipes, places), speed);
    let cure = (cure_start, cure_start + lit);
    let cool_down = (cure.1, cure.1 + cure::COOL_DOWN_MIN);
    let film = if has(pipes, places, Mistake::HotFilm) {
        (cool_down.1 - 9.0, cool_down.1 + 1.0)
    } else {
        (cool_down.1 + 2.0, cool_down.1 + 12.0)
    };
    let cut = (film.1 + 1.0, film.1 + 14.0);
    let late = has(pipes, places, Mistake::LateLeakTest);
    let tested = if late {
        (Vec::new(), cut.1)
    } else {
        leak_tests(pipes, places, cut.1)
    };
    let (mut leak, after) = tested;
    let first = after + 6.0;
    let mut minute = first;
    let mut opened = Vec::new();
    for place in places {
        for (number, tap) in pipes[*place].taps.iter().enumerate() {
            if tap.is_opened() {
                minute += dice.between(5.0, 8.0).round();
                opened.push((*place, number, minute));
            }
        }
    }
    let reopening = (first, minute + 3.0);
    let brushing = (reopening.1 + 2.0, reopening.1 + 24.0);
    let mut sealing = (brushing.1 + 5.0, brushing.1 + 30.0);
    if late {
        (leak, sealing.0) = leak_tests(pipes, places, brushing.1);
        sealing.1 = sealing.0 + 25.0;
    }
    Times {
        cleaning,
        ready_survey,
        flow_control: (cleaning.1 + 25.0, sealing.1),
        pull_in,
        inflation: (inflation, cool_down.1),
        pre_cure,
        cure,
        cool_down,
        film,
        cut,
        leak,
        reopening,
        opened,
        brushing,
        sealing,
    }
}

/// One test for each pipe, and the minute after the last.
fn leak_tests(pipes: &[Pipe], places: &[usize], from: f64) -> (Vec<(f64, f64)>, f64) {
    let mut minute = from;
    let mut tests = Vec::new();
    for place in places {
        let start = minute + 8.0;
        let end = start + (required_s(&pipes[*place]) + 25.0) / 60.0;
        tests.push((start, end));
        minute = end + 2.0;
    }
    (tests, minute)
}

/// Seconds that the air test of a pipe must hold.
pub(crate) fn required_s(pipe: &Pipe) -> f64 {
    let test = AirTestTime {
        diameter_in: pipe.diameter_in,
        length_ft: pipe.wall_to_wall_ft(),
        pressure_drop_psi: DROP_PSI,
        loss_cfm_per_ft2: STANDARD_LOSS_CFM_PER_FT2,
    };
    test.time_s().unwrap_or(f64::NAN)
}

/// A liner for each run, in its order, and those that were left over.
pub(crate) fn liners(pipes: &[Pipe], runs: &[Run]) -> Vec<Liner> {
    let mut liners: Vec<Liner> = runs
        .iter()
        .enumerate()
        .map(|(number, run)| {
            let first = &pipes[run.pipes[0]];
            let at = (number, run.in_block);
            let mut liner = liner(pipes, at, run.pipes.clone(), first.ordered_wall_mm());
            liner.on_reissue = first.leaves_one_over();
            if first.has(Mistake::OverAge) {
                liner.expires = later(run.date, -3);
            }
            if first.has(Mistake::UntestedBatch) {
                liner.batches[0] = format!("resin-{}", 9000 + number);
            }
            liner
        })
        .collect();
    for (place, pipe) in pipes.iter().enumerate() {
        if pipe.leaves_one_over() {
            let last = runs.iter().rfind(|run| run.in_block.0 == pipe.block);
            let in_block = last.map_or((0, 0), |run| (pipe.block, run.in_block.1 + 1));
            let at = (liners.len(), in_block);
            liners.push(liner(pipes, at, vec![place], pipe.wall_mm));
        }
    }
    liners
}

fn liner(
    pipes: &[Pipe],
    (number, (block, in_block)): (usize, (usize, usize)),
    places: Vec<usize>,
    wall_mm: f64,
) -> Liner {
    let first = &pipes[places[0]];
    let made = later(first.day(3, 17), (in_block / 4) as i64 * 2);
    let ordered = if first.reissued.is_some_and(|(_, wall)| wall == wall_mm) {
        first.day(3, 3)
    } else {
        first.day(2, 24)
    };
    Liner {
        id: format!("l-25-{:04}", 401 + number),
        serial: format!("FG25-{:04}-{:.1}", 401 + number, wall_mm),
        order: format!("o-{:03}", number + 1),
        ordered_m: ordered_m(pipes, &places),
        pipes: places,
        wall_mm,
        ordered,
        made,
        expires: later(made, maker::SHELF_LIFE_DAYS),
        received: received(made),
        batches: vec![
            format!("resin-{:02}", block * 7 + in_block / 4 + 1),
            format!("fibre-{:02}", block * 4 + in_block / 8 + 1),
            format!("initiator-{:02}", block * 3 + in_block / 12 + 1),
        ],
        on_reissue: false,
    }
}

fn received(made: Date) -> Date {
    working_day(later(made, 12), 1)
}

/// Length to order, on the next half metre.
fn ordered_m(pipes: &[Pipe], places: &[usize]) -> f64 {
    let (packer_grip_m, sample_m, trim_m, reserve_m) = if has(pipes, places, Mistake::ShortOrder) {
        (0.0, 0.0, 0.0, ENDS_M.3)
    } else {
        ENDS_M
    };
    let longer = |place: &usize| pipes[*place].surveyed_m.max(pipes[*place].wall_to_wall_m());
    let wanted = LinerLength {
        wall_to_wall_m: places.iter().map(longer).collect(),
        intermediate_manholes_m: vec![manhole_m(); places.len() - 1],
        packer_grip_m,
        sample_m,
        trim_m,
        reserve_m,
    };
    (wanted.order_length_m().unwrap_or(f64::NAN) * 2.0).ceil() / 2.0
}
