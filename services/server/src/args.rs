//! The command line of obvertd.

use std::path::PathBuf;

use clap::{Parser, Subcommand};

/// Serves the closeout suite of a sewer-lining contract.
#[derive(Debug, Parser)]
#[command(name = "obvertd", version, about)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What obvertd does.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Serve until told to stop.
    Serve {
        /// Config file.
        #[arg(long)]
        config: PathBuf,
    },
    /// Look at the config.
    #[command(subcommand)]
    Config(ConfigCommand),
    /// Keys that sign packages.
    #[command(subcommand)]
    Key(KeyCommand),
    /// Whether the record is what was written, and who did what.
    #[command(subcommand)]
    Audit(AuditCommand),
    /// Print who may do what: every RPC and page by role.
    Roles,
    /// Check every stored byte, chain and blob; a running server is not disturbed.
    Verify {
        /// Folder of the store.
        folder: PathBuf,
    },
    /// Make the index anew from the journal; the server must be stopped.
    Rebuild {
        /// Folder of the store.
        folder: PathBuf,
    },
    /// Write the commits and blobs to one file; a running server is not disturbed.
    Export {
        /// Folder of the store.
        folder: PathBuf,
        /// File to write.
        #[arg(long)]
        out: PathBuf,
        /// Only this project.
        #[arg(long)]
        project: Option<String>,
    },
    /// Take in an exported file; the server must be stopped.
    Import {
        /// Folder of the store.
        folder: PathBuf,
        /// File to read.
        #[arg(long)]
        from: PathBuf,
    },
    /// Typeset documents that come in on standard input; a server starts this for itself.
    #[command(hide = true)]
    Worker {
        /// Most address space, in bytes.
        #[arg(long)]
        memory_bytes: u64,
    },
    /// Copy the store as of now; a running server is not disturbed.
    Backup {
        /// Folder of the store.
        folder: PathBuf,
        /// Folder to write.
        #[arg(long)]
        out: PathBuf,
    },
}

/// Looks at the config.
#[derive(Debug, Subcommand)]
pub enum ConfigCommand {
    /// Say whether a config can be used; the files that it names are not read.
    Check {
        /// Config file.
        file: PathBuf,
    },
    /// Print the config in force, with what is a default; secrets are named, not shown.
    Show {
        /// Config file.
        file: PathBuf,
    },
}

/// Whether the record is what was written, and who did what; a running server is not disturbed.
#[derive(Debug, Subcommand)]
pub enum AuditCommand {
    /// Check the chains of all projects and of the access log; exit code 8 when one is broken.
    Verify {
        /// Folder of the store.
        folder: PathBuf,
        /// What was kept elsewhere: an issued package, or a file that 'audit checkpoint' printed.
        /// May be given several times.
        #[arg(long, value_name = "CHECKPOINT")]
        against: Vec<PathBuf>,
    },
    /// Print the newest commit of each project and of the access log, to be kept elsewhere.
    Checkpoint {
        /// Folder of the store.
        folder: PathBuf,
    },
    /// Print commits without their bodies, and the access log, as JSON objects, one a row.
    Export {
        /// Folder of the store.
        folder: PathBuf,
        /// Only this project.
        #[arg(long)]
        project: Option<String>,
    },
}

/// Keys that sign packages.
#[derive(Debug, Subcommand)]
pub enum KeyCommand {
    /// Make a signing key where the config names it; the file is readable by its owner only.
    New {
        /// Config file.
        #[arg(long)]
        config: PathBuf,
    },
}
