//! How much a result moves when one input moves by a step, all others held.

use crate::field::{OutOfRange, Problems};
use crate::registry::Formula;

/// One input moved by a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivity {
    /// Name of the input.
    pub input: &'static str,
    /// The value that was tried instead.
    pub tried: f64,
    /// First result of the formula at that value, or `None` when it does not apply or is refused
    /// there.
    pub result: Option<f64>,
    /// Change of the first result against the one at the values given.
    pub change: Option<f64>,
}

/// Moves each input up by a step in percent of itself, or down where the range ends, and gives
/// what the first result becomes. An input of zero is moved by the step in percent of its range.
///
/// # Errors
///
/// Returns what the formula does not take of the values themselves, or the step when it is not
/// between 0.001 and 50 percent.
pub fn sensitivity(
    formula: &Formula,
    values: &[f64],
    step_percent: f64,
) -> Result<Vec<Sensitivity>, Problems> {
    if !(0.001..=50.0).contains(&step_percent) {
        return Err(OutOfRange {
            field: "step_percent".to_owned(),
            value: step_percent,
            min: 0.001,
            max: 50.0,
            unit: "%",
            remedy: "Give a step such as 1 or 10 percent.".to_owned(),
        }
        .into());
    }
    let first = |values: &[f64]| (formula.run)(values).map(|results| results[0]);
    let before = first(values)?;
    let mut moved = values.to_vec();
    let each = formula.inputs.iter().enumerate().map(|(index, field)| {
        let value = values[index];
        let size = if value == 0.0 {
            field.max - field.min
        } else {
            value.abs()
        };
        let step = size * step_percent / 100.0;
        let up = value + step;
        let tried = if up <= field.max { up } else { value - step };
        moved[index] = tried;
        let result = first(&moved).ok().flatten();
        moved[index] = value;
        Sensitivity {
            input: field.name,
            tried,
            result,
            change: result.zip(before).map(|(after, before)| after - before),
        }
    });
    Ok(each.collect())
}
