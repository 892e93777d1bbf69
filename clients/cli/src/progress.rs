//! Progress bars on long work, only when a person looks at standard error.

use std::io::IsTerminal;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar over a number of steps.
pub(crate) fn steps(total: u64, what: &str) -> ProgressBar {
    bar(total, what, "{msg} {wide_bar} {pos} of {len} ({elapsed})")
}

/// A bar over bytes.
pub(crate) fn bytes(total: u64, what: &str) -> ProgressBar {
    bar(
        total,
        what,
        "{msg} {wide_bar} {bytes} of {total_bytes} ({bytes_per_sec})",
    )
}

fn bar(total: u64, what: &str, template: &str) -> ProgressBar {
    let target = if std::io::stderr().is_terminal() {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    };
    let bar = ProgressBar::with_draw_target(Some(total), target);
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style);
    }
    bar.with_message(what.to_owned())
}
