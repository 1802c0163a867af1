//! The documentation that tests can hold to its word.

use crate::common::{files, path, read};

/// What the documentation of a function over plain numbers must tell: a unit, or what kind of number it is.
const TELLS: [&str; 14] = [
    "g/mL",
    "kg/m³",
    "g/mol",
    "mL",
    "°C",
    "%",
    "unit",
    "probability",
    "degrees of freedom",
    "number",
    "mass fraction",
    "coefficient",
    "abscissa",
    "standard deviation",
];

/// Public functions of a source with their documentation and signature.
fn public_functions(source: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut docs = String::new();
    let mut lines = source.lines();
    while let Some(line) = lines.next() {
        let line = line.trim();
        if let Some(text) = line.strip_prefix("///") {
            docs += text;
        } else if line.starts_with("pub fn ") || line.starts_with("pub const fn ") {
            let mut signature = line.to_owned();
            while !signature.contains('{') {
                let Some(more) = lines.next() else { break };
                signature += more.trim();
            }
            found.push((std::mem::take(&mut docs), signature));
        } else if !line.starts_with("#[") {
            docs.clear();
        }
    }
    found
}

#[test]
fn numbers_have_units_or_a_kind() {
    let mut checked = 0;
    for file in files("src/reference", "rs")
        .into_iter()
        .chain(files("src/fit", "rs"))
        .chain(files("src/benches", "rs"))
    {
        for (docs, signature) in public_functions(&read(&file)) {
            if !signature.contains("f64") && !signature.contains("Expr") {
                continue;
            }
            checked += 1;
            let tells = TELLS.iter().any(|word| docs.contains(word));
            assert!(
                tells,
                "{}: {signature} says neither a unit nor what its numbers are:\n{docs}",
                file.display()
            );
        }
    }
    assert!(
        checked >= 15,
        "only {checked} functions are public: the sources are read wrongly"
    );
}

/// The first command of each block of shell commands in a text.
fn commands(text: &str) -> Vec<&str> {
    text.split("```sh\n")
        .skip(1)
        .filter_map(|block| block.lines().next())
        .collect()
}

#[test]
fn the_commands_of_readme_are_those_of_the_gate() {
    let readme = read(&path("README.md"));
    let found = commands(&readme);
    assert_eq!(
        found.len(),
        2,
        "README gives one command for the sample and one for the tests: {found:?}"
    );
    let gate = read(&path(".ci/run"));
    let stands = |command: &str| gate.lines().any(|line| line.trim() == command);
    assert!(stands(found[1]), "the gate does not run `{}`", found[1]);
    // The gate need not build the release: the sample it names is made by `reports` and `cli`.
    let (_, sample) = found[0]
        .split_once(" -- report ")
        .expect("a report of a sample");
    assert!(
        path(sample).is_file(),
        "README's sample {sample} does not exist"
    );
}

/// README names each key word of the example, and its example is a good run file.
#[test]
fn the_example_of_readme_is_a_good_run() {
    let readme = read(&path("README.md"));
    let example = readme
        .split("```yaml\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .expect("an example");
    let run = crate::common::reduced(example);
    assert_eq!(run.results.unknowns.len(), 1, "the example has an unknown");
}

/// A file or folder that a guide names exists; one named without its folder is a source.
#[test]
fn the_paths_in_the_guides_exist() {
    const TOP: [&str; 5] = ["src/", "tests/", "templates/", "sample_runs/", ".ci/"];
    let sources = files("src", "rs");
    let mut checked = 0;
    for guide in ["README.md", "DEVELOPERS.md", "templates/VALUES.md"] {
        let text = read(&path(guide));
        let in_prose = text.split("```").step_by(2);
        for word in in_prose.flat_map(|prose| prose.split('`').skip(1).step_by(2)) {
            if word.contains([' ', '*', '{']) {
                continue;
            }
            let exists = if TOP.iter().any(|top| word.starts_with(top)) {
                path(word).exists()
            } else if std::path::Path::new(word)
                .extension()
                .is_some_and(|kind| kind == "rs")
            {
                sources.iter().any(|source| source.ends_with(word))
            } else {
                continue;
            };
            assert!(exists, "{guide} names {word}, which does not exist");
            checked += 1;
        }
    }
    assert!(checked > 60, "only {checked} paths are found in the guides");
}
