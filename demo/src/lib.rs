//! Writes an invented project, `Quillfern Lane rear easements` in Marrowby, as the files in which a
//! contractor, a crew, a laboratory and an owner would send it, with ten planted mistakes that closeout
//! must find.
//!
//! The site is built first, as it truly is; every other module writes one family of files from it.
//! The same seed gives the same files. All people, firms and places are invented, and so is every figure
//! without a source beside it.

mod acceptance;
mod attachments;
mod check;
mod cure;
mod design;
mod dice;
mod folder;
mod laboratory;
mod lay_out;
mod maker;
mod material;
mod mistake;
mod orders;
mod papers;
mod png;
mod project;
mod registers;
mod residents;
mod runs;
mod site;
mod surveys;
mod tables;
mod when;
mod work;

use std::{io, path::Path};

/// Writes the whole project into a folder. With `clean`, no mistake is planted.
///
/// # Errors
///
/// A file that cannot be written.
pub fn write(root: &Path, seed: u64, clean: bool) -> io::Result<()> {
    let pipes = lay_out::pipes(seed, clean);
    let runs = work::runs(seed, &pipes);
    let liners = work::liners(&pipes, &runs);
    let site = site::Site {
        seed,
        pipes,
        runs,
        liners,
    };
    let folder = folder::Folder::at(root)?;
    project::write(&folder)?;
    maker::write(&folder)?;
    tables::write(&folder, &site)?;
    registers::write(&folder, &site)?;
    design::write(&folder, &site)?;
    material::write(&folder, &site)?;
    residents::write(&folder, &site)?;
    papers::write(&folder, &site)?;
    surveys::write(&folder, &site)?;
    runs::write(&folder, &site)?;
    cure::write(&folder, &site)?;
    acceptance::write(&folder, &site)?;
    laboratory::write(&folder, &site)?;
    attachments::write(&folder, &site)?;
    let planted = site
        .pipes
        .iter()
        .filter_map(|pipe| Some((pipe.id.clone(), pipe.mistake?)));
    folder.record(
        "mistakes.json",
        &mistake::list(&planted.collect::<Vec<_>>()),
    )
}

/// Fills into the orders of a folder the revisions that the server gave the designs.
///
/// # Errors
///
/// A file that cannot be read or written.
pub fn fill_orders(root: &Path, designs: &Path) -> io::Result<()> {
    orders::fill(root, designs)
}

/// Prints where each segment stands beside the planted mistakes; true when the two agree.
///
/// # Errors
///
/// A file that cannot be read.
pub fn check(root: &Path, status: &Path) -> io::Result<bool> {
    check::check(root, status)
}

/// Prints segment, point and role of every point that waits for a release: on one segment, or on all
/// without a planted mistake.
///
/// # Errors
///
/// A file that cannot be read.
pub fn print_releases(root: &Path, status: &Path, only: Option<&str>) -> io::Result<()> {
    check::releases(root, status, only)
}

/// Prints the segments without a planted mistake.
///
/// # Errors
///
/// A file that cannot be read.
pub fn print_clean(root: &Path, status: &Path) -> io::Result<()> {
    check::clean(root, status)
}
