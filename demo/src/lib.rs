//! Writes an invented project, `Quillfern Lane rear easements` in Marrowby, as the files in which a
//! contractor, a crew, a laboratory and an owner would send it, with planted mistakes that closeout
//! must find: ten stories on 26 segments, or any share of any number of segments.
//!
//! The site is built first, as it truly is; every other module writes one family of files from it.
//! The same seed gives the same files. All people, firms and places are invented, and so is every figure
//! without a source beside it.

mod acceptance;
mod attachments;
mod check;
mod crowd;
mod cure;
mod design;
mod dice;
mod folder;
mod kinds;
mod laboratory;
mod lay_out;
mod maker;
mod material;
mod mistake;
mod orders;
mod papers;
mod plant;
mod png;
mod project;
mod registers;
mod residents;
mod runs;
mod site;
mod slip;
mod surveys;
mod tables;
mod when;
mod work;

use std::{io, path::Path};

/// Which mistakes are planted.
#[derive(Debug, Clone, Copy)]
pub enum Planted {
    /// None.
    None,
    /// The ten stories, each on its own segment, as far as there are such segments.
    Stories,
    /// Every kind in turn, on this share of the segments.
    Share(f64),
}

/// What is to be written.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// Seed of the small differences and of the places of mistakes.
    pub seed: u64,
    /// Number of segments; every 26 are one block of streets.
    pub segments: usize,
    /// Mistakes.
    pub planted: Planted,
    /// About the rows of a cure log, not more often than every 2 s nor less than every 10 s; every 2 s
    /// if left out.
    pub cure_rows: Option<usize>,
}

/// Writes the whole project into a folder.
///
/// # Errors
///
/// A file that cannot be written.
pub fn write(root: &Path, wanted: &Wanted) -> io::Result<()> {
    let seed = wanted.seed;
    let pipes = lay_out::pipes(wanted);
    let runs = work::runs(seed, &pipes);
    let liners = work::liners(&pipes, &runs);
    let site = site::Site {
        seed,
        pipes,
        runs,
        liners,
        cure_rows: wanted.cure_rows,
    };
    let folder = folder::Folder::at(root, slip::slips(&site))?;
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
    folder.write("uncompared.txt", material::uncompared(&site))?;
    folder.record("mistakes.json", &mistake::list(&site))
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

/// Prints how many of each kind of mistake were caught; true when all were and no other segment is
/// held.
///
/// # Errors
///
/// A file that cannot be read.
pub fn report(root: &Path, status: &Path) -> io::Result<bool> {
    crowd::report(root, status)
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
