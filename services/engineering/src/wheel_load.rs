//! Live load of one wheel on a pipe, by the Boussinesq stress under the corner of a rectangle.
//!
//! The printed table of load coefficients is exactly four times Newmark's corner influence. The
//! closed form is used, because the table carries misprints: at (0.7, 0.9) it prints 0.584 for
//! 0.574, and at (0.7, 1.5) 0.650 for 0.655 (Moser and Folkman, Buried Pipe Design, Table 2.6).

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output, one};

inputs! {
    /// Load coefficient C_s of a rectangle at depth.
    ///
    /// # Equation
    ///
    /// ```text
    /// a = m² + n² + 1
    /// C_s = (1/π)·{ [2·m·n·√a/(a + m²·n²)]·[(a + 1)/a] + atan2(2·m·n·√a, a − m²·n²) }
    /// ```
    ///
    /// # Units
    ///
    /// m and n are half width and half length over depth; all are ratios.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Moser and Folkman, Buried Pipe Design, pp. 34-36 and Table 2.6; closed form after
    /// Newmark.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (Table 2.6 at 0.9, 0.7: 0.574); matches.
    /// use obvert_engineering::wheel_load::LoadCoefficient;
    /// let point = LoadCoefficient { half_width_ratio: 0.9, half_length_ratio: 0.7 };
    /// assert_eq!(format!("{:.3}", point.load_coefficient()?), "0.574");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct LoadCoefficient {
        /// m, half the pipe's width over the cover.
        half_width_ratio: "-" in 0.0..=1000.0,
        /// n, half the effective length over the cover.
        half_length_ratio: "-" in 0.0..=1000.0,
    }
}

inputs! {
    /// Live load at the crown of one wheel that stands over the pipe.
    ///
    /// # Equation
    ///
    /// ```text
    /// W_s = C_s·P·F′/(L·12·D),   m = D/(2·H),   n = L/(2·H)
    /// F′ = 1.50 to 1 ft of cover, 1.35 to 2 ft, 1.15 to 3 ft, 1.00 beyond
    /// ```
    ///
    /// # Units
    ///
    /// P in lbf, L and H in ft, D in in, result in psi.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Spangler and Holl, in Najafi, Trenchless Technology Piping, 2010, p. 76; impact for
    /// highways from Moser and Folkman, Buried Pipe Design, Table 2.5.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand. The source's own (p. 76) reads 0.03826 for the coefficient
    /// // where its table gives 0.0219, and so prints 0.35 psi.
    /// use obvert_engineering::wheel_load::WheelLoad;
    /// let wheel = WheelLoad {
    ///     wheel_load_lbf: 16_000.0,
    ///     effective_length_ft: 3.0,
    ///     host_diameter_in: 48.0,
    ///     cover_ft: 16.0,
    /// };
    /// assert_eq!(format!("{:.3}", wheel.live_load_psi()?), "0.203");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct WheelLoad {
        /// Load of the wheel; 16 000 lbf for H-20.
        wheel_load_lbf: "lbf" in 0.0..=100000.0,
        /// Length of pipe that shares the load; 3 ft in the source.
        effective_length_ft: "ft" in 0.5..=20.0,
        /// Outside width of the pipe, or its inside diameter as in the source.
        host_diameter_in: "in" in 2.0..=200.0,
        /// Soil cover above the crown.
        cover_ft: "ft" in 0.5..=200.0,
    }
}

