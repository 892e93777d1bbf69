//! The verbs, a file per noun that has verbs of its own.

mod as_built;
mod attachment;
mod build;
mod crew_day;
mod cure_log;
mod fields;
mod import;
mod key;
mod link;
mod load;
mod package;
mod package_diff;
mod paper;
mod parcel_sheet;
mod plan;
mod plan_words;
mod plugin;
mod point;
mod point_history;
mod put_all;
mod record;
mod trace;
mod wall;
mod walls;
mod write;

use std::{
    path::{Path, PathBuf},
    string::FromUtf8Error,
};

use clap::ArgMatches;
use prost_reflect::{DynamicMessage, MessageDescriptor};

use crate::{
    Exit, Failure, calc,
    connection::{Keyed, connect},
    nouns::{Noun, noun},
    output::Output,
};

/// What every command that talks to the server needs.
pub(crate) struct Session {
    channel: Keyed,
    output: Output,
}

/// Runs the command that was matched.
pub(crate) async fn run(matches: &ArgMatches) -> Result<(), Failure> {
    let Some((word, below)) = matches.subcommand() else {
        return Ok(());
    };
    if word == "calc" {
        return calc::run(below);
    }
    let Some((verb, given)) = below.subcommand() else {
        return Ok(());
    };
    let output = Output::of(given);
    if (word, verb) == ("package", "verify") {
        return package::verify(given, output);
    }
    if (word, verb) == ("package", "diff") {
        return package_diff::run(given, output);
    }
    if verb == "fields" {
        return fields::run(&known(word)?, output);
    }
    if (word, verb) == ("plugin", "check") {
        return plugin::check(given, output).await;
    }
    let session = Session {
        channel: connect(given).await?,
        output,
    };
    match (word, verb) {
        ("point", "list") => point::list(&session, given).await,
        ("point", "release") => point::release(&session, given).await,
        ("point", "history") => point_history::history(&session, given).await,
        ("record", "load") => load::load(&session, given).await,
        ("key", "crew-day") => crew_day::run(&session, given).await,
        ("key", _) => key::run(&session, verb, given).await,
        ("link", _) => link::run(&session, verb, given).await,
        ("paper", _) => paper::run(&session, verb, given).await,
        ("parcel-sheet", _) => parcel_sheet::run(&session, verb, given).await,
        ("attachment", "put") => attachment::put(&session, given).await,
        ("attachment", "put-all") => put_all::put_all(&session, given).await,
        ("attachment", "fetch") => attachment::fetch(&session, given).await,
        ("cure-record", "import") => cure_log::import(&session, given).await,
        ("plan", "check") => plan::check(&session, given).await,
        ("plan", "explain") => plan_words::explain(&session, given).await,
        ("plan", "diff") => plan_words::diff(&session, given).await,
        ("plan", "add") => plan::add(&session, given).await,
        ("plan", "revise") => plan::revise(&session, given).await,
        ("segment", "trace") => trace::run(&session, given).await,
        ("package", "assemble") => package::assemble(&session, given).await,
        ("package", "assemble-all") => build::assemble_all(&session, given).await,
        ("build", "watch") => build::watch(&session, given).await,
        ("build", "cancel") => build::cancel(&session, given).await,
        ("build", "resume") => build::resume(&session, given).await,
        ("package", "fetch") => package::fetch(&session, given).await,
        ("wall-design", "check") => wall::check(&session, given).await,
        ("as-built-check", "check") => as_built::check(&session, given).await,
        (_, "sheet") => wall::sheet(&session, given).await,
        ("wall-design", "check-all") => walls::check_all(&session, given).await,
        _ => {
            let noun = known(word)?;
            match verb {
                "get" => record::get(&session, &noun, given).await,
                "list" => record::list(&session, &noun, given).await,
                "history" => record::history(&session, &noun, given).await,
                "create" => record::create(&session, &noun, given).await,
                "revise" => record::revise(&session, &noun, given).await,
                _ => import::import(&session, &noun, given).await,
            }
        }
    }
}

/// Noun of a word on the command line.
fn known(word: &str) -> Result<Noun, Failure> {
    noun(word).ok_or_else(|| Failure::new(Exit::Usage, format!("{word} is no noun")))
}

/// Text option or argument; empty when left out.
fn text<'a>(given: &'a ArgMatches, name: &str) -> &'a str {
    given.get_one::<String>(name).map_or("", String::as_str)
}

/// File argument.
fn file<'a>(given: &'a ArgMatches, name: &str) -> Result<&'a Path, Failure> {
    let missing = || Failure::new(Exit::Usage, format!("{name} is missing"));
    given
        .get_one::<PathBuf>(name)
        .map(PathBuf::as_path)
        .ok_or_else(missing)
}

fn read_text(path: &Path) -> Result<String, Failure> {
    let bytes = std::fs::read(path).map_err(|error| Failure::file(path, &error))?;
    String::from_utf8(bytes).map_err(|error| not_utf8(path, &error))
}

/// A text in another encoding, with the row where it shows.
fn not_utf8(path: &Path, error: &FromUtf8Error) -> Failure {
    let (bytes, at) = (error.as_bytes(), error.utf8_error().valid_up_to());
    let what = match bytes {
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => "it is in UTF-16: save it as UTF-8".to_owned(),
        _ => {
            let row = 1 + bytes[..at].iter().filter(|byte| **byte == b'\n').count();
            format!("row {row} holds a character that is not in UTF-8: save it as UTF-8")
        }
    };
    Failure::data(path.display(), what)
}

/// Message of a JSON file.
fn read_message(path: &Path, message: &MessageDescriptor) -> Result<DynamicMessage, Failure> {
    let text = read_text(path)?;
    parse_message(&text, message).map_err(|error| Failure::data(path.display(), error))
}

/// Message of a JSON text.
fn parse_message(text: &str, message: &MessageDescriptor) -> Result<DynamicMessage, String> {
    let mut source = serde_json::Deserializer::from_str(text);
    let message = DynamicMessage::deserialize(message.clone(), &mut source);
    let message = message.map_err(|error| error.to_string())?;
    source.end().map_err(|error| error.to_string())?;
    Ok(message)
}

/// File name without its folder, as text.
fn file_name(path: &Path) -> String {
    path.file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}
