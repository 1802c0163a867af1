//! A folder of bad run files, one mistake each, named after it: what each is told.

use fillmark::pipeline;
use fillmark::problem::{Rendering, Severity, Sources, render};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests")
        .join(name)
}

fn files(name: &str) -> Vec<(String, Vec<u8>)> {
    let mut files: Vec<_> = std::fs::read_dir(folder(name))
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            (
                path.file_name().unwrap().to_str().unwrap().to_owned(),
                std::fs::read(&path).unwrap(),
            )
        })
        .collect();
    files.sort();
    files
}

#[test]
fn each_mistake_is_told() {
    let files = files("bad_runs");
    assert!(files.len() >= 80, "bad runs are missing");
    let mut told = String::new();
    for (name, bytes) in &files {
        let (run, problems) = pipeline::read(name, bytes);
        let failed = problems
            .iter()
            .any(|problem| problem.severity == Severity::Error);
        assert!(!problems.is_empty(), "{name} is taken for good");
        assert_eq!(
            run.is_none(),
            failed,
            "{name}: a run with errors, or none without"
        );
        if name != "several_mistakes.yaml" {
            assert!(
                problems.len() <= 4,
                "{name}: one mistake, {} problems",
                problems.len()
            );
        }
        let sources = Sources::new(name, String::from_utf8_lossy(bytes));
        writeln!(told, "==== {name}").unwrap();
        for problem in &problems {
            told += &render(problem, &sources, Rendering { colour: false });
        }
    }
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("bad_runs", told);
    });
}

#[test]
fn good_files_have_no_problem() {
    for (name, bytes) in files("runs") {
        let (run, problems) = pipeline::read(&name, &bytes);
        assert_eq!(problems, [], "{name}");
        assert!(run.is_some(), "{name}");
    }
}
