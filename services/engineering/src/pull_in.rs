//! Pull-in of a liner: its weight, an estimate of the winch force, and the stretch that remains.
//!
//! The force is for planning. What decides is the measured force against the largest force on the
//! certificate of that very liner; no general allowable exists in the sources read.

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output, one};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

inputs! {
    /// Mass of a wet liner for each metre.
    ///
    /// # Equation
    ///
    /// ```text
    /// m = ρ·π·(D − t)·t·(1 + films/100)
    /// ```
    ///
    /// # Units
    ///
    /// kg/m³ and mm; result in kg/m.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. Wet glass liner 1700 to 2000 kg/m³ and films 2 to 5
    /// percent (from memory).
    ///
    /// # Source
    ///
    /// Geometry of a tube.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 1900·π·0.1958·0.0042.
    /// use obvert_engineering::pull_in::LinerMass;
    /// let liner = LinerMass {
    ///     density_kg_per_m3: 1900.0,
    ///     host_diameter_mm: 200.0,
    ///     wall_thickness_mm: 4.2,
    ///     films_percent: 0.0,
    /// };
    /// assert_eq!(format!("{:.2}", liner.mass_kg_per_m()?), "4.91");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct LinerMass {
        /// Density of the wet tube.
        density_kg_per_m3: "kg/m³" in 800.0..=3000.0,
        /// Outside diameter of the liner, which is the inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Wall of the wet tube.
        wall_thickness_mm: "mm" in 0.5..=24.0,
        /// Mass of films and foils, in percent of the tube.
        films_percent: "%" in 0.0..=50.0,
    }
}

inputs! {
    /// Force at the winch that pulls a liner in, as an estimate.
    ///
    /// # Equation
    ///
    /// ```text
    /// F = m·g·L·max(0, μ·cos α + sin α)·e^(μ·θ)
    /// ```
    ///
    /// α is the slope, positive when the pull is uphill. θ is the sum of all bends and sheaves in
    /// radians; they are taken at the winch end, where they cost most.
    ///
    /// # Units
    ///
    /// kg/m, m, percent, degrees; result in kN.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. Friction with foil and lubricant 0.2 to 0.35, foil dry 0.3
    /// to 0.5, bare rough pipe 0.6 to 0.8 (engineering judgement, no source).
    ///
    /// # Source
    ///
    /// Statics of a rope on a slope and round a bend.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 9.84 kg/m over 100 m at 0.3.
    /// use obvert_engineering::pull_in::WinchForce;
    /// let pull = WinchForce {
    ///     mass_kg_per_m: 9.84,
    ///     length_m: 100.0,
    ///     friction_coefficient: 0.3,
    ///     uphill_slope_percent: 0.0,
    ///     total_bend_degrees: 0.0,
    /// };
    /// assert_eq!(format!("{:.2}", pull.force_kn()?), "2.89");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct WinchForce {
        /// Mass of the liner with films.
        mass_kg_per_m: "kg/m" in 0.1..=500.0,
        /// Length that is pulled.
        length_m: "m" in 1.0..=1000.0,
        /// Friction coefficient μ.
        friction_coefficient: "-" in 0.0..=1.5,
        /// Slope, positive when the pull is uphill.
        uphill_slope_percent: "%" in -100.0..=100.0,
        /// Sum of all deflections of the rope and the liner.
        total_bend_degrees: "°" in 0.0..=720.0,
    }
}

inputs! {
    /// Stretch of a liner in percent, from its own marks.
    ///
    /// # Equation
    ///
    /// ```text
    /// stretch = 100·(L_pulled − L_laid)/L_laid
    /// ```
    ///
    /// # Units
    ///
    /// m; result in percent, negative for a liner that got shorter.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. Limits are the maker's: felt to 5 percent, glass to 1 or 2
    /// percent (from memory).
    ///
    /// # Source
    ///
    /// Definition; tubes are marked at 5 ft or less (Najafi, Trenchless Technology Piping, 2010,
    /// p. 86).
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand.
    /// use obvert_engineering::pull_in::Stretch;
    /// let tube = Stretch { laid_length_m: 80.0, pulled_length_m: 80.4 };
    /// assert_eq!(format!("{:.2}", tube.stretch_percent()?), "0.50");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct Stretch {
        /// Length between two marks before the pull.
        laid_length_m: "m" in 1.0..=1000.0,
        /// Length between the same marks after the pull.
        pulled_length_m: "m" in 1.0..=1000.0,
    }
}

impl LinerMass {
    /// Mass for each metre.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn mass_kg_per_m(&self) -> Result<f64, Problems> {
        self.check()?;
        let mean_diameter_m = (self.host_diameter_mm - self.wall_thickness_mm) / 1000.0;
        let area_m2 = std::f64::consts::PI * mean_diameter_m * self.wall_thickness_mm / 1000.0;
        Ok(self.density_kg_per_m3 * area_m2 * (1.0 + self.films_percent / 100.0))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "liner-mass",
        title: "mass of a wet liner for each metre",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "mass_kg_per_m",
            unit: "kg/m",
        }],
        source: "geometry of a tube",
        run: |values| one(Self::from_values(values)?.mass_kg_per_m()),
    };
}

impl WinchForce {
    /// The force at the winch.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn force_kn(&self) -> Result<f64, Problems> {
        self.check()?;
        let slope = (self.uphill_slope_percent / 100.0).atan();
        let share = self.friction_coefficient * slope.cos() + slope.sin();
        let bends = (self.friction_coefficient * self.total_bend_degrees.to_radians()).exp();
        let weight_kn = self.mass_kg_per_m * STANDARD_GRAVITY_M_PER_S2 * self.length_m / 1000.0;
        Ok(weight_kn * share.max(0.0) * bends)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "winch-force",
        title: "estimate of the force at the winch",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "force_kn",
            unit: "kN",
        }],
        source: "statics of a rope on a slope and round a bend",
        run: |values| one(Self::from_values(values)?.force_kn()),
    };
}

impl Stretch {
    /// The stretch in percent of the laid length.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn stretch_percent(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(100.0 * (self.pulled_length_m - self.laid_length_m) / self.laid_length_m)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "stretch",
        title: "stretch of a liner from its own marks",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "stretch_percent",
            unit: "%",
        }],
        source: "definition; marks in Najafi 2010, p. 86",
        run: |values| one(Self::from_values(values)?.stretch_percent()),
    };
}
