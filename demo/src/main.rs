//! `quillfern`: writes the invented demonstration project, and compares what the server says of it.

use std::{io, path::PathBuf, process::ExitCode};

use clap::Parser;

/// Writes the invented project of the demonstration, or reads what the server says of it.
#[derive(Parser)]
#[command(version, about)]
struct Args {
    /// Folder to write the project into.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Seed of the small differences; the same seed gives the same files.
    #[arg(long, default_value_t = 417)]
    seed: u64,
    /// Plant no mistakes.
    #[arg(long)]
    clean: bool,
    /// Compare the server's status of all segments with the planted mistakes; exit code 1 if they differ.
    #[arg(long, num_args = 2, value_names = ["DIR", "STATUS.json"])]
    check: Option<Vec<PathBuf>>,
    /// Fill the server's revisions of the designs into the orders.
    #[arg(long, num_args = 2, value_names = ["DIR", "DESIGNS.json"])]
    orders: Option<Vec<PathBuf>>,
    /// Print segment, point and role of what waits for a release on segments without a mistake.
    #[arg(long, num_args = 2, value_names = ["DIR", "STATUS.json"])]
    releases: Option<Vec<PathBuf>>,
    /// With --releases: on this segment only, mistake or not.
    #[arg(long, value_name = "SEGMENT")]
    only: Option<String>,
    /// Print the segments without a mistake.
    #[arg(long, num_args = 2, value_names = ["DIR", "STATUS.json"])]
    list_clean: Option<Vec<PathBuf>>,
}

fn main() -> ExitCode {
    match run(&Args::parse()) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::from(1),
        Err(error) => {
            println!("quillfern: {error}");
            ExitCode::from(2)
        }
    }
}

fn run(args: &Args) -> io::Result<bool> {
    if let Some(out) = &args.out {
        obvert_demo::write(out, args.seed, args.clean)?;
    }
    if let Some([folder, designs]) = args.orders.as_deref() {
        obvert_demo::fill_orders(folder, designs)?;
    }
    if let Some([folder, status]) = args.releases.as_deref() {
        obvert_demo::print_releases(folder, status, args.only.as_deref())?;
    }
    if let Some([folder, status]) = args.list_clean.as_deref() {
        obvert_demo::print_clean(folder, status)?;
    }
    match args.check.as_deref() {
        Some([folder, status]) => obvert_demo::check(folder, status),
        _ => Ok(true),
    }
}
