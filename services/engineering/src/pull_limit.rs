//! The pull against what the liner's own certificate allows, from either side.

use crate::field::{Problems, inputs};
use crate::pull_in::WinchForce;
use crate::registry::{Formula, Output};

inputs! {
    /// A pulling force against the largest one on the certificate of that very liner.
    ///
    /// # Equation
    ///
    /// ```text
    /// share = 100·F/F_max,   remaining = F_max − F
    /// ```
    ///
    /// # Units
    ///
    /// kN; results in percent and kN. A share above 100 percent is an answer, not an error.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. No general allowable force exists: without the
    /// certificate's figure there is no check.
    ///
    /// # Source
    ///
    /// Najafi, Trenchless Technology Piping, 2010, pp. 290-291: the force is monitored and stays
    /// below the maker's limit for that size and thickness.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 6 of 8 kN.
    /// use obvert_engineering::pull_limit::PullLimit;
    /// let pull = PullLimit { force_kn: 6.0, certificate_force_kn: 8.0 };
    /// assert_eq!(pull.share_percent()?, 75.0);
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct PullLimit {
        /// Force at the winch, measured or estimated.
        force_kn: "kN" in 0.0..=5000.0,
        /// Largest force on the certificate of the liner.
        certificate_force_kn: "kN" in 0.1..=5000.0,
    }
}

inputs! {
    /// Pull of a liner that is inserted from the street side, through the pipe before its segment.
    ///
    /// # Equation
    ///
    /// ```text
    /// length = lead + segment,   F = m·g·length·max(0, μ·cos α + sin α)·e^(μ·θ)
    /// ```
    ///
    /// The lead is the pipe from the manhole on the street to the first manhole of the segment; the
    /// whole liner moves through it.
    ///
    /// # Units
    ///
    /// kg/m, m, percent, degrees, kN; results in m, kN and percent.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and the length against the range of the winch force.
    ///
    /// # Source
    ///
    /// Statics of a rope on a slope and round a bend, as [`WinchForce`]; limit from the certificate.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 40 + 60 m at 9.84 kg/m and 0.3 take 2.89 kN of 10.
    /// use obvert_engineering::pull_limit::StreetSidePull;
    /// let pull = StreetSidePull {
    ///     mass_kg_per_m: 9.84,
    ///     lead_length_m: 40.0,
    ///     segment_length_m: 60.0,
    ///     friction_coefficient: 0.3,
    ///     uphill_slope_percent: 0.0,
    ///     total_bend_degrees: 0.0,
    ///     certificate_force_kn: 10.0,
    /// };
    /// assert_eq!(format!("{:.2}", pull.force_kn()?), "2.89");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct StreetSidePull {
        /// Mass of the liner with films.
        mass_kg_per_m: "kg/m" in 0.1..=500.0,
        /// Pipe from the street's manhole to the segment.
        lead_length_m: "m" in 0.0..=400.0,
        /// Length of the segment.
        segment_length_m: "m" in 1.0..=600.0,
        /// Friction coefficient μ.
        friction_coefficient: "-" in 0.0..=1.5,
        /// Slope, positive when the pull is uphill.
        uphill_slope_percent: "%" in -100.0..=100.0,
        /// Sum of all deflections, those in the manholes between included.
        total_bend_degrees: "°" in 0.0..=720.0,
        /// Largest force on the certificate of the liner.
        certificate_force_kn: "kN" in 0.1..=5000.0,
    }
}

impl PullLimit {
    /// The force in percent of the certificate's.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn share_percent(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(100.0 * self.force_kn / self.certificate_force_kn)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "pull-limit",
        title: "pulling force against the largest one on the liner's certificate",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            Output {
                name: "share_percent",
                unit: "%",
            },
            Output {
                name: "remaining_kn",
                unit: "kN",
            },
        ],
        source: "Najafi 2010, pp. 290-291; the limit from the liner's certificate",
        run: |values| {
            let pull = Self::from_values(values)?;
            Ok(vec![
                Some(pull.share_percent()?),
                Some(pull.certificate_force_kn - pull.force_kn),
            ])
        },
    };
}

impl StreetSidePull {
    /// Length that is pulled.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn pulled_length_m(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.lead_length_m + self.segment_length_m)
    }

    /// Force at the winch at the end of the pull.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn force_kn(&self) -> Result<f64, Problems> {
        WinchForce {
            mass_kg_per_m: self.mass_kg_per_m,
            length_m: self.pulled_length_m()?,
            friction_coefficient: self.friction_coefficient,
            uphill_slope_percent: self.uphill_slope_percent,
            total_bend_degrees: self.total_bend_degrees,
        }
        .force_kn()
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "street-side-pull",
        title: "pull of a liner inserted from the street side, against its certificate",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            Output {
                name: "pulled_length_m",
                unit: "m",
            },
            Output {
                name: "force_kn",
                unit: "kN",
            },
            Output {
                name: "share_percent",
                unit: "%",
            },
        ],
        source: "statics of a rope; the limit from the liner's certificate",
        run: |values| {
            let pull = Self::from_values(values)?;
            let force = pull.force_kn()?;
            Ok(vec![
                Some(pull.pulled_length_m()?),
                Some(force),
                Some(100.0 * force / pull.certificate_force_kn),
            ])
        },
    };
}
