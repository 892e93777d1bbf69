//! The length that a log covers against the length of its run.

/// Lengths that make up a run.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RunLength {
    /// Inside wall to inside wall of each segment, m.
    pub wall_to_wall_m: Vec<f64>,
    /// Opening of each manhole that the liner runs through, m.
    pub intermediate_manholes_m: Vec<f64>,
    /// Length of liner beyond the first and beyond the last wall that the train passed, m.
    pub ends_m: [f64; 2],
}

/// How far two lengths may lie apart: the larger of a length and a share of the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LengthTolerance {
    /// Length, m.
    pub absolute_m: f64,
    /// Share of the run's length, percent.
    pub percent: f64,
}

/// Logged length compared with the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LengthClosure {
    /// Length of the run, m.
    pub run_m: f64,
    /// Length by the log, m.
    pub logged_m: f64,
    /// Logged less run, m.
    pub difference_m: f64,
    /// What the difference may be, either way, m.
    pub tolerance_m: f64,
    /// Whether the difference is larger than that, or no number.
    pub outside: bool,
}

impl RunLength {
    /// Length of the run, m.
    pub fn total_m(&self) -> f64 {
        let manholes: f64 = self.intermediate_manholes_m.iter().sum();
        self.wall_to_wall_m.iter().sum::<f64>() + manholes + self.ends_m.iter().sum::<f64>()
    }

    /// Compares a logged length with the run.
    ///
    /// # Equation
    ///
    /// ```text
    /// run        = Σ wall-to-wall + Σ intermediate manholes + ends
    /// difference = logged - run
    /// outside    = |difference| > max(absolute, percent / 100 · run)
    /// ```
    ///
    /// # Units
    ///
    /// All lengths in m.
    ///
    /// # Range
    ///
    /// A length that is no number, or a run without length, counts as outside.
    ///
    /// # Source
    ///
    /// Own definition; the trade has no common tolerance.
    ///
    /// # Example
    ///
    /// Own example, checked by hand: 61.2 + 1.2 + 1.8 = 64.2; 64.9 lies 0.7 above it.
    ///
    /// ```
    /// # use obvert_engineering::cure_log::{LengthTolerance, RunLength};
    /// let run = RunLength {
    ///     wall_to_wall_m: vec![31.0, 30.2],
    ///     intermediate_manholes_m: vec![1.2],
    ///     ends_m: [0.9, 0.9],
    /// };
    /// let closure = run.closure(64.9, LengthTolerance::default());
    /// assert!((closure.difference_m - 0.7).abs() < 1e-9);
    /// assert!((closure.tolerance_m - 1.0).abs() < 1e-9);
    /// assert!(!closure.outside);
    /// ```
    pub fn closure(&self, logged_m: f64, tolerance: LengthTolerance) -> LengthClosure {
        let run_m = self.total_m();
        let difference_m = logged_m - run_m;
        let tolerance_m = tolerance.absolute_m.max(tolerance.percent / 100.0 * run_m);
        // Asked this way round so that a length that is no number counts as outside.
        let inside = run_m > 0.0 && difference_m.abs() <= tolerance_m;
        LengthClosure {
            run_m,
            logged_m,
            difference_m,
            tolerance_m,
            outside: !inside,
        }
    }
}

impl Default for LengthTolerance {
    /// The larger of 1.0 m and 1.5 percent: own proposal.
    fn default() -> Self {
        Self {
            absolute_m: 1.0,
            percent: 1.5,
        }
    }
}
