//! Carrying a liner where no vehicle goes: each way against a limit that the employer, the lift's
//! chart or the maker gives. No general limit is stated here.
//!
//! A liner in a rear easement weighs more than it looks: 300 ft of 8 in with a wall of 4.2 mm weigh
//! about 470 kg, 7.7 kg for each person at a spacing of 1.5 m. Lifting, slopes and wet ground hurt
//! people: local law and the employer's rules stand above any number here.

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

inputs! {
    /// Load of each person when a liner is carried by a row of people.
    ///
    /// # Equation
    ///
    /// ```text
    /// load = m·spacing,   people = ceil(L/spacing − 1e-9),   total = m·L
    /// ```
    ///
    /// # Units
    ///
    /// kg/m and m; results in kg, people and percent.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. The limit is the employer's.
    ///
    /// # Source
    ///
    /// Geometry; no source for a limit.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 5.13858 kg/m, 91.44 m, one person each 1.5 m.
    /// use obvert_engineering::carry::PeopleRow;
    /// let row = PeopleRow {
    ///     mass_kg_per_m: 5.13858,
    ///     length_m: 91.44,
    ///     spacing_m: 1.5,
    ///     limit_kg: 15.0,
    /// };
    /// assert_eq!(format!("{:.1}", row.load_kg()?), "7.7");
    /// assert_eq!(format!("{:.0}", row.total_kg()?), "470");
    /// assert_eq!(row.people()?, 61.0);
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct PeopleRow {
        /// Mass of the liner with films.
        mass_kg_per_m: "kg/m" in 0.1..=500.0,
        /// Length that is carried.
        length_m: "m" in 1.0..=1000.0,
        /// Distance from one person to the next.
        spacing_m: "m" in 0.3..=5.0,
        /// Load that the employer allows each person.
        limit_kg: "kg" in 1.0..=50.0,
    }
}

inputs! {
    /// A liner lifted over in its crate.
    ///
    /// # Equation
    ///
    /// ```text
    /// load = m·L + crate + rigging,   share = 100·load/capacity at that reach
    /// ```
    ///
    /// # Units
    ///
    /// kg/m, m and kg; results in kg and percent.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. The capacity is the lift's at the reach of this lift.
    ///
    /// # Source
    ///
    /// Addition; the capacity from the lift's own chart.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 5·90 + 120 + 30 = 600 of 800 kg.
    /// use obvert_engineering::carry::CrateLift;
    /// let lift = CrateLift {
    ///     mass_kg_per_m: 5.0,
    ///     length_m: 90.0,
    ///     crate_kg: 120.0,
    ///     rigging_kg: 30.0,
    ///     capacity_at_reach_kg: 800.0,
    /// };
    /// assert_eq!(format!("{:.1}", 100.0 * lift.load_kg()? / 800.0), "75.0");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct CrateLift {
        /// Mass of the liner with films.
        mass_kg_per_m: "kg/m" in 0.1..=500.0,
        /// Length in the crate.
        length_m: "m" in 1.0..=1000.0,
        /// Mass of the empty crate.
        crate_kg: "kg" in 0.0..=5000.0,
        /// Mass of hook and slings.
        rigging_kg: "kg" in 0.0..=1000.0,
        /// Capacity of the lift at the reach that is needed.
        capacity_at_reach_kg: "kg" in 10.0..=100000.0,
    }
}

inputs! {
    /// A liner that runs over rollers.
    ///
    /// # Equation
    ///
    /// ```text
    /// load = m·spacing,   share = 100·load/rated load,   force = m·g·L·(μ·cos α + sin α)
    /// ```
    ///
    /// # Units
    ///
    /// kg/m, m, percent; results in kg, percent and kN, the force negative where the liner has to be
    /// held back.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Statics; the rated load from the maker of the rollers.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 5·2 = 10 of 50 kg.
    /// use obvert_engineering::carry::Rollers;
    /// let path = Rollers {
    ///     mass_kg_per_m: 5.0,
    ///     length_m: 90.0,
    ///     roller_spacing_m: 2.0,
    ///     rated_load_kg: 50.0,
    ///     rolling_coefficient: 0.05,
    ///     uphill_slope_percent: 0.0,
    /// };
    /// assert_eq!(path.load_kg()?, 10.0);
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct Rollers {
        /// Mass of the liner with films.
        mass_kg_per_m: "kg/m" in 0.1..=500.0,
        /// Length on the rollers at once.
        length_m: "m" in 1.0..=1000.0,
        /// Distance from one roller to the next.
        roller_spacing_m: "m" in 0.2..=10.0,
        /// Load that one roller is rated for.
        rated_load_kg: "kg" in 1.0..=5000.0,
        /// Rolling friction of the rollers.
        rolling_coefficient: "-" in 0.0..=0.5,
        /// Slope of the path, positive uphill.
        uphill_slope_percent: "%" in -100.0..=100.0,
    }
}

