//! Entry point of obvert.

use std::{io::Write, process::ExitCode};

#[tokio::main]
async fn main() -> ExitCode {
    match obvert_cli::run(std::env::args_os().collect()).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            let _ = write!(std::io::stderr(), "{failure}");
            ExitCode::from(failure.exit as u8)
        }
    }
}
