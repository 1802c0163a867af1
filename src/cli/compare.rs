//! `fillmark compare`: the runs of several benches side by side.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use serde::Serialize;

use super::command_error::CommandError;
use super::fingerprint::word_of;
use super::named::{self, NamedRun, Takes};
use super::outputs::{self, Inputs};
use super::style_args::styled;
use super::terminal::Terminal;
use super::{Ending, previous_report};
use crate::bench::practice::class::Traces;
use crate::bench::practice::class::slips_in_class;
use crate::bench::reduce::results::SolutionStated;
use crate::bench::runfile::model::Scale;
use crate::files;
use crate::pipeline::{self, Run};
use crate::print::pdf;
use crate::problem::{Code, Problem};
use crate::report::compare::{self, Group, Measured, Row};
use crate::report::templates::Templates;
use crate::threads::{make_each, processors};

/// What a comparison is made from begins with this.
const COMPARISON: &str = "comparison";
/// How its results file begins.
const RESULTS: &[u8] = b"{\n  \"compared_by\": \"Fillmark ";
/// The key of codes begins with this.
const CODES: &str = "code,bench,analysts\n";

/// Compare the runs of several benches: results side by side, what all have in common, who differs.
#[derive(Debug, Args)]
pub(super) struct Compare {
    /// Run files (YAML), reports (PDF), folders of either, or patterns such as 'reports/*.pdf'.
    #[arg(value_name = "RUN", required = true)]
    runs: Vec<PathBuf>,
    /// Write the comparison here. [default: beside the file named, ending in .comparison.pdf, or comparison.pdf]
    #[arg(long, value_name = "FILE")]
    pdf: Option<PathBuf>,
    /// Write a table too, with a bench in each line.
    #[arg(long, value_name = "FILE.csv")]
    table: Option<PathBuf>,
    /// Write all results too, for other programs.
    #[arg(long, value_name = "FILE.json")]
    results: Option<PathBuf>,
    /// The known compositions: a run file or report in which solutions with the same names are made up or known.
    #[arg(long, value_name = "KEY")]
    key: Option<PathBuf>,
    /// Replace names by codes everywhere, and write the key of codes here.
    #[arg(long, value_name = "FILE.csv")]
    codes: Option<PathBuf>,
    /// The order of the benches.
    #[arg(long, value_name = "ORDER", value_enum, default_value_t = Order::Given)]
    sort: Order,
    /// The style file (YAML) of the comparison.
    #[arg(long, value_name = "FILE")]
    style: Option<PathBuf>,
    /// Overwrite files that are not comparisons by Fillmark.
    #[arg(long)]
    force: bool,
}

/// The order of the benches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Order {
    /// As given on the command line.
    Given,
    /// By name.
    Name,
    /// By the day of the work.
    Date,
    /// By the first unknown, the lowest first.
    Result,
}

/// All that is known, for other programs.
#[derive(Serialize)]
struct Document<'r> {
    compared_by: &'static str,
    title: &'r str,
    benches: &'r [Row],
    quantities: &'r [compare::Quantity],
    class: &'r compare::Class,
}

