//! Samples that a client sends as columns, and the digest that stands for them.

use obvert_engineering::cure_log::LAMP_MASK_ABSENT;
use obvert_proto::{Problem, Violation, common::v1::Reason, installation::v1::CureColumns};
use sha2::{Digest, Sha256};

use super::samples::Samples;

/// Columns of a message, time included.
const COLUMNS: usize = 9;

/// Takes messages of columns, one after another.
pub(super) struct ColumnReader {
    pub(super) samples: Samples,
    hashes: [Sha256; COLUMNS],
    bytes: Vec<u8>,
    messages: usize,
}

impl ColumnReader {
    pub(super) fn new() -> Self {
        Self {
            samples: Samples::default(),
            hashes: std::array::from_fn(|_| Sha256::new()),
            bytes: Vec::new(),
            messages: 0,
        }
    }

    /// Adds the samples of a message.
    ///
    /// # Errors
    ///
    /// Every column that is shorter or longer than the times.
    pub(super) fn take(&mut self, columns: CureColumns) -> Result<(), Problem> {
        self.messages += 1;
        let rows = columns.time_ms.len();
        let wrong = ragged(&columns, self.messages);
        if !wrong.is_empty() {
            let message = "columns of one message differ in length: send one value per time";
            return Err(Problem::new(Reason::FieldsInvalid, message).with_violations(wrong));
        }
        let before = self.samples.rows();
        let Samples {
            time_ms,
            position_m,
            speed_m_per_min,
            lamp_mask,
            pressure_kpa,
            infrared_celsius: [infrared_1, infrared_2, infrared_3],
            air_celsius,
            ..
        } = &mut self.samples;
        time_ms.extend_from_slice(&columns.time_ms);
        self.bytes.clear();
        self.bytes
            .extend(columns.time_ms.iter().flat_map(|time| time.to_le_bytes()));
        self.hashes[0].update(&self.bytes);
        append(
            lamp_mask,
            before,
            rows,
            LAMP_MASK_ABSENT,
            columns.lamp_mask.iter().map(lamps),
        );
        self.bytes.clear();
        self.bytes
            .extend(columns.lamp_mask.iter().flat_map(|mask| mask.to_le_bytes()));
        self.hashes[1].update(&self.bytes);
        let numbers = [
            (position_m, &columns.position_m),
            (speed_m_per_min, &columns.speed_m_per_min),
            (pressure_kpa, &columns.pressure_kpa),
            (infrared_1, &columns.infrared_1_celsius),
            (infrared_2, &columns.infrared_2_celsius),
            (infrared_3, &columns.infrared_3_celsius),
            (air_celsius, &columns.air_celsius),
        ];
        for ((kept, sent), hash) in numbers.into_iter().zip(&mut self.hashes[2..]) {
            append(kept, before, rows, f64::NAN, sent.iter().copied());
            self.bytes.clear();
            self.bytes
                .extend(sent.iter().flat_map(|value| value.to_le_bytes()));
            hash.update(&self.bytes);
        }
        Ok(())
    }

    /// SHA-256 over the digests of the columns, however the samples were cut into messages.
    pub(super) fn digest(&self) -> [u8; 32] {
        let columns = self.hashes.iter().cloned();
        let all = columns.fold(Sha256::new(), |all, one| all.chain_update(one.finalize()));
        all.finalize().into()
    }
}

/// Appends a column of a message; one that is left out is not measured there.
fn append<T: Copy>(
    kept: &mut Vec<T>,
    before: usize,
    rows: usize,
    absent: T,
    sent: impl ExactSizeIterator<Item = T>,
) {
    if sent.len() == 0 && kept.is_empty() {
        return;
    }
    kept.resize(before, absent);
    kept.extend(sent);
    kept.resize(before + rows, absent);
}

/// A negative mask stands for lamps that were not recorded.
fn lamps(mask: &i32) -> u32 {
    u32::try_from(*mask).unwrap_or(LAMP_MASK_ABSENT)
}

fn ragged(columns: &CureColumns, message: usize) -> Vec<Violation> {
    let rows = columns.time_ms.len();
    let lengths = [
        ("position_m", columns.position_m.len()),
        ("speed_m_per_min", columns.speed_m_per_min.len()),
        ("lamp_mask", columns.lamp_mask.len()),
        ("pressure_kpa", columns.pressure_kpa.len()),
        ("infrared_1_celsius", columns.infrared_1_celsius.len()),
        ("infrared_2_celsius", columns.infrared_2_celsius.len()),
        ("infrared_3_celsius", columns.infrared_3_celsius.len()),
        ("air_celsius", columns.air_celsius.len()),
    ];
    let differs =
        |(name, length): &(&str, usize)| *length != rows && (*length > 0 || *name == "position_m");
    let wrong = lengths.into_iter().filter(differs);
    wrong
        .map(|(name, length)| {
            let text = format!("has {length} values in message {message}, time_ms has {rows}");
            Violation::new(format!("columns.{name}"), text)
        })
        .collect()
}
