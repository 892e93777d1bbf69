//! Buckling of a tight liner in a rigid host pipe, as a cross-check of X1.1.
//!
//! These are theories of a perfect liner: no gap, no pre-deformation. They bound the enhancement
//! factor K of X1.1 and replace no check of it. Below a dimension ratio of about 28 the usual K of
//! 7 is more than even the perfect liner reaches.

use crate::field::{Problems, inputs, thin_wall};
use crate::registry::{Formula, Output, one};

/// Dimension ratio below which K = 7 exceeds what Glock's perfect liner reaches.
pub const ENHANCEMENT_WARNING_BELOW_DIMENSION_RATIO: f64 = 28.0;

inputs! {
    /// Critical external pressure of a tight circular liner in a rigid pipe, after Glock.
    ///
    /// # Equation
    ///
    /// ```text
    /// p_cr = E/(1 − ν²)·(t/D_m)^2.2,   D_m = D − t
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2. Very good for t/D_m below 3 percent.
    ///
    /// # Source
    ///
    /// Glock 1977, from memory; range from Stein and Stein, Rehabilitation and Maintenance of
    /// Drains and Sewers, 2004, 5.3.2.6.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 1000/0.91·0.02^2.2.
    /// use obvert_engineering::encased_buckling::RigidEncasement;
    /// let liner = RigidEncasement {
    ///     host_diameter_mm: 306.0,
    ///     wall_thickness_mm: 6.0,
    ///     flexural_modulus_mpa: 1000.0,
    ///     poisson_ratio: 0.3,
    /// };
    /// assert_eq!(format!("{:.5}", liner.critical_pressure_mpa()?), "0.20101");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct RigidEncasement {
        /// Inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Structural wall of the liner.
        wall_thickness_mm: "mm" in 0.01..=500.0,
        /// Flexural modulus of the age to be judged.
        flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Poisson's ratio.
        poisson_ratio: "-" in 0.0..=0.49,
    }
}

inputs! {
    /// Wall of a tight circular liner in a rigid pipe; the inverse of [`RigidEncasement`].
    ///
    /// # Equation
    ///
    /// ```text
    /// x = [P·N·(1 − ν²)/(κ·E)]^(1/2.2),   t = D·x/(1 + x)
    /// ```
    ///
    /// κ reduces the critical pressure for imperfections; 1 is the perfect liner. Its charts are in
    /// DWA-A 143-2 and were not read, so a value below 1 needs a source of its own.
    ///
    /// # Units
    ///
    /// mm and MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2.
    ///
    /// # Source
    ///
    /// Glock 1977, from memory; solved for t.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: the pressure of 6 mm in 306 mm gives 6 mm back.
    /// use obvert_engineering::encased_buckling::RigidEncasementWall;
    /// let liner = RigidEncasementWall {
    ///     host_diameter_mm: 306.0,
    ///     groundwater_pressure_mpa: 0.20101,
    ///     flexural_modulus_mpa: 1000.0,
    ///     poisson_ratio: 0.3,
    ///     imperfection_factor: 1.0,
    ///     safety_factor: 1.0,
    /// };
    /// assert_eq!(format!("{:.3}", liner.wall_thickness_mm()?), "6.000");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct RigidEncasementWall {
        /// Inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Groundwater pressure at the invert.
        groundwater_pressure_mpa: "MPa" in 0.000001..=2.0,
        /// Flexural modulus of the age to be judged.
        flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Poisson's ratio.
        poisson_ratio: "-" in 0.0..=0.49,
        /// κ, 1 for the perfect liner.
        imperfection_factor: "-" in 0.05..=1.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

inputs! {
    /// Enhancement factor K with which X1.1 equals Glock's perfect liner.
    ///
    /// # Equation
    ///
    /// ```text
    /// K = ½·(DR − 1)^0.8
    /// ```
    ///
    /// # Units
    ///
    /// Ratios.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. A K of 7 exceeds it below DR 28:
    /// [`ENHANCEMENT_WARNING_BELOW_DIMENSION_RATIO`].
    ///
    /// # Source
    ///
    /// Follows from equation X1.1 with C = N = 1 and from Glock's equation.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: ½·49^0.8.
    /// use obvert_engineering::encased_buckling::EquivalentEnhancement;
    /// let liner = EquivalentEnhancement { dimension_ratio: 50.0 };
    /// assert_eq!(format!("{:.1}", liner.enhancement_factor()?), "11.2");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct EquivalentEnhancement {
        /// D/t of the liner.
        dimension_ratio: "-" in 5.0..=500.0,
    }
}

impl RigidEncasement {
    /// The critical external pressure.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn critical_pressure_mpa(&self) -> Result<f64, Problems> {
        self.check()?;
        thin_wall(self.wall_thickness_mm, self.host_diameter_mm)?;
        let ratio = self.wall_thickness_mm / (self.host_diameter_mm - self.wall_thickness_mm);
        Ok(self.flexural_modulus_mpa / (1.0 - self.poisson_ratio.powi(2)) * ratio.powf(2.2))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "rigid-encasement-pressure",
        title: "critical external pressure of a tight liner in a rigid pipe",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "critical_pressure_mpa",
            unit: "MPa",
        }],
        source: "Glock 1977, from memory",
        run: |values| one(Self::from_values(values)?.critical_pressure_mpa()),
    };
}

impl RigidEncasementWall {
    /// The wall for the pressure.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn wall_thickness_mm(&self) -> Result<f64, Problems> {
        self.check()?;
        let plane = 1.0 - self.poisson_ratio.powi(2);
        let demand = self.groundwater_pressure_mpa * self.safety_factor * plane;
        let ratio =
            (demand / (self.imperfection_factor * self.flexural_modulus_mpa)).powf(1.0 / 2.2);
        thin_wall(
            self.host_diameter_mm * ratio / (1.0 + ratio),
            self.host_diameter_mm,
        )
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "rigid-encasement-wall",
        title: "wall of a tight liner in a rigid pipe",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "wall_thickness_mm",
            unit: "mm",
        }],
        source: "Glock 1977, from memory",
        run: |values| one(Self::from_values(values)?.wall_thickness_mm()),
    };
}

impl EquivalentEnhancement {
    /// The K that makes X1.1 equal Glock.
    ///
    /// # Errors
    ///
    /// Returns the ratio when it is out of range.
    pub fn enhancement_factor(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(0.5 * (self.dimension_ratio - 1.0).powf(0.8))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "equivalent-enhancement",
        title: "enhancement factor K of a perfect liner in a rigid pipe",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "enhancement_factor",
            unit: "-",
        }],
        source: "follows from ASTM F1216 X1.1 and Glock's equation",
        run: |values| one(Self::from_values(values)?.enhancement_factor()),
    };
}
