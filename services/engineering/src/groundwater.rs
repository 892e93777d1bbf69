//! Groundwater on a liner: the head to assume when none was measured, and the pressure it makes.
//!
//! Two heads exist and must not be mixed. The pressure on a liner in a host pipe that still
//! carries the soil is taken above the INVERT; the load of the fully deteriorated case takes the
//! water above the CROWN. Head above invert = head above crown + host diameter
//! (Najafi, Trenchless Technology Piping, 2010, pp. 75, 80: 12 ft = 8 ft + 48 in).

use crate::field::{Field, Problems, check, inputs};
use crate::registry::{Formula, Output, one};

/// Pressure of a foot of water as the US form of the equations prints it: 62.4 lb/ft³ on 144 in².
pub const WATER_PSI_PER_FT: f64 = 62.4 / 144.0;

/// Pressure of a metre of water as the SI form of the equations prints it.
pub const WATER_MPA_PER_M: f64 = 0.009_81;

/// The owner's rule for the groundwater level; which one was used belongs in the record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GroundwaterRule {
    /// Water stands at the ground surface (an owner's rule: Nashua NH 2019, section 02651).
    AtSurface,
    /// Water stands this far below the ground surface (one public solicitation: 3 ft).
    BelowSurface {
        /// Depth of the water below the ground surface.
        depth_m: f64,
    },
    /// Water stands at the crown, where the site shows nothing higher (a public solicitation).
    AtCrown,
    /// Water stands at half the cover (Najafi 2010, Table 2.15).
    HalfCover,
    /// Water stands this far above the invert, measured or assumed
    /// (the German standard case assumes at least 1.50 m).
    AboveInvert {
        /// Head above the invert.
        head_m: f64,
    },
}

inputs! {
    /// Head of groundwater above the invert under an owner's rule.
    ///
    /// # Equation
    ///
    /// ```text
    /// at surface       h = H + D          below surface   h = max(0, H + D − depth)
    /// at crown         h = D              half the cover  h = H/2 + D
    /// ```
    ///
    /// # Units
    ///
    /// Cover H above the crown in m, diameter D in mm, result in m.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. The result is never negative.
    ///
    /// # Source
    ///
    /// Owners' rules as named at [`GroundwaterRule`]; the sum with the diameter follows Najafi,
    /// Trenchless Technology Piping, 2010, p. 80.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (p. 80: water 8 ft above the crown of a 48-in pipe under
    /// // 16 ft of cover stands 12 ft above the invert); matches.
    /// use obvert_engineering::groundwater::{GroundwaterHead, GroundwaterRule};
    /// let pipe = GroundwaterHead { cover_m: 16.0 * 0.3048, host_diameter_mm: 48.0 * 25.4 };
    /// let head_m = pipe.head_above_invert_m(GroundwaterRule::HalfCover)?;
    /// assert_eq!(format!("{:.3}", head_m / 0.3048), "12.000");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct GroundwaterHead {
        /// Soil cover above the crown.
        cover_m: "m" in 0.0..=60.0,
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
    }
}

inputs! {
    /// Head of groundwater above the invert when it stands at a depth below the surface.
    ///
    /// # Equation
    ///
    /// ```text
    /// h = max(0, H + D − depth)
    /// ```
    ///
    /// # Units
    ///
    /// Cover H and depth in m, diameter D in mm, result in m.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. Water below the invert makes a head of 0.
    ///
    /// # Source
    ///
    /// An owner's rule in a public solicitation (3 ft); the sum with the diameter follows Najafi,
    /// Trenchless Technology Piping, 2010, p. 80.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 3 + 0.2 − 0.9.
    /// use obvert_engineering::groundwater::GroundwaterBelowSurface;
    /// let pipe = GroundwaterBelowSurface {
    ///     cover_m: 3.0,
    ///     host_diameter_mm: 200.0,
    ///     depth_below_surface_m: 0.9,
    /// };
    /// assert_eq!(format!("{:.3}", pipe.head_above_invert_m()?), "2.300");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct GroundwaterBelowSurface {
        /// Soil cover above the crown.
        cover_m: "m" in 0.0..=60.0,
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Depth of the water below the ground surface.
        depth_below_surface_m: "m" in 0.0..=60.0,
    }
}

inputs! {
    /// Groundwater pressure P at the invert, with the constant of the US equations.
    ///
    /// # Equation
    ///
    /// ```text
    /// P = h·62.4/144
    /// ```
    ///
    /// # Units
    ///
    /// Head in ft, result in psi.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, as applied in Najafi, Trenchless Technology Piping, 2010, p. 80.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (p. 80: 12 ft make 5.20 psi); matches.
    /// use obvert_engineering::groundwater::GroundwaterPressureUs;
    /// let pressure = GroundwaterPressureUs { head_above_invert_ft: 12.0 };
    /// assert_eq!(format!("{:.2}", pressure.groundwater_pressure_psi()?), "5.20");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct GroundwaterPressureUs {
        /// Head of groundwater above the invert.
        head_above_invert_ft: "ft" in 0.0..=330.0,
    }
}

