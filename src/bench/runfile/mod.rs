//! The run file: text in, what it says out, each entry with its name and place; or every problem it has.
//!
//! The way of a file: bytes → text (`syntax`) → shape with spans (`shape`) → tree of texts, digit for digit (`tree`;
//! section by section where the text is not YAML as a whole, `recovery`) → sections read key by key (`fields`, by the
//! `words`) → rules that hold between sections (`rules`). Weighings that stand in a table beside the file
//! (`file_loader`, `csv_rows`, `csv_header`) are made into a part of the same tree (`csv_import`).

mod adjustments;
mod allow_for;
mod apparatus;
mod at;
pub mod benches;
pub mod blank_run;
mod claimed;
mod commas;
mod conditions;
mod csv_header;
mod csv_import;
mod csv_rows;
mod days;
mod deliveries;
mod densities;
mod diagnostics;
mod earlier_calibration;
mod entries;
mod fields;
mod file_loader;
mod filled;
mod fitting;
mod flag_code;
mod instrument;
mod instrument_scale;
pub mod key_list;
mod known;
mod limits;
mod lines;
mod meant;
mod misplaced_key;
pub mod model;
mod name_table;
mod origin;
mod photos;
pub mod plan;
pub mod planned_run;
mod practice;
mod quantity_suggestions;
mod records;
mod recovery;
mod rules;
mod scalars;
mod scale;
pub mod schema;
mod sections;
mod shape;
mod short_forms;
mod slips;
mod solutions;
mod syntax;
mod tree;
pub mod unfinished;
pub mod vocabulary;
mod ware_calibration;
mod weighings;
mod withheld;
pub(crate) mod words;
mod yaml_error;

pub use file_loader::{FileLoader, is_plain_name};
pub use sections::are_written_alike;
pub use withheld::without_known;

/// The whole run file.
pub static RUN: &Section = &words::RUN;
/// A whole plan file.
pub static PLAN_FILE: &Section = &words::PLAN_FILE;
/// The key of the record of corrections, with which the names of its entries begin.
pub const CORRECTIONS: &str = words::CORRECTIONS.name;
/// The key that marks a draft.
pub const DRAFT: &str = words::DRAFT.name;

use crate::problem::{Code, Problem};
use csv_import::TabledWeighings;
use diagnostics::Diagnostics;
use fields::Value;
use model::{FileBeside, Photo, RunFile};
use plan::PlanFile;
use std::collections::BTreeMap;
use std::sync::Arc;
use tree::Node;
use vocabulary::{Form, Key, Section};

/// A run file as it was read.
#[derive(Debug, Default)]
pub struct Reading {
    /// What it says; `None` if one of the problems is an error.
    pub run: Option<RunFile>,
    /// What is wrong with it, in the order of the file, then of the files beside it; those without a span first.
    pub problems: Vec<Problem>,
    /// The files beside it that could be read, whether the run could or not: for showing the lines of problems.
    pub beside: Vec<FileBeside>,
    /// The photographs that could be read, whether the run could or not: what they hold is judged by others.
    pub photos: Vec<Photo>,
}

/// Reads a run file that stands alone: as [`read_beside`], with no other file there.
pub fn read(file: &str, bytes: &[u8]) -> (Option<RunFile>, Vec<Problem>) {
    let reading = read_beside(file, bytes, &BTreeMap::new());
    (reading.run, reading.problems)
}

/// Reads a run file, and the files that it names, through `beside`.
///
/// `file` is the name the user knows it by. With an error among the problems there is no run file; with
/// warnings alone there is.
pub fn read_beside(file: &str, bytes: &[u8], beside: &dyn FileLoader) -> Reading {
    let file: Arc<str> = file.into();
    let refused = |problem| Reading {
        run: None,
        problems: vec![problem],
        beside: Vec::new(),
        photos: Vec::new(),
    };
    let (root, found) = match root(&file, bytes) {
        Ok(read) => read,
        Err(problem) => return refused(problem),
    };
    if let Some(problem) = other_kind(&root, &words::PLAN, &words::SOLUTIONS) {
        return refused(
            problem
                .right("a run file; `fillmark plan` proposes from a plan how to make its series"),
        );
    }
    read_root(&file, root, found, beside)
}

