//! What documents name exists, and what exists has its page.

use std::{collections::BTreeSet, fs};

use obvert_proto::pool;

use super::tree::{root, sources, text};

/// Targets of links, and paths in code spans, of a page.
fn named_paths(page: &str) -> BTreeSet<String> {
    let links = page
        .split("](")
        .skip(1)
        .filter_map(|rest| rest.split(')').next());
    let links = links.filter(|link| !link.contains("://") && !link.starts_with('#'));
    let spans = page
        .split('`')
        .skip(1)
        .step_by(2)
        .filter(|span| !span.contains('\n'));
    let spans = spans.filter_map(|span| span.split_whitespace().next());
    let spans = spans.filter(|word| is_path(word));
    links
        .chain(spans)
        .map(|path| path.split('#').next().unwrap().to_owned())
        .collect()
}

/// Whether a word of a code span is a path of ours: it has a slash and begins with a top folder.
fn is_path(word: &str) -> bool {
    let top = word.split('/').next().unwrap();
    let plain = word
        .bytes()
        .all(|b| b.is_ascii_alphanumeric() || b"/._-".contains(&b));
    plain && word.contains('/') && !top.is_empty() && root().join(top).is_dir()
}

#[test]
fn every_path_that_the_documents_name_exists() {
    for page in ["README.md", "DEVELOPERS.md"] {
        let paths = named_paths(&text(page));
        assert!(!paths.is_empty(), "{page} names no path");
        for path in paths {
            assert!(
                root().join(&path).exists(),
                "{page} names {path}, which does not exist"
            );
        }
    }
}

#[test]
fn every_reason_has_a_page_and_every_page_a_reason() {
    let reasons = pool().get_enum_by_name("obvert.common.v1.Reason").unwrap();
    let reasons: BTreeSet<String> = reasons
        .values()
        .filter(|value| value.number() != 0)
        .map(|value| value.name().trim_start_matches("REASON_").to_owned())
        .collect();
    let pages: BTreeSet<String> = fs::read_dir(root().join("proto/reasons"))
        .unwrap()
        .map(|entry| {
            entry
                .unwrap()
                .path()
                .file_stem()
                .unwrap()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    assert_eq!(pages, reasons);
    for reason in reasons {
        let page = text(&format!("proto/reasons/{reason}.md"));
        assert!(
            page.starts_with(&format!("# {reason}\n")),
            "the page of {reason} is not titled so"
        );
    }
}

#[test]
fn every_template_has_a_name_that_makes_the_engine_escape_values() {
    let mut count = 0;
    for source in sources("services") {
        if source.path.ends_with(".rs") && source.text.contains("use tera::") {
            for row in source
                .text
                .lines()
                .filter(|row| row.contains("include_str!("))
            {
                let named = row
                    .trim_start()
                    .strip_prefix("(\"")
                    .and_then(|rest| rest.split('"').next());
                let named = named.unwrap_or_else(|| panic!("{}: {row}", source.path));
                assert!(
                    named.ends_with(".html"),
                    "{}: template {named}",
                    source.path
                );
                count += 1;
            }
            let unescaped = ["autoescape_on", "set_escape_fn"];
            let turned_off = unescaped.iter().any(|call| source.text.contains(call));
            assert!(!turned_off, "{} changes what is escaped", source.path);
        }
        if source.path.contains("/templates/") && source.path.ends_with(".html") {
            assert!(
                !source.text.contains("| safe"),
                "{} prints a value unescaped",
                source.path
            );
        }
    }
    assert!(count >= 5, "only {count} templates were found");
}

#[test]
fn no_file_names_a_folder_of_the_machine_it_was_written_on() {
    // Written in two halves, so that this file does not name them.
    let folders = [
        concat!("/ho", "me/"),
        concat!("/ro", "ot/"),
        concat!("/wo", "rk/"),
    ];
    for source in sources("") {
        for folder in folders {
            for (at, _) in source.text.match_indices(folder) {
                let before = source.text[..at].chars().next_back().unwrap_or(' ');
                let inside = before.is_alphanumeric() || "/._-$}".contains(before);
                assert!(inside, "{} names a folder below {folder}", source.path);
            }
        }
    }
}
