//! Total external load q_t on a liner in a fully deteriorated host pipe: water, soil and traffic.
//!
//! | symbol | meaning | unit US | unit SI |
//! | --- | --- | --- | --- |
//! | H_w | groundwater above the crown | ft | m |
//! | H | soil cover above the crown | ft | m |
//! | w | unit weight of the soil | lb/ft³ | kN/m³ |
//! | W_s | live load at the crown | psi | MPa |
//! | R_w | buoyancy factor, at least 0.67 | – | – |
//!
//! Above about 189 lb/ft³ more water would lighten the load, so such a soil is refused.

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output};

/// Floor of the buoyancy factor that the source sets.
pub const LEAST_BUOYANCY_FACTOR: f64 = 0.67;

inputs! {
    /// Water buoyancy factor R_w: how much of the soil's weight remains under water.
    ///
    /// # Equation
    ///
    /// ```text
    /// R_w = max(0.67, 1 − 0.33·H_w/H)
    /// ```
    ///
    /// # Units
    ///
    /// Both heads in the same unit, here m; the result is a ratio.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. The floor of 0.67 is the source's.
    /// Without cover the factor is 1 in the dry and 0.67 under water.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, as applied in Najafi, Trenchless Technology Piping, 2010, p. 75.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (pp. 76-77: 8 ft of water in 16 ft of cover); matches.
    /// use obvert_engineering::external_load::BuoyancyFactor;
    /// let factor = BuoyancyFactor { groundwater_above_crown_m: 2.4384, cover_m: 4.8768 };
    /// assert_eq!(format!("{:.3}", factor.buoyancy_factor()?), "0.835");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct BuoyancyFactor {
        /// Groundwater above the crown.
        groundwater_above_crown_m: "m" in 0.0..=100.0,
        /// Soil cover above the crown.
        cover_m: "m" in 0.0..=61.0,
    }
}

inputs! {
    /// External load q_t with the constants of the US equation.
    ///
    /// # Equation
    ///
    /// ```text
    /// q_t = 0.433·H_w + w·H·R_w/144 + W_s
    /// ```
    ///
    /// # Units
    ///
    /// Heads in ft, w in lb/ft³, W_s and the result in psi.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, as applied in Najafi, Trenchless Technology Piping, 2010, p. 75.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (pp. 76-77); it prints 14.90, which is a slip: its own
    /// // terms 3.464 + 11.133 + 0.35 make 14.947.
    /// use obvert_engineering::external_load::ExternalLoadUs;
    /// let load = ExternalLoadUs {
    ///     groundwater_above_crown_ft: 8.0,
    ///     cover_ft: 16.0,
    ///     soil_unit_weight_pcf: 120.0,
    ///     live_load_psi: 0.35,
    /// };
    /// assert_eq!(format!("{:.3}", load.external_load_psi()?), "14.947");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct ExternalLoadUs {
        /// Groundwater above the crown.
        groundwater_above_crown_ft: "ft" in 0.0..=330.0,
        /// Soil cover above the crown.
        cover_ft: "ft" in 0.0..=200.0,
        /// Unit weight of the soil.
        soil_unit_weight_pcf: "lb/ft³" in 60.0..=188.5,
        /// Live load at the crown.
        live_load_psi: "psi" in 0.0..=145.1,
    }
}

inputs! {
    /// External load q_t with the constants of the SI equation.
    ///
    /// # Equation
    ///
    /// ```text
    /// q_t = 0.00981·H_w + w·H·R_w/1000 + W_s
    /// ```
    ///
    /// # Units
    ///
    /// Heads in m, w in kN/m³, W_s and the result in MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// SI form of ASTM F1216 Appendix X1, constants from memory; they agree with the US form.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 0.02943 + 18.85·3·0.67/1000.
    /// use obvert_engineering::external_load::ExternalLoadSi;
    /// let load = ExternalLoadSi {
    ///     groundwater_above_crown_m: 3.0,
    ///     cover_m: 3.0,
    ///     soil_unit_weight_kn_per_m3: 18.85,
    ///     live_load_mpa: 0.0,
    /// };
    /// assert_eq!(format!("{:.6}", load.external_load_mpa()?), "0.067319");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct ExternalLoadSi {
        /// Groundwater above the crown.
        groundwater_above_crown_m: "m" in 0.0..=100.0,
        /// Soil cover above the crown.
        cover_m: "m" in 0.0..=61.0,
        /// Unit weight of the soil.
        soil_unit_weight_kn_per_m3: "kN/m³" in 9.0..=29.6,
        /// Live load at the crown.
        live_load_mpa: "MPa" in 0.0..=1.0,
    }
}

