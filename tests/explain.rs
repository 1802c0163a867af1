//! The table of codes: each example raises its code, and does not once it is mended.

use crate::cli::{fillmark, folder};
use crate::common::{path, read};
use crate::density_unit::in_cubic_metres;
use fillmark::bench::revision::{changes_not_explained, corrections_otherwise};
use fillmark::pipeline::{self, Run};
use fillmark::print::house_style;
use fillmark::print::layout::Style;
use fillmark::problem::code::{Example, Place};
use fillmark::problem::{Code, Problem};
use fillmark::report::templates::Templates;
use std::collections::{BTreeMap, BTreeSet};

/// A run file and the table of weighings beside it, by their names.
type Files = BTreeMap<&'static str, String>;

/// The runs that examples are parts of: a full one that carries no flag, one of single weighings, and one with its
/// weighings in a table.
fn bases() -> [Files; 3] {
    let text = |name: &str| read(&path("tests/explained").join(name));
    [
        BTreeMap::from([("run.yaml", text("run.yaml"))]),
        BTreeMap::from([("run.yaml", text("short.yaml"))]),
        BTreeMap::from([
            ("run.yaml", text("table.yaml")),
            ("readings.csv", text("readings.csv")),
        ]),
    ]
}

/// A small picture of the kind that its name says, or not.
fn picture() -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image::RgbImage::new(4, 4)
        .write_to(&mut bytes, image::ImageFormat::Png)
        .expect("a picture");
    bytes.into_inner()
}

fn checked(files: &Files) -> (Option<Run>, Vec<Problem>) {
    let mut beside = BTreeMap::from([
        ("streaks.png".to_owned(), picture()),
        ("streaks.jpg".to_owned(), picture()),
    ]);
    if let Some(table) = files.get("readings.csv") {
        beside.insert("readings.csv".to_owned(), table.clone().into_bytes());
    }
    let (run, problems, _) =
        pipeline::read_beside("run.yaml", files["run.yaml"].as_bytes(), &beside);
    (run, problems)
}

/// Every code that a run raises, of problems and of flags.
fn raised(files: &Files) -> Vec<Code> {
    let (run, problems) = checked(files);
    let flags = run.iter().flat_map(|run| &run.flags);
    let flags = flags.map(|flag| flag.code.code());
    problems
        .iter()
        .map(|problem| problem.code)
        .chain(flags)
        .collect()
}

/// A base with some lines in place of others; none where it has not each of them exactly once.
fn replaced(base: &Files, old: &str, new: &str) -> Option<Files> {
    let mut files = base.clone();
    let (old, new) = (old.split("\n…\n"), new.split("\n…\n"));
    assert_eq!(
        old.clone().count(),
        new.clone().count(),
        "parts of an example"
    );
    for (old, new) in old.zip(new) {
        let mut holding = files.values_mut().filter(|text| text.contains(old));
        let text = holding.next()?;
        if holding.next().is_some() || text.matches(old).count() != 1 {
            return None;
        }
        *text = text.replacen(old, new, 1);
    }
    Some(files)
}

#[test]
fn the_table_is_in_order_and_complete() {
    let names: Vec<&str> = Code::ALL.iter().map(|code| code.name()).collect();
    assert!(names.is_sorted_by(|a, b| a < b), "{names:?}");
    for code in Code::ALL {
        let (name, Example { typed, mended, .. }) = (code.name(), code.example());
        assert_eq!(Code::of_name(name), Ok(*code));
        let variant: String = name
            .split('-')
            .map(|word| word[..1].to_uppercase() + &word[1..])
            .collect();
        assert_eq!(format!("{code:?}"), variant, "the code and its name");
        let meaning = code.meaning();
        assert!(
            meaning.ends_with('.') && meaning.len() < 200,
            "{name}: {meaning}"
        );
        assert!(typed != mended && !typed.is_empty(), "{name}");
    }
}

#[test]
fn the_full_run_is_sound() {
    assert_eq!(raised(&bases()[0]), []);
}

#[test]
fn each_example_of_a_run_file_raises_its_code_until_it_is_mended() {
    let bases = bases();
    let sound = bases.clone().map(|base| raised(&base));
    let mut tried = 0;
    for code in Code::ALL {
        let Example {
            span: Place::RunFile,
            typed,
            mended,
        } = code.example()
        else {
            continue;
        };
        tried += 1;
        let wrong = bases
            .iter()
            .zip(&sound)
            .find_map(|(base, sound)| Some((replaced(base, mended, typed)?, sound)));
        let (wrong, sound) = wrong.unwrap_or_else(|| panic!("no run has {mended:?} of {code}"));
        assert!(
            !sound.contains(code),
            "{code} is raised though it is mended"
        );
        let raised = raised(&wrong);
        assert!(
            raised.contains(code),
            "{code} is not raised, but {raised:?}"
        );
    }
    assert!(tried > 90, "only {tried} codes are of run files");
}

