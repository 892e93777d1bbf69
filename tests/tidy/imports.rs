//! Who imports whom.

use std::{collections::BTreeMap, process::Command};

use serde_json::Value;

use super::tree::root;

const LIBRARIES: [&str; 7] = [
    "proto",
    "ledger",
    "access",
    "tables",
    "engineering",
    "records",
    "plugins",
];
const SERVICES: [&str; 6] = [
    "project",
    "design",
    "material",
    "installation",
    "acceptance",
    "closeout",
];

/// Direct dependencies of each crate of the workspace, as it is built and as it builds itself; what
/// only tests need is left out. Our own crates stand without their `obvert-`.
fn dependencies() -> BTreeMap<String, Vec<String>> {
    let output = Command::new(env!("CARGO"))
        .args([
            "metadata",
            "--no-deps",
            "--format-version",
            "1",
            "--offline",
            "--locked",
        ])
        .current_dir(root())
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    let packages = metadata["packages"].as_array().unwrap();
    packages
        .iter()
        .map(|package| (short(&package["name"]), needs(package)))
        .collect()
}

fn needs(package: &Value) -> Vec<String> {
    let all = package["dependencies"].as_array().unwrap();
    all.iter()
        .filter(|one| one["kind"] != "dev")
        .map(|one| short(&one["name"]))
        .collect()
}

fn short(name: &Value) -> String {
    let name = name.as_str().unwrap();
    name.strip_prefix("obvert-").unwrap_or(name).to_owned()
}

/// Crates of ours that a crate may import.
fn allowed(name: &str) -> Vec<&'static str> {
    let mut allowed = match name {
        "proto" | "engineering" => vec![],
        "typeset" => vec!["engineering"],
        "ledger" | "plugins" => vec!["proto"],
        "tables" => vec!["proto", "engineering"],
        "access" => vec!["proto", "ledger"],
        "records" => LIBRARIES[..5].to_vec(),
        "server" => [&LIBRARIES[..], &SERVICES[..]].concat(),
        "cli" => vec!["proto", "engineering", "plugins"],
        "demo" => vec!["engineering"],
        "plugin-example" | "tests" => vec!["proto"],
        service if SERVICES.contains(&service) => LIBRARIES.to_vec(),
        other => panic!("{other} is new: say here what it may import"),
    };
    if ["closeout", "design", "server"].contains(&name) {
        allowed.push("typeset");
    }
    allowed
}

#[test]
fn each_crate_imports_only_what_lies_below_it() {
    let crates = dependencies();
    assert!(
        crates.len() >= 16,
        "only {} crates were found",
        crates.len()
    );
    for (name, needs) in &crates {
        let allowed = allowed(name);
        let ours = needs.iter().filter(|need| crates.contains_key(*need));
        for need in ours {
            assert!(
                allowed.contains(&need.as_str()),
                "{name} imports {need}, it may: {allowed:?}"
            );
        }
    }
}

#[test]
fn engineering_needs_nothing_but_the_standard_library() {
    assert_eq!(dependencies()["engineering"], Vec::<String>::new());
}

#[test]
fn only_the_ledger_names_the_store_and_only_typeset_names_the_typesetter() {
    for (name, needs) in dependencies() {
        for need in needs {
            let of_typst = need == "comemo" || need.starts_with("typst");
            assert!(need != "sled" || name == "ledger", "{name} names sled");
            assert!(!of_typst || name == "typeset", "{name} names {need}");
        }
    }
}
