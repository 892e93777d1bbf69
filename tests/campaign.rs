//! How long campaigns of chance run: kills, random inputs, damaged files.

/// `ordinary` rounds, or `long` ones when `OBVERT_LONG` is 1, as `tests/run --long` sets it.
pub(crate) fn rounds(ordinary: u32, long: u32) -> u32 {
    if std::env::var("OBVERT_LONG").is_ok_and(|value| value == "1") {
        long
    } else {
        ordinary
    }
}
