//! What the header of a cure log says, read once for whoever draws or judges the log.

use crate::installation::v1::CureHeader;

impl CureHeader {
    /// Power of each lamp as it burned: the nominal power times the noted percentage, which is 100
    /// where none is noted. None when the power is not known.
    pub fn lamp_power_in_use_w(&self) -> Option<f64> {
        let percent = self.other.get("lamp_power_percent");
        let percent = percent.and_then(|text| text.parse::<f64>().ok());
        let power_w = self.lamp_power_w * percent.unwrap_or(100.0) / 100.0;
        (power_w > 0.0).then_some(power_w)
    }

    /// Whether stations count from the inside wall of the first manhole.
    pub fn counts_from_inside_wall(&self) -> bool {
        self.datum.replace('-', "_").starts_with("inside_wall")
    }
}