inputs! {
    /// A liner on a cart.
    ///
    /// # Equation
    ///
    /// ```text
    /// load = m·L + cart,   share = 100·load/rated load,   force = load·g·(c·cos α + sin α)
    /// ```
    ///
    /// # Units
    ///
    /// kg/m, m, kg, percent; results in kg, percent and kN, the force negative where the cart has to
    /// be held back.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Statics; the rated load from the maker of the cart.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 5·90 + 50 = 500 of 1000 kg.
    /// use obvert_engineering::carry::Cart;
    /// let cart = Cart {
    ///     mass_kg_per_m: 5.0,
    ///     length_m: 90.0,
    ///     cart_kg: 50.0,
    ///     rated_load_kg: 1000.0,
    ///     rolling_coefficient: 0.1,
    ///     uphill_slope_percent: 0.0,
    /// };
    /// assert_eq!(cart.load_kg()?, 500.0);
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct Cart {
        /// Mass of the liner with films.
        mass_kg_per_m: "kg/m" in 0.1..=500.0,
        /// Length on the cart.
        length_m: "m" in 1.0..=1000.0,
        /// Mass of the empty cart.
        cart_kg: "kg" in 0.0..=2000.0,
        /// Load that the cart is rated for, its own mass included.
        rated_load_kg: "kg" in 10.0..=20000.0,
        /// Rolling friction on this ground.
        rolling_coefficient: "-" in 0.0..=0.5,
        /// Slope of the path, positive uphill.
        uphill_slope_percent: "%" in -100.0..=100.0,
    }
}

impl PeopleRow {
    /// Load of each person.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn load_kg(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.mass_kg_per_m * self.spacing_m)
    }

    /// Mass of the whole length.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn total_kg(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.mass_kg_per_m * self.length_m)
    }

    /// People in the row, a whole number.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn people(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok((self.length_m / self.spacing_m - 1e-9).ceil())
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "carry-people",
        title: "load of each person when a liner is carried by a row of people",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            LOAD,
            SHARE,
            output("people", "people"),
            output("total_kg", "kg"),
        ],
        source: "geometry; the limit is the employer's",
        run: |values| {
            let row = Self::from_values(values)?;
            let load = row.load_kg()?;
            Ok(vec![
                Some(load),
                Some(100.0 * load / row.limit_kg),
                Some(row.people()?),
                Some(row.total_kg()?),
            ])
        },
    };
}

impl CrateLift {
    /// Load on the hook.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn load_kg(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.mass_kg_per_m * self.length_m + self.crate_kg + self.rigging_kg)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "carry-crate",
        title: "load of a crated liner on a lift",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[LOAD, SHARE],
        source: "addition; the capacity from the lift's chart",
        run: |values| {
            let lift = Self::from_values(values)?;
            let load = lift.load_kg()?;
            Ok(vec![
                Some(load),
                Some(100.0 * load / lift.capacity_at_reach_kg),
            ])
        },
    };
}

impl Rollers {
    /// Load of each roller.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn load_kg(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.mass_kg_per_m * self.roller_spacing_m)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "carry-rollers",
        title: "load of each roller under a liner, and the force that moves it",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[LOAD, SHARE, FORCE],
        source: "statics; the rated load from the maker of the rollers",
        run: |values| {
            let path = Self::from_values(values)?;
            let load = path.load_kg()?;
            let moved_kg = path.mass_kg_per_m * path.length_m;
            let slope = path.uphill_slope_percent;
            Ok(vec![
                Some(load),
                Some(100.0 * load / path.rated_load_kg),
                Some(moving_force_kn(moved_kg, path.rolling_coefficient, slope)),
            ])
        },
    };
}

impl Cart {
    /// Load on the wheels.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn load_kg(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.mass_kg_per_m * self.length_m + self.cart_kg)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "carry-cart",
        title: "load of a cart with a liner, and the force that moves it",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[LOAD, SHARE, FORCE],
        source: "statics; the rated load from the maker of the cart",
        run: |values| {
            let cart = Self::from_values(values)?;
            let load = cart.load_kg()?;
            let slope = cart.uphill_slope_percent;
            Ok(vec![
                Some(load),
                Some(100.0 * load / cart.rated_load_kg),
                Some(moving_force_kn(load, cart.rolling_coefficient, slope)),
            ])
        },
    };
}

const fn output(name: &'static str, unit: &'static str) -> Output {
    Output { name, unit }
}

const LOAD: Output = output("load_kg", "kg");
const SHARE: Output = output("share_of_limit_percent", "%");
const FORCE: Output = output("force_kn", "kN");

fn moving_force_kn(mass_kg: f64, coefficient: f64, uphill_slope_percent: f64) -> f64 {
    let slope = (uphill_slope_percent / 100.0).atan();
    let weight_kn = mass_kg * STANDARD_GRAVITY_M_PER_S2 / 1000.0;
    weight_kn * (coefficient * slope.cos() + slope.sin())
}
