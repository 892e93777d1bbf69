//! Buckling of a liner under soil, water and traffic when the host pipe carries nothing (X1.3).
//!
//! | symbol | meaning | field |
//! | --- | --- | --- |
//! | q_t | total external load | `external_load_mpa` |
//! | R_w, B′ | buoyancy factor, coefficient of elastic support | same words |
//! | E′_s | modulus of soil reaction | `soil_modulus_mpa` |
//! | E_L | LONG-TERM flexural modulus | `long_term_flexural_modulus_mpa` |
//! | I | t³/12 for a strip of unit width | |
//! | C, N | ovality reduction factor, factor of safety | |
//!
//! Where C stands depends on the edition, so [`OvalityPlace`] belongs in every record of a design.
//! The printed factor 0.721 is (12/32)^(1/3); the exact root is used here.

use crate::field::{Problems, inputs, thin_wall};
use crate::ovality::reduction_factor;
use crate::registry::{Formula, Output, one};

/// Where the ovality factor C stands in equation X1.3.
///
/// F1216-07b (June 2007) moved C into the root, which thins a liner by the factor C^(1/3): 5.8
/// percent at 2 percent ovality (Doherty, NASTT No-Dig 2008, abstract, for the change itself).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OvalityPlace {
    /// Inside the root: F1216-07b and later.
    InsideRoot,
    /// Before the root: editions until 2007 (form from memory).
    BeforeRoot,
}

inputs! {
    /// Wall that a liner needs when it alone carries soil, water and traffic.
    ///
    /// # Equation
    ///
    /// ```text
    /// since F1216-07b   q_t = (1/N)·[32·R_w·B′·E′_s·C·E_L·I/D³]^½
    ///                   t = (12/32)^(1/3)·D·[(N·q_t)²/(E_L·R_w·B′·E′_s·C)]^(1/3)
    /// before            q_t = (C/N)·[32·R_w·B′·E′_s·E_L·I/D³]^½
    ///                   t = (12/32)^(1/3)·D·[(N·q_t/C)²/(E_L·R_w·B′·E′_s)]^(1/3)
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa; any consistent units give the same ratio t/D.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equation X1.3, as applied in Najafi, Trenchless Technology
    /// Piping, 2010, pp. 75-77. The form before 2007 is from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (pp. 76-77: 1.01 in); matches.
    /// use obvert_engineering::soil_buckling::{OvalityPlace, SoilBuckling};
    /// use obvert_engineering::units::{in_from_mm, mm_from_in, mpa_from_psi};
    /// let liner = SoilBuckling {
    ///     host_diameter_mm: mm_from_in(48.0),
    ///     external_load_mpa: mpa_from_psi(14.90),
    ///     buoyancy_factor: 0.835,
    ///     elastic_support: 0.414,
    ///     soil_modulus_mpa: mpa_from_psi(1000.0),
    ///     long_term_flexural_modulus_mpa: mpa_from_psi(125_000.0),
    ///     ovality_percent: 2.0,
    ///     safety_factor: 2.0,
    /// };
    /// let wall_mm = liner.wall_thickness_mm(OvalityPlace::InsideRoot)?;
    /// assert_eq!(format!("{:.2}", in_from_mm(wall_mm)), "1.01");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct SoilBuckling {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Total external load at the crown.
        external_load_mpa: "MPa" in 0.0..=5.0,
        /// Water buoyancy factor R_w.
        buoyancy_factor: "-" in 0.67..=1.0,
        /// Coefficient of elastic support B′.
        elastic_support: "-" in 0.2..=1.0,
        /// Modulus of soil reaction E′_s.
        soil_modulus_mpa: "MPa" in 0.1..=70.0,
        /// Flexural modulus after the design life, not the initial one.
        long_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

inputs! {
    /// External load that a wall may bear; the inverse of [`SoilBuckling`].
    ///
    /// # Equation
    ///
    /// ```text
    /// since F1216-07b   q_t = (1/N)·[32·R_w·B′·E′_s·C·E_L/(12·DR³)]^½
    /// before            q_t = (C/N)·[32·R_w·B′·E′_s·E_L/(12·DR³)]^½
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2. With N = 1 the result is the capacity.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equation X1.3, as applied in Najafi, Trenchless Technology
    /// Piping, 2010, p. 75. The form before 2007 is from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: √(32·5·0.2·2400/(12·40³)) = √0.1.
    /// use obvert_engineering::soil_buckling::{OvalityPlace, SoilBucklingLoad};
    /// let liner = SoilBucklingLoad {
    ///     host_diameter_mm: 240.0,
    ///     wall_thickness_mm: 6.0,
    ///     buoyancy_factor: 1.0,
    ///     elastic_support: 0.2,
    ///     soil_modulus_mpa: 5.0,
    ///     long_term_flexural_modulus_mpa: 2400.0,
    ///     ovality_percent: 0.0,
    ///     safety_factor: 1.0,
    /// };
    /// let load_mpa = liner.external_load_mpa(OvalityPlace::InsideRoot)?;
    /// assert_eq!(format!("{load_mpa:.5}"), "0.31623");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct SoilBucklingLoad {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Structural wall of the liner, without films and wear layer.
        wall_thickness_mm: "mm" in 0.01..=500.0,
        /// Water buoyancy factor R_w.
        buoyancy_factor: "-" in 0.67..=1.0,
        /// Coefficient of elastic support B′.
        elastic_support: "-" in 0.2..=1.0,
        /// Modulus of soil reaction E′_s.
        soil_modulus_mpa: "MPa" in 0.1..=70.0,
        /// Flexural modulus after the design life.
        long_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

impl SoilBuckling {
    /// The wall that the check asks for, by the form of the edition.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn wall_thickness_mm(&self, place: OvalityPlace) -> Result<f64, Problems> {
        self.check()?;
        let load = self.safety_factor * self.external_load_mpa / place.outer(self.ovality_percent);
        let support = self.buoyancy_factor * self.elastic_support * self.soil_modulus_mpa;
        let inner = place.inner(self.ovality_percent);
        let resistance = self.long_term_flexural_modulus_mpa * support * inner;
        let ratio = (12.0 / 32.0 * load.powi(2) / resistance).cbrt();
        thin_wall(self.host_diameter_mm * ratio, self.host_diameter_mm)
    }

    /// Entry for the list of formulas: C inside the root.
    pub const FORMULA: Formula = Formula {
        name: "soil-buckling-wall",
        title: "wall under soil, water and traffic, fully deteriorated (X1.3 since F1216-07b)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "wall_thickness_mm",
            unit: "mm",
        }],
        source: "ASTM F1216 Appendix X1, X1.3, as applied in Najafi 2010, pp. 75-77",
        run: |values| one(Self::from_values(values)?.wall_thickness_mm(OvalityPlace::InsideRoot)),
    };

    /// Entry for the list of formulas: C before the root.
    pub const FORMULA_BEFORE_2007: Formula = Formula {
        name: "soil-buckling-wall-before-2007",
        title: "wall under soil, water and traffic, fully deteriorated (X1.3 before F1216-07b)",
        source: "ASTM F1216 Appendix X1, X1.3 before F1216-07b, from memory",
        run: |values| one(Self::from_values(values)?.wall_thickness_mm(OvalityPlace::BeforeRoot)),
        ..Self::FORMULA
    };
}