inputs! {
    /// Live load at the crown of a pressure spread over a rectangle that is centred on the pipe.
    ///
    /// # Equation
    ///
    /// ```text
    /// W_s = C_s·p·F′/144,   m = width/(2·H),   n = length/(2·H),   F′ as of the wheel
    /// ```
    ///
    /// # Units
    ///
    /// p in lb/ft², lengths in ft, result in psi.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Holl, in Najafi, Trenchless Technology Piping, 2010, p. 76; impact for highways from Moser
    /// and Folkman, Buried Pipe Design, Table 2.5.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: m = n = 1 have the coefficient 0.7009; ·1440/144.
    /// use obvert_engineering::wheel_load::SpreadLoad;
    /// let load = SpreadLoad {
    ///     surface_pressure_psf: 1440.0,
    ///     loaded_width_ft: 8.0,
    ///     loaded_length_ft: 8.0,
    ///     cover_ft: 4.0,
    /// };
    /// assert_eq!(format!("{:.3}", load.live_load_psi()?), "7.009");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct SpreadLoad {
        /// Pressure at the surface.
        surface_pressure_psf: "lb/ft²" in 0.0..=20000.0,
        /// Width of the rectangle across the pipe.
        loaded_width_ft: "ft" in 0.1..=200.0,
        /// Length of the rectangle along the pipe.
        loaded_length_ft: "ft" in 0.1..=1000.0,
        /// Soil cover above the crown.
        cover_ft: "ft" in 0.5..=200.0,
    }
}

impl SpreadLoad {
    /// The live load at the crown, with impact.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn live_load_psi(&self) -> Result<f64, Problems> {
        self.check()?;
        let coefficient = LoadCoefficient {
            half_width_ratio: self.loaded_width_ft / (2.0 * self.cover_ft),
            half_length_ratio: self.loaded_length_ft / (2.0 * self.cover_ft),
        }
        .load_coefficient()?;
        Ok(coefficient * self.surface_pressure_psf * highway_impact(self.cover_ft) / 144.0)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "spread-load",
        title: "live load at the crown of a pressure spread over a rectangle",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "live_load_psi",
            unit: "psi",
        }],
        source: "Holl, in Najafi 2010, p. 76; Moser and Folkman, Table 2.5",
        run: |values| one(Self::from_values(values)?.live_load_psi()),
    };
}

impl LoadCoefficient {
    /// The load coefficient C_s, four times the corner influence.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn load_coefficient(&self) -> Result<f64, Problems> {
        self.check()?;
        let (m, n) = (self.half_width_ratio, self.half_length_ratio);
        let a = m * m + n * n + 1.0;
        let product = m * m * n * n;
        let root = 2.0 * m * n * a.sqrt();
        let first = root / (a + product) * ((a + 1.0) / a);
        Ok((first + root.atan2(a - product)) / std::f64::consts::PI)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "load-coefficient",
        title: "load coefficient C_s of a rectangle at depth",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "load_coefficient",
            unit: "-",
        }],
        source: "Moser and Folkman, Buried Pipe Design, Table 2.6; Newmark's closed form",
        run: |values| one(Self::from_values(values)?.load_coefficient()),
    };
}

impl WheelLoad {
    /// The live load at the crown, with impact.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn live_load_psi(&self) -> Result<f64, Problems> {
        self.check()?;
        let coefficient = LoadCoefficient {
            half_width_ratio: self.host_diameter_in / 12.0 / (2.0 * self.cover_ft),
            half_length_ratio: self.effective_length_ft / (2.0 * self.cover_ft),
        }
        .load_coefficient()?;
        let area_in2 = self.effective_length_ft * 12.0 * self.host_diameter_in;
        Ok(coefficient * self.wheel_load_lbf * highway_impact(self.cover_ft) / area_in2)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "wheel-load",
        title: "live load of one wheel at the crown",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "live_load_psi",
            unit: "psi",
        }],
        source: "Spangler and Holl, in Najafi 2010, p. 76; Moser and Folkman, Table 2.5",
        run: |values| one(Self::from_values(values)?.live_load_psi()),
    };
}

/// Impact factor F′ for highways (Moser and Folkman, Buried Pipe Design, Table 2.5).
fn highway_impact(cover_ft: f64) -> f64 {
    match cover_ft {
        cover if cover <= 1.0 => 1.50,
        cover if cover <= 2.0 => 1.35,
        cover if cover <= 3.0 => 1.15,
        _ => 1.00,
    }
}
