//! Whatever bytes come in from outside, nothing panics.
//!
//! Each target replays `corpus/<target>`, then plays inputs made from its seeds: some hundreds each
//! time, half a minute of them when `OBVERT_LONG` is 1. An input that makes a target panic is written
//! to a file whose name the failure says; once the fault is mended, the file goes into the corpus.

mod csv_import;
mod journal;
mod keys;
mod mutator;
mod package;
pub(crate) mod schema;
pub(crate) mod service_face;

use std::{
    fs,
    panic::{AssertUnwindSafe, catch_unwind},
    path::PathBuf,
    time::{Duration, Instant},
};

use mutator::Mutator;
use sha2::{Digest, Sha256};

use crate::campaign::rounds;

/// How long a campaign plays each target.
const LONG: Duration = Duration::from_secs(30);

/// A parser of foreign bytes under fire.
struct Target<'a> {
    /// Name of its folder in the corpus.
    name: &'static str,
    /// Inputs that are right, or nearly.
    seeds: Vec<Vec<u8>>,
    /// Inputs made in an ordinary run.
    ordinary: u32,
    /// Plays one input; a panic is a failure, whatever else it answers is not looked at.
    play: &'a mut dyn FnMut(&[u8]),
}

impl Target<'_> {
    /// Replays the corpus and the seeds, then plays inputs that were made from them.
    fn run(mut self) {
        let corpus = self.corpus();
        assert!(
            !corpus.is_empty(),
            "tests/fuzz/corpus/{} is empty",
            self.name
        );
        for input in corpus.iter().chain(&self.seeds.clone()) {
            self.one(input);
        }
        self.seeds.extend(corpus);
        let mut mutator = Mutator::new(self.name);
        let begun = Instant::now();
        let long = rounds(0, 1) == 1;
        let mut played = 0;
        while if long {
            begun.elapsed() < LONG
        } else {
            played < self.ordinary
        } {
            let input = mutator.input(&self.seeds);
            self.one(&input);
            played += 1;
        }
        println!("{}: {played} inputs made", self.name);
    }

    fn corpus(&self) -> Vec<Vec<u8>> {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
            .join("fuzz/corpus")
            .join(self.name);
        let files = fs::read_dir(&folder).unwrap_or_else(|_| panic!("{}", folder.display()));
        let mut files: Vec<_> = files.map(|file| file.unwrap().path()).collect();
        files.sort();
        files.iter().map(|file| fs::read(file).unwrap()).collect()
    }

    fn one(&mut self, input: &[u8]) {
        let played = catch_unwind(AssertUnwindSafe(|| (self.play)(input)));
        if played.is_err() {
            let digits = obvert_ledger::hex(&Sha256::digest(input)[..6]);
            let file = std::env::temp_dir().join(format!("{}-{digits}", self.name));
            fs::write(&file, input).unwrap();
            panic!(
                "{} bytes made {} panic: they are in {}, to be moved to tests/fuzz/corpus/{}",
                input.len(),
                self.name,
                file.display(),
                self.name
            );
        }
    }
}

#[test]
fn a_panic_is_reported_with_the_input_that_made_it() {
    let mut play = |input: &[u8]| assert_ne!(input, b"bad", "found");
    let mut target = Target {
        name: "keys",
        seeds: Vec::new(),
        ordinary: 0,
        play: &mut play,
    };
    target.one(b"good");
    let caught = catch_unwind(AssertUnwindSafe(|| target.one(b"bad"))).unwrap_err();
    let said = caught.downcast_ref::<String>().unwrap();
    assert!(said.starts_with("3 bytes made keys panic"), "{said}");
    let file = said
        .split(" are in ")
        .nth(1)
        .unwrap()
        .split(',')
        .next()
        .unwrap();
    assert_eq!(fs::read(file).unwrap(), b"bad");
    fs::remove_file(file).unwrap();
}