impl SoilBucklingLoad {
    /// The external load that the wall may bear, by the form of the edition.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn external_load_mpa(&self, place: OvalityPlace) -> Result<f64, Problems> {
        self.check()?;
        thin_wall(self.wall_thickness_mm, self.host_diameter_mm)?;
        let ratio = self.wall_thickness_mm / self.host_diameter_mm;
        let ring = self.long_term_flexural_modulus_mpa * ratio.powi(3) / 12.0;
        let support = self.buoyancy_factor * self.elastic_support * self.soil_modulus_mpa;
        let root = (32.0 * support * place.inner(self.ovality_percent) * ring).sqrt();
        Ok(place.outer(self.ovality_percent) / self.safety_factor * root)
    }

    /// Entry for the list of formulas: C inside the root.
    pub const FORMULA: Formula = Formula {
        name: "soil-buckling-load",
        title: "external load that a wall may bear (X1.3 since F1216-07b)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "external_load_mpa",
            unit: "MPa",
        }],
        source: "ASTM F1216 Appendix X1, X1.3, as applied in Najafi 2010, p. 75",
        run: |values| one(Self::from_values(values)?.external_load_mpa(OvalityPlace::InsideRoot)),
    };

    /// Entry for the list of formulas: C before the root.
    pub const FORMULA_BEFORE_2007: Formula = Formula {
        name: "soil-buckling-load-before-2007",
        title: "external load that a wall may bear (X1.3 before F1216-07b)",
        source: "ASTM F1216 Appendix X1, X1.3 before F1216-07b, from memory",
        run: |values| one(Self::from_values(values)?.external_load_mpa(OvalityPlace::BeforeRoot)),
        ..Self::FORMULA
    };
}

impl OvalityPlace {
    fn inner(self, ovality_percent: f64) -> f64 {
        match self {
            Self::InsideRoot => reduction_factor(ovality_percent),
            Self::BeforeRoot => 1.0,
        }
    }

    fn outer(self, ovality_percent: f64) -> f64 {
        match self {
            Self::InsideRoot => 1.0,
            Self::BeforeRoot => reduction_factor(ovality_percent),
        }
    }
}
