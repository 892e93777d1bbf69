//! What obvertd does in a second, beside what this machine can do at all, measured in one run.
//!
//! Every figure has its ceiling: the same bytes through a server that does nothing but the part that
//! cannot be left out. Product and ceiling are processes of their own, the client is a third, and
//! they are measured in turn, several times. Absolute figures belong to the machine; the ratios are
//! what to look at, and where other programs run too, the processor time that each answer took in
//! the server, which they disturb less. Nothing is asserted.
//!
//! `ceilings` measures all; `ceilings unary access walls calc commits cure packages evaluation` only
//! what is named.
//! `ceilings packages 1000` makes so many packages and ceilings once, which takes minutes.

// What cannot go on says so by a panic.
#![allow(clippy::unwrap_used)]

mod access;
mod bare;
mod calc;
mod calls;
#[path = "../server/certificate.rs"]
mod certificate;
#[allow(dead_code)]
mod closeout;
mod commits;
mod cpu;
mod cure;
mod cure_samples;
mod evaluation;
mod fixture;
mod group_file;
mod load;
mod packages;
mod pairs;
mod plugins;
#[path = "../package/sample.rs"]
#[allow(dead_code)]
mod sample;
#[path = "../server/support.rs"]
#[allow(dead_code)]
mod support;
mod unary;
mod walls;

use std::time::Duration;

/// Time that one figure is measured.
pub(crate) const LENGTH: Duration = Duration::from_millis(1_500);

#[tokio::main]
async fn main() {
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| !word.starts_with("--"))
        .collect();
    if let [role, folder] = words.as_slice()
        && role == bare::ROLE
    {
        return bare::serve(folder.as_ref()).await;
    }
    if words.first().is_some_and(|word| word == calc::ROLE) {
        return calc::parse_and_print().unwrap();
    }
    if let [role, folder, segments] = words.as_slice()
        && role == evaluation::ROLE
    {
        let segments = segments.parse().unwrap();
        return evaluation::evaluate_and_print(folder.as_ref(), segments).await;
    }
    let count = words.iter().find_map(|word| word.parse().ok());
    let wanted = |word: &str| words.is_empty() || words.iter().any(|given| given == word);
    let bare = bare::Child::start();
    pairs::head();
    if wanted("unary") {
        unary::measure(&bare).await;
    }
    if wanted("access") {
        access::measure(&bare).await;
    }
    if wanted("walls") {
        walls::measure(&bare).await;
    }
    if wanted("calc") {
        calc::measure().await;
    }
    if wanted("commits") {
        commits::measure(&bare).await;
    }
    if wanted("cure") {
        cure::measure(&bare).await;
    }
    if wanted("plugins") {
        plugins::measure(&bare).await;
    }
    if wanted("packages") {
        packages::measure(&bare, count).await;
    }
    if wanted("evaluation") {
        evaluation::measure().await;
    }
}