inputs! {
    /// Groundwater pressure P at the invert, with the constant of the SI equations.
    ///
    /// # Equation
    ///
    /// ```text
    /// P = 0.00981·h
    /// ```
    ///
    /// # Units
    ///
    /// Head in m, result in MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// SI form of ASTM F1216 Appendix X1, constant from memory; it is the weight of water.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 3.2 m × 0.00981.
    /// use obvert_engineering::groundwater::GroundwaterPressureSi;
    /// let pressure = GroundwaterPressureSi { head_above_invert_m: 3.2 };
    /// assert_eq!(format!("{:.6}", pressure.groundwater_pressure_mpa()?), "0.031392");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct GroundwaterPressureSi {
        /// Head of groundwater above the invert.
        head_above_invert_m: "m" in 0.0..=100.0,
    }
}

impl GroundwaterHead {
    /// Head of groundwater above the invert under this rule.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, the rule's own depth or head included.
    pub fn head_above_invert_m(&self, rule: GroundwaterRule) -> Result<f64, Problems> {
        self.check()?;
        let invert_depth_m = self.cover_m + self.host_diameter_mm / 1000.0;
        Ok(match rule {
            GroundwaterRule::AtSurface => invert_depth_m,
            GroundwaterRule::BelowSurface { depth_m } => {
                check(&[DEPTH], &[depth_m])?;
                (invert_depth_m - depth_m).max(0.0)
            }
            GroundwaterRule::AtCrown => self.host_diameter_mm / 1000.0,
            GroundwaterRule::HalfCover => invert_depth_m - self.cover_m / 2.0,
            GroundwaterRule::AboveInvert { head_m } => {
                GroundwaterPressureSi {
                    head_above_invert_m: head_m,
                }
                .check()?;
                head_m
            }
        })
    }

    /// Entry for the list of formulas: water at the surface, the usual rule when nothing is known.
    pub const FORMULA: Formula = Formula {
        name: "groundwater-head-at-surface",
        title: "head above the invert with groundwater at the ground surface",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "head_above_invert_m",
            unit: "m",
        }],
        source: "an owner's rule, Nashua NH 2019, section 02651; Najafi 2010, p. 80",
        run: |values| {
            one(Self::from_values(values)?.head_above_invert_m(GroundwaterRule::AtSurface))
        },
    };

    /// Entry for the list of formulas: water at the crown.
    pub const FORMULA_AT_CROWN: Formula = Formula {
        name: "groundwater-head-at-crown",
        title: "head above the invert with groundwater at the crown",
        source: "an owner's rule in a public solicitation; Najafi 2010, p. 80",
        run: |values| one(Self::from_values(values)?.head_above_invert_m(GroundwaterRule::AtCrown)),
        ..Self::FORMULA
    };

    /// Entry for the list of formulas: water at half the cover.
    pub const FORMULA_HALF_COVER: Formula = Formula {
        name: "groundwater-head-half-cover",
        title: "head above the invert with groundwater at half the cover",
        source: "Najafi 2010, Table 2.15 and p. 80",
        run: |values| {
            one(Self::from_values(values)?.head_above_invert_m(GroundwaterRule::HalfCover))
        },
        ..Self::FORMULA
    };
}

impl GroundwaterBelowSurface {
    /// Head of groundwater above the invert; 0 where it stands below the invert.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn head_above_invert_m(&self) -> Result<f64, Problems> {
        self.check()?;
        let pipe = GroundwaterHead {
            cover_m: self.cover_m,
            host_diameter_mm: self.host_diameter_mm,
        };
        let depth_m = self.depth_below_surface_m;
        pipe.head_above_invert_m(GroundwaterRule::BelowSurface { depth_m })
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "groundwater-head-below-surface",
        title: "head above the invert with groundwater at a depth below the surface",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: GroundwaterHead::FORMULA.outputs,
        source: "an owner's rule in a public solicitation (3 ft); Najafi 2010, p. 80",
        run: |values| one(Self::from_values(values)?.head_above_invert_m()),
    };
}

impl GroundwaterPressureUs {
    /// Pressure of the water at the invert.
    ///
    /// # Errors
    ///
    /// Returns the head when it is out of range.
    pub fn groundwater_pressure_psi(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.head_above_invert_ft * WATER_PSI_PER_FT)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "groundwater-pressure-us",
        title: "groundwater pressure at the invert, US constant",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "groundwater_pressure_psi",
            unit: "psi",
        }],
        source: "ASTM F1216 Appendix X1 as applied in Najafi 2010, p. 80",
        run: |values| one(Self::from_values(values)?.groundwater_pressure_psi()),
    };
}

impl GroundwaterPressureSi {
    /// Pressure of the water at the invert.
    ///
    /// # Errors
    ///
    /// Returns the head when it is out of range.
    pub fn groundwater_pressure_mpa(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.head_above_invert_m * WATER_MPA_PER_M)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "groundwater-pressure-si",
        title: "groundwater pressure at the invert, SI constant",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "groundwater_pressure_mpa",
            unit: "MPa",
        }],
        source: "SI form of ASTM F1216 Appendix X1, constant from memory",
        run: |values| one(Self::from_values(values)?.groundwater_pressure_mpa()),
    };
}

/// Head above the crown of a pipe whose head above the invert is known; never negative.
pub(crate) fn above_crown_m(head_above_invert_m: f64, host_diameter_mm: f64) -> f64 {
    (head_above_invert_m - host_diameter_mm / 1000.0).max(0.0)
}

/// The depth that a rule gives, checked like an input.
const DEPTH: Field = Field {
    name: "depth_m",
    unit: "m",
    min: 0.0,
    max: 60.0,
};
