//! Deflection of a liner that carries the soil alone, a check that some owners ask for.
//!
//! One owner's limit is 5 percent (Nashua NH 2019, section 02651; Najafi 2010, p. 79).

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output, one};

inputs! {
    /// Soil load of a pipe in a trench, after Marston.
    ///
    /// # Equation
    ///
    /// ```text
    /// C_d = (1 − e^(−2·kμ′·H/B_d))/(2·kμ′)
    /// W = C_d·w·B_d
    /// ```
    ///
    /// # Units
    ///
    /// m and kN/m³; the result is a pressure in MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Marston, in Najafi, Trenchless Technology Piping, 2010, p. 78, which takes kμ′ = 0.13.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: C_d = (1 − e^(−0.52))/0.26 = 1.5594; ·20·1/1000.
    /// use obvert_engineering::deflection::TrenchLoad;
    /// let trench = TrenchLoad {
    ///     cover_m: 2.0,
    ///     trench_width_m: 1.0,
    ///     soil_unit_weight_kn_per_m3: 20.0,
    ///     friction_coefficient: 0.13,
    /// };
    /// assert_eq!(format!("{:.5}", trench.soil_load_mpa()?), "0.03119");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct TrenchLoad {
        /// Soil cover above the crown.
        cover_m: "m" in 0.0..=60.0,
        /// Width of the trench at the crown.
        trench_width_m: "m" in 0.2..=20.0,
        /// Unit weight of the soil.
        soil_unit_weight_kn_per_m3: "kN/m³" in 9.5..=29.6,
        /// kμ′ of the backfill against the trench wall.
        friction_coefficient: "-" in 0.05..=0.3,
    }
}

inputs! {
    /// Long-term deflection in percent of the diameter, after Spangler.
    ///
    /// # Equation
    ///
    /// ```text
    /// Y/D = 100·K_b·(D_L·W + W_s) / ( E/(1.5·(DR − 1)³) + 0.061·E′_s )
    /// ```
    ///
    /// # Units
    ///
    /// MPa; the result is in percent.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Spangler, in Najafi, Trenchless Technology Piping, 2010, p. 78, which takes D_L = 1.25,
    /// K_b = 0.083 and the initial modulus.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 100·0.1·0.05/(0.039 + 0.061) = 5.
    /// use obvert_engineering::deflection::Deflection;
    /// let liner = Deflection {
    ///     soil_load_mpa: 0.04,
    ///     live_load_mpa: 0.0,
    ///     bedding_constant: 0.1,
    ///     deflection_lag: 1.25,
    ///     short_term_flexural_modulus_mpa: 58.5 * 64.0,
    ///     dimension_ratio: 41.0,
    ///     soil_modulus_mpa: 1.0,
    /// };
    /// assert_eq!(format!("{:.3}", liner.deflection_percent()?), "5.000");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct Deflection {
        /// Soil load at the crown.
        soil_load_mpa: "MPa" in 0.0..=5.0,
        /// Live load at the crown.
        live_load_mpa: "MPa" in 0.0..=1.0,
        /// Bedding constant K_b; 0.083 in the source.
        bedding_constant: "-" in 0.05..=0.2,
        /// Deflection lag D_L; 1.25 in the source.
        deflection_lag: "-" in 1.0..=3.0,
        /// Initial flexural modulus of the liner.
        short_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// D/t of the liner.
        dimension_ratio: "-" in 5.0..=500.0,
        /// Modulus of soil reaction E′_s.
        soil_modulus_mpa: "MPa" in 0.1..=70.0,
    }
}

impl TrenchLoad {
    /// The soil load at the crown.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn soil_load_mpa(&self) -> Result<f64, Problems> {
        self.check()?;
        let twice = 2.0 * self.friction_coefficient;
        // exp_m1 keeps the digits of a cover that is small beside the trench.
        let coefficient = -(-twice * self.cover_m / self.trench_width_m).exp_m1() / twice;
        Ok(coefficient * self.soil_unit_weight_kn_per_m3 * self.trench_width_m / 1000.0)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "trench-load",
        title: "soil load of a pipe in a trench",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "soil_load_mpa",
            unit: "MPa",
        }],
        source: "Marston, in Najafi 2010, p. 78",
        run: |values| one(Self::from_values(values)?.soil_load_mpa()),
    };
}

impl Deflection {
    /// The deflection in percent of the diameter.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn deflection_percent(&self) -> Result<f64, Problems> {
        self.check()?;
        let ring = 1.5 * (self.dimension_ratio - 1.0).powi(3);
        let resistance =
            self.short_term_flexural_modulus_mpa / ring + 0.061 * self.soil_modulus_mpa;
        let load = self.deflection_lag * self.soil_load_mpa + self.live_load_mpa;
        Ok(100.0 * self.bedding_constant * load / resistance)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "deflection",
        title: "long-term deflection in percent of the diameter",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "deflection_percent",
            unit: "%",
        }],
        source: "Spangler, in Najafi 2010, p. 78",
        run: |values| one(Self::from_values(values)?.deflection_percent()),
    };
}