impl Compare {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Result<Ending, CommandError> {
        let (runs, read) = named::runs(&self.runs, Takes::RunsOrReports, terminal)?;
        if runs.is_empty() {
            return Ok(read);
        }
        let mut inputs = Inputs::of_runs(&runs);
        for table in runs.iter().filter_map(NamedRun::table) {
            inputs.add(&table, "a table of runs");
        }
        let style = styled(self.style.as_deref(), &mut inputs)?;
        let output = self.output();
        self.free(&output, &inputs)?;
        let (mut rows, title, word) = reduced(&runs);
        if rows.iter().all(|row| row.found.is_none()) {
            tell_wrong(&rows, terminal);
            let line = "no run can be compared; nothing is written";
            return Err(CommandError::new(Ending::Problems, line));
        }
        let class = judged(&mut rows, &runs);
        // Of thousands of runs, their texts and what they handed to their class weigh as much as the pages to come.
        drop(runs);
        for found in rows.iter_mut().filter_map(|row| row.found.as_mut()) {
            found.traces = Traces::default();
        }
        let key_run = self.key_run()?;
        let known = self.known(key_run.as_ref(), &rows)?;
        if let Some(points) = key_run.as_ref().and_then(|key| key.file.points.as_ref()) {
            for row in &mut rows {
                row.earn(points);
            }
        }
        // Coded first, so that the order as given tells nothing.
        let key = self.codes.as_ref().map(|_| coded(&mut rows));
        self.sort(&mut rows);
        let group = Group {
            class,
            ..Group::new(&rows, &known)
        };
        let templates = Templates::comparison();
        let made = compare::manuscript(&title, &rows, &group, &templates).and_then(|manuscript| {
            let made_from = format!("{COMPARISON}{word}");
            pipeline::set(manuscript, Vec::new(), &style, &made_from)
        });
        let (pdf, _) = made.map_err(|problems| {
            CommandError::new(Ending::Problems, "no comparison is made")
                .with(problems, templates.sources())
        })?;
        let document = Document {
            compared_by: concat!("Fillmark ", env!("CARGO_PKG_VERSION")),
            title: &title,
            benches: &rows,
            quantities: &group.quantities,
            class: &group.class,
        };
        let json = match &self.results {
            Some(_) => serde_json::to_string_pretty(&document).map_err(|error| {
                let line = format!("the results cannot be written as JSON: {error}");
                CommandError::new(Ending::Machine, line)
            })?,
            None => String::new(),
        };
        let table = match &self.table {
            Some(_) => compare::table(&rows, &group),
            None => String::new(),
        };
        let texts = [
            (&self.table, table),
            (&self.results, json + "\n"),
            (&self.codes, key.unwrap_or_default()),
        ];
        let others = texts.iter();
        let others = others.filter_map(|(path, text)| Some((path.as_deref()?, text.as_bytes())));
        let all: Vec<(&Path, &[u8])> = others.chain([(&*output, &*pdf)]).collect();
        for (path, _) in &all {
            files::clear(files::folder_of(path));
        }
        outputs::write(all)?;
        self.tell(&rows, &group, &output, terminal);
        let wrong = rows.iter().any(|row| row.found.is_none());
        Ok(read.max(if wrong {
            Ending::Problems
        } else {
            Ending::Done
        }))
    }

    fn output(&self) -> PathBuf {
        match (&self.pdf, self.runs.as_slice()) {
            (Some(pdf), _) => pdf.clone(),
            (None, [folder]) if folder.is_dir() => folder.join("comparison.pdf"),
            (None, [file]) => file.with_extension("comparison.pdf"),
            _ => PathBuf::from("comparison.pdf"),
        }
    }

    /// Refuses outputs that are inputs, that are one another, or that are not comparisons of Fillmark's.
    fn free(&self, output: &Path, inputs: &Inputs) -> Result<(), CommandError> {
        let is_pdf =
            |bytes: &[u8]| pdf::made_from(bytes).is_some_and(|said| said.starts_with(COMPARISON));
        let is_table = |bytes: &[u8]| bytes.starts_with(compare::BEGINNING.as_bytes());
        let is_json = |bytes: &[u8]| bytes.starts_with(RESULTS);
        let is_key = |bytes: &[u8]| bytes.starts_with(CODES.as_bytes());
        let others = [&self.table, &self.results, &self.codes]
            .into_iter()
            .flatten();
        let all = others.map(PathBuf::as_path).chain([output]);
        outputs::apart(all.map(|path| (path, path)), &[inputs])?;
        outputs::free(output, is_pdf, self.force)?;
        let free = |path: &Option<PathBuf>, is_ours: &dyn Fn(&[u8]) -> bool| {
            let path = path.as_deref();
            path.map_or(Ok(()), |path| outputs::free(path, is_ours, self.force))
        };
        free(&self.table, &is_table)?;
        free(&self.results, &is_json)?;
        free(&self.codes, &is_key)
    }

