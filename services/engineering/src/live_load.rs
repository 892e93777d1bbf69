//! Live load W_s at the crown, from the tables for trucks and trains.
//!
//! Both tables are FROM MEMORY, as printed in the AISI Handbook of Steel Drainage and AWWA M23,
//! and were not checked against print. Methods differ by up to a factor of two at 3 to 6 ft of
//! cover, so the method belongs in the record, and an entered load may always replace the table.
//! A wheel load on a known pipe is in [`crate::wheel_load`].

use crate::field::{OutOfRange, Problems, inputs};
use crate::registry::{Formula, Output, one};

/// HS-20 truck with impact: cover in ft, load in psi. From memory.
pub const HS20: &[(f64, f64)] = &[
    (1.0, 12.50),
    (2.0, 5.56),
    (3.0, 4.17),
    (4.0, 2.78),
    (5.0, 1.74),
    (6.0, 1.39),
    (7.0, 1.22),
    (8.0, 0.69),
    (9.0, 0.0),
];

/// Cooper E-80 train: cover in ft, load in psi. From memory.
pub const E80: &[(f64, f64)] = &[
    (2.0, 26.39),
    (3.0, 23.61),
    (4.0, 18.40),
    (5.0, 16.67),
    (6.0, 15.63),
    (7.0, 12.15),
    (8.0, 11.11),
    (10.0, 7.64),
    (12.0, 5.56),
    (14.0, 4.17),
    (16.0, 3.47),
    (18.0, 2.78),
    (20.0, 2.08),
    (22.0, 1.91),
    (24.0, 1.74),
    (26.0, 1.39),
    (28.0, 1.04),
    (30.0, 0.69),
    (32.0, 0.0),
];

inputs! {
    /// Live load of an HS-20 truck, from the table.
    ///
    /// # Equation
    ///
    /// ```text
    /// linear between the rows of the table HS20; 0 from 9 ft on
    /// ```
    ///
    /// The table ends at 8 ft. The load falls to zero over the next foot, so that it has no step.
    ///
    /// # Units
    ///
    /// Cover in ft, result in psi.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. Below the first row, 1 ft, the table says nothing.
    ///
    /// # Source
    ///
    /// From memory: table HS-20 with impact of the AISI Handbook of Steel Drainage and AWWA M23.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: half way from 1.74 to 1.39.
    /// use obvert_engineering::live_load::HighwayLiveLoad;
    /// let load = |cover_ft| HighwayLiveLoad { cover_ft }.live_load_psi();
    /// assert_eq!(format!("{:.3}", load(5.5)?), "1.565");
    /// assert_eq!(load(12.0)?, 0.0);
    /// assert!(load(0.5).is_err());
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct HighwayLiveLoad {
        /// Soil cover above the crown.
        cover_ft: "ft" in 1.0..=200.0,
    }
}

inputs! {
    /// Live load of a Cooper E-80 train, from the table.
    ///
    /// # Equation
    ///
    /// ```text
    /// linear between the rows of the table E80; 0 from 32 ft on
    /// ```
    ///
    /// The table ends at 30 ft. The load falls to zero over one more row.
    ///
    /// # Units
    ///
    /// Cover in ft, result in psi.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. Below the first row, 2 ft, the table says nothing.
    ///
    /// # Source
    ///
    /// From memory: table E-80 of the AISI Handbook of Steel Drainage and AWWA M23.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: half way from 11.11 to 7.64.
    /// use obvert_engineering::live_load::RailwayLiveLoad;
    /// let load = RailwayLiveLoad { cover_ft: 9.0 };
    /// assert_eq!(format!("{:.3}", load.live_load_psi()?), "9.375");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct RailwayLiveLoad {
        /// Soil cover above the crown.
        cover_ft: "ft" in 2.0..=200.0,
    }
}

impl HighwayLiveLoad {
    /// The live load at the crown.
    ///
    /// # Errors
    ///
    /// Returns the cover when the table does not reach it.
    pub fn live_load_psi(&self) -> Result<f64, Problems> {
        self.check().map_err(too_shallow)?;
        Ok(interpolated(HS20, self.cover_ft))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "live-load-hs20",
        title: "live load of an HS-20 truck at the crown",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "live_load_psi",
            unit: "psi",
        }],
        source: "from memory: AISI Handbook of Steel Drainage and AWWA M23, HS-20 with impact",
        run: |values| one(Self::from_values(values)?.live_load_psi()),
    };
}

impl RailwayLiveLoad {
    /// The live load at the crown.
    ///
    /// # Errors
    ///
    /// Returns the cover when the table does not reach it.
    pub fn live_load_psi(&self) -> Result<f64, Problems> {
        self.check().map_err(too_shallow)?;
        Ok(interpolated(E80, self.cover_ft))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "live-load-e80",
        title: "live load of a Cooper E-80 train at the crown",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "live_load_psi",
            unit: "psi",
        }],
        source: "from memory: AISI Handbook of Steel Drainage and AWWA M23, Cooper E-80",
        run: |values| one(Self::from_values(values)?.live_load_psi()),
    };
}

/// Says what to do about a cover that no row of the table reaches.
fn too_shallow(problems: Problems) -> Problems {
    let advise = |problem: OutOfRange| OutOfRange {
        remedy: "The table does not reach this cover: have the load analysed and enter it."
            .to_owned(),
        ..problem
    };
    Problems(problems.0.into_iter().map(advise).collect())
}

/// The value at `x` between the rows, and the last row's value beyond them.
fn interpolated(rows: &[(f64, f64)], x: f64) -> f64 {
    for pair in rows.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if x <= x1 {
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0);
        }
    }
    rows.last().map_or(0.0, |row| row.1)
}
