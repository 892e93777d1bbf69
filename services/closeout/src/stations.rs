//! Stations of records, in the terms of the formulas.

use obvert_engineering::stations::{Conversion, Datum, ManholeWall, Station};
use obvert_proto::common::v1;

/// A station with its datum, from the inside wall of a manhole of that radius.
pub(crate) fn from_inside_wall(
    (station_m, datum): (f64, v1::Datum),
    manhole_radius_m: Option<f64>,
) -> Conversion {
    let datum = match datum {
        v1::Datum::ManholeCentre => Datum::CentreOfManhole,
        v1::Datum::InsideWall => Datum::InsideWall,
        v1::Datum::PipeEnd => Datum::PipeEnd,
        v1::Datum::Assumed | v1::Datum::Unspecified => Datum::Assumed,
    };
    let manhole = ManholeWall {
        radius_m: manhole_radius_m,
        ..ManholeWall::default()
    };
    Station { station_m, datum }.converted(Datum::InsideWall, &manhole)
}
