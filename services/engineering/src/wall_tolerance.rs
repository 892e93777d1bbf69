//! How readings of a finished wall are judged against the wall asked for; the owner chooses.
//!
//! All readings and the wall asked for must be on one basis (composite, structural, with films).

use crate::field::{Field, Problems, check, inputs};
use crate::registry::{Formula, Output};

/// An owner's rule for readings of the wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WallTolerance {
    /// The mean reaches the required wall and there is no allowance for undersize; single readings
    /// are not judged (Nashua NH 2019, section 02651: six readings, three on each of two samples).
    MeanOfReadings,
    /// The mean reaches the required wall and no reading is below 87.5 percent of it (quoted in a
    /// public specification after ASTM D5813; the standard from memory).
    PointAt87Percent,
    /// No reading is more than 5 percent below the ORDERED wall (local specifications, from
    /// memory).
    FivePercentOfOrdered,
    /// The mean reaches the required wall, and no reading is below 80 percent of it or below 3 mm
    /// (ISO 11296-4, from memory).
    Iso,
}

inputs! {
    /// Least mean and least reading that each rule takes.
    ///
    /// # Equation
    ///
    /// ```text
    /// A  mean ≥ t_required                     B  mean ≥ t_required, reading ≥ 0.875·t_required
    /// C  reading ≥ 0.95·t_ordered              D  mean ≥ t_required, reading ≥ max(0.8·t_required, 3)
    /// ```
    ///
    /// # Units
    ///
    /// mm.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. Both walls on one basis.
    ///
    /// # Source
    ///
    /// A: Nashua NH 2019, section 02651. B: a public specification after ASTM D5813, the standard
    /// from memory. C: local specifications, from memory. D: ISO 11296-4, from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 0.875·4 and 0.95·4.2; 0.8·4 is above 3.
    /// use obvert_engineering::wall_tolerance::{WallLimits, WallTolerance};
    /// let walls = WallLimits { required_wall_thickness_mm: 4.0, ordered_wall_thickness_mm: 4.2 };
    /// assert_eq!(walls.limits(WallTolerance::PointAt87Percent)?, (Some(4.0), Some(3.5)));
    /// assert_eq!(walls.limits(WallTolerance::FivePercentOfOrdered)?.0, None);
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct WallLimits {
        /// Wall that the design requires.
        required_wall_thickness_mm: "mm" in 0.5..=200.0,
        /// Wall that was ordered.
        ordered_wall_thickness_mm: "mm" in 0.5..=200.0,
    }
}

/// Readings against a rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallJudgement {
    /// Mean of the readings.
    pub mean_mm: f64,
    /// Smallest reading.
    pub minimum_mm: f64,
    /// Least mean that the rule takes, where it judges the mean.
    pub mean_limit_mm: Option<f64>,
    /// Least reading that the rule takes, where it judges single readings.
    pub minimum_limit_mm: Option<f64>,
}

/// Range of the wall asked for.
const WALL: Field = Field {
    name: "wall_thickness_mm",
    unit: "mm",
    min: 0.5,
    max: 200.0,
};
/// Range of one reading; a hole reads zero.
const READING: Field = Field {
    name: "readings_mm",
    unit: "mm",
    min: 0.0,
    max: 300.0,
};
/// Number of readings that can be judged.
const COUNT: Field = Field {
    name: "reading_count",
    unit: "readings",
    min: 1.0,
    max: 10_000.0,
};

impl WallTolerance {
    /// Judges readings against the wall asked for: the required wall, or the ordered wall under
    /// [`WallTolerance::FivePercentOfOrdered`].
    ///
    /// # Errors
    ///
    /// Returns all readings out of range, an empty list, or a wall out of range.
    pub fn judge(self, readings_mm: &[f64], wall_mm: f64) -> Result<WallJudgement, Problems> {
        let mut found = Vec::new();
        found.extend(
            check(&[WALL], &[wall_mm])
                .err()
                .map_or(Vec::new(), |problems| problems.0),
        );
        found.extend(COUNT.problem(readings_mm.len() as f64));
        found.extend(
            readings_mm
                .iter()
                .filter_map(|reading| READING.problem(*reading)),
        );
        Problems::or_ok(found)?;
        let (mean_limit_mm, minimum_limit_mm) = self.limits_mm(wall_mm);
        Ok(WallJudgement {
            mean_mm: readings_mm.iter().sum::<f64>() / readings_mm.len() as f64,
            minimum_mm: readings_mm.iter().copied().fold(f64::INFINITY, f64::min),
            mean_limit_mm,
            minimum_limit_mm,
        })
    }
}

impl WallTolerance {
    /// Least mean and least reading for a wall.
    fn limits_mm(self, wall_mm: f64) -> (Option<f64>, Option<f64>) {
        match self {
            Self::MeanOfReadings => (Some(wall_mm), None),
            Self::PointAt87Percent => (Some(wall_mm), Some(0.875 * wall_mm)),
            Self::FivePercentOfOrdered => (None, Some(0.95 * wall_mm)),
            Self::Iso => (Some(wall_mm), Some((0.8 * wall_mm).max(3.0))),
        }
    }
}

impl WallLimits {
    /// Least mean and least reading under a rule.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn limits(&self, rule: WallTolerance) -> Result<(Option<f64>, Option<f64>), Problems> {
        self.check()?;
        Ok(rule.limits_mm(match rule {
            WallTolerance::FivePercentOfOrdered => self.ordered_wall_thickness_mm,
            _ => self.required_wall_thickness_mm,
        }))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "wall-limits",
        title: "least mean and least reading of a finished wall under the rules A to D",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            limit("a_mean_mm"),
            limit("b_mean_mm"),
            limit("b_reading_mm"),
            limit("c_reading_mm"),
            limit("d_mean_mm"),
            limit("d_reading_mm"),
        ],
        source: "Nashua NH 2019, section 02651; ASTM D5813 and ISO 11296-4 from memory",
        run: |values| {
            let walls = Self::from_values(values)?;
            let b = walls.limits(WallTolerance::PointAt87Percent)?;
            let d = walls.limits(WallTolerance::Iso)?;
            Ok(vec![
                walls.limits(WallTolerance::MeanOfReadings)?.0,
                b.0,
                b.1,
                walls.limits(WallTolerance::FivePercentOfOrdered)?.1,
                d.0,
                d.1,
            ])
        },
    };
}

const fn limit(name: &'static str) -> Output {
    Output { name, unit: "mm" }
}

impl WallJudgement {
    /// Whether the mean reaches its limit, to a billionth of a millimetre.
    pub fn mean_is_met(&self) -> bool {
        self.mean_limit_mm
            .is_none_or(|limit| self.mean_mm >= limit - SLACK_MM)
    }

    /// Whether the smallest reading reaches its limit, to a billionth of a millimetre.
    pub fn minimum_is_met(&self) -> bool {
        self.minimum_limit_mm
            .is_none_or(|limit| self.minimum_mm >= limit - SLACK_MM)
    }

    /// Whether the readings meet the rule as a whole.
    pub fn is_met(&self) -> bool {
        self.mean_is_met() && self.minimum_is_met()
    }
}

/// Keeps the rounding of binary fractions from failing a mean that equals its limit.
const SLACK_MM: f64 = 1e-9;
