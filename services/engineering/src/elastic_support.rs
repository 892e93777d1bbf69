//! Coefficient of elastic support B′: how much the soil beside a liner helps it against buckling.
//!
//! The exponent is 0.065 with the cover in feet and 0.213 with the cover in metres
//! (0.065/0.3048 = 0.2133). The two are separate structs, because feet fed to 0.213 make a liner
//! 22 percent too thin at 16 ft. Najafi 2010, p. 75 misprints 0.65; its numbers on p. 77 use 0.065.

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output, one};

inputs! {
    /// B′ with the constant for feet.
    ///
    /// # Equation
    ///
    /// ```text
    /// B′ = 1/(1 + 4·e^(−0.065·H))
    /// ```
    ///
    /// # Units
    ///
    /// Cover H above the crown in ft; the result is a ratio from 0.2 to 1.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, as applied in Najafi, Trenchless Technology Piping, 2010, p. 77.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (p. 77: 16 ft of cover); matches.
    /// use obvert_engineering::elastic_support::ElasticSupportUs;
    /// let support = ElasticSupportUs { cover_ft: 16.0 };
    /// assert_eq!(format!("{:.3}", support.elastic_support()?), "0.414");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct ElasticSupportUs {
        /// Soil cover above the crown.
        cover_ft: "ft" in 0.0..=200.0,
    }
}

inputs! {
    /// B′ with the constant for metres.
    ///
    /// # Equation
    ///
    /// ```text
    /// B′ = 1/(1 + 4·e^(−0.213·H))
    /// ```
    ///
    /// # Units
    ///
    /// Cover H above the crown in m; the result is a ratio from 0.2 to 1.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// SI form of ASTM F1216 Appendix X1, constant from memory; it agrees with 0.065 per foot.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 1/(1 + 4·e^(−0.639)).
    /// use obvert_engineering::elastic_support::ElasticSupportSi;
    /// let support = ElasticSupportSi { cover_m: 3.0 };
    /// assert_eq!(format!("{:.5}", support.elastic_support()?), "0.32141");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct ElasticSupportSi {
        /// Soil cover above the crown.
        cover_m: "m" in 0.0..=61.0,
    }
}

impl ElasticSupportUs {
    /// The coefficient of elastic support B′.
    ///
    /// # Errors
    ///
    /// Returns the cover when it is out of range.
    pub fn elastic_support(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(support(0.065 * self.cover_ft))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "elastic-support-us",
        title: "coefficient of elastic support B', cover in feet",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "elastic_support",
            unit: "-",
        }],
        source: "ASTM F1216 Appendix X1 as applied in Najafi 2010, p. 77",
        run: |values| one(Self::from_values(values)?.elastic_support()),
    };
}

impl ElasticSupportSi {
    /// The coefficient of elastic support B′.
    ///
    /// # Errors
    ///
    /// Returns the cover when it is out of range.
    pub fn elastic_support(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(support(0.213 * self.cover_m))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "elastic-support-si",
        title: "coefficient of elastic support B', cover in metres",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "elastic_support",
            unit: "-",
        }],
        source: "SI form of ASTM F1216 Appendix X1, constant from memory",
        run: |values| one(Self::from_values(values)?.elastic_support()),
    };
}

fn support(exponent: f64) -> f64 {
    1.0 / (1.0 + 4.0 * (-exponent).exp())
}
