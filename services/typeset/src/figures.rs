//! Figures as they are printed: rounded, with their unit, US customary beside SI where the project
//! wants it.

use obvert_engineering::units::{
    KN_PER_M3_PER_PCF, L_PER_GAL, MPA_PER_PSI, ft_from_m, in_from_mm, psi_from_mpa,
};

use crate::segment_sheet::Figure;

/// Keeps number and unit on one line.
pub const NBSP: char = '\u{a0}';

/// Litres of a cubic foot, exact.
const L_PER_FT3: f64 = 28.316_846_592;
/// Kilograms of a pound, exact.
const KG_PER_LB: f64 = 0.453_592_37;
/// Kilonewtons of a pound-force, exact.
const KN_PER_LBF: f64 = KG_PER_LB * 9.806_65e-3;

/// Decimals of a wall in millimetres.
pub const WALL_DECIMALS: usize = 2;
/// Most decimals of two walls; what differs by less does not differ.
const MOST_DECIMALS: usize = 9;

/// What stands for a number that is none.
const NOT_MEASURED: &str = "not measured";

/// Which units are printed.
#[derive(Debug, Clone, Copy)]
pub struct Units {
    /// Whether US customary units stand beside SI.
    pub us: bool,
}

impl Units {
    fn pair(self, si: String, us: String) -> Figure {
        let us = Some(us).filter(|us| self.us && !us.starts_with(NOT_MEASURED));
        Figure {
            text: si,
            us_customary: us,
            basis: None,
        }
    }

    /// Wall thickness.
    pub fn wall(self, mm: f64) -> Figure {
        self.wall_to(mm, WALL_DECIMALS)
    }

    /// Wall thickness with so many decimals, for two that the usual ones do not tell apart.
    pub fn wall_to(self, mm: f64, decimals: usize) -> Figure {
        self.pair(
            with_unit(mm, decimals, "mm"),
            with_unit(in_from_mm(mm), decimals + 1, "in"),
        )
    }

    /// Diameter.
    pub fn diameter(self, mm: f64) -> Figure {
        self.pair(with_unit(mm, 0, "mm"), with_unit(in_from_mm(mm), 1, "in"))
    }

    /// Range of diameters.
    pub fn diameters(self, min_mm: f64, max_mm: f64) -> Figure {
        let (low, high) = (
            number(in_from_mm(min_mm), 1),
            with_unit(in_from_mm(max_mm), 1, "in"),
        );
        self.pair(
            format!("{} to {}", number(min_mm, 0), with_unit(max_mm, 0, "mm")),
            format!("{low} to {high}"),
        )
    }

    /// Length, station or depth.
    pub fn length(self, m: f64) -> Figure {
        self.pair(with_unit(m, 2, "m"), with_unit(ft_from_m(m), 1, "ft"))
    }

    /// Stretch between two stations.
    pub fn stretch(self, from_m: f64, to_m: f64) -> Figure {
        let us = format!(
            "{} to {}",
            number(ft_from_m(from_m), 1),
            with_unit(ft_from_m(to_m), 1, "ft")
        );
        self.pair(
            format!("{} to {}", number(from_m, 2), with_unit(to_m, 2, "m")),
            us,
        )
    }

    /// Modulus or strength.
    pub fn stress(self, mpa: f64) -> Figure {
        let decimals = if mpa.abs() < 10.0 {
            2
        } else if mpa.abs() < 1_000.0 {
            1
        } else {
            0
        };
        let psi = psi_from_mpa(mpa);
        let step = if psi.abs() < 100_000.0 { 10.0 } else { 1_000.0 };
        let psi = if psi.abs() < 1_000.0 {
            psi
        } else {
            (psi / step).round() * step
        };
        self.pair(with_unit(mpa, decimals, "MPa"), with_unit(psi, 0, "psi"))
    }

    /// Pressure of water or load of soil and traffic.
    pub fn load(self, mpa: f64) -> Figure {
        self.pair(
            with_unit(mpa, 5, "MPa"),
            with_unit(psi_from_mpa(mpa), 2, "psi"),
        )
    }

    /// Change of a wall.
    pub fn change(self, mm: f64) -> Figure {
        self.pair(with_unit(mm, 3, "mm"), with_unit(in_from_mm(mm), 4, "in"))
    }

    /// Pressure above atmosphere.
    pub fn pressure(self, kpa: f64) -> Figure {
        self.pair(
            with_unit(kpa, 1, "kPa"),
            with_unit(kpa / 1_000.0 / MPA_PER_PSI, 1, "psi"),
        )
    }

