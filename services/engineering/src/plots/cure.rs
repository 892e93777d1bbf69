//! The plots of a cure log.

use super::cure_alt as alt;
use super::{Chart, Limit, Mark, Note, Plot, Series};
use crate::cure_log::{Band, Channels, Figures, Rows, Setup, travel_rows, windows};

/// Everything that the plots of one log are drawn from.
struct Log<'a> {
    rows: Rows<'a>,
    setup: &'a Setup,
    figures: &'a Figures,
    band: Band,
    marks: &'a [Mark],
}

const STATION: &str = "Station from the datum, m";
const MINUTES: &str = "Time since the log's start, min";
const OWN_PLACE: &str =
    "Triangles: laterals. Squares: manholes. Sensors at their own stations, while lamps were lit.";
const TRAIN_PLACE: &str =
    "Triangles: laterals. Squares: manholes. Stations are those of the train's reference point.";

/// The six plots of a cure log, always in this order: speed, wall temperature, pressure and lamps
/// along the run, then pressure in time and the way in time.
///
/// Give the figures drawn from the same log with the same band. A log whose columns do not fit
/// each other has no plots.
pub fn cure_plots(
    channels: &Channels,
    setup: &Setup,
    figures: &Figures,
    band: Option<&Band>,
    marks: &[Mark],
) -> Vec<Plot> {
    if !channels.ragged().is_empty() || channels.rows() == 0 {
        return Vec::new();
    }
    let rows = Rows::new(channels, setup);
    let band = band.copied().unwrap_or_default();
    let log = Log {
        rows,
        setup,
        figures,
        band,
        marks,
    };
    let charts = [
        log.speed(),
        log.temperature(),
        log.pressure_by_station(),
        log.lamps(),
        log.pressure_in_time(),
        log.way_in_time(),
    ];
    charts.into_iter().map(Chart::drawn).collect()
}

