//! Packages as files from anybody: the ZIP, the signatures, and the bag behind right signatures.

use obvert_cli::Exit;

use super::Target;
use crate::package::forging::{Entry, packed, signed_again};
use crate::package::sample::{package, verified};

#[test]
fn no_file_given_as_a_package_panics_or_is_taken() {
    let whole = package();
    let small = packed(&[Entry::stored("s-1/bagit.txt", b"BagIt-Version: 1.0\n")]);
    let mut plays = 0;
    let mut play = |input: &[u8]| {
        plays += 1;
        let refused = match verified(input, None) {
            Err(refused) => refused,
            Ok(_) => {
                assert_eq!(input, whole, "a file that nobody signed is taken");
                return;
            }
        };
        assert_eq!(refused.exit, Exit::VerificationFailed);
        // The same bytes as a file of a bag that somebody did sign.
        if plays % 4 == 0 {
            let path = ["bag-info.txt", "manifest-sha256.txt", "bagit.txt"][plays / 4 % 3];
            let _ = verified(&signed_again(path, input), None);
        }
    };
    Target {
        name: "package",
        seeds: vec![whole.clone(), small],
        ordinary: 400,
        play: &mut play,
    }
    .run();
}
