//! Axes: from values to places on the paper, and where the ticks stand.

/// Straight scale between two values and two places.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) place_from: f64,
    pub(super) place_to: f64,
}

/// Ticks in order, each with its text.
pub(super) struct Ticks {
    pub(super) list: Vec<(f64, String)>,
    pub(super) step: f64,
}

impl Scale {
    #[inline]
    pub(super) fn place(&self, value: f64) -> f64 {
        let share = (value - self.from) / (self.to - self.from);
        self.place_from + share * (self.place_to - self.place_from)
    }
}

/// Ticks on an axis at most.
const TICKS_MAX: i64 = 60;

/// Round ticks, about `wanted` of them, within the values.
pub(super) fn ticks(from: f64, to: f64, wanted: usize) -> Ticks {
    let rough = (to - from) / wanted.max(1) as f64;
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= rough * 0.999)
        .unwrap_or(10.0 * power);
    let decimals = (-step.log10().floor()).clamp(0.0, 9.0) as usize;
    let first = (from / step - 1e-9).ceil() as i64;
    let last = (to / step + 1e-9).floor() as i64;
    let text = |value: f64| {
        let value = if value.abs() < step * 1e-6 {
            0.0
        } else {
            value
        };
        format!("{value:.decimals$}")
    };
    // Values that a plot cannot tell apart, or that are no lengths at all, get no ticks.
    let sound = step.is_finite() && step > 0.0 && last.saturating_sub(first) <= TICKS_MAX;
    let (first, last) = if sound { (first, last) } else { (1, 0) };
    let list = (first..=last)
        .map(|number| number as f64 * step)
        .map(|value| (value, text(value)))
        .collect();
    Ticks { list, step }
}

/// Values widened to whole ticks, so that no line lies on the frame.
pub(super) fn widened(from: f64, to: f64, wanted: usize) -> (f64, f64) {
    let (from, to) = if to - from > 1e-9 {
        (from, to)
    } else {
        (from - 0.5, to + 0.5)
    };
    let step = ticks(from, to, wanted).step;
    (
        (from / step).floor() * step,
        (to / step + 0.05).ceil() * step,
    )
}
