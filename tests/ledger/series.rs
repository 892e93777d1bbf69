//! The codec of cure logs: exact, small, and closed to damaged chunks.

use obvert_ledger::series::{Column, decode, encode};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng, rngs::StdRng};

fn column() -> impl Strategy<Value = Column> {
    let value = prop_oneof![
        2 => Just(None),
        6 => (-5000i64..5000).prop_map(Some),
        1 => any::<i64>().prop_map(Some),
    ];
    (
        "[a-z_]{0,20}",
        any::<i32>(),
        proptest::collection::vec(value, 0..200),
    )
        .prop_map(|(name, scale, values)| Column {
            name,
            scale,
            values,
        })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]

    #[test]
    fn columns_come_back_as_they_went_in(columns in proptest::collection::vec(column(), 0..8)) {
        prop_assert_eq!(decode(&encode(&columns)).unwrap(), columns);
    }

    #[test]
    fn a_flipped_bit_or_a_cut_is_refused_without_a_panic(
        columns in proptest::collection::vec(column(), 1..4),
        place in any::<proptest::sample::Index>(),
        bit in 0u32..8,
    ) {
        let chunk = encode(&columns);
        let place = place.index(chunk.len());
        prop_assert!(decode(&chunk[..place]).is_err());
        let mut flipped = chunk.to_vec();
        flipped[place] ^= 1u8 << bit;
        // The length field is not under the checksum: refusal or the truth, nothing else.
        prop_assert!(decode(&flipped).is_err() || decode(&flipped) == Ok(columns));
    }
}

/// Fourteen channels of a cure with light: slow drift, noise of a last digit, a moving position.
fn cure(samples: usize) -> Vec<Column> {
    let mut random = StdRng::seed_from_u64(1);
    let mut walk = |name: String, scale: i32, start: i64, drift: i64, noise: i64| {
        let mut level = start;
        let values = (0..samples).map(|place| {
            if place % 16 == 0 {
                level += random.random_range(-drift..=drift);
            }
            Some(
                level
                    + if random.random_ratio(1, 4) {
                        random.random_range(-noise..=noise)
                    } else {
                        0
                    },
            )
        });
        Column {
            name,
            scale,
            values: values.collect(),
        }
    };
    let mut columns: Vec<Column> = (0..8)
        .map(|number| walk(format!("temperature_{number}_celsius"), -1, 712, 2, 1))
        .collect();
    columns.extend((0..2).map(|number| walk(format!("pressure_{number}_kpa"), -1, 480, 1, 1)));
    columns.extend((0..2).map(|number| walk(format!("lamp_{number}_w"), 0, 6000, 3, 1)));
    let steps = |name: &str, step: i64| Column {
        name: name.into(),
        scale: -3,
        values: (0..samples as i64)
            .map(|place| Some(place * step))
            .collect(),
    };
    columns.push(steps("time_s", 1000));
    columns.push(steps("position_m", 17));
    columns
}

#[test]
fn a_sample_of_fourteen_channels_takes_at_most_five_bytes() {
    let columns = cure(20_000);
    assert_eq!(columns.len(), 14);
    let chunk = encode(&columns);
    let bytes_per_sample = chunk.len() as f64 / 20_000.0;
    assert!(bytes_per_sample < 5.0, "{bytes_per_sample} bytes a sample");
    assert_eq!(decode(&chunk).unwrap(), columns);
}
