//! Exfiltration test: how much water a full segment may lose.
//!
//! Conditions of the test, from memory of ASTM F1216, section 8: no open laterals, all air bled,
//! inside head at least 2 ft above crown or groundwater and at most 10 ft at the low end, at least
//! one hour. Air trapped behind a film is the usual false fail.

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output, one};
use crate::units::{L_PER_GAL, M_PER_MI, MM_PER_IN};

/// Usual limit, in US gallons for each inch of diameter, mile and day (City of South Bend IN,
/// Design and Construction Standards, section 4).
pub const USUAL_LIMIT_GAL_PER_IN_MI_DAY: f64 = 50.0;

/// The same limit in litres for each millimetre of diameter, kilometre and day: 4.63.
pub const USUAL_LIMIT_L_PER_MM_KM_DAY: f64 =
    USUAL_LIMIT_GAL_PER_IN_MI_DAY * L_PER_GAL / (MM_PER_IN * M_PER_MI / 1000.0);

inputs! {
    /// Loss that is allowed, in US gallons.
    ///
    /// # Equation
    ///
    /// ```text
    /// allowance = limit·D·(L/5280)·(t/24)
    /// ```
    ///
    /// # Units
    ///
    /// in, ft, h; result in US gallons over the time of the test.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// City of South Bend IN, Design and Construction Standards, section 4, for the limit of 50.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 50·8·300/5280.
    /// use obvert_engineering::exfiltration::{ExfiltrationUs, USUAL_LIMIT_GAL_PER_IN_MI_DAY};
    /// let test = ExfiltrationUs {
    ///     diameter_in: 8.0,
    ///     length_ft: 300.0,
    ///     duration_h: 24.0,
    ///     limit_gal_per_in_mi_day: USUAL_LIMIT_GAL_PER_IN_MI_DAY,
    /// };
    /// assert_eq!(format!("{:.2}", test.allowance_gal()?), "22.73");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct ExfiltrationUs {
        /// Diameter of the pipe under test.
        diameter_in: "in" in 2.0..=200.0,
        /// Length of the pipe under test.
        length_ft: "ft" in 1.0..=10000.0,
        /// Time over which the loss is measured.
        duration_h: "h" in 0.05..=720.0,
        /// The owner's limit.
        limit_gal_per_in_mi_day: "gal/in/mi/day" in 0.0..=1000.0,
    }
}

inputs! {
    /// Loss that is allowed, in litres.
    ///
    /// # Equation
    ///
    /// ```text
    /// allowance = limit·D·(L/1000)·(t/24)
    /// ```
    ///
    /// # Units
    ///
    /// mm, m, h; result in litres over the time of the test.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// City of South Bend IN, Design and Construction Standards, section 4; limit converted.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 8 in and 300 ft for one hour, 3.58 L.
    /// use obvert_engineering::exfiltration::{ExfiltrationSi, USUAL_LIMIT_L_PER_MM_KM_DAY};
    /// let test = ExfiltrationSi {
    ///     diameter_mm: 203.2,
    ///     length_m: 91.44,
    ///     duration_h: 1.0,
    ///     limit_l_per_mm_km_day: USUAL_LIMIT_L_PER_MM_KM_DAY,
    /// };
    /// assert_eq!(format!("{:.2}", test.allowance_l()?), "3.58");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct ExfiltrationSi {
        /// Diameter of the pipe under test.
        diameter_mm: "mm" in 50.0..=5000.0,
        /// Length of the pipe under test.
        length_m: "m" in 0.5..=3000.0,
        /// Time over which the loss is measured.
        duration_h: "h" in 0.05..=720.0,
        /// The owner's limit.
        limit_l_per_mm_km_day: "L/mm/km/day" in 0.0..=100.0,
    }
}

impl ExfiltrationUs {
    /// The allowed loss over the time of the test.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn allowance_gal(&self) -> Result<f64, Problems> {
        self.check()?;
        let pipe_in_mi = self.diameter_in * self.length_ft / 5280.0;
        Ok(self.limit_gal_per_in_mi_day * pipe_in_mi * self.duration_h / 24.0)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "exfiltration-us",
        title: "allowed loss of the exfiltration test, US units",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "allowance_gal",
            unit: "gal",
        }],
        source: "City of South Bend IN, Design and Construction Standards, section 4",
        run: |values| one(Self::from_values(values)?.allowance_gal()),
    };
}

impl ExfiltrationSi {
    /// The allowed loss over the time of the test.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn allowance_l(&self) -> Result<f64, Problems> {
        self.check()?;
        let pipe_mm_km = self.diameter_mm * self.length_m / 1000.0;
        Ok(self.limit_l_per_mm_km_day * pipe_mm_km * self.duration_h / 24.0)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "exfiltration-si",
        title: "allowed loss of the exfiltration test, SI",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "allowance_l",
            unit: "L",
        }],
        source: "City of South Bend IN, Design and Construction Standards, section 4, converted",
        run: |values| one(Self::from_values(values)?.allowance_l()),
    };
}