    /// Returns the run that is the key, if one is named.
    fn key_run(&self) -> Result<Option<Run>, CommandError> {
        let Some(path) = &self.key else {
            return Ok(None);
        };
        let key = previous_report::read(path).map_err(|why| {
            CommandError::new(Ending::Problems, format!("`{}` {why}", path.display()))
        })?;
        Ok(Some(key.run))
    }

    /// Returns what the key says of the unknowns of all runs, in their unit.
    fn known(
        &self,
        key: Option<&Run>,
        rows: &[Row],
    ) -> Result<BTreeMap<String, Measured>, CommandError> {
        let (Some(path), Some(key)) = (&self.key, key) else {
            return Ok(BTreeMap::new());
        };
        let results = &key.results;
        let all = || results.solutions.iter().chain(&results.unknowns);
        let mut known = BTreeMap::new();
        let answers = rows.iter().filter_map(|row| row.found.as_ref());
        for answer in answers.flat_map(|found| &found.answers) {
            let solution = all().find(|(name, _)| *name == answer.name);
            let stated = solution.and_then(|(_, solution)| composition_on(answer.scale, solution));
            if let Some(measured) = stated {
                known.insert(answer.name.clone(), measured);
            }
        }
        if known.is_empty() && key.file.points.is_none() {
            let message = format!(
                "`{}` has no solution that is an unknown of these runs",
                path.display()
            );
            return Err(CommandError::new(Ending::Problems, message));
        }
        Ok(known)
    }

    fn sort(&self, rows: &mut [Row]) {
        match self.sort {
            Order::Given => {}
            Order::Name => rows.sort_by(|a, b| a.name.cmp(&b.name)),
            Order::Date => rows.sort_by_key(|row| row.date),
            Order::Result => {
                let result = |row: &Row| {
                    let answer = row.found.as_ref().and_then(|found| found.answers.first());
                    answer.map_or(f64::INFINITY, |answer| answer.measured.value)
                };
                rows.sort_by(|a, b| result(a).total_cmp(&result(b)));
            }
        }
    }

    fn tell(&self, rows: &[Row], group: &Group, output: &Path, terminal: &mut Terminal) {
        tell_wrong(rows, terminal);
        for quantity in group
            .quantities
            .iter()
            .filter(|quantity| quantity.is_answer)
        {
            if let Some(robust) = quantity.robust {
                let mean = compare::with_uncertainty(robust.mean, 2.0 * robust.uncertainty());
                terminal.say(&format!(
                    "{}: {} {mean} {} (robust mean of {} benches, k = 2)",
                    quantity.solution, quantity.name, quantity.unit, quantity.count
                ));
            }
            for (row, score) in &quantity.scores {
                if let Some(z) = score.z.filter(|z| z.abs() > 2.0) {
                    let name = &rows[*row].name;
                    terminal.say(&format!(
                        "{name}: {} of {}, z = {z:+.1}",
                        quantity.name, quantity.solution
                    ));
                }
            }
        }
        for row in rows {
            if let Some(apart) = row.found.as_ref().and_then(|found| found.apart.as_ref()) {
                terminal.say(&format!(
                    "{}: stands apart from the class: {} ({:.1} standard deviations)",
                    row.name,
                    apart.words,
                    apart.deviations.abs()
                ));
            }
        }
        let all = [
            Some(output),
            self.table.as_deref(),
            self.results.as_deref(),
            self.codes.as_deref(),
        ];
        for path in all.into_iter().flatten() {
            terminal.say(&format!("comparison: {}", path.display()));
        }
    }
}

/// Tells the first error of each run that has errors.
fn tell_wrong(rows: &[Row], terminal: &mut Terminal) {
    for row in rows.iter().filter(|row| row.found.is_none()) {
        let problem = row.problem.as_deref().unwrap_or_default();
        terminal.complain(&format!("{}: {problem}", row.name));
    }
}

