//! Entry point of obvertd.

use std::{io::Write, process::ExitCode};

use clap::Parser;
use obvert_server::{Exit, args::Args, run};

#[tokio::main]
async fn main() -> ExitCode {
    let level = tracing_subscriber::EnvFilter::try_from_env("OBVERT_LOG")
        .unwrap_or_else(|_| tracing_subscriber::EnvFilter::new("info"));
    tracing_subscriber::fmt()
        .json()
        .with_env_filter(level)
        .with_writer(std::io::stderr)
        .init();
    match run(Args::parse()).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(ended) => {
            let _ = writeln!(std::io::stderr(), "obvertd: {}", ended.message);
            ExitCode::from(if ended.exit == Exit::Ok {
                1
            } else {
                ended.exit as u8
            })
        }
    }
}
