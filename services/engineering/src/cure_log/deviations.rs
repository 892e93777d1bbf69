//! What lies outside a band, one by one.

use super::{Band, Figures, Setup, Span, Spans};

/// What kind of deviation it is; the order is that of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DeviationKind {
    /// Travel faster than the band.
    TooFast,
    /// Travel slower than the band.
    TooSlow,
    /// The train stood in travel while the band states a least speed.
    Stoppage,
    /// Fewer lamps lit in travel than the band asks.
    LampsBelowLeast,
    /// Inner pressure below the band.
    PressureLow,
    /// Inner pressure above the band.
    PressureHigh,
    /// Peak wall temperature below the band.
    WallTooCold,
    /// Peak wall temperature above the band.
    WallTooHot,
    /// Dose index below the reference at the lower end of the stretch.
    BelowReferenceStart,
    /// Dose index below the reference between the ends.
    BelowReferenceBetween,
    /// Dose index below the reference at the higher end of the stretch.
    BelowReferenceEnd,
    /// Time without rows while lamps were lit.
    Gap,
    /// Position changed too far in one row.
    Jump,
    /// The train went back.
    Backward,
    /// Rows were not in order of time.
    TimeOrder,
    /// A reading that the band judges is missing.
    NotMeasured,
}

/// One deviation, in figures and in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Deviation {
    /// What kind it is.
    pub kind: DeviationKind,
    /// Lower station, m; none when it has no place.
    pub station_from_m: Option<f64>,
    /// Higher station, m; none when it has no place.
    pub station_to_m: Option<f64>,
    /// The worst value.
    pub value: f64,
    /// The limit that it passes.
    pub limit: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// The same as a sentence.
    pub words: String,
}

impl DeviationKind {
    /// What is outside, as the beginning of a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::TooFast => "Speed above the band",
            Self::TooSlow => "Speed below the band",
            Self::Stoppage => "Train stood in travel",
            Self::LampsBelowLeast => "Fewer lamps lit than the band asks",
            Self::PressureLow => "Pressure below the band",
            Self::PressureHigh => "Pressure above the band",
            Self::WallTooCold => "Peak wall temperature below the band",
            Self::WallTooHot => "Peak wall temperature above the band",
            Self::BelowReferenceStart => "Dose index below the reference at the lower end",
            Self::BelowReferenceBetween => "Dose index below the reference",
            Self::BelowReferenceEnd => "Dose index below the reference at the higher end",
            Self::Gap => "No rows while lamps were lit",
            Self::Jump => "Position changed too far in one row",
            Self::Backward => "Train went back",
            Self::TimeOrder => "Rows not in order of time",
            Self::NotMeasured => "Not measured",
        }
    }
}

/// Gathers deviations of one log.
pub(super) struct List<'a> {
    pub(super) figures: &'a Figures,
    pub(super) band: &'a Band,
    pub(super) setup: &'a Setup,
    pub(super) deviations: Vec<Deviation>,
    pub(super) unfit: Vec<String>,
}

