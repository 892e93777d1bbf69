//! From the wall that a design requires to the wall that can be ordered, and what stretch leaves.
//!
//! Only the structural wall counts: films, pre-liner and resin outside the tube do not
//! (Najafi, Trenchless Technology Piping, 2010, p. 87).
//! How readings of the finished wall are judged is in [`crate::wall_tolerance`].

use crate::field::{OutOfRange, Problems, inputs};
use crate::registry::{Formula, Output, one};

inputs! {
    /// Least wall on an owner's or maker's grid that is not below the required one.
    ///
    /// # Equation
    ///
    /// ```text
    /// k = max(0, ceil((t_required − t_minimum)/step − 1e-9))
    /// t_order = t_minimum + k·step
    /// ```
    ///
    /// The grid is kept in whole hundredths of a millimetre, and the guard of 1e-9 keeps a wall
    /// that lies on the grid where it is. It never rounds down: 3.519 on a grid of 3.5 + 0.7
    /// orders 4.2.
    ///
    /// # Units
    ///
    /// mm.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]; minimum and step must be whole hundredths of a millimetre.
    ///
    /// # Source
    ///
    /// The rule is this project's. A grid of 3.5 mm and steps of 0.7 mm is printed in City of
    /// Nashua NH, 2019 CIPP Lining Project, section 02651, 1.07.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand.
    /// use obvert_engineering::order_thickness::OrderThickness;
    /// let order = |required_wall_thickness_mm| {
    ///     OrderThickness {
    ///         required_wall_thickness_mm,
    ///         minimum_wall_thickness_mm: 3.5,
    ///         wall_step_mm: 0.7,
    ///     }
    ///     .order_wall_thickness_mm()
    /// };
    /// assert_eq!(order(3.519)?, 4.2);
    /// assert_eq!(order(4.2)?, 4.2);
    /// assert_eq!(order(2.0)?, 3.5);
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct OrderThickness {
        /// Wall that the design requires.
        required_wall_thickness_mm: "mm" in 0.0..=200.0,
        /// Least wall that the owner takes, which is the first of the grid.
        minimum_wall_thickness_mm: "mm" in 0.5..=100.0,
        /// Step from one wall to the next.
        wall_step_mm: "mm" in 0.01..=20.0,
    }
}

inputs! {
    /// Wall of a tube that is stretched to a larger diameter than it was made for.
    ///
    /// # Equation
    ///
    /// ```text
    /// t_installed = t_nominal·D_made/D_installed
    /// ```
    ///
    /// # Units
    ///
    /// mm.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. One specification takes 8 percent of stretch.
    ///
    /// # Source
    ///
    /// Constant volume of the wall; the rule that the installed wall counts is in Najafi,
    /// Trenchless Technology Piping, 2010, p. 85.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 4.2·200/210.
    /// use obvert_engineering::order_thickness::StretchedThickness;
    /// let tube = StretchedThickness {
    ///     nominal_wall_thickness_mm: 4.2,
    ///     made_diameter_mm: 200.0,
    ///     installed_diameter_mm: 210.0,
    /// };
    /// assert_eq!(format!("{:.3}", tube.installed_wall_thickness_mm()?), "4.000");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct StretchedThickness {
        /// Wall at the diameter for which the tube was made.
        nominal_wall_thickness_mm: "mm" in 0.5..=200.0,
        /// Outside diameter for which the tube was made.
        made_diameter_mm: "mm" in 50.0..=5000.0,
        /// Outside diameter after inflation, which is the host's inside diameter.
        installed_diameter_mm: "mm" in 50.0..=5000.0,
    }
}

inputs! {
    /// Nominal wall whose lower tolerance still reaches the required wall.
    ///
    /// # Equation
    ///
    /// ```text
    /// t_nominal = t_required/(1 − τ/100)
    /// ```
    ///
    /// # Units
    ///
    /// mm; tolerance in percent of the nominal wall.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Follows from the definition of a tolerance.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 5/0.95 and 5/0.875.
    /// use obvert_engineering::order_thickness::TolerancedThickness;
    /// let nominal = |tolerance_percent| {
    ///     TolerancedThickness { required_wall_thickness_mm: 5.0, tolerance_percent }
    ///         .nominal_wall_thickness_mm()
    /// };
    /// assert_eq!(format!("{:.3}", nominal(5.0)?), "5.263");
    /// assert_eq!(format!("{:.3}", nominal(12.5)?), "5.714");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct TolerancedThickness {
        /// Wall that no single point may go below.
        required_wall_thickness_mm: "mm" in 0.5..=200.0,
        /// Lower tolerance of the maker, in percent of the nominal wall.
        tolerance_percent: "%" in 0.0..=50.0,
    }
}

impl OrderThickness {
    /// The wall to order.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or a grid that is not in whole hundredths.
    pub fn order_wall_thickness_mm(&self) -> Result<f64, Problems> {
        self.check()?;
        let minimum = hundredths("minimum_wall_thickness_mm", self.minimum_wall_thickness_mm);
        let step = hundredths("wall_step_mm", self.wall_step_mm);
        let (minimum, step) = match (minimum, step) {
            (Ok(minimum), Ok(step)) => (minimum, step),
            (minimum, step) => {
                return Err(Problems(
                    [minimum.err(), step.err()].into_iter().flatten().collect(),
                ));
            }
        };
        let above = self.required_wall_thickness_mm * 100.0 - minimum as f64;
        let steps = (above / step as f64 - 1e-9).ceil().max(0.0) as i64;
        Ok((minimum + steps * step) as f64 / 100.0)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "order-wall",
        title: "wall to order on a grid of least wall and step",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "order_wall_thickness_mm",
            unit: "mm",
        }],
        source: "this project's rule; grid 3.5 + 0.7 mm in Nashua NH 2019, section 02651, 1.07",
        run: |values| one(Self::from_values(values)?.order_wall_thickness_mm()),
    };
}

impl StretchedThickness {
    /// The wall after stretch.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn installed_wall_thickness_mm(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.nominal_wall_thickness_mm * self.made_diameter_mm / self.installed_diameter_mm)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "stretched-wall",
        title: "wall of a tube stretched to a larger diameter",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "installed_wall_thickness_mm",
            unit: "mm",
        }],
        source: "constant volume; Najafi 2010, p. 85",
        run: |values| one(Self::from_values(values)?.installed_wall_thickness_mm()),
    };
}

impl TolerancedThickness {
    /// The nominal wall to order.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn nominal_wall_thickness_mm(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.required_wall_thickness_mm / (1.0 - self.tolerance_percent / 100.0))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "toleranced-wall",
        title: "nominal wall whose lower tolerance still reaches the required wall",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "nominal_wall_thickness_mm",
            unit: "mm",
        }],
        source: "definition of a tolerance",
        run: |values| one(Self::from_values(values)?.nominal_wall_thickness_mm()),
    };
}

/// A grid value as a whole number of hundredths of a millimetre.
fn hundredths(field: &str, value_mm: f64) -> Result<i64, OutOfRange> {
    let whole = (value_mm * 100.0).round();
    if (value_mm * 100.0 - whole).abs() < 1e-6 {
        return Ok(whole as i64);
    }
    Err(OutOfRange {
        field: field.to_owned(),
        value: value_mm,
        min: (value_mm * 100.0).floor() / 100.0,
        max: (value_mm * 100.0).ceil() / 100.0,
        unit: "mm",
        remedy: "Give it in whole hundredths of a millimetre.".to_owned(),
    })
}
