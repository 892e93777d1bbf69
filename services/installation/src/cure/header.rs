//! Header lines of the neutral cure log CSV.

use obvert_proto::installation::v1::CureHeader;

/// Version of the layout that is read.
const VERSION: &str = "1";

/// Takes one header line, without its `#`.
///
/// # Errors
///
/// The key, and what its value should be.
pub(super) fn take(header: &mut CureHeader, text: &str) -> Result<(), (String, String)> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(());
    }
    let Some((key, value)) = text.split_once(':') else {
        return Err((
            text.to_owned(),
            "is no header line: write # key: value".to_owned(),
        ));
    };
    let (key, value) = (key.trim(), value.trim());
    let wrong = |wanted: &str| (key.to_owned(), format!("is \"{value}\": {wanted}"));
    match key {
        "version" if value != VERSION => return Err(wrong("version 1 of the layout is read")),
        "segment_ids" => header.segment_ids = words(value),
        "manholes" | "nodes" => header.manholes = words(value),
        "run_id" | "install_id" => header.run_id = value.to_owned(),
        "liner_serial" | "liner_id" => header.liner_serial = value.to_owned(),
        "travel" => {
            header.travel_with_flow = match value {
                "with_flow" => true,
                "against_flow" => false,
                _ => return Err(wrong("with_flow or against_flow is wanted")),
            }
        }
        "datum" => header.datum = value.to_owned(),
        "operator" => header.operator = value.to_owned(),
        "calibration_refs" => header.calibration_refs = words(value),
        "lamp_count" => {
            header.lamp_count = value
                .parse()
                .map_err(|_| wrong("a number of lamps is wanted"))?;
        }
        "datum_offset_m" => header.datum_offset_m = number(value).ok_or(wrong("a number in m"))?,
        "lamp_power_w" => header.lamp_power_w = number(value).ok_or(wrong("a number in W"))?,
        "clock_offset_s" => header.clock_offset_s = number(value).ok_or(wrong("a number in s"))?,
        "lamp_offsets_m" => {
            header.lamp_offsets_m = numbers(value).ok_or(wrong("numbers in m, parted by ;"))?;
        }
        "infrared_offsets_m" | "ir_offsets_m" => {
            header.infrared_offsets_m = numbers(value).ok_or(wrong("numbers in m, parted by ;"))?;
        }
        "lamp_power_percent" if number(value).is_none() => {
            return Err(wrong("a number in percent"));
        }
        _ => {
            header.other.insert(key.to_owned(), value.to_owned());
        }
    }
    if key == "travel" {
        header.other.insert(key.to_owned(), value.to_owned());
    }
    Ok(())
}

fn words(value: &str) -> Vec<String> {
    value
        .split(';')
        .map(str::trim)
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}

fn number(value: &str) -> Option<f64> {
    value
        .parse::<f64>()
        .ok()
        .filter(|number| number.is_finite())
}

fn numbers(value: &str) -> Option<Vec<f64>> {
    value.split(';').map(|part| number(part.trim())).collect()
}
