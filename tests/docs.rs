//! The documentation that tests can hold to its word.

use crate::common::{files, path, read};
use fillmark::pipeline;
use fillmark::report::templates::Templates;
use std::collections::BTreeMap;

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
    for file in files("src/bench/reference", "rs")
        .into_iter()
        .chain(files("src/bench/fit", "rs"))
        .chain(files("src/bench/interlaboratory", "rs"))
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

/// The examples of a guide in YAML.
fn examples(guide: &str) -> Vec<&str> {
    let blocks = guide.split("```yaml\n").skip(1);
    blocks.filter_map(|rest| rest.split("```").next()).collect()
}

/// The sections of a run file at its top level, each with its key.
fn sections(text: &str) -> Vec<(&str, String)> {
    let mut sections: Vec<(&str, String)> = Vec::new();
    for line in text.lines() {
        let key = line.split(':').next().unwrap_or_default();
        if !line.starts_with([' ', '#']) && !key.is_empty() {
            sections.push((key, String::new()));
        }
        let (_, section) = sections.last_mut().expect("a key comes first");
        *section += &format!("{line}\n");
    }
    sections
}

/// A run file with the sections of an example in place of its own; apparatus is added to it.
fn with(base: &str, example: &str) -> String {
    let mut whole = sections(base);
    for (key, section) in sections(example) {
        match whole.iter_mut().find(|(known, _)| *known == key) {
            Some((_, own)) if key == "apparatus" => {
                *own = format!("{}\n{}", own.trim_end(), &section["apparatus:\n".len()..]);
            }
            Some((_, own)) => *own = section,
            None => whole.push((key, section)),
        }
    }
    whole.into_iter().map(|(_, section)| section).collect()
}

/// What the examples name beside the run file.
fn beside() -> BTreeMap<String, Vec<u8>> {
    let table = "solution,Tare,Gross,volume,operator\n\
                 water,31.204,41.176,10.00,RE\nA,31.204,42.490,10.00,RE\n\
                 B,31.203,41.722,10.00,RE\nbath 3,31.203,42.021,10.00,RE\n";
    let mut photo = std::io::Cursor::new(Vec::new());
    image::RgbImage::new(400, 300)
        .write_to(&mut photo, image::ImageFormat::Jpeg)
        .expect("a picture");
    BTreeMap::from([
        ("readings.csv".to_owned(), table.as_bytes().to_vec()),
        ("streaks.jpg".to_owned(), photo.into_inner()),
    ])
}

/// The run file of README, and every example in README and in the reference in its place there, gives a report with an
/// unknown, without a warning and without a flag that judges.
#[test]
fn the_examples_of_the_guides_are_good_runs() {
    let readme = read(&path("README.md"));
    let reference = read(&path("src/cli/reference/text.md"));
    let in_readme = examples(&readme);
    let base = in_readme[0];
    let mut runs = vec![base.to_owned()];
    for example in in_readme[1..].iter().chain(&examples(&reference)) {
        // The other kind of file that the reference shows.
        if example.starts_with("paper:") {
            let logo = |_: &str| Err("is not there".into());
            let style = example.replace("logo:", "# logo:");
            let style = fillmark::print::house_style::read("style.yaml", style.as_bytes(), &logo);
            assert!(style.is_ok(), "{style:?}");
        } else {
            runs.push(with(base, example));
        }
    }
    assert_eq!(runs.len(), 7, "examples are not found");
    for run in runs {
        let (read, problems, _) = pipeline::read_beside("run.yaml", run.as_bytes(), &beside());
        let read = read.unwrap_or_else(|| panic!("{problems:?} in\n{run}"));
        assert!(problems.is_empty(), "{problems:?} in\n{run}");
        assert_eq!(read.results.unknowns.len(), 1, "in\n{run}");
        let judging = read.flags.iter().find(|flag| flag.code.judges());
        assert!(judging.is_none(), "{judging:?} in\n{run}");
        let report = read.report(run.as_bytes(), &Templates::default());
        assert!(report.is_ok(), "{report:?} in\n{run}");
    }
}

/// A file or folder that a guide names exists; one named without its folder is a source.
#[test]
fn the_paths_in_the_guides_exist() {
    const TOP: [&str; 5] = ["src/", "tests/", "templates/", "sample_runs/", ".ci/"];
    let sources = files("src", "rs");
    let mut checked = 0;
    for guide in [
        "README.md",
        "DEVELOPERS.md",
        "templates/VALUES.md",
        "src/cli/reference/text.md",
    ] {
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
