//! A maker's tolerance for one liner and lamp set, and the reference dose that it implies.

/// One row of a maker's tolerance table. A limit that the maker does not state is absent and is
/// not judged; a band may be one-sided.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Band {
    /// Slowest travel, m/min.
    pub speed_min_m_per_min: Option<f64>,
    /// Fastest travel, m/min.
    pub speed_max_m_per_min: Option<f64>,
    /// Least inner pressure, bar above the air outside.
    pub pressure_min_bar_g: Option<f64>,
    /// Most inner pressure, bar above the air outside.
    pub pressure_max_bar_g: Option<f64>,
    /// Wall temperature to be reached at every station, degrees C.
    pub wall_temperature_min_c: Option<f64>,
    /// Wall temperature not to be passed anywhere, degrees C.
    pub wall_temperature_max_c: Option<f64>,
    /// Temperature at which the resin is known to react, degrees C; for a figure only.
    pub reaction_temperature_c: Option<f64>,
    /// Fewest lamps that may be lit in travel.
    pub lamps_least: Option<u32>,
    /// Power of one lamp that the table is stated for, W.
    pub lamp_power_w: Option<f64>,
}

/// Dose index of a station passed at the fastest allowed speed with the fewest allowed lamps.
///
/// # Equation
///
/// ```text
/// D_ref = n · P / (v / 60)
/// ```
///
/// # Units
///
/// n lamps, P in W per lamp, v in m/min; the result in W·s per m of run.
///
/// # Range
///
/// All three above zero; otherwise there is no reference.
///
/// # Source
///
/// Own definition. A screening index: it counts lamp power by time and place and is no
/// irradiance.
///
/// # Example
///
/// Own example, checked by hand: 8 · 500 / (1.2 / 60) = 200 000.
///
/// ```
/// # use obvert_engineering::cure_log::ReferenceDose;
/// let reference = ReferenceDose {
///     speed_max_m_per_min: 1.2,
///     lamps_least: 8,
///     lamp_power_w: 500.0,
/// };
/// assert!((reference.w_s_per_m().unwrap() - 200_000.0).abs() < 1e-6);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceDose {
    /// Fastest allowed travel, m/min.
    pub speed_max_m_per_min: f64,
    /// Fewest lamps allowed.
    pub lamps_least: u32,
    /// Power of one lamp, W.
    pub lamp_power_w: f64,
}

impl ReferenceDose {
    /// The reference, or none when an input is not above zero.
    pub fn w_s_per_m(&self) -> Option<f64> {
        let Self {
            speed_max_m_per_min: speed,
            lamps_least,
            lamp_power_w,
        } = *self;
        let sound = speed > 0.0 && lamps_least > 0 && lamp_power_w > 0.0;
        let dose = f64::from(lamps_least) * lamp_power_w / (speed / 60.0);
        (sound && dose.is_finite()).then_some(dose)
    }
}

impl Band {
    /// Reference dose of the band, where it states speed, lamps and power.
    pub fn reference_dose_w_s_per_m(&self) -> Option<f64> {
        ReferenceDose {
            speed_max_m_per_min: self.speed_max_m_per_min?,
            lamps_least: self.lamps_least?,
            lamp_power_w: self.lamp_power_w?,
        }
        .w_s_per_m()
    }

    /// Whether the band states any limit that a log can be judged by.
    pub fn states_a_limit(&self) -> bool {
        let limits = [
            self.speed_min_m_per_min,
            self.speed_max_m_per_min,
            self.pressure_min_bar_g,
            self.pressure_max_bar_g,
            self.wall_temperature_min_c,
            self.wall_temperature_max_c,
        ];
        limits.into_iter().any(|limit| limit.is_some()) || self.lamps_least.is_some()
    }

    /// Limits that cannot hold together or are no numbers, each as a sentence.
    pub fn contradictions(&self) -> Vec<String> {
        let pairs = [
            (
                "speed",
                "m/min",
                self.speed_min_m_per_min,
                self.speed_max_m_per_min,
            ),
            (
                "pressure",
                "bar",
                self.pressure_min_bar_g,
                self.pressure_max_bar_g,
            ),
            (
                "wall temperature",
                "degrees C",
                self.wall_temperature_min_c,
                self.wall_temperature_max_c,
            ),
            (
                "reaction temperature",
                "degrees C",
                self.reaction_temperature_c,
                None,
            ),
            ("lamp power", "W", self.lamp_power_w, None),
        ];
        let mut found = Vec::new();
        for (what, unit, min, max) in pairs {
            if [min, max]
                .into_iter()
                .flatten()
                .any(|limit| !limit.is_finite())
            {
                found.push(format!(
                    "The band's {what} is not a number. Enter it again."
                ));
            }
            if let (Some(min), Some(max)) = (min, max)
                && min > max
            {
                found.push(format!(
                    "The band's least {what} of {min} {unit} lies above its most of {max} {unit}. \
                     Check the maker's table."
                ));
            }
        }
        found
    }
}
