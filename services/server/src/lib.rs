//! obvertd: all services, health, reflection and pages on one port.
//!
//! The services share one process because the store is embedded: one program owns the journal. Each
//! has its own name in health. A request passes [`guard`] (who calls, is there room, how long may it
//! take) and then its service.
//!
//! Invariants: the config is read and checked before a port or the store is opened; every limit is
//! in the config; plain text is served on loopback only unless the config says otherwise.

mod accept;
pub mod args;
mod audit;
mod boot;
mod config;
mod cut;
mod denials;
mod first_bytes;
mod foreign;
mod guard;
mod held;
mod idle;
mod pages;
mod serve;
mod signing;
mod tls;
mod tools;
mod worker;

pub use config::{Config, Limits, SecretFile, TlsFiles};

use args::{Args, Command, ConfigCommand, KeyCommand};

/// How the program ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// All well.
    Ok = 0,
    /// Something failed, as the message says.
    Failure = 1,
    /// What was checked is not what was written; the same code as obvert's.
    VerificationFailed = 8,
    /// The config is wrong.
    BadConfig = 64,
    /// The store could not be written and refused all writes.
    Poisoned = 70,
    /// Another process holds the store.
    Held = 75,
}

/// An end with its message.
#[derive(Debug)]
pub struct Ended {
    /// How.
    pub exit: Exit,
    /// Why, as a sentence.
    pub message: String,
}

impl Ended {
    pub(crate) fn new(exit: Exit, message: impl Into<String>) -> Self {
        Self {
            exit,
            message: message.into(),
        }
    }
}

/// Runs one command line.
///
/// # Errors
///
/// [`Ended`] with the exit code and a sentence for standard error.
pub async fn run(args: Args) -> Result<(), Ended> {
    match args.command {
        Command::Serve { config } => serve::serve(Config::read(&config)?).await,
        Command::Config(ConfigCommand::Check { file }) => {
            Config::read(&file)?;
            tools::say(&format!("{} can be used", file.display()))
        }
        Command::Config(ConfigCommand::Show { file }) => tools::say(&Config::read(&file)?.shown()),
        Command::Key(KeyCommand::New { config }) => signing::new_key(&Config::read(&config)?),
        Command::Audit(command) => audit::run(&command),
        Command::Roles => tools::say(obvert_access::matrix::page().trim_end()),
        Command::Verify { folder } => tools::verify(&folder),
        Command::Rebuild { folder } => tools::rebuild(&folder),
        Command::Export {
            folder,
            out,
            project,
        } => tools::export(&folder, &out, project.as_deref()),
        Command::Import { folder, from } => tools::import(&folder, &from),
        Command::Worker { memory_bytes } => worker::run(memory_bytes),
        Command::Backup { folder, out } => tools::backup(&folder, &out),
    }
}