/// Reads a run file from its tree.
fn read_root(
    file: &Arc<str>,
    mut root: Node,
    found: Diagnostics,
    beside: &dyn FileLoader,
) -> Reading {
    short_forms::write_out(&mut root, RUN);
    let tabled = csv_import::read(&found, file, &root, beside);
    let mut files: Vec<FileBeside> = tabled.iter().filter_map(|t| t.file.clone()).collect();
    let mut photos = Vec::new();
    let around = FilesBeside {
        beside,
        files: &mut files,
        photos: &mut photos,
    };
    let run = run_file(
        file,
        &Value::of_file(&found, &root),
        tabled.as_ref(),
        around,
    );
    let problems = found.into_problems(file);
    let failed = problems.iter().any(Problem::is_error);
    let run = run.filter(|_| !failed).map(|run| RunFile {
        beside: files.clone(),
        photos: photos.clone(),
        ..run
    });
    Reading {
        run,
        problems,
        beside: files,
        photos,
    }
}

/// Returns whether a text has a key at the beginning of a line that a run file has and a plan file has not. A style
/// file, or any other YAML file in a folder of run files, has none.
pub fn has_keys_of_a_run(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes);
    let is_one = |line: &str| {
        let name = line.split_once(':').map(|(name, _)| name.trim_end());
        name.is_some_and(|name| RUN.key(name).is_some() && PLAN_FILE.key(name).is_none())
    };
    text.lines().any(is_one)
}

/// Reads a plan file; `file` is the name the user knows it by. With an error among the problems there is no
/// plan.
pub fn read_plan(file: &str, bytes: &[u8]) -> (Option<PlanFile>, Vec<Problem>) {
    let file: Arc<str> = file.into();
    let (root, found) = match root(&file, bytes) {
        Ok(read) => read,
        Err(problem) => return (None, vec![problem]),
    };
    if let Some(problem) = other_kind(&root, &words::SOLUTIONS, &words::PLAN) {
        return (
            None,
            vec![problem.right("a plan file, which has the section `plan`")],
        );
    }
    let plan = plan::read(&file, &Value::of_file(&found, &root));
    let problems = found.into_problems(&file);
    let failed = problems.iter().any(Problem::is_error);
    (plan.filter(|_| !failed), problems)
}

/// Returns the problem of a file of another kind, recognised by its sections.
fn other_kind(root: &Node, its_own: &Key<Form>, lacking: &Key<Form>) -> Option<Problem> {
    let (key, _) = root.get(its_own.name)?;
    root.get(lacking.name).is_none().then(|| {
        let kind = if its_own.name == words::PLAN.name {
            "a plan file"
        } else {
            "a run file"
        };
        Code::OtherFile
            .error(format!("This is {kind}."))
            .at(its_own.name, Some(key.span.clone()))
    })
}

/// Returns a run file as a tree without short forms, with the problems of its texts.
fn whole_root(file: &Arc<str>, bytes: &[u8]) -> Result<(Node, Diagnostics), Problem> {
    let (mut root, found) = root(file, bytes)?;
    short_forms::write_out(&mut root, RUN);
    Ok((root, found))
}

/// Returns a file as a tree, with the problems of its texts.
fn root(file: &Arc<str>, bytes: &[u8]) -> Result<(Node, Diagnostics), Problem> {
    let (root, faults) = root_of(file, bytes)?;
    let found = check_texts(&root, syntax::text(file, bytes)?, faults);
    Ok((root, found))
}

/// Returns a file as a tree, with what kept parts of it from being read.
fn root_of(file: &Arc<str>, bytes: &[u8]) -> Result<(Node, Vec<Problem>), Problem> {
    let read = syntax::decode(file, bytes).and_then(|text| recovery::read(file, text))?;
    match read {
        (Some(root), faults) if !root.is_empty() => Ok((root, faults)),
        _ => Err(syntax::empty(file)),
    }
}