impl BuoyancyFactor {
    /// The water buoyancy factor R_w.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn buoyancy_factor(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(buoyancy(self.groundwater_above_crown_m, self.cover_m))
    }

    /// The factor without the floor of 0.67; `None` without cover, where it has no value.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn factor_before_floor(&self) -> Result<Option<f64>, Problems> {
        self.check()?;
        Ok(before_floor(self.groundwater_above_crown_m, self.cover_m))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "buoyancy-factor",
        title: "water buoyancy factor R_w",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[BUOYANCY, BEFORE_FLOOR],
        source: "ASTM F1216 Appendix X1 as applied in Najafi 2010, p. 75",
        run: |values| {
            let soil = Self::from_values(values)?;
            Ok(vec![
                Some(soil.buoyancy_factor()?),
                soil.factor_before_floor()?,
            ])
        },
    };
}

impl ExternalLoadUs {
    /// The total external load q_t.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn external_load_psi(&self) -> Result<f64, Problems> {
        self.check()?;
        let factor = buoyancy(self.groundwater_above_crown_ft, self.cover_ft);
        let soil_psi = self.soil_unit_weight_pcf * self.cover_ft * factor / 144.0;
        Ok(0.433 * self.groundwater_above_crown_ft + soil_psi + self.live_load_psi)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "external-load-us",
        title: "total external load q_t, US constants",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            Output {
                name: "external_load_psi",
                unit: "psi",
            },
            BUOYANCY,
            BEFORE_FLOOR,
        ],
        source: "ASTM F1216 Appendix X1 as applied in Najafi 2010, p. 75",
        run: |values| {
            let load = Self::from_values(values)?;
            let (water, cover) = (load.groundwater_above_crown_ft, load.cover_ft);
            Ok(vec![
                Some(load.external_load_psi()?),
                Some(buoyancy(water, cover)),
                before_floor(water, cover),
            ])
        },
    };
}

impl ExternalLoadSi {
    /// The total external load q_t.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn external_load_mpa(&self) -> Result<f64, Problems> {
        self.check()?;
        let factor = buoyancy(self.groundwater_above_crown_m, self.cover_m);
        let soil_mpa = self.soil_unit_weight_kn_per_m3 * self.cover_m * factor / 1000.0;
        Ok(0.009_81 * self.groundwater_above_crown_m + soil_mpa + self.live_load_mpa)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "external-load-si",
        title: "total external load q_t, SI constants",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            Output {
                name: "external_load_mpa",
                unit: "MPa",
            },
            BUOYANCY,
            BEFORE_FLOOR,
        ],
        source: "SI form of ASTM F1216 Appendix X1, constants from memory",
        run: |values| {
            let load = Self::from_values(values)?;
            let (water, cover) = (load.groundwater_above_crown_m, load.cover_m);
            Ok(vec![
                Some(load.external_load_mpa()?),
                Some(buoyancy(water, cover)),
                before_floor(water, cover),
            ])
        },
    };
}

const BUOYANCY: Output = Output {
    name: "buoyancy_factor",
    unit: "-",
};

/// Shown beside R_w, so that nobody takes the floor for the equation.
const BEFORE_FLOOR: Output = Output {
    name: "factor_before_floor",
    unit: "-",
};

/// R_w of two heads in one unit, without dividing by a cover of zero.
fn buoyancy(groundwater_above_crown: f64, cover: f64) -> f64 {
    if groundwater_above_crown == 0.0 {
        return 1.0;
    }
    if groundwater_above_crown >= cover {
        return LEAST_BUOYANCY_FACTOR;
    }
    (1.0 - 0.33 * groundwater_above_crown / cover).max(LEAST_BUOYANCY_FACTOR)
}

/// R_w as the equation gives it, where it gives one: a cover next to nothing under water makes a
/// number beyond any.
fn before_floor(groundwater_above_crown: f64, cover: f64) -> Option<f64> {
    if groundwater_above_crown == 0.0 {
        return Some(1.0);
    }
    let factor = 1.0 - 0.33 * groundwater_above_crown / cover;
    factor.is_finite().then_some(factor)
}
