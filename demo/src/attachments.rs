//! Pictures, films' indexes and originals of papers, with the list by which they are stored.

use std::{collections::BTreeMap, io};

use crate::{
    folder::{Folder, INVENTED},
    laboratory, material, papers, png, residents,
    site::Site,
    surveys::FILMED,
};

/// What a file is.
enum Form {
    Picture,
    /// Lines below the first.
    Text(String),
}

/// Writes every file, and `attachments.{role}.tsv` for each role that stores some: id, file, media
/// type.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    let mut lists: BTreeMap<&str, String> = BTreeMap::new();
    let mut add = |id: &str, form: Form, what: &str, role: &'static str| {
        let text = format!("{what}. {INVENTED}");
        let (ending, media_type, bytes) = match form {
            Form::Picture => ("png", "image/png", png::picture(number_of(id), &text)),
            Form::Text(lines) => ("txt", "text/plain", format!("{text}\n{lines}").into_bytes()),
        };
        let file = format!("attachments/{id}.{ending}");
        *lists.entry(role).or_default() += &format!("{id}\t{file}\t{media_type}\n");
        folder.write(&file, bytes)
    };
    for place in 0..site.pipes.len() {
        of_pipe(site, place, &mut add)?;
    }
    for liner in &site.liners {
        let what = format!("Crate's label of liner {}", liner.serial);
        add(&format!("label-{}", liner.id), Form::Picture, &what, "crew")?;
        let what = format!("Maker's certificate of liner {}", liner.serial);
        add(
            &format!("certificate-{}", liner.id),
            Form::Text(material::certificate_sheet(site, liner)),
            &what,
            "office",
        )?;
    }
    for (lot, ..) in residents::entered(site) {
        let what = format!("Yard of {lot} before the work");
        add(&format!("before-{lot}"), Form::Picture, &what, "office")?;
    }
    for (id, title) in papers::ids(site) {
        add(
            &format!("paper-{id}"),
            Form::Text(String::new()),
            &title,
            "office",
        )?;
    }
    for (role, list) in lists {
        folder.write(&format!("attachments.{role}.tsv"), list)?;
    }
    Ok(())
}

/// Adds what there is of one pipe.
fn of_pipe(
    site: &Site,
    place: usize,
    add: &mut impl FnMut(&str, Form, &str, &'static str) -> io::Result<()>,
) -> io::Result<()> {
    let pipe = &site.pipes[place];
    for tap in pipe.taps.iter().filter(|tap| tap.is_opened()) {
        let what = format!(
            "Still of flow in lateral {} of {}",
            tap.number, pipe.owner_id
        );
        add(&format!("flow-{}", tap.id), Form::Picture, &what, "crew")?;
    }
    for (word, what) in FILMED {
        let what = format!("Index of the film of {} {what}", pipe.owner_id);
        add(
            &format!("film-{}-{word}", pipe.id),
            Form::Text(String::new()),
            &what,
            "crew",
        )?;
    }
    let number = laboratory::report_number(pipe);
    let what = format!("Sheet of laboratory report {number}");
    add(
        &format!("sheet-{}", number.to_lowercase()),
        Form::Text(laboratory::sheet(site, place)),
        &what,
        "laboratory",
    )?;
    let what = format!("Yards along {} after the work", pipe.owner_id);
    let id = format!("{}-{}", residents::SHOWN, pipe.id);
    add(&id, Form::Picture, &what, "inspector")?;
    let what = format!("Releases of the yards along {}", pipe.owner_id);
    let id = format!("{}-{}", residents::RELEASED, pipe.id);
    add(&id, Form::Text(String::new()), &what, "inspector")
}

/// A number that differs from id to id.
fn number_of(id: &str) -> u64 {
    id.bytes()
        .fold(17, |sum, byte| sum * 31 % 9973 + u64::from(byte))
}
