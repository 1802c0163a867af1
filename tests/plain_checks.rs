//! `fillmark check --format json` against what the same check says in words.

use crate::common::{path, read};
use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

fn check(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fillmark"));
    let output = command
        .current_dir(folder)
        .arg("check")
        .args(arguments)
        .output();
    output.expect("the program can be run")
}

fn as_json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).expect("one JSON document")
}

/// The codes of a file in their order, errors before warnings.
fn codes(file: &Value) -> Vec<&str> {
    let lists = ["errors", "warnings"].map(|list| file[list].as_array().expect("a list"));
    let problems = lists.into_iter().flatten();
    problems
        .map(|problem| problem["code"].as_str().expect("a code"))
        .collect()
}

#[test]
fn words_and_json_tell_the_same() {
    let folder = path("tests/bad_runs");
    let mut names: Vec<String> = std::fs::read_dir(&folder)
        .expect("the folder")
        .map(|entry| {
            let name = entry.expect("an entry").file_name();
            name.to_string_lossy().into_owned()
        })
        .collect();
    names.sort();
    let mut arguments: Vec<&str> = names.iter().map(String::as_str).collect();
    let words = check(&folder, &arguments);
    arguments.extend(["--format", "json"]);
    let json = check(&folder, &arguments);
    assert_eq!(words.status.code(), json.status.code(), "the ending");
    assert!(json.stderr.is_empty(), "all is in the document");
    let json = as_json(&json);
    let files = json["files"].as_array().expect("files");
    let named: Vec<&str> = files.iter().filter_map(|f| f["file"].as_str()).collect();
    assert_eq!(named, names, "each file once, in order");
    let told: Vec<&str> = files.iter().flat_map(codes).collect();
    let words = String::from_utf8_lossy(&words.stderr);
    let written: Vec<&str> = words
        .lines()
        .filter_map(|line| line.strip_prefix("  code   "))
        .collect();
    let (blank, others): (Vec<&str>, Vec<&str>) = told.iter().partition(|code| **code == "blank");
    assert_eq!(others, written, "the codes");
    // Blanks are listed, each with the number of its line first.
    let listed = words.lines().filter(|line| {
        let first = line.split_whitespace().next().unwrap_or_default();
        line.starts_with(' ') && !line.contains('|') && first.parse::<u32>().is_ok()
    });
    assert_eq!(listed.count(), blank.len(), "the blanks");
    assert!(told.len() > 90, "only {} problems", told.len());
    for problem in files
        .iter()
        .filter_map(|file| file["errors"].as_array())
        .flatten()
        .filter(|problem| problem["code"] != "blank")
    {
        assert_eq!(problem["severity"], "error", "{problem:#}");
        let message = problem["message"].as_str().expect("a message");
        assert!(words.contains(message), "{message} is not said in words");
        if let Some(right) = problem["right"].as_str() {
            assert!(words.contains(right), "{right} is not said in words");
        }
    }
}

#[test]
fn the_document_is_as_described() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("plain_checks");
    std::fs::create_dir_all(&folder).expect("a folder can be made");
    for name in [
        "unknown_key.yaml",
        "correction_not_made.yaml",
        "nothing_written.yaml",
        "name_used_twice.yaml",
    ] {
        std::fs::copy(path("tests/bad_runs").join(name), folder.join(name)).expect("a copy");
    }
    let good = read(&path("tests/runs/good.yaml"));
    std::fs::write(folder.join("good.yaml"), good).expect("a file can be written");
    let output = check(
        &folder,
        &[
            "unknown_key.yaml",
            "name_used_twice.yaml",
            "correction_not_made.yaml",
            "nothing_written.yaml",
            "good.yaml",
            "not_there.yaml",
            "--format",
            "json",
        ],
    );
    assert_eq!(output.status.code(), Some(3), "as the worst of them");
    let mut json = as_json(&output);
    for file in json["files"].as_array_mut().expect("files") {
        let name = file["file"].as_str().expect("a name").to_owned();
        let mut flags = file["flags"].take();
        let bytes = std::fs::read(folder.join(&name)).unwrap_or_default();
        let (run, _) = fillmark::pipeline::read(&name, &bytes);
        let expected = run.map_or(Vec::new(), |run| run.flags);
        let expected = serde_json::to_value(expected).expect("flags");
        for flag in flags.as_array_mut().into_iter().flatten() {
            let place = flag.as_object_mut().and_then(|flag| flag.remove("place"));
            let entry = flag["entry"].as_str().unwrap_or_default();
            let text = String::from_utf8_lossy(&bytes);
            let Some(place) = place else {
                // What a run file leaves to the default has no place in it.
                assert!(
                    !text.contains(&format!("\n{entry}:")),
                    "no place of {entry} in {name}"
                );
                continue;
            };
            let line = place["line"].as_u64().expect("a line") as usize;
            // An entry's last name, or its solution where it is a number, is written on its line or above it.
            let word = entry
                .split('.')
                .rev()
                .find(|part| part.parse::<usize>().is_err());
            let word = word.unwrap_or_default();
            let near = text.lines().take(line).any(|line| line.contains(word));
            assert!(near, "{entry} at line {line} of {name}");
        }
        assert_eq!(flags, expected, "the flags of {name}");
        let raised = flags.as_array().is_some_and(|flags| !flags.is_empty());
        assert!(raised || name != "good.yaml", "good.yaml raises flags");
    }
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("check_json", format!("{json:#}"));
    });
}
