//! Product and ceiling in turn, and one row of the table for them.

use std::{fs, io::Write};

use crate::cpu;

/// Times that each of the two is measured.
const PAIRS: usize = 3;

/// What one measurement found.
pub(crate) struct Measured {
    pub(crate) per_second: f64,
    /// All that were answered, also before and after the second was counted.
    pub(crate) all: u64,
}

/// Figures of one of the two.
struct Side {
    process: &'static str,
    per_second: Vec<f64>,
    cpu_us: Vec<f64>,
}

/// Prints the head of the table.
pub(crate) fn head() {
    say(
        "| a second, median of 3 | obvertd | ceiling | ratio | least to most | server CPU us each | load |",
    );
    say("| --- | --- | --- | --- | --- | --- | --- |");
}

/// Measures both in turn, each first every other time, and prints their row.
pub(crate) async fn measure(
    what: &str,
    product: impl AsyncFnMut() -> Measured,
    ceiling: impl AsyncFnMut() -> Measured,
) {
    measure_of("obvertd", what, product, ceiling).await;
}

/// The same for a product that another process serves.
pub(crate) async fn measure_of(
    process: &'static str,
    what: &str,
    product: impl AsyncFnMut() -> Measured,
    ceiling: impl AsyncFnMut() -> Measured,
) {
    measure_times((process, PAIRS), what, product, ceiling).await;
}

/// The same, so many times: what takes minutes is measured once.
pub(crate) async fn measure_times(
    (process, pairs): (&'static str, usize),
    what: &str,
    mut product: impl AsyncFnMut() -> Measured,
    mut ceiling: impl AsyncFnMut() -> Measured,
) {
    let (mut made, mut possible) = (Side::of(process), Side::of("ceilings"));
    for pair in 0..pairs {
        if pair % 2 == 0 {
            made.measure(&mut product).await;
            possible.measure(&mut ceiling).await;
        } else {
            possible.measure(&mut ceiling).await;
            made.measure(&mut product).await;
        }
    }
    let both = made.per_second.iter().zip(&possible.per_second);
    let mut ratios: Vec<_> = both
        .map(|(made, possible)| made / possible * 100.0)
        .collect();
    let ratio = median(&mut ratios);
    say(&format!(
        "| {what} | {} | {} | {ratio:.0} % | {:.0} to {:.0} % | {:.2} / {:.2} | {} |",
        figure(median(&mut made.per_second)),
        figure(median(&mut possible.per_second)),
        ratios[0],
        ratios[pairs - 1],
        median(&mut made.cpu_us),
        median(&mut possible.cpu_us),
        load(),
    ));
}

impl Side {
    fn of(process: &'static str) -> Self {
        Self {
            process,
            per_second: Vec::new(),
            cpu_us: Vec::new(),
        }
    }

    async fn measure(&mut self, act: &mut impl AsyncFnMut() -> Measured) {
        let before = cpu::seconds(self.process);
        let Measured { per_second, all } = act().await;
        let spent = cpu::seconds(self.process) - before;
        self.per_second.push(per_second);
        self.cpu_us.push(spent * 1e6 / all.max(1) as f64);
    }
}

/// Sorts the figures and picks the middle one.
pub(crate) fn median(figures: &mut [f64]) -> f64 {
    figures.sort_by(f64::total_cmp);
    figures[figures.len() / 2]
}

/// A figure with as many places as mean something.
fn figure(per_second: f64) -> String {
    if per_second < 100.0 {
        format!("{per_second:.2}")
    } else {
        format!("{per_second:.0}")
    }
}

/// Mean number of processes that wanted to run in the last minute.
fn load() -> String {
    let text = fs::read_to_string("/proc/loadavg").unwrap_or_default();
    text.split(' ').next().unwrap_or_default().to_owned()
}

/// Prints a row.
pub(crate) fn say(text: &str) {
    let _ = writeln!(std::io::stdout(), "{text}");
}