impl List<'_> {
    pub(super) fn all(&mut self) {
        self.speed();
        self.lamps();
        self.pressure();
        self.wall();
        self.coverage();
        self.record();
        self.deviations.sort_by_key(|deviation| deviation.kind);
    }

    fn speed(&mut self) {
        let speed = &self.figures.speed;
        let (min, max) = (self.band.speed_min_m_per_min, self.band.speed_max_m_per_min);
        if (min.is_some() || max.is_some()) && speed.fastest.is_none() {
            let Setup { settings, .. } = self.setup;
            self.unfit.push(format!(
                "The travel is shorter than one window of {} s and {} m, so it has no speed. \
                 Check the position column.",
                settings.window_s, settings.window_m
            ));
        }
        if let Some(max) = max {
            self.spans(DeviationKind::TooFast, &speed.fast, max, "m/min");
        }
        let Some(min) = min else { return };
        self.spans(DeviationKind::TooSlow, &speed.slow, min, "m/min");
        for stop in &self.figures.stoppages {
            let place = Some((stop.station_m, stop.station_m));
            let lit = match (stop.lamps_least, stop.lamps_most) {
                (Some(least), Some(most)) if least == most => format!("{least} lamps lit"),
                (Some(least), Some(most)) => format!("{least} to {most} lamps lit"),
                _ => "lamps lit not known".to_owned(),
            };
            let least_s = self.setup.settings.stop_least_s;
            self.push(
                DeviationKind::Stoppage,
                place,
                stop.duration_s,
                least_s,
                "s",
                &lit,
            );
        }
    }

    fn lamps(&mut self) {
        let Some(least) = self.band.lamps_least else {
            return;
        };
        let below = &self.figures.lamps.below_band;
        self.spans(
            DeviationKind::LampsBelowLeast,
            below,
            f64::from(least),
            "lamps",
        );
        let judged = self.figures.pressure.rows;
        self.missing("lamp states", self.figures.flags.lamps_unknown_rows, judged);
    }

    fn pressure(&mut self) {
        let pressure = &self.figures.pressure;
        let (min, max) = (self.band.pressure_min_bar_g, self.band.pressure_max_bar_g);
        if min.is_none() && max.is_none() {
            return;
        }
        if let Some(min) = min {
            self.spans(DeviationKind::PressureLow, &pressure.dips, min, "bar");
        }
        if let Some(max) = max {
            self.spans(DeviationKind::PressureHigh, &pressure.overs, max, "bar");
        }
        self.missing("pressure", pressure.rows_not_measured, pressure.rows);
    }

    fn wall(&mut self) {
        let wall = &self.figures.wall;
        let (min, max) = (
            self.band.wall_temperature_min_c,
            self.band.wall_temperature_max_c,
        );
        if min.is_none() && max.is_none() {
            return;
        }
        if self
            .figures
            .sensors
            .iter()
            .all(|sensor| sensor.seen_length_m == 0.0)
        {
            self.unfit.push(
                "The band states a wall temperature and the log has none. Map the sensor \
                 columns, or correct the band."
                    .to_owned(),
            );
            return;
        }
        if let Some(min) = min {
            self.spans(DeviationKind::WallTooCold, &wall.cold, min, "degrees C");
        }
        if let Some(max) = max {
            self.spans(DeviationKind::WallTooHot, &wall.hot, max, "degrees C");
        }
        if wall.unseen_length_m > 0.0 {
            let unseen_m = wall.unseen_length_m;
            let kind = DeviationKind::NotMeasured;
            self.push(kind, None, unseen_m, 0.0, "m", "length that no sensor saw");
        }
    }

    fn coverage(&mut self) {
        let Some(reference) = self.band.reference_dose_w_s_per_m() else {
            return;
        };
        let Some(coverage) = &self.figures.coverage else {
            self.unfit.push(format!(
                "The band gives a reference dose of {reference:.0} W s/m and the log none. Enter \
                 the lamp power of the run."
            ));
            return;
        };
        for part in &coverage.below {
            let kind = match (part.start_zone, part.end_zone) {
                (true, _) => DeviationKind::BelowReferenceStart,
                (false, true) => DeviationKind::BelowReferenceEnd,
                (false, false) => DeviationKind::BelowReferenceBetween,
            };
            let place = Some((part.range.from_m, part.range.to_m));
            let limit = coverage.covered_from_w_s_per_m;
            self.push(kind, place, part.least_w_s_per_m, limit, "W s/m", "");
        }
    }

    /// What is doubtful about the record itself.
    fn record(&mut self) {
        let (flags, settings) = (&self.figures.flags, &self.setup.settings);
        let gap_s = flags.median_interval_s.unwrap_or(0.0) * settings.gap_factor;
        self.spans(DeviationKind::Gap, &flags.gaps, gap_s, "s");
        self.spans(DeviationKind::Jump, &flags.jumps, settings.jump_m, "m");
        self.spans(
            DeviationKind::Backward,
            &flags.backward,
            settings.backward_m,
            "m",
        );
        let back = self.figures.rows.back_in_time;
        if back > 0 {
            self.push(DeviationKind::TimeOrder, None, back as f64, 0.0, "rows", "");
        }
    }

    /// A judged reading that some rows lack: few are listed, many make the log unfit.
    fn missing(&mut self, what: &str, rows: usize, judged: usize) {
        let percent = 100.0 * rows as f64 / judged.max(1) as f64;
        let limit = self.setup.settings.missing_percent;
        if percent > limit {
            self.unfit.push(format!(
                "{rows} of {judged} judged rows have no {what} ({percent:.1} %, limit {limit} %). \
                 Map the column, or correct the band."
            ));
        } else if rows > 0 {
            self.push(
                DeviationKind::NotMeasured,
                None,
                rows as f64,
                0.0,
                "rows",
                what,
            );
        }
    }

    fn spans(&mut self, kind: DeviationKind, spans: &Spans, limit: f64, unit: &'static str) {
        for span in &spans.list {
            let place = Some((span.station_from_m, span.station_to_m));
            self.push(kind, place, span.value, limit, unit, &lasting(span));
        }
        if spans.left_out > 0 {
            let more = spans.left_out as f64;
            self.push(kind, None, more, 0.0, "stretches", "more than are listed");
        }
    }

    fn push(
        &mut self,
        kind: DeviationKind,
        place: Option<(f64, f64)>,
        value: f64,
        limit: f64,
        unit: &'static str,
        note: &str,
    ) {
        let what = kind.words();
        let mut words = format!("{what}: {} {unit}", number(value));
        if limit != 0.0 {
            words += &format!(", limit {} {unit}", number(limit));
        }
        if let Some((from, to)) = place {
            words += &match to - from < 0.005 {
                true => format!(", station {from:.2} m"),
                false => format!(", station {from:.2} to {to:.2} m"),
            };
        }
        if !note.is_empty() {
            words += &format!(", {note}");
        }
        words.push('.');
        self.deviations.push(Deviation {
            kind,
            station_from_m: place.map(|(from, _)| from),
            station_to_m: place.map(|(_, to)| to),
            value,
            limit,
            unit,
            words,
        });
    }
}

fn lasting(span: &Span) -> String {
    let duration_s = span.duration_s();
    if duration_s.is_finite() {
        format!("for {duration_s:.0} s")
    } else {
        String::new()
    }
}

/// A figure in print: three decimals for small ones, none for whole numbers and from a thousand on.
fn number(value: f64) -> String {
    match value.abs() {
        size if size >= 1000.0 || value.fract() == 0.0 => format!("{value:.0}"),
        size if size >= 100.0 => format!("{value:.1}"),
        _ => format!("{value:.3}"),
    }
}
