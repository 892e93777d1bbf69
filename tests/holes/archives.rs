//! Packages that are bombs, climb out of their folder, or come from a newer program.

use obvert_cli::Failure;

use crate::package::forging::{Entry, packed, signed_again};
use crate::package::sample::{files, package, verified};

fn refused(bytes: &[u8]) -> (String, Failure) {
    let refused = verified(bytes, None).map(drop).unwrap_err();
    (refused.places[0].1.clone(), refused)
}

#[test]
fn more_entries_than_a_package_has_are_refused_before_the_rest_is_read() {
    let entries: Vec<_> = (0..1_001)
        .map(|number| Entry::stored(&format!("s-1/data/{number:04}"), b"x"))
        .collect();
    let (what, _) = refused(&packed(&entries));
    assert_eq!(what, "it has more than 1000 entries");
    let (what, _) = refused(&packed(&entries[..1_000]));
    assert!(!what.contains("entries"), "1000 are taken so far: {what}");
}

#[test]
fn an_entry_that_grows_more_than_a_hundredfold_is_refused_unopened() {
    let bomb = Entry::zeros("s-1/data/zeros", 10_000_000);
    assert!(bomb.packed.len() * 100 < 10_000_000);
    let (what, _) = refused(&packed(std::slice::from_ref(&bomb)));
    assert_eq!(what, "it unpacks to more than 100 times its size");
    // One that lies about its size is read no further than it says.
    let liar = Entry {
        size: 900_000,
        ..bomb
    };
    let (what, _) = refused(&packed(&[liar]));
    assert_eq!(what, "it does not unpack to the size it says");
}

#[test]
fn more_than_two_hundred_megabytes_are_refused_by_what_the_headers_say() {
    let wide = Entry {
        size: 200_000_001,
        method: 8,
        ..Entry::stored("s-1/data/wide", &[0; 64])
    };
    let (what, _) = refused(&packed(&[wide]));
    assert_eq!(what, "it unpacks to more than 200000000 bytes in all");
}

#[test]
fn the_limits_count_all_entries_together_and_refuse_the_first_byte_too_many() {
    let says = |size: u32| Entry {
        size,
        method: 8,
        ..Entry::stored("s-1/data/says", &[0; 64])
    };
    let first = Entry::stored("s-1/data/first", &[0; 1_000]);
    let with_first = |size: u32| refused(&packed(&[first.clone(), says(size)])).0;
    let in_all = "it unpacks to more than 200000000 bytes in all";
    let times = "it unpacks to more than 100 times its size";
    assert_eq!(with_first(199_999_001), in_all);
    assert_eq!(with_first(199_999_000), times, "within what all may take");
    assert_eq!(with_first(6_401), times);
    let what = with_first(6_400);
    assert!(what.contains("unpack") && what != times, "within: {what}");
}

#[test]
fn a_name_that_climbs_hides_or_doubles_is_refused() {
    for name in [
        "../s-1/data/a",
        "s-1/../../a",
        "s-1/data/../../../a",
        "/etc/a",
        "s-1//a",
        "s-1/data/.",
        "s-1/data/..",
        "s-1\\data\\a",
        "c:/a",
        "s-1/data/a\0.pdf",
        "s-1/data/a b",
        "s-1/data/\u{202e}fdp.exe",
        "",
    ] {
        let (what, _) = refused(&packed(&[Entry::stored(name, b"x")]));
        assert!(what.contains("packages do not use"), "{name:?}: {what}");
    }
    let twice = ["s-1/data/A", "s-1/data/a", "s-1/data/b"].map(|name| Entry::stored(name, b"x"));
    let (what, _) = refused(&packed(&twice));
    assert!(what.contains("but for capitals"), "{what}");
}

#[test]
fn a_bag_whose_lists_name_files_outside_it_is_refused_though_somebody_signed_it() {
    let whole = files(&package());
    let manifest = String::from_utf8(whole["manifest-sha256.txt"].clone()).unwrap();
    let digest = "0".repeat(64);
    for path in ["../../outside", "/etc/passwd", "data/not-there"] {
        let longer = format!("{manifest}{digest}  {path}\n");
        let (what, _) = refused(&signed_again("manifest-sha256.txt", longer.as_bytes()));
        assert!(
            what.contains("which the package does not have"),
            "{path}: {what}"
        );
    }
}

#[test]
fn a_package_of_a_newer_form_is_named_though_it_is_signed() {
    let whole = files(&package());
    let info = String::from_utf8(whole["bag-info.txt"].clone()).unwrap();
    let newer = info.replace("Obvert-Package-Format: 1", "Obvert-Package-Format: 2");
    assert_ne!(info, newer);
    let (what, _) = refused(&signed_again("bag-info.txt", newer.as_bytes()));
    assert!(
        what.contains("it says format 2, this program knows 1"),
        "{what}"
    );
}

#[test]
fn what_is_signed_again_without_a_change_is_taken() {
    let whole = files(&package());
    let again = signed_again("bagit.txt", &whole["bagit.txt"]);
    verified(&again, None).unwrap();
}