/// Returns the composition of a solution on a scale: the known one, or the one that was found.
fn composition_on(scale: Scale, solution: &SolutionStated) -> Option<Measured> {
    let key = scale.key();
    let known = solution.known.iter().find(|known| known.quantity == key);
    let known = known.map(|known| &known.known);
    known
        .or(solution.composition.on(scale))
        .map(Measured::from_stated)
}

/// Returns every run as a row, on all cores; the title that they have in common, and a word for what they were read from.
fn reduced(runs: &[NamedRun]) -> (Vec<Row>, String, String) {
    let mut rows = Vec::new();
    let (mut titles, mut words) = (BTreeSet::new(), String::new());
    for (row, title, word) in make_each(processors(), runs.iter(), row) {
        if row.found.is_some() {
            titles.insert(title);
        }
        words += &word;
        rows.push(row);
    }
    let title = titles.pop_first().filter(|_| titles.is_empty());
    let title = title.unwrap_or_else(|| "Comparison".to_owned());
    (rows, title, word_of(words.as_bytes()))
}

/// Returns a run as a row, its title, and a word for what it was read from.
fn row(named: &NamedRun) -> (Row, String, String) {
    let name = named.bench();
    let found = with_run(named, |run, word| {
        let row = Row::new(
            name.clone(),
            &run.file,
            &run.reduction,
            &run.results,
            &run.flags,
            &run.claims,
        );
        (row, run.file.title.value.clone(), word)
    });
    found.unwrap_or_else(|problems| (Row::wrong(name.clone(), &problems), String::new(), name))
}

/// Judges the benches by each other; `runs` are where the rows came from.
fn judged(rows: &mut [Row], runs: &[NamedRun]) -> compare::Class {
    compare::judge(rows, &mut |class, suspects| {
        make_each(processors(), suspects.iter(), |suspect| {
            let slips = with_run(&runs[suspect.row], |run, _| {
                let liquids = &suspect.liquids;
                let slips = slips_in_class(&run.file, &run.reduction, &run.results, class, liquids);
                compare::slips_in_words(&run.file, &run.reduction, &slips)
            });
            // What could be read a moment ago and cannot now has no slips to look for.
            slips.unwrap_or_default()
        })
    })
}

/// Returns what is made of a run, and of a word for what it was read from.
fn with_run<T>(named: &NamedRun, make: impl FnOnce(&Run, String) -> T) -> Result<T, Vec<Problem>> {
    let path = named.path();
    if path.extension().is_some_and(|ending| ending == "pdf") {
        let report = previous_report::read(path).map_err(|why| {
            let said = format!("`{}` {why}", path.display());
            vec![Code::FileNotRead.error(said)]
        })?;
        let word = word_of(format!("{:?}", report.run.file.entries).as_bytes());
        return Ok(make(&report.run, word));
    }
    let bytes = named.read().map_err(|problem| vec![problem])?;
    match named.reduced(&bytes) {
        (Some(run), ..) => Ok(make(&run, word_of(&bytes))),
        (None, problems, _) => Err(problems),
    }
}

/// Puts codes in place of names, and rows in the order of their codes; the key of codes. Codes follow the digests of the
/// names, so that their order tells nothing.
fn coded(rows: &mut [Row]) -> String {
    rows.sort_by_cached_key(|row| word_of(format!("{} {}", row.name, row.analysts).as_bytes()));
    let width = rows.len().to_string().len();
    let mut key = CODES.to_owned();
    for (number, row) in rows.iter_mut().enumerate() {
        let code = format!("K{:0width$}", number + 1);
        let analysts = std::mem::take(&mut row.analysts);
        let name = std::mem::replace(&mut row.name, code.clone());
        key += &format!(
            "{code},{},{}\n",
            compare::cell(&name),
            compare::cell(&analysts)
        );
        if let Some(problem) = &mut row.problem {
            // Where it stands may tell who it is.
            "has errors".clone_into(problem);
        }
    }
    key
}
