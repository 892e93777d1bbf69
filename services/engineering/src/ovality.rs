//! Ovality of the host pipe, as measured, and what it takes off a liner's buckling resistance.
//!
//! | symbol | meaning | field |
//! | --- | --- | --- |
//! | q | ovality, percent | `ovality_percent` |
//! | δ | ovality, fraction | q/100 |
//! | C | ovality reduction factor | `reduction_factor` |
//!
//! The method is for pipes that were round when laid. It is commonly not used above 10 percent
//! (from memory), and German practice sends a pipe above 6 percent to an analysis of its own
//! (Stein, quoting DWA-A 143-2).

use crate::field::{OutOfRange, Problems, inputs};
use crate::registry::{Formula, Output, one};

/// Ovality from which German practice asks for an analysis of its own (Stein and Stein,
/// Rehabilitation and Maintenance of Drains and Sewers, 2004, quoting DWA-A 143-2).
pub const OVALITY_FOR_ANALYSIS_PERCENT: f64 = 6.0;

inputs! {
    /// Ovality from the three diameters of one cross section.
    ///
    /// # Equation
    ///
    /// ```text
    /// q = 100·(D_max − D_mean)/D_mean   or   q = 100·(D_mean − D_min)/D_mean
    /// ```
    ///
    /// The larger of the two is returned. With D_mean = (D_max + D_min)/2 they are equal.
    ///
    /// # Units
    ///
    /// Diameters in mm; the result is in percent, never a fraction.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and D_min ≤ D_mean ≤ D_max.
    ///
    /// # Source
    ///
    /// First form: ASTM F1216 Appendix X1, as applied in Najafi, Trenchless Technology Piping,
    /// 2010, p. 75. Second form: F1216 from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 100·(208 − 202)/202.
    /// use obvert_engineering::ovality::Ovality;
    /// let ovality = Ovality {
    ///     maximum_diameter_mm: 208.0,
    ///     mean_diameter_mm: 202.0,
    ///     minimum_diameter_mm: 196.0,
    /// };
    /// assert_eq!(format!("{:.3}", ovality.ovality_percent()?), "2.970");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct Ovality {
        /// Largest inside diameter of the host pipe at the section.
        maximum_diameter_mm: "mm" in 50.0..=6000.0,
        /// Mean inside diameter of the host pipe at the section.
        mean_diameter_mm: "mm" in 50.0..=6000.0,
        /// Smallest inside diameter of the host pipe at the section.
        minimum_diameter_mm: "mm" in 50.0..=6000.0,
    }
}

inputs! {
    /// Factor by which ovality reduces the buckling resistance of a liner.
    ///
    /// # Equation
    ///
    /// ```text
    /// C = [ (1 − q/100) / (1 + q/100)² ]³
    /// ```
    ///
    /// # Units
    ///
    /// Ovality in percent; the result is a ratio from 0 to 1.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. A value such as 0.02 is in range and nearly always a
    /// fraction entered by mistake: see [`refuse_fraction`].
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, as applied in Najafi, Trenchless Technology Piping, 2010, p. 75
    /// and Table 2.9.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (Table 2.9); matches.
    /// use obvert_engineering::ovality::OvalityReduction;
    /// let factor = |ovality_percent| OvalityReduction { ovality_percent }.reduction_factor();
    /// assert_eq!(format!("{:.2}", factor(2.0)?), "0.84");
    /// assert_eq!(format!("{:.2}", factor(5.0)?), "0.64");
    /// assert_eq!(format!("{:.2}", factor(10.0)?), "0.41");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct OvalityReduction {
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
    }
}

/// Refuses an ovality that looks like a fraction: above 0 and below 0.1 percent.
///
/// An ovality of 2 percent entered as 0.02 would raise the factor from 0.836 to 0.999 and thin
/// the liner in silence. A caller that takes numbers from people calls this first.
///
/// # Errors
///
/// Returns the value with the percent value that was probably meant.
pub fn refuse_fraction(ovality_percent: f64) -> Result<(), Problems> {
    if !(ovality_percent > 0.0 && ovality_percent < 0.1) {
        return Ok(());
    }
    let meant = ovality_percent * 100.0;
    Err(OutOfRange {
        field: "ovality_percent".to_owned(),
        value: ovality_percent,
        min: 0.1,
        max: 10.0,
        unit: "%",
        remedy: format!("It looks like a fraction: enter {meant} if {meant} percent is meant."),
    }
    .into())
}

/// C without the range check, for formulas that have checked the ovality themselves.
pub(crate) fn reduction_factor(ovality_percent: f64) -> f64 {
    cube_root_of_reduction(ovality_percent).powi(3)
}

/// The cube root of C, which is (1 − δ)/(1 + δ)².
fn cube_root_of_reduction(ovality_percent: f64) -> f64 {
    let delta = ovality_percent / 100.0;
    (1.0 - delta) / (1.0 + delta).powi(2)
}

impl Ovality {
    /// The larger of the two ovalities.
    ///
    /// # Errors
    ///
    /// Returns all diameters out of range, or the mean when it lies outside the other two.
    pub fn ovality_percent(&self) -> Result<f64, Problems> {
        self.check()?;
        let Self {
            maximum_diameter_mm,
            mean_diameter_mm,
            minimum_diameter_mm,
        } = *self;
        if mean_diameter_mm > maximum_diameter_mm || mean_diameter_mm < minimum_diameter_mm {
            return Err(OutOfRange {
                field: "mean_diameter_mm".to_owned(),
                value: mean_diameter_mm,
                min: minimum_diameter_mm,
                max: maximum_diameter_mm,
                unit: "mm",
                remedy: "The mean must lie between the smallest and the largest diameter."
                    .to_owned(),
            }
            .into());
        }
        let over = maximum_diameter_mm - mean_diameter_mm;
        let under = mean_diameter_mm - minimum_diameter_mm;
        Ok(100.0 * over.max(under) / mean_diameter_mm)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "ovality",
        title: "ovality of the host pipe from three diameters",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "ovality_percent",
            unit: "%",
        }],
        source: "ASTM F1216 Appendix X1 as applied in Najafi 2010, p. 75; second form from memory",
        run: |values| one(Self::from_values(values)?.ovality_percent()),
    };
}

impl OvalityReduction {
    /// The ovality reduction factor C.
    ///
    /// # Errors
    ///
    /// Returns the ovality when it is out of range.
    pub fn reduction_factor(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(reduction_factor(self.ovality_percent))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "ovality-reduction",
        title: "ovality reduction factor C",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "reduction_factor",
            unit: "-",
        }],
        source: "ASTM F1216 Appendix X1 as applied in Najafi 2010, p. 75 and Table 2.9",
        run: |values| one(Self::from_values(values)?.reduction_factor()),
    };
}