/// Returns the problems of the texts in a tree that was read from `text`, and what kept parts of it from being read.
fn check_texts(root: &Node, text: &str, faults: Vec<Problem>) -> Diagnostics {
    let found = Diagnostics::default();
    for fault in faults {
        found.add(|| fault);
    }
    // The file itself holds none, but YAML can write them as escapes.
    root.each_text(&mut |text, span| syntax::refuse_controls(&found, text, span));
    if text.contains(" #") {
        let lines: Vec<&str> = text.lines().collect();
        root.each_text(&mut |_, span| {
            // A value may have come from a table beside the file.
            if span.file == root.span.file {
                syntax::note_comments(&found, &lines, span);
            }
        });
    }
    found
}

/// The files beside a run file: how they are read, and those read so far.
struct FilesBeside<'a> {
    beside: &'a dyn FileLoader,
    files: &'a mut Vec<FileBeside>,
    photos: &'a mut Vec<Photo>,
}

fn run_file(
    file: &Arc<str>,
    root: &Value<'_>,
    tabled: Option<&TabledWeighings>,
    FilesBeside {
        beside,
        files,
        photos,
    }: FilesBeside<'_>,
) -> Option<RunFile> {
    let fields = root.fields(RUN)?;
    let title = fields.text(&words::TITLE);
    let date = fields.day(&words::DATE);
    let analysts = fields.texts(&words::ANALYSTS);
    let place = fields.text(&words::PLACE).map(|text| text.value);
    let aim = fields.text(&words::AIM).map(|text| text.value);
    let procedure = fields.texts(&words::PROCEDURE);
    let notes = fields.texts(&words::NOTES);
    let draft = fields.mark(&words::DRAFT);
    let bench = apparatus::read(&fields);
    let conditions = conditions::read(&fields, &bench);
    let ware_calibrations = ware_calibration::read(&fields, &bench, &conditions);
    let solute = sections::solute(&fields);
    let solutions = solutions::read(&fields, &bench, &conditions);
    let densities = densities::read(&fields, &bench, &solutions, &conditions, tabled);
    let wish = sections::calibration((file, &fields), &solutions, (beside, files));
    let report = sections::report(&fields);
    let allow_for = allow_for::read(&fields);
    let practice = practice::read(&fields);
    let acknowledged = practice::acknowledged(&fields);
    *photos = photos::read(&fields, &solutions, beside);
    let entries = entries::all(root, tabled);
    let corrections = sections::corrections(
        &fields,
        &|name| entries::entry_exists(root.node, tabled, name),
        date.as_ref(),
        &entries,
    );
    rules::dilutions(root.found, &solutions);
    rules::pooling(root.found, densities.as_ref());
    allow_for::needs(&allow_for, &fields, solute.as_ref(), &solutions);
    let limits = limits::read(&fields, &solutions);
    let adjustments = adjustments::read(&fields, &solutions);
    let known = known::read(&fields, &solutions);
    let claimed = claimed::read(&fields, &solutions);
    let points = claimed::points(&fields);
    let read_back = rules::calibration(root.found, wish, &solutions, densities.as_ref());
    Some(RunFile {
        file: Arc::clone(file),
        title: title?,
        date: date?,
        analysts,
        place,
        aim,
        procedure,
        notes,
        draft,
        conditions: conditions.read,
        solute: solute?,
        apparatus: bench.into_items()?,
        allow_for,
        ware_calibrations: ware_calibrations?,
        solutions: solutions.into_items()?,
        densities: densities?,
        calibration: read_back.calibration,
        from_published: read_back.published,
        earlier_calibration: read_back.earlier,
        limits,
        adjustments,
        known,
        claimed,
        points,
        report,
        practice,
        acknowledged,
        corrections,
        entries,
        beside: Vec::new(),
        photos: Vec::new(),
    })
}