    /// Speed of travel.
    pub fn speed(self, m_per_min: f64) -> Figure {
        self.pair(
            with_unit(m_per_min, 2, "m/min"),
            with_unit(ft_from_m(m_per_min), 2, "ft/min"),
        )
    }

    /// Temperature.
    pub fn temperature(self, celsius: f64) -> Figure {
        self.pair(
            with_unit(celsius, 0, "°C"),
            with_unit(celsius * 1.8 + 32.0, 0, "°F"),
        )
    }

    /// Volume of water.
    pub fn volume(self, litre: f64) -> Figure {
        self.pair(
            with_unit(litre, 2, "L"),
            with_unit(litre / L_PER_GAL, 2, "gal"),
        )
    }

    /// Flow.
    pub fn flow(self, l_per_s: f64) -> Figure {
        self.pair(
            with_unit(l_per_s, 2, "L/s"),
            with_unit(l_per_s / L_PER_FT3, 3, "ft³/s"),
        )
    }

    /// Velocity of flow.
    pub fn velocity(self, m_per_s: f64) -> Figure {
        self.pair(
            with_unit(m_per_s, 3, "m/s"),
            with_unit(ft_from_m(m_per_s), 2, "ft/s"),
        )
    }

    /// Mass.
    pub fn mass(self, kg: f64) -> Figure {
        self.pair(with_unit(kg, 1, "kg"), with_unit(kg / KG_PER_LB, 0, "lb"))
    }

    /// Mass of a length.
    pub fn mass_of_length(self, kg_per_m: f64) -> Figure {
        let lb_per_ft = kg_per_m / KG_PER_LB / ft_from_m(1.0);
        self.pair(
            with_unit(kg_per_m, 3, "kg/m"),
            with_unit(lb_per_ft, 2, "lb/ft"),
        )
    }

    /// Force.
    pub fn force(self, kn: f64) -> Figure {
        self.pair(with_unit(kn, 2, "kN"), with_unit(kn / KN_PER_LBF, 0, "lbf"))
    }

    /// Unit weight of soil.
    pub fn unit_weight(self, kn_per_m3: f64) -> Figure {
        self.pair(
            with_unit(kn_per_m3, 1, "kN/m³"),
            with_unit(kn_per_m3 / KN_PER_M3_PER_PCF, 0, "pcf"),
        )
    }
}

/// A figure that is a word or has no second unit.
pub fn plain(text: impl Into<String>) -> Figure {
    Figure {
        text: text.into(),
        ..Figure::default()
    }
}

/// The figure with what it rests on.
pub fn on(figure: Figure, basis: impl Into<String>) -> Figure {
    Figure {
        basis: Some(basis.into()),
        ..figure
    }
}

/// The figure with words before it, such as "at least".
pub fn after(words: &str, figure: Figure) -> Figure {
    Figure {
        text: format!("{words} {}", figure.text),
        ..figure
    }
}

/// Decimals with which two walls, and what one lacks of the other, can be told apart: the usual ones,
/// or as many more as it takes.
pub fn decimals_apart(a_mm: f64, b_mm: f64) -> usize {
    let apart = |decimals: &usize| {
        let digits = |mm| number(mm, *decimals);
        digits(a_mm) != digits(b_mm) && digits(a_mm - b_mm) != digits(0.0)
    };
    let mut enough = WALL_DECIMALS..=MOST_DECIMALS;
    enough.find(apart).unwrap_or(WALL_DECIMALS)
}

/// A number with its unit on one line.
pub fn with_unit(value: f64, decimals: usize, unit: &str) -> String {
    if !value.is_finite() {
        return number(value, decimals);
    }
    format!("{}{NBSP}{unit}", number(value, decimals))
}

/// Share in percent.
pub fn percent(value: f64, decimals: usize) -> String {
    with_unit(value, decimals, "%")
}

/// A rounded number with commas between thousands; "not measured" for one that is none.
pub fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return NOT_MEASURED.to_owned();
    }
    let text = format!("{:.decimals$}", value.abs());
    let (whole, rest) = text
        .split_once('.')
        .map_or((text.as_str(), None), |(w, r)| (w, Some(r)));
    let zero = text.bytes().all(|b| b == b'0' || b == b'.');
    let mut out = String::from(if value < 0.0 && !zero { "-" } else { "" });
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place) % 3 == 0 {
            out.push(',');
        }
        out.push(digit);
    }
    if let Some(rest) = rest {
        out.push('.');
        out.push_str(rest);
    }
    out
}
