//! The invented site as it truly is; files only say what people noted of it.

use jiff::civil::Date;

use crate::{
    mistake::Mistake,
    when::{day, later},
};

/// Inside radius of every manhole: they are 4 ft wide.
pub(crate) const MANHOLE_RADIUS_FT: f64 = 2.0;

/// Everything the files are written from.
pub(crate) struct Site {
    /// Seed of the small differences.
    pub(crate) seed: u64,
    /// Host pipes in order of their ids.
    pub(crate) pipes: Vec<Pipe>,
    /// Runs in order of days.
    pub(crate) runs: Vec<Run>,
    /// Liners: one for each run, in its order, and then those left over.
    pub(crate) liners: Vec<Liner>,
    /// Rows of a cure log that are about enough; a row every two seconds if left out.
    pub(crate) cure_rows: Option<usize>,
}

/// One host pipe.
pub(crate) struct Pipe {
    /// Block of streets, worked a week after the one before it.
    pub(crate) block: usize,
    /// Whether the liner of the pipe before goes on through it.
    pub(crate) continues: bool,
    /// Record id, such as `q-001`.
    pub(crate) id: String,
    /// Owner's id, such as `Q-001`.
    pub(crate) owner_id: String,
    pub(crate) upstream: String,
    pub(crate) downstream: String,
    pub(crate) diameter_in: f64,
    pub(crate) centre_to_centre_ft: f64,
    pub(crate) cover_min_ft: f64,
    pub(crate) cover_max_ft: f64,
    /// Groundwater above the crown that the first design takes.
    pub(crate) water_m: f64,
    /// Largest and smallest bore at the upstream end, inside and at the downstream end, mm.
    pub(crate) bores_mm: [(f64, f64); 3],
    /// Length from wall to wall as the field survey read it.
    pub(crate) surveyed_m: f64,
    pub(crate) taps: Vec<Tap>,
    /// Wall of the first design on the maker's grid.
    pub(crate) wall_mm: f64,
    /// Groundwater and wall of a design that was issued again.
    pub(crate) reissued: Option<(f64, f64)>,
    pub(crate) mistake: Option<Mistake>,
    /// Pipe whose left-over liner was pulled in here.
    pub(crate) taken_from: Option<usize>,
}

/// One lateral.
pub(crate) struct Tap {
    pub(crate) id: String,
    /// Number in the owner's list, such as `T3`.
    pub(crate) number: String,
    /// Station from the upstream inside wall.
    pub(crate) station_ft: f64,
    pub(crate) clock_h: f64,
    pub(crate) diameter_in: f64,
    pub(crate) state: TapState,
    /// Id of the parcel it serves.
    pub(crate) lot: String,
    /// Whether the pipe runs under that parcel.
    pub(crate) crossed: bool,
    /// Whether gear goes through the dwelling there.
    pub(crate) through_dwelling: bool,
}

/// What is known of a lateral.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TapState {
    /// Proven live.
    Live,
    /// Proven dead.
    Dead,
    /// Given up in writing.
    GivenUp,
    /// Not proven; the owner directs that it be opened.
    Unknown,
}

/// One pull-in and cure.
pub(crate) struct Run {
    /// Place in the site's list.
    pub(crate) place: usize,
    /// Block of its pipes, and its number there.
    pub(crate) in_block: (usize, usize),
    pub(crate) id: String,
    /// Places of its pipes in the site's list, in order of travel.
    pub(crate) pipes: Vec<usize>,
    pub(crate) with_flow: bool,
    pub(crate) date: Date,
    pub(crate) crew: &'static str,
    /// Manholes in order of travel.
    pub(crate) manholes: Vec<String>,
    /// Speed the light train is set to.
    pub(crate) speed_m_per_min: f64,
    /// Seconds by which the logger's clock is ahead.
    pub(crate) clock_ahead_s: f64,
    /// Share by which the logger's counter reads too much.
    pub(crate) counter_error: f64,
    pub(crate) times: Times,
}

/// When the steps took place: first and last minute of the day.
pub(crate) struct Times {
    pub(crate) cleaning: (f64, f64),
    pub(crate) ready_survey: f64,
    pub(crate) flow_control: (f64, f64),
    pub(crate) pull_in: (f64, f64),
    pub(crate) inflation: (f64, f64),
    pub(crate) pre_cure: (f64, f64),
    pub(crate) cure: (f64, f64),
    pub(crate) cool_down: (f64, f64),
    pub(crate) film: (f64, f64),
    pub(crate) cut: (f64, f64),
    /// Leak test of each pipe of the run.
    pub(crate) leak: Vec<(f64, f64)>,
    pub(crate) reopening: (f64, f64),
    /// Pipe, lateral, minute of the cut.
    pub(crate) opened: Vec<(usize, usize, f64)>,
    pub(crate) brushing: (f64, f64),
    pub(crate) sealing: (f64, f64),
}

/// One liner as made.
pub(crate) struct Liner {
    pub(crate) id: String,
    pub(crate) serial: String,
    pub(crate) order: String,
    /// Pipes it was ordered for.
    pub(crate) pipes: Vec<usize>,
    pub(crate) wall_mm: f64,
    pub(crate) ordered_m: f64,
    pub(crate) ordered: Date,
    pub(crate) made: Date,
    pub(crate) expires: Date,
    pub(crate) received: Date,
    pub(crate) batches: Vec<String>,
    /// Whether its order rests on the design that was issued again.
    pub(crate) on_reissue: bool,
}

