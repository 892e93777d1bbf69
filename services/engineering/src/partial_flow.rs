//! Flow in a circular pipe that is partly full, with a roughness that does not vary with depth.
//!
//! Flow peaks at 1.0757 times the full flow at a depth of 0.938, so above the full flow two depths
//! carry the same flow; both are returned, the lower one first.

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output};

/// Relative depth of the largest flow: the root of 3θ − 5θ·cos θ + 2·sin θ = 0.
pub const DEPTH_OF_LARGEST_FLOW: f64 = 0.938_181_216_160_607_1;

inputs! {
    /// Area, hydraulic radius, velocity and flow of a partly full pipe over those of a full one.
    ///
    /// # Equation
    ///
    /// ```text
    /// θ = 2·acos(1 − 2·y)
    /// A/A_f = (θ − sin θ)/2π,   R/R_f = 1 − sin θ/θ
    /// V/V_f = (R/R_f)^(2/3),    Q/Q_f = A/A_f·V/V_f
    /// ```
    ///
    /// # Units
    ///
    /// Ratios; y is depth over bore.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Geometry of a circle and Manning's equation.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: half full carries half the flow at the full velocity.
    /// use obvert_engineering::partial_flow::PartialFlow;
    /// let pipe = PartialFlow { relative_depth: 0.5 };
    /// assert_eq!(format!("{:.4}", pipe.flow_ratio()?), "0.5000");
    /// assert_eq!(format!("{:.4}", pipe.velocity_ratio()?), "1.0000");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct PartialFlow {
        /// Depth of the water over the bore.
        relative_depth: "-" in 0.0..=1.0,
    }
}

inputs! {
    /// Depth at which a pipe carries a flow; the inverse of [`PartialFlow`].
    ///
    /// # Equation
    ///
    /// ```text
    /// the lower root y of Q/Q_f(y) = ratio, by bisection
    /// ```
    ///
    /// # Units
    ///
    /// Ratios.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]; no depth carries more than 1.0757 times the full flow.
    ///
    /// # Source
    ///
    /// Geometry of a circle and Manning's equation.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: the full flow runs at 0.82 of the bore already.
    /// use obvert_engineering::partial_flow::DepthForFlow;
    /// let pipe = DepthForFlow { flow_ratio: 1.0 };
    /// assert_eq!(format!("{:.4}", pipe.relative_depth()?), "0.8196");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct DepthForFlow {
        /// Flow over the flow of the full pipe.
        flow_ratio: "-" in 0.0..=1.0757,
    }
}

impl PartialFlow {
    /// Area over the full area.
    ///
    /// # Errors
    ///
    /// Returns the depth when it is out of range.
    pub fn area_ratio(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(area_ratio(self.relative_depth))
    }

    /// Hydraulic radius over that of the full pipe.
    ///
    /// # Errors
    ///
    /// Returns the depth when it is out of range.
    pub fn hydraulic_radius_ratio(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(radius_ratio(self.relative_depth))
    }

    /// Velocity over that of the full pipe.
    ///
    /// # Errors
    ///
    /// Returns the depth when it is out of range.
    pub fn velocity_ratio(&self) -> Result<f64, Problems> {
        Ok(self.hydraulic_radius_ratio()?.powf(2.0 / 3.0))
    }

    /// Flow over that of the full pipe.
    ///
    /// # Errors
    ///
    /// Returns the depth when it is out of range.
    pub fn flow_ratio(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(flow_ratio(self.relative_depth))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "partial-flow",
        title: "area, hydraulic radius, velocity and flow of a partly full pipe",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            Output {
                name: "area_ratio",
                unit: "-",
            },
            Output {
                name: "hydraulic_radius_ratio",
                unit: "-",
            },
            Output {
                name: "velocity_ratio",
                unit: "-",
            },
            Output {
                name: "flow_ratio",
                unit: "-",
            },
        ],
        source: "geometry of a circle and Manning's equation",
        run: |values| {
            let pipe = Self::from_values(values)?;
            Ok(vec![
                Some(pipe.area_ratio()?),
                Some(pipe.hydraulic_radius_ratio()?),
                Some(pipe.velocity_ratio()?),
                Some(pipe.flow_ratio()?),
            ])
        },
    };
}

impl DepthForFlow {
    /// The lower depth that carries the flow, over the bore.
    ///
    /// # Errors
    ///
    /// Returns the flow when no depth carries it.
    pub fn relative_depth(&self) -> Result<f64, Problems> {
        self.check()?;
        // The flow of a small depth goes with its power 13/6. Bounded by that, sixty halvings leave
        // less than the last digit of a double, of a trickle as well.
        let largest = 3.0 * self.flow_ratio.powf(6.0 / 13.0);
        let (mut low, mut high) = (0.0, largest.min(DEPTH_OF_LARGEST_FLOW));
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if flow_ratio(middle) < self.flow_ratio {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok(high)
    }

    /// The other depth that carries the flow, or `None` up to the full flow, where there is none.
    ///
    /// # Errors
    ///
    /// Returns the flow when no depth carries it.
    pub fn upper_relative_depth(&self) -> Result<Option<f64>, Problems> {
        self.check()?;
        if self.flow_ratio <= 1.0 {
            return Ok(None);
        }
        let (mut low, mut high) = (DEPTH_OF_LARGEST_FLOW, 1.0);
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if flow_ratio(middle) > self.flow_ratio {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok(Some(low))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "depth-for-flow",
        title: "relative depth at which a pipe carries a flow",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            Output {
                name: "relative_depth",
                unit: "-",
            },
            Output {
                name: "upper_relative_depth",
                unit: "-",
            },
        ],
        source: "geometry of a circle and Manning's equation",
        run: |values| {
            let pipe = Self::from_values(values)?;
            Ok(vec![
                Some(pipe.relative_depth()?),
                pipe.upper_relative_depth()?,
            ])
        },
    };
}

/// θ, written as 4·asin(√y) = 2·acos(1 − 2·y), which keeps the digits of a small depth.
fn wetted_angle(relative_depth: f64) -> f64 {
    4.0 * relative_depth.sqrt().asin()
}

/// θ − sin θ, by its series where the two are nearly equal.
fn angle_less_sine(angle: f64) -> f64 {
    if angle > 0.5 {
        return angle - angle.sin();
    }
    let square = angle * angle;
    let mut term = angle * square / 6.0;
    let mut sum = 0.0;
    for place in [2.0, 3.0, 4.0, 5.0, 6.0, 7.0] {
        sum += term;
        term *= -square / (2.0 * place * (2.0 * place + 1.0));
    }
    sum
}

fn area_ratio(relative_depth: f64) -> f64 {
    angle_less_sine(wetted_angle(relative_depth)) / (2.0 * std::f64::consts::PI)
}

fn radius_ratio(relative_depth: f64) -> f64 {
    let angle = wetted_angle(relative_depth);
    if angle == 0.0 {
        0.0
    } else {
        angle_less_sine(angle) / angle
    }
}

fn flow_ratio(relative_depth: f64) -> f64 {
    area_ratio(relative_depth) * radius_ratio(relative_depth).powf(2.0 / 3.0)
}
