//! The bag inside the package (RFC 8493): its files, and the lists that name each of them once.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use super::{
    Damage,
    zip_reader::{Archive, Entry},
};

/// Version of the package's form that this program knows.
const FORMAT: u32 = 1;
/// Label of that version.
const FORMAT_LABEL: &str = "Obvert-Package-Format";
const BAG_INFO: &str = "bag-info.txt";
const BAGIT: &str = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n";
/// Files that the tag manifest lists, in its order.
const TAG_FILES: [&str; 4] = [
    "HOW-TO-VERIFY.txt",
    BAG_INFO,
    "bagit.txt",
    "manifest-sha256.txt",
];
/// Files outside both lists; the last entry's signature covers their bytes.
const UNLISTED: [&str; 4] = [
    "signature/archive.sig",
    "signature/signer.pem",
    "signature/tagmanifest-sha256.sig",
    "tagmanifest-sha256.txt",
];

/// Entries by their path inside the top folder.
pub(super) struct Layout<'a> {
    files: BTreeMap<&'a str, &'a Entry>,
}

/// What the bag holds.
pub(super) struct Contents {
    pub(super) file_count: usize,
    pub(super) payload_bytes: usize,
    info: BTreeMap<String, String>,
}

/// Refuses a package that says it has a newer form, before anything that a newer form may change is
/// looked at. What it says is not checked, so it only ever decides how the refusal reads.
pub(super) fn refuse_newer(archive: &Archive) -> Result<(), Damage> {
    let in_top_folder = |name: &str| {
        name.split_once('/')
            .is_some_and(|(_, path)| path == BAG_INFO)
    };
    let mut entries = archive.entries.iter();
    let Some(entry) = entries.find(|entry| in_top_folder(&entry.name)) else {
        return Ok(());
    };
    let text = String::from_utf8_lossy(&entry.data);
    let mut rows = text.lines().filter_map(|row| row.split_once(": "));
    let said = rows.find(|(label, _)| *label == FORMAT_LABEL);
    match said.and_then(|(_, value)| value.parse::<u32>().ok()) {
        Some(format) if format > FORMAT => Err(Damage::newer(
            entry.offset,
            &entry.name,
            format!("it says format {format}, this program knows {FORMAT}"),
        )),
        _ => Ok(()),
    }
}

/// Sorts the entries out; each lies in one top folder and is one that a package has.
pub(super) fn layout(archive: &Archive) -> Result<Layout<'_>, Damage> {
    let mut files = BTreeMap::new();
    let mut top = None;
    for entry in &archive.entries {
        let wrong = |what: &str| Damage::new(entry.offset, &entry.name, what);
        let split = entry.name.split_once('/');
        let (folder, path) = split.ok_or_else(|| wrong("it lies outside the top folder"))?;
        if *top.get_or_insert(folder) != folder {
            return Err(wrong("it lies in another top folder"));
        }
        let known = path.starts_with("data/") || TAG_FILES.contains(&path);
        if !known && !UNLISTED.contains(&path) {
            return Err(wrong("packages have no such file"));
        }
        files.insert(path, entry);
    }
    Ok(Layout { files })
}

impl<'a> Layout<'a> {
    /// Entry of a path.
    pub(super) fn required(&self, path: &str) -> Result<&'a Entry, Damage> {
        self.files
            .get(path)
            .copied()
            .ok_or_else(|| Damage::new(0, path, "it is missing"))
    }

    fn text(&self, path: &str) -> Result<&'a str, Damage> {
        let entry = self.required(path)?;
        let text = std::str::from_utf8(&entry.data);
        text.map_err(|_| Damage::new(entry.offset, &entry.name, "it is no UTF-8 text"))
    }

    fn payload(&self) -> impl Iterator<Item = (&'a str, &'a Entry)> + '_ {
        self.files
            .iter()
            .map(|(path, entry)| (*path, *entry))
            .filter(|(p, _)| p.starts_with("data/"))
    }
}

impl Contents {
    /// Value of a label of bag-info.txt.
    pub(super) fn info(&self, label: &str) -> String {
        self.info.get(label).cloned().unwrap_or_default()
    }
}

/// Holds every file against the lists.
pub(super) fn check(layout: &Layout<'_>) -> Result<Contents, Damage> {
    let bagit = layout.required("bagit.txt")?;
    if bagit.data != BAGIT.as_bytes() {
        return Err(Damage::new(
            bagit.offset,
            &bagit.name,
            "it does not say BagIt 1.0, UTF-8",
        ));
    }
    let info = info(layout)?;
    let payload: Vec<_> = layout.payload().collect();
    listed(layout, "manifest-sha256.txt", &payload)?;
    let tags = TAG_FILES.map(|path| layout.required(path).map(|entry| (path, entry)));
    let tags = tags.into_iter().collect::<Result<Vec<_>, _>>()?;
    listed(layout, "tagmanifest-sha256.txt", &tags)?;
    let payload_bytes = payload.iter().map(|(_, entry)| entry.data.len()).sum();
    let contents = Contents {
        file_count: payload.len(),
        payload_bytes,
        info,
    };
    let oxum = format!("{payload_bytes}.{}", payload.len());
    let said = contents.info("Payload-Oxum");
    if said != oxum {
        let entry = layout.required(BAG_INFO)?;
        let what = format!("it says Payload-Oxum {said}, the payload has {oxum}");
        return Err(Damage::new(entry.offset, &entry.name, what));
    }
    Ok(contents)
}

/// Labels of bag-info.txt.
fn info(layout: &Layout<'_>) -> Result<BTreeMap<String, String>, Damage> {
    let entry = layout.required(BAG_INFO)?;
    let wrong = |what: String| Damage::new(entry.offset, &entry.name, what);
    let mut info = BTreeMap::new();
    for row in layout.text(BAG_INFO)?.lines() {
        let parts = row.split_once(": ");
        let (label, value) =
            parts.ok_or_else(|| wrong(format!("{row:?} is no label and value")))?;
        if info.insert(label.to_owned(), value.to_owned()).is_some() {
            return Err(wrong(format!("{label} stands twice")));
        }
    }
    match info.get(FORMAT_LABEL) {
        Some(said) if *said == FORMAT.to_string() => Ok(info),
        Some(other) => Err(wrong(format!(
            "it says format {other:?}, which no package has"
        ))),
        None => Err(wrong(format!("it names no {FORMAT_LABEL}"))),
    }
}

/// Holds a manifest against the files it must list, each once and in their order.
fn listed(layout: &Layout<'_>, path: &str, files: &[(&str, &Entry)]) -> Result<(), Damage> {
    let manifest = layout.required(path)?;
    let text = layout.text(path)?;
    let mut rows = text.lines();
    for (file, entry) in files {
        let row = rows.next().unwrap_or_default();
        let (digest, name) = row.split_once("  ").unwrap_or(("", row));
        if name != *file {
            let what = format!("{path} does not list it where it should: it has {name:?} there");
            return Err(Damage::new(entry.offset, &entry.name, what));
        }
        if digest != hex(&Sha256::digest(&entry.data)) {
            let what = format!("its digest is not the one in {path}");
            return Err(Damage::new(entry.offset, &entry.name, what));
        }
    }
    let rest = rows.next();
    if rest.is_some() || !text.ends_with('\n') {
        let what = format!(
            "it lists {:?}, which the package does not have",
            rest.unwrap_or_default()
        );
        return Err(Damage::new(manifest.offset, &manifest.name, what));
    }
    Ok(())
}

/// Lower-case hexadecimal digits.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
