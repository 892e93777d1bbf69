//! What a liner does to the capacity of a full pipe: a smaller bore against a smoother wall.
//!
//! A uniform wall raises both inverts equally, so the slope does not change.

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output, one};

inputs! {
    /// Capacity after lining in percent of the capacity before.
    ///
    /// # Equation
    ///
    /// ```text
    /// Q_after/Q_before = (n_before/n_after)·(1 − 2/DR)^(8/3)
    /// ```
    ///
    /// # Units
    ///
    /// Ratios; the result is in percent.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. DR is taken with the total wall.
    ///
    /// # Source
    ///
    /// Najafi, Trenchless Technology Piping, 2010, Table 2.14; follows from Manning's equation.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (Table 2.14, n 0.014, DR 50: 126 percent); matches.
    /// use obvert_engineering::capacity::CapacityRatio;
    /// let liner = CapacityRatio {
    ///     dimension_ratio: 50.0,
    ///     roughness_before: 0.014,
    ///     roughness_after: 0.010,
    /// };
    /// assert_eq!(format!("{:.0}", liner.capacity_percent()?), "126");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct CapacityRatio {
        /// Host diameter over the total wall.
        dimension_ratio: "-" in 5.0..=1000.0,
        /// Manning's roughness of the host pipe.
        roughness_before: "-" in 0.005..=0.05,
        /// Manning's roughness of the liner.
        roughness_after: "-" in 0.005..=0.05,
    }
}

inputs! {
    /// Roughness of the liner over that of the host at which no capacity is lost.
    ///
    /// # Equation
    ///
    /// ```text
    /// n_after/n_before = (1 − 2/DR)^(8/3)
    /// ```
    ///
    /// # Units
    ///
    /// Ratios.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Follows from Manning's equation.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 0.96^(8/3).
    /// use obvert_engineering::capacity::BreakEvenRoughness;
    /// let liner = BreakEvenRoughness { dimension_ratio: 50.0 };
    /// assert_eq!(format!("{:.3}", liner.roughness_ratio()?), "0.897");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct BreakEvenRoughness {
        /// Host diameter over the total wall.
        dimension_ratio: "-" in 5.0..=1000.0,
    }
}

impl CapacityRatio {
    /// Capacity after lining in percent of the one before.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn capacity_percent(&self) -> Result<f64, Problems> {
        self.check()?;
        let bore = bore_factor(self.dimension_ratio);
        Ok(100.0 * self.roughness_before / self.roughness_after * bore)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "capacity-ratio",
        title: "capacity after lining in percent of the capacity before",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "capacity_percent",
            unit: "%",
        }],
        source: "Najafi 2010, Table 2.14",
        run: |values| one(Self::from_values(values)?.capacity_percent()),
    };
}

impl BreakEvenRoughness {
    /// The ratio of roughnesses at which no capacity is lost.
    ///
    /// # Errors
    ///
    /// Returns the ratio when it is out of range.
    pub fn roughness_ratio(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(bore_factor(self.dimension_ratio))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "break-even-roughness",
        title: "roughness of the liner over that of the host at which no capacity is lost",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "roughness_ratio",
            unit: "-",
        }],
        source: "follows from Manning's equation",
        run: |values| one(Self::from_values(values)?.roughness_ratio()),
    };
}

fn bore_factor(dimension_ratio: f64) -> f64 {
    (1.0 - 2.0 / dimension_ratio).powf(8.0 / 3.0)
}
