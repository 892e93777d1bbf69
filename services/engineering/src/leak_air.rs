//! Low-pressure air test of a sewer: how long the pressure must hold, and where to start.
//!
//! The time formula is from memory and reproduces Table 2 of ASTM F1417-11a for 4 to 30 in, except
//! a misprint at 24 in and 150 ft (17:57 for 17:06). So the time is computed and never read from
//! the table. Take the nominal host diameter unless the owner asks for the lined bore: the time
//! grows with the diameter, so the host is the stricter choice.
//! Above 30 in the standard's notes ask for the maker's advice.

use crate::field::{OutOfRange, Problems, inputs};
use crate::registry::{Formula, Output, one};

/// Rate of loss that the standard takes, in ft³/min for each ft² of pipe wall.
pub const STANDARD_LOSS_CFM_PER_FT2: f64 = 0.0015;

/// Pressure that a test may not exceed (ASTM F1417-11a).
pub const LARGEST_PRESSURE_PSIG: f64 = 9.0;

inputs! {
    /// Least time in which the pressure may fall by the drop.
    ///
    /// # Equation
    ///
    /// ```text
    /// T = 0.085·D·K/Q·(drop/1 psi),   K = max(1, 0.000419·D·L)
    /// ```
    ///
    /// # Units
    ///
    /// D in in, L in ft, Q in ft³/min for each ft², drop in psi; result in s.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. The usual drops are 0.5 and 1.0 psi. Near sea level only:
    /// see [`AltitudeFactor`].
    ///
    /// # Source
    ///
    /// ASTM F1417-11a; formula from memory, compared with its Table 2.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (Table 2: 8 in, 350 ft, 0.5 psi: 4:26); matches.
    /// use obvert_engineering::leak_air::{AirTestTime, STANDARD_LOSS_CFM_PER_FT2};
    /// let test = AirTestTime {
    ///     diameter_in: 8.0,
    ///     length_ft: 350.0,
    ///     pressure_drop_psi: 0.5,
    ///     loss_cfm_per_ft2: STANDARD_LOSS_CFM_PER_FT2,
    /// };
    /// assert_eq!(format!("{:.0}", test.time_s()?), "266");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct AirTestTime {
        /// Diameter of the pipe under test.
        diameter_in: "in" in 2.0..=60.0,
        /// Length of the pipe under test.
        length_ft: "ft" in 1.0..=5000.0,
        /// Drop of pressure that is timed.
        pressure_drop_psi: "psi" in 0.1..=2.0,
        /// Rate of loss for each square foot of pipe wall.
        loss_cfm_per_ft2: "ft³/min/ft²" in 0.0001..=0.05,
    }
}

inputs! {
    /// Factor on the time of the air test above sea level.
    ///
    /// # Equation
    ///
    /// ```text
    /// factor = p_0/p(h) = (1 − 0.0000225577·h)^(−5.25588)
    /// ```
    ///
    /// The 0.085 of the time formula contains the air pressure at sea level: T = 1.25·D/(Q·14.7).
    /// With less air pressure the same rate of loss takes longer to lower the pressure.
    ///
    /// # Units
    ///
    /// Altitude in m; the result is a ratio.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Derived here, not the standard's: ASTM F1417-11a says only that altitude needs compensation.
    /// Air pressure after the International Standard Atmosphere, ISO 2533:1975.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: air pressure at 1609 m is 83.4 kPa; 101.325/83.4.
    /// use obvert_engineering::leak_air::AltitudeFactor;
    /// let site = AltitudeFactor { altitude_m: 1609.0 };
    /// assert_eq!(format!("{:.3}", site.time_factor()?), "1.214");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct AltitudeFactor {
        /// Altitude of the site above sea level.
        altitude_m: "m" in -500.0..=5000.0,
    }
}

inputs! {
    /// Pressure at which the test starts where groundwater stands above the invert.
    ///
    /// # Equation
    ///
    /// ```text
    /// p = p_start + 0.433·h ≤ 9 psig
    /// ```
    ///
    /// # Units
    ///
    /// psig and ft.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and the result against 9 psig.
    ///
    /// # Source
    ///
    /// ASTM F1417-11a for the cap of 9 psig; 3.5 psig and 0.433 psi/ft from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 3.5 + 0.433·4.
    /// use obvert_engineering::leak_air::AirTestPressure;
    /// let start = |groundwater_above_invert_ft| {
    ///     AirTestPressure { start_pressure_psig: 3.5, groundwater_above_invert_ft }
    ///         .pressure_psig()
    /// };
    /// assert_eq!(format!("{:.3}", start(4.0)?), "5.232");
    /// assert!(start(13.0).is_err());
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct AirTestPressure {
        /// Pressure at the start of the test without groundwater; usually 3.5 psig.
        start_pressure_psig: "psig" in 0.5..=9.0,
        /// Groundwater above the invert.
        groundwater_above_invert_ft: "ft" in 0.0..=330.0,
    }
}

impl AirTestTime {
    /// The least time of the drop.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn time_s(&self) -> Result<f64, Problems> {
        self.check()?;
        let k = (0.000_419 * self.diameter_in * self.length_ft).max(1.0);
        Ok(0.085 * self.diameter_in * k / self.loss_cfm_per_ft2 * self.pressure_drop_psi)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "air-test-time",
        title: "least time of the pressure drop in the low-pressure air test",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "time_s",
            unit: "s",
        }],
        source: "ASTM F1417-11a, formula from memory, compared with its Table 2",
        run: |values| one(Self::from_values(values)?.time_s()),
    };
}

impl AltitudeFactor {
    /// The factor on the time.
    ///
    /// # Errors
    ///
    /// Returns the altitude when it is out of range.
    pub fn time_factor(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok((1.0 - 0.000_022_557_7 * self.altitude_m).powf(-5.255_88))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "air-test-altitude-factor",
        title: "factor on the time of the air test above sea level",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "time_factor",
            unit: "-",
        }],
        source: "derived here; air pressure after ISO 2533:1975",
        run: |values| one(Self::from_values(values)?.time_factor()),
    };
}

impl AirTestPressure {
    /// The pressure at which to start.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the pressure when it exceeds 9 psig.
    pub fn pressure_psig(&self) -> Result<f64, Problems> {
        self.check()?;
        let pressure = self.start_pressure_psig + 0.433 * self.groundwater_above_invert_ft;
        if pressure <= LARGEST_PRESSURE_PSIG {
            return Ok(pressure);
        }
        Err(OutOfRange {
            field: "pressure_psig".to_owned(),
            value: pressure,
            min: 0.0,
            max: LARGEST_PRESSURE_PSIG,
            unit: "psig",
            remedy: "Lower the groundwater or choose another leak test.".to_owned(),
        }
        .into())
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "air-test-pressure",
        title: "start pressure of the low-pressure air test under groundwater",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "pressure_psig",
            unit: "psig",
        }],
        source: "ASTM F1417-11a for 9 psig; 3.5 psig and 0.433 psi/ft from memory",
        run: |values| one(Self::from_values(values)?.pressure_psig()),
    };
}