impl Pipe {
    /// Day of the block: that of the first block's calendar, as many weeks later.
    pub(crate) fn day(&self, month: i8, of_month: i8) -> Date {
        later(day(month, of_month), weeks(self.block))
    }

    /// First lateral that is cut open.
    pub(crate) fn first_opened(&self) -> Option<&Tap> {
        self.taps.iter().find(|tap| tap.is_opened())
    }

    /// Whether its design was issued again in time, so that its first liner was left over.
    pub(crate) fn leaves_one_over(&self) -> bool {
        self.reissued.is_some() && self.mistake.is_none()
    }

    /// Nominal diameter.
    pub(crate) fn diameter_mm(&self) -> f64 {
        self.diameter_in * 127.0 / 5.0
    }

    /// Length from inside wall to inside wall.
    pub(crate) fn wall_to_wall_ft(&self) -> f64 {
        self.centre_to_centre_ft - 2.0 * MANHOLE_RADIUS_FT
    }

    /// The same in m, as the register turns it.
    pub(crate) fn wall_to_wall_m(&self) -> f64 {
        metres(self.wall_to_wall_ft())
    }

    /// Mean bore of the field survey.
    pub(crate) fn mean_bore_mm(&self) -> f64 {
        let sum: f64 = self
            .bores_mm
            .iter()
            .map(|(most, least)| (most + least) / 2.0)
            .sum();
        crate::dice::rounded(sum / 3.0, 1)
    }

    /// Groundwater and wall of the design in force.
    pub(crate) fn in_force(&self) -> (f64, f64) {
        self.reissued.unwrap_or((self.water_m, self.wall_mm))
    }

    /// Wall of the liner that was ordered for the pipe at last.
    pub(crate) fn ordered_wall_mm(&self) -> f64 {
        match self.reissued {
            Some((_, wall_mm)) if self.mistake.is_none() => wall_mm,
            _ => self.wall_mm,
        }
    }

    /// Whether a mistake was planted here.
    pub(crate) fn has(&self, mistake: Mistake) -> bool {
        self.mistake == Some(mistake)
    }
}

impl Tap {
    /// Whether its lot is entered: the pipe runs under it, or gear goes through the dwelling.
    pub(crate) fn is_on_entered_lot(&self) -> bool {
        self.crossed || self.through_dwelling
    }

    /// Station in m, as the register turns it.
    pub(crate) fn station_m(&self) -> f64 {
        metres(self.station_ft)
    }

    /// Whether it is cut open after lining.
    pub(crate) fn is_opened(&self) -> bool {
        matches!(self.state, TapState::Live | TapState::Unknown)
    }
}

impl Site {
    /// Length of a run from the first to the last inside wall.
    pub(crate) fn run_length_m(&self, run: &Run) -> f64 {
        length_m(&self.pipes, &run.pipes)
    }

    /// Run over a pipe, and its place in the run.
    pub(crate) fn run_of(&self, pipe: usize) -> (&Run, usize) {
        let found = self.runs.iter().find_map(|run| {
            let place = run.pipes.iter().position(|other| *other == pipe)?;
            Some((run, place))
        });
        found.unwrap_or((&self.runs[0], 0))
    }

    /// Liner of a run.
    pub(crate) fn liner_of(&self, run: &Run) -> &Liner {
        &self.liners[run.place]
    }

    /// Liner whose serial was read when the run was pulled in: its own, or one left over.
    pub(crate) fn read_at_pull_in(&self, run: &Run) -> &Liner {
        let from = run
            .pipes
            .iter()
            .find_map(|place| self.pipes[*place].taken_from);
        let left_over = &self.liners[self.runs.len()..];
        let taken = left_over.iter().find(|liner| from == Some(liner.pipes[0]));
        taken.unwrap_or_else(|| self.liner_of(run))
    }

    /// Run of the other crew on the same day; the run itself where there is none.
    pub(crate) fn beside<'a>(&'a self, run: &'a Run) -> &'a Run {
        let (block, number) = run.in_block;
        let other = (block, number ^ 1);
        self.runs
            .iter()
            .find(|run| run.in_block == other)
            .unwrap_or(run)
    }
}

/// Days by which the calendar of a block is later than that of the first.
pub(crate) fn weeks(block: usize) -> i64 {
    7 * block as i64
}

/// Opening of one manhole between two pipes.
pub(crate) fn manhole_m() -> f64 {
    metres(2.0 * MANHOLE_RADIUS_FT)
}

/// Pipes from wall to wall with the manholes between them.
pub(crate) fn length_m(pipes: &[Pipe], places: &[usize]) -> f64 {
    let walls: f64 = places
        .iter()
        .map(|place| pipes[*place].wall_to_wall_m())
        .sum();
    walls + manhole_m() * (places.len() - 1) as f64
}

/// Feet in metres.
pub(crate) fn metres(feet: f64) -> f64 {
    feet * 0.3048
}