#[test]
fn flags_state_densities_in_the_unit_of_the_report() {
    let bases = bases();
    let said = |files: &Files| -> Vec<String> {
        let run = checked(files).0;
        let flags = run.into_iter().flat_map(|run| run.flags);
        let said = flags.map(|f| format!("{} {}", f.message, f.effect.unwrap_or_default()));
        said.collect()
    };
    let mut with_densities = BTreeSet::new();
    for code in Code::ALL {
        let Example { typed, mended, .. } = code.example();
        let wrong = bases.iter().find_map(|base| replaced(base, mended, typed));
        let Some(plain) = wrong.filter(|files| checked(files).0.is_some()) else {
            continue;
        };
        let mut shifted = plain.clone();
        let text = shifted.get_mut("run.yaml").expect("a run file");
        *text = in_cubic_metres(text);
        let [plain, shifted] = [&plain, &shifted].map(said);
        assert_eq!(plain.len(), shifted.len(), "{code}");
        for (plain, shifted) in plain.iter().zip(&shifted) {
            let (in_millilitres, in_cubic_metres) = (
                plain.matches("g/mL").count(),
                shifted.matches("kg/m³").count(),
            );
            assert_eq!(
                in_millilitres, in_cubic_metres,
                "{code}: {plain} | {shifted}"
            );
            assert!(!shifted.contains("g/mL"), "{shifted}");
            if in_millilitres > 0 {
                with_densities.insert(code.name());
            }
        }
    }
    assert!(with_densities.len() > 3, "{with_densities:?}");
}

#[test]
fn each_example_of_a_changed_run_file_raises_its_code_until_it_is_mended() {
    let base = &bases()[0];
    let was = checked(base).0.expect("a sound run").file;
    let compared = |before: &str, now: &str| {
        let now = replaced(base, before, now).expect("the lines before");
        let now = checked(&now).0.expect("a run").file;
        let mut problems = corrections_otherwise(&was, &now);
        problems.extend(changes_not_explained(&was, &now));
        problems
            .iter()
            .map(|problem| problem.code)
            .collect::<Vec<_>>()
    };
    for code in Code::ALL {
        let example = code.example();
        if let Place::ChangedRunFile { before } = example.span {
            assert_eq!(compared(before, example.typed), [*code]);
            assert_eq!(compared(before, example.mended), []);
        }
    }
}

#[test]
fn each_example_of_a_style_file_raises_its_code_until_it_is_mended() {
    let read = |text: &str| {
        let logo = |path: &str| match path {
            "logo.png" => Ok(picture()),
            _ => Err("there is no such file".to_owned()),
        };
        house_style::read("style.yaml", text.as_bytes(), &logo).map_err(|problem| problem.code)
    };
    for code in Code::ALL {
        let example = code.example();
        if example.span == Place::StyleFile {
            assert_eq!(read(example.typed).err(), Some(*code));
            assert_eq!(read(example.mended).err(), None, "{code}");
        }
    }
}

#[test]
fn each_example_of_a_template_raises_its_code_until_it_is_mended() {
    let base = &bases()[0];
    let run = checked(base).0.expect("a sound run");
    let rendered = |text: &str| {
        let own = Templates::with("own", [("report.md".to_owned(), text.to_owned())]);
        let bytes = base["run.yaml"].as_bytes();
        let made = run.manuscript_in(bytes, &own, &Style::default());
        made.err()
            .into_iter()
            .flatten()
            .map(|problem| problem.code)
            .collect::<Vec<_>>()
    };
    for code in Code::ALL {
        let example = code.example();
        if example.span == Place::Template {
            assert_eq!(rendered(example.typed).first(), Some(code));
            assert_eq!(rendered(example.mended), [], "{code}");
        }
    }
}

#[test]
fn what_is_asked_for_is_explained() {
    let folder = folder("explain");
    let told = |arguments: &[&str], ending| {
        let output = fillmark(&folder, arguments);
        assert_eq!(output.status.code(), Some(ending), "{arguments:?}");
        let (out, err) = (output.stdout, output.stderr);
        String::from_utf8([out, err].concat()).expect("UTF-8")
    };
    let mut all = String::new();
    for arguments in [
        &["explain", "decimal-comma"] as &[_],
        &["explain", "Change not explained"],
        &["explain", "suspect-weighing"],
        &["explain", "file-not-read"],
    ] {
        all += &format!("==== {}\n{}", arguments.join(" "), told(arguments, 0));
    }
    for arguments in [
        &["explain", "decimal-coma"],
        &["explain", "unknown"],
        &["explain", "xyz"],
    ] {
        all += &format!("==== {}\n{}", arguments.join(" "), told(arguments, 2));
    }
    all += &format!("==== explain\n{}", told(&["explain"], 0));
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("explain", all);
    });
}
