//! Numbers of the equations, in the units of the constants that were used.

use obvert_engineering::units::{ft_from_m, in_from_mm, pcf_from_kn_per_m3, psi_from_mpa};
use obvert_typeset::figures::{number, with_unit};

/// Units in which the equations are printed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Printed {
    /// Whether the US constants were used.
    pub(super) us: bool,
}

impl Printed {
    fn either(self, us: (f64, usize, &str), si: (f64, usize, &str)) -> String {
        let (value, decimals, unit) = if self.us { us } else { si };
        with_unit(value, decimals, unit)
    }

    /// Diameter.
    pub(super) fn diameter(self, mm: f64) -> String {
        self.either((in_from_mm(mm), 2, "in"), (mm, 1, "mm"))
    }

    /// Wall.
    pub(super) fn wall(self, mm: f64) -> String {
        self.either((in_from_mm(mm), 3, "in"), (mm, 2, "mm"))
    }

    /// Height or width.
    pub(super) fn height(self, m: f64) -> String {
        self.either((ft_from_m(m), 2, "ft"), (m, 3, "m"))
    }

    /// Pressure or load.
    pub(super) fn pressure(self, mpa: f64) -> String {
        self.either((psi_from_mpa(mpa), 3, "psi"), (mpa, 5, "MPa"))
    }

    /// Modulus or strength, in whole units where they are large.
    pub(super) fn modulus(self, mpa: f64) -> String {
        let decimals = if mpa < 100.0 { 3 } else { 1 };
        self.either((psi_from_mpa(mpa), 0, "psi"), (mpa, decimals, "MPa"))
    }

    /// Unit weight.
    pub(super) fn unit_weight(self, kn_per_m3: f64) -> String {
        self.either(
            (pcf_from_kn_per_m3(kn_per_m3), 1, "pcf"),
            (kn_per_m3, 2, "kN/m³"),
        )
    }

    /// Unit weight in the printed constant of the trench load, which divides by 144 or by 1000.
    pub(super) fn stiffness_limit(self, mpa: f64) -> String {
        self.either((psi_from_mpa(mpa), 3, "psi"), (mpa, 5, "MPa"))
    }
}

/// A plain factor.
pub(super) fn factor(value: f64) -> String {
    number(value, 4)
}

/// A number as it was entered, without trailing zeros.
pub(super) fn entered(value: f64) -> String {
    format!("{value}")
}
