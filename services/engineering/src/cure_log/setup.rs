//! How a light train is built, where its counter's zero lies, and the limits of the reading.

use super::StationRange;

/// All that is needed beside the rows to place them along the run.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Setup {
    /// Lamps and sensors of the train.
    pub train: Train,
    /// How counter positions become stations.
    pub placement: Placement,
    /// Stations between which the liner must be covered, as a rule wall to wall over the run.
    /// Without it the length swept by lit lamps is taken.
    pub host: Option<StationRange>,
    /// Limits of the reading; the defaults are own definitions.
    pub settings: Settings,
}

/// Lamps and sensors of a train.
///
/// An offset is measured from the train's reference point (where the counter reads) backwards,
/// against the travel: 0.16 lies 0.16 m behind it, -0.25 lies 0.25 m ahead.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Train {
    /// Offset of each lamp, m, leading lamp first, as the bits of `lamp_mask`.
    pub lamp_offsets_m: Vec<f64>,
    /// Offset of each infrared sensor, m, as the columns of `infrared_c`.
    pub infrared_offsets_m: Vec<f64>,
    /// Power of one lamp at the setting used, W; absent when nobody noted it.
    pub lamp_power_w: Option<f64>,
}

/// How a counter position becomes a station of the run.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Placement {
    /// Station at which the counter reads zero, m.
    pub station_at_zero_m: f64,
    /// Whether stations grow or fall as the counter grows.
    pub direction: Direction,
}

/// Sense of the counter along the run's stations.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Direction {
    /// Stations grow with the counter.
    #[default]
    Growing,
    /// Stations fall as the counter grows.
    Falling,
}

/// Limits used when a log is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Length of a bin along the run, m.
    pub bin_m: f64,
    /// Least time of the sliding window of the speed, s.
    pub window_s: f64,
    /// Least length of the sliding window of the speed, m.
    pub window_m: f64,
    /// Speed below which the train counts as standing, m/min.
    pub stop_speed_m_per_min: f64,
    /// Least time of a stoppage, s.
    pub stop_least_s: f64,
    /// Least time of a pressure below or above the band that is listed, s.
    pub pressure_least_s: f64,
    /// Share of the reference dose from which a station counts as covered.
    pub covered_share: f64,
    /// An interval longer than this many times the median one is a gap.
    pub gap_factor: f64,
    /// Change of position in one row from which it is a jump, m.
    pub jump_m: f64,
    /// Way back from the furthest position reached from which it is listed, m.
    pub backward_m: f64,
    /// Share of the judged rows that may lack a judged reading before the log is unfit, percent.
    pub missing_percent: f64,
    /// Speed above which a row with lamps lit cannot be right, m/min.
    pub plausible_speed_m_per_min: f64,
    /// Pressure above which a row with lamps lit cannot be right, bar.
    pub plausible_pressure_bar_g: f64,
    /// Temperature above which a row with lamps lit cannot be right, degrees C.
    pub plausible_temperature_c: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            bin_m: 0.1,
            window_s: 10.0,
            window_m: 0.2,
            stop_speed_m_per_min: 0.05,
            stop_least_s: 5.0,
            pressure_least_s: 3.0,
            covered_share: 0.95,
            gap_factor: 3.0,
            jump_m: 0.5,
            backward_m: 0.1,
            missing_percent: 1.0,
            plausible_speed_m_per_min: 5.0,
            plausible_pressure_bar_g: 2.0,
            plausible_temperature_c: 250.0,
        }
    }
}

impl Direction {
    /// Change of station for one metre more on the counter.
    pub(super) fn sign(self) -> f64 {
        match self {
            Self::Growing => 1.0,
            Self::Falling => -1.0,
        }
    }
}

impl Train {
    /// Distance between the foremost and the hindmost lamp, m.
    pub fn length_m(&self) -> f64 {
        let most = self
            .lamp_offsets_m
            .iter()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max);
        let least = self
            .lamp_offsets_m
            .iter()
            .copied()
            .fold(f64::INFINITY, f64::min);
        (most - least).max(0.0)
    }
}
