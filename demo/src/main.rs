//! `quillfern`: writes the invented demonstration project, and compares what the server says of it.

use std::{io, path::PathBuf, process::ExitCode};

use clap::Parser;
use obvert_demo::{Planted, Wanted};

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
    /// Number of segments.
    #[arg(long, default_value_t = 26, value_parser = clap::value_parser!(u32).range(1..=20_000))]
    segments: u32,
    /// Plant every kind of mistake in turn on this share of the segments, 0 to 0.5; the ten stories of
    /// the demonstration if left out.
    #[arg(long, value_name = "SHARE", value_parser = share, conflicts_with = "clean")]
    planted: Option<f64>,
    /// About the rows of each cure log; a row every 2 s if left out, every 10 s at most.
    #[arg(long, value_name = "ROWS")]
    cure_rows: Option<usize>,
    /// Plant no mistakes.
    #[arg(long)]
    clean: bool,
    /// Count what was caught of each kind of mistake; exit code 1 unless all and only these are held.
    #[arg(long, num_args = 2, value_names = ["DIR", "STATUS.json"])]
    report: Option<Vec<PathBuf>>,
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
        obvert_demo::write(out, &wanted(args))?;
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
    if let Some([folder, status]) = args.report.as_deref() {
        return obvert_demo::report(folder, status);
    }
    match args.check.as_deref() {
        Some([folder, status]) => obvert_demo::check(folder, status),
        _ => Ok(true),
    }
}

fn wanted(args: &Args) -> Wanted {
    let planted = match args.planted {
        _ if args.clean => Planted::None,
        Some(share) => Planted::Share(share),
        None => Planted::Stories,
    };
    Wanted {
        seed: args.seed,
        segments: args.segments as usize,
        planted,
        cure_rows: args.cure_rows,
    }
}

fn share(text: &str) -> Result<f64, String> {
    let share: f64 = text.parse().map_err(|_| format!("{text} is no number"))?;
    if (0.0..=0.5).contains(&share) {
        Ok(share)
    } else {
        Err(format!(
            "{share} is not from 0 to 0.5: some segments must stay without a mistake"
        ))
    }
}