impl Log<'_> {
    /// First row with a lamp lit and the row after the last; the whole log when none is lit.
    fn lit(&self) -> std::ops::Range<usize> {
        match self.rows.lit_rows {
            Some((first, last)) => first..(last + 2).min(self.rows.len()),
            None => 0..self.rows.len(),
        }
    }

    fn along(&self, title: &str, y_label: &str, caption: &str) -> Chart {
        Chart {
            title: title.to_owned(),
            x_label: STATION.to_owned(),
            y_label: y_label.to_owned(),
            marks: self.marks.to_vec(),
            caption: caption.to_owned(),
            ..Chart::default()
        }
    }

    fn speed(&self) -> Chart {
        let mut points = Vec::new();
        let rows = &self.rows;
        let travel = travel_rows(rows, self.setup.train.length_m());
        windows(rows, travel, &self.setup.settings, |window| {
            let middle = f64::midpoint(
                rows.station_m[window.from_row],
                rows.station_m[window.to_row],
            );
            points.push((middle, window.m_per_min));
        });
        let (min, max) = (self.band.speed_min_m_per_min, self.band.speed_max_m_per_min);
        Chart {
            from_zero: true,
            series: vec![Series {
                label: "speed".to_owned(),
                points,
            }],
            band: min.zip(max),
            limits: limits(min, max, "m/min"),
            alt: alt::speed(self.figures, &self.band),
            ..self.along("Travel speed along the run", "Speed, m/min", TRAIN_PLACE)
        }
    }

    fn temperature(&self) -> Chart {
        let lit = self.lit();
        let offsets = &self.setup.train.infrared_offsets_m;
        let mut series = Vec::new();
        for (sensor, column) in self.rows.channels.infrared_c.iter().enumerate() {
            let offset_m = offsets.get(sensor).copied().unwrap_or(0.0);
            let shift_m = self.rows.shift_m(offset_m);
            // The row after the last lamp is off would only add a drop at one station.
            let end = lit.end.saturating_sub(1).min(column.len());
            let points = (lit.start.min(end)..end)
                .map(|row| (self.rows.station_m[row] + shift_m, column[row]))
                .collect();
            series.push(Series {
                label: format!("sensor {}", sensor + 1),
                points,
            });
        }
        let (min, max) = (
            self.band.wall_temperature_min_c,
            self.band.wall_temperature_max_c,
        );
        Chart {
            series,
            band: min.zip(max),
            limits: limits(min, max, "\u{b0}C"),
            alt: alt::temperature(self.figures, &self.band),
            ..self.along(
                "Wall temperature along the run",
                "Temperature, \u{b0}C",
                OWN_PLACE,
            )
        }
    }

    fn pressure(&self, x: impl Fn(usize) -> f64, rows: std::ops::Range<usize>) -> Vec<Series> {
        let channels = &*self.rows.channels;
        let gauges = [
            ("gauge 1", &channels.pressure_bar_g),
            ("gauge 2", &channels.pressure2_bar_g),
        ];
        gauges
            .into_iter()
            .filter(|(_, column)| !column.is_empty())
            .map(|(label, column)| Series {
                label: label.to_owned(),
                points: rows.clone().map(|row| (x(row), column[row])).collect(),
            })
            .collect()
    }

    fn pressure_by_station(&self) -> Chart {
        let (min, max) = (self.band.pressure_min_bar_g, self.band.pressure_max_bar_g);
        Chart {
            series: self.pressure(|row| self.rows.station_m[row], self.lit()),
            band: min.zip(max),
            limits: limits(min, max, "bar"),
            alt: alt::pressure(self.figures, &self.band, "along the run"),
            ..self.along(
                "Inner pressure along the run",
                "Pressure above outside, bar",
                TRAIN_PLACE,
            )
        }
    }

    fn pressure_in_time(&self) -> Chart {
        let (min, max) = (self.band.pressure_min_bar_g, self.band.pressure_max_bar_g);
        Chart {
            title: "Inner pressure in time".to_owned(),
            x_label: MINUTES.to_owned(),
            y_label: "Pressure above outside, bar".to_owned(),
            series: self.pressure(|row| self.rows.time_s(row) / 60.0, 0..self.rows.len()),
            band: min.zip(max),
            limits: limits(min, max, "bar"),
            caption: "The whole log; the band is judged from the first lamp lit to the last one \
                      off."
                .to_owned(),
            alt: alt::pressure(self.figures, &self.band, "in time"),
            ..Chart::default()
        }
    }

    fn lamps(&self) -> Chart {
        let mut points: Vec<(f64, f64)> = Vec::new();
        for row in self.lit() {
            let station = self.rows.station_m[row];
            let lit = match self.rows.lit[row] {
                u8::MAX => f64::NAN,
                lit => f64::from(lit),
            };
            // A count holds until the row that changes it.
            if let Some(&(_, before)) = points.last()
                && before != lit
            {
                points.push((station, before));
            }
            points.push((station, lit));
        }
        let least = self.band.lamps_least.map(f64::from);
        Chart {
            from_zero: true,
            series: vec![Series {
                label: "lamps lit".to_owned(),
                points,
            }],
            limits: least
                .map(|value| Limit {
                    label: format!("least {value:.0} lamps"),
                    value,
                })
                .into_iter()
                .collect(),
            alt: alt::lamps(self.figures, &self.band),
            ..self.along("Lamps lit along the run", "Lamps lit", TRAIN_PLACE)
        }
    }

    fn way_in_time(&self) -> Chart {
        let points = (0..self.rows.len())
            .map(|row| (self.rows.time_s(row) / 60.0, self.rows.station_m[row]))
            .collect();
        let stops = self.figures.stoppages.iter().map(|stop| Note {
            x: (stop.from_s + stop.duration_s / 2.0) / 60.0,
            y: stop.station_m,
            text: format!("stop {:.0} s at {:.1} m", stop.duration_s, stop.station_m),
        });
        Chart {
            title: "Way of the train in time".to_owned(),
            x_label: MINUTES.to_owned(),
            y_label: STATION.to_owned(),
            series: vec![Series {
                label: "train".to_owned(),
                points,
            }],
            side_marks: self.marks.to_vec(),
            notes: stops.collect(),
            caption: "The slope is the speed; a flat stretch is a stop. Rings: stops in travel. \
                      Triangles: laterals. Squares: manholes."
                .to_owned(),
            alt: alt::way(self.figures),
            ..Chart::default()
        }
    }
}

fn limits(min: Option<f64>, max: Option<f64>, unit: &str) -> Vec<Limit> {
    let limit = |word: &str, value: f64| Limit {
        label: format!("{word} {value} {unit}"),
        value,
    };
    let least = min.map(|value| limit("least", value));
    let most = max.map(|value| limit("most", value));
    least.into_iter().chain(most).collect()
}
