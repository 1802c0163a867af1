//! The licences of what Fillmark is built from: the list that `fillmark licences` prints against what Cargo says.
//!
//! After a change of dependencies: `LICENCES_UPDATE=always cargo test --locked --test all licences`.

use crate::cli::{ended, fillmark, folder};
use crate::common::{path, read};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// The list is that of this platform, so that it is the same wherever it is made.
const PLATFORM: &str = "x86_64-unknown-linux-gnu";
const CRATES: &str = "src/cli/licences/crates.txt";
const FACES: &str = "src/cli/licences/faces.txt";

fn metadata() -> Value {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--locked", "--format-version", "1"])
        .args(["--filter-platform", PLATFORM])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("cargo can be run");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    serde_json::from_slice(&output.stdout).expect("JSON")
}

fn text(value: &Value) -> &str {
    value.as_str().expect("text")
}

fn list(value: &Value) -> &[Value] {
    value.as_array().expect("a list")
}

/// The packages that the program is built from, without those of tests and build scripts alone.
fn built_from(metadata: &Value) -> Vec<&Value> {
    let by_id = |all: &'_ Value| -> BTreeMap<String, Value> {
        let all = list(all).iter();
        all.map(|one| (text(&one["id"]).to_owned(), one.clone()))
            .collect()
    };
    let nodes = by_id(&metadata["resolve"]["nodes"]);
    let root = text(&metadata["resolve"]["root"]).to_owned();
    let mut found = BTreeSet::new();
    let mut open = vec![root.clone()];
    while let Some(id) = open.pop() {
        for dependency in list(&nodes[&id]["deps"]) {
            let kinds = list(&dependency["dep_kinds"]);
            let id = text(&dependency["pkg"]).to_owned();
            if kinds.iter().any(|kind| kind["kind"].is_null()) && found.insert(id.clone()) {
                open.push(id);
            }
        }
    }
    let packages = list(&metadata["packages"]).iter();
    packages
        .filter(|package| found.contains(text(&package["id"])))
        .collect()
}

#[test]
fn every_crate_is_named_with_its_licence() {
    let metadata = metadata();
    let lines: BTreeSet<String> = built_from(&metadata)
        .into_iter()
        .map(|package| {
            let licence = package["license"].as_str().expect("a licence expression");
            format!(
                "{} {}: {licence}\n",
                text(&package["name"]),
                text(&package["version"])
            )
        })
        .collect();
    let now: String = lines.into_iter().collect();
    if std::env::var("LICENCES_UPDATE").is_ok() {
        std::fs::write(path(CRATES), &now).expect("written");
    }
    assert_eq!(read(&path(CRATES)), now, "see the head of this test");
}

#[test]
fn the_notice_of_the_faces_is_that_of_their_crate() {
    let metadata = metadata();
    let packages = built_from(&metadata);
    let assets = packages
        .iter()
        .find(|package| package["name"] == "typst-assets");
    let manifest = text(&assets.expect("the crate")["manifest_path"]);
    let notice = read(&std::path::Path::new(manifest).with_file_name("NOTICE"));
    assert!(
        read(&path(FACES)) == notice,
        "{FACES} is not the notice beside {manifest}"
    );
}

#[test]
fn licences_are_printed() {
    let (out, err) = ended(&fillmark(&folder("licences"), &["licences"]), 0);
    assert_eq!(err, "");
    for file in [CRATES, FACES] {
        assert!(out.contains(&read(&path(file))), "{file}");
    }
}
