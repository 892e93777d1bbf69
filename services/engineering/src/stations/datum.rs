//! What a station is counted from.

/// Radius taken for a manhole whose radius nobody stored, m: common practice, no source.
pub const ASSUMED_RADIUS_M: f64 = 0.6;

/// Place at which stations of a survey are zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Datum {
    /// Middle of the manhole.
    CentreOfManhole,
    /// Inside face of the manhole's wall.
    InsideWall,
    /// End of the pipe, wherever it lies beside the wall.
    PipeEnd,
    /// Not stated: taken as the inside wall, and always shown as assumed.
    Assumed,
}

/// A station with its datum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Distance from the datum into the pipe, m.
    pub station_m: f64,
    /// What it is counted from.
    pub datum: Datum,
}

/// The manhole that a survey starts from, as far as it was measured.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct ManholeWall {
    /// From the middle to the inside face of the wall along the pipe, m.
    pub radius_m: Option<f64>,
    /// How far the pipe's end stands out of the wall into the manhole, m; negative when it lies
    /// back in the wall.
    pub pipe_end_inside_m: Option<f64>,
}

/// A converted station and what had to be assumed for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Conversion {
    /// The station from the datum that was asked for.
    pub station: Station,
    /// Each assumption as a sentence; empty when everything was measured.
    pub assumed: Vec<String>,
}

impl Datum {
    /// The datum in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::CentreOfManhole => "centre of manhole",
            Self::InsideWall => "inside wall",
            Self::PipeEnd => "pipe end",
            Self::Assumed => "assumed (inside wall)",
        }
    }
}

impl Station {
    /// The same place counted from another datum.
    ///
    /// A missing measure is assumed and said, never refused; whoever rests a verdict on the
    /// station must look at `assumed`.
    ///
    /// # Equation
    ///
    /// ```text
    /// from inside wall = from centre - radius
    /// from inside wall = from pipe end - length of pipe that stands out of the wall
    /// ```
    ///
    /// # Units
    ///
    /// m.
    ///
    /// # Range
    ///
    /// Any; the result is negative for a place inside the manhole.
    ///
    /// # Source
    ///
    /// Own definition, by geometry.
    ///
    /// # Example
    ///
    /// Own example, checked by hand: 12.50 from the centre of a manhole of radius 0.61.
    ///
    /// ```
    /// # use obvert_engineering::stations::{Datum, ManholeWall, Station};
    /// let seen = Station { station_m: 12.50, datum: Datum::CentreOfManhole };
    /// let manhole = ManholeWall { radius_m: Some(0.61), pipe_end_inside_m: None };
    /// let found = seen.converted(Datum::InsideWall, &manhole);
    /// assert!((found.station.station_m - 11.89).abs() < 1e-9);
    /// assert!(found.assumed.is_empty());
    /// ```
    pub fn converted(self, datum: Datum, manhole: &ManholeWall) -> Conversion {
        let mut assumed = Vec::new();
        if self.datum == Datum::Assumed {
            assumed.push("The survey states no datum: inside wall assumed.".to_owned());
        }
        let station_m = if self.datum == datum {
            self.station_m
        } else {
            let from = zero_from_wall_m(self.datum, manhole, &mut assumed);
            let to = zero_from_wall_m(datum, manhole, &mut assumed);
            self.station_m + from - to
        };
        Conversion {
            station: Station { station_m, datum },
            assumed,
        }
    }
}

/// Station of a datum's zero counted from the inside wall, m; negative inside the manhole.
fn zero_from_wall_m(datum: Datum, manhole: &ManholeWall, assumed: &mut Vec<String>) -> f64 {
    match datum {
        Datum::InsideWall | Datum::Assumed => 0.0,
        Datum::CentreOfManhole => -manhole.radius_m.unwrap_or_else(|| {
            assumed.push(format!(
                "The manhole's radius is not stored: {ASSUMED_RADIUS_M} m assumed."
            ));
            ASSUMED_RADIUS_M
        }),
        Datum::PipeEnd => -manhole.pipe_end_inside_m.unwrap_or_else(|| {
            assumed.push("The pipe's end is not measured: flush with the wall assumed.".to_owned());
            0.0
        }),
    }
}
