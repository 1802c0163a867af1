//! The whole road from a run file's bytes to a report's bytes, in memory.
//!
//! A report carries the run file, the files beside it and the results: what its numbers are made from. It carries neither
//! photographs, which are large and change no number, nor style file and logo, which change only how it looks.

mod photos;
mod reported;
mod results_file;

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::bench::claims::{self, Judged};
use crate::bench::fit::Model;
use crate::bench::practice::{Flag, flags, flags_of_unreduced, unmatched_acknowledgements};
use crate::bench::quantity::rounding;
use crate::bench::reduce::monte_carlo::{CheckStated, MonteCarloStated};
use crate::bench::reduce::results::{Results, SolutionStated};
use crate::bench::reduce::{Reduction, reduce};
use crate::bench::revision::{Changes, Record, State};
use crate::bench::runfile::benches::Bench;
use crate::bench::runfile::model::{Holds, RunFile, Scale};
use crate::bench::runfile::{self, FileLoader, is_plain_name};
use crate::print::layout;
use crate::print::manuscript::{Manuscript, Photo};
use crate::print::page::{Attachment, Carried};
use crate::print::pdf;
use crate::print::picture::Room;
use crate::print::typeface::Typefaces;
use crate::problem::{Code, Problem, Sources, sort_from};
use crate::report::{self, Material, manuscript, templates::Templates};

pub use reported::ReportedRun;
pub(super) use results_file::{is_results, results_made_from};

/// A run, read and reduced.
#[derive(Debug)]
pub struct Run {
    /// What the run file says.
    pub file: RunFile,
    /// Its photographs, as the style that is used unless another is asked for prints them.
    pub photos: Vec<Photo>,
    /// The run, reduced.
    pub reduction: Reduction,
    /// Its results.
    pub results: Results,
    /// What asks for a second look.
    pub flags: Vec<Flag>,
    /// Results calculated by hand, judged.
    pub claims: Vec<Judged>,
    /// The Monte Carlo check, once one is done.
    pub monte_carlo: Option<MonteCarloStated>,
    /// The issues of the report, this one included, where there was one before.
    pub record: Record,
}

/// The largest report written or read, bytes.
pub(super) const LARGEST_REPORT: u64 = 256_000_000;
/// The most that a report carries, unpacked, bytes; all that it is made from fits well into it.
pub(super) const LARGEST_CARRIED: usize = 64_000_000;
/// The name under which a report carries the record of its issues.
pub(super) const RECORD: &str = "record_of_issues.json";

/// Reads and reduces a run file that stands alone: as [`read_beside`], with no other file there.
pub fn read(name: &str, bytes: &[u8]) -> (Option<Run>, Vec<Problem>) {
    let (run, problems, _) = read_beside(name, bytes, &BTreeMap::new());
    (run, problems)
}

/// Reads and reduces a run file and the files that it names; `name` is the file as the user named it. Problems come in the
/// order of their places, those of the run file first; the run is there when none of them is an error. The texts of
/// all files that were read show the lines of problems.
pub fn read_beside<'b>(
    name: &str,
    bytes: &'b [u8],
    beside: &dyn FileLoader,
) -> (Option<Run>, Vec<Problem>, Sources<'b>) {
    let reading = runfile::read_beside(name, bytes, beside);
    reduced(name, String::from_utf8_lossy(bytes), reading)
}

/// Returns the same of a bench of a table of runs, with or without the section `known` of its run file.
pub fn read_bench<'b>(
    name: &str,
    bench: &'b Bench,
    without_known: bool,
    beside: &dyn FileLoader,
) -> (Option<Run>, Vec<Problem>, Sources<'b>) {
    let reading = bench.read(without_known, beside);
    reduced(name, bench.common_text().into(), reading)
}

fn reduced<'b>(
    name: &str,
    text: Cow<'b, str>,
    reading: runfile::Reading,
) -> (Option<Run>, Vec<Problem>, Sources<'b>) {
    let sources = Sources::new(name, text);
    let sources = reading.beside.iter().fold(sources, |sources, beside| {
        let text = String::from_utf8_lossy(&beside.bytes).into_owned();
        sources.with(&*beside.file, text)
    });
    let mut problems = reading.problems;
    // The photographs are judged whether the run can be read or not: all that is wrong is told at once.
    let room = room(&layout::Style::default());
    let (pictures, of_photos) = photos::pictures(&reading.photos, room);
    let all_sound = of_photos.is_empty();
    problems.extend(of_photos);
    let run = reading.run.and_then(|file| match reduce(&file) {
        Ok(reduction) => {
            let results = Results::new(&file, &reduction);
            let flags = flags(&file, &reduction, &results);
            problems.extend(unmatched_acknowledgements(&file, &flags));
            let photos = photos::show(&file, &pictures);
            let claims = claims::judge(&file, &reduction, &results);
            Some(Run {
                file,
                photos,
                reduction,
                results,
                flags,
                claims,
                monte_carlo: None,
                record: Record::default(),
            })
        }
        Err(more) => {
            problems.extend(more);
            let beside = flags_of_unreduced(&file).into_iter();
            problems.extend(beside.map(|flag| {
                let span = file.span_of(&flag.entry).cloned();
                flag.code
                    .code()
                    .warning(flag.message.to_string())
                    .at(flag.entry, span)
            }));
            None
        }
    });
    sort_from(&mut problems, name);
    let run = run.filter(|_| all_sound);
    (run, problems, sources)
}

impl Run {
    /// Checks the main results by a Monte Carlo run of so many draws, for report and results file to state; where it does
    /// not confirm an answer's interval, its own interval replaces it.
    pub fn check_by_monte_carlo(&mut self, draws: usize) {
        let check =
            MonteCarloStated::check(&self.file, &self.reduction, &self.results, draws, None);
        if let Some(against) = self.reduction.against() {
            check.replace_unconfirmed(against, &mut self.results);
        }
        self.monte_carlo = Some(check);
    }

    /// Returns what the report is made from; `text` is the run file's.
    pub fn material<'a>(&'a self, text: &'a str) -> Material<'a> {
        Material {
            run: &self.file,
            text,
            reduction: &self.reduction,
            results: &self.results,
            flags: &self.flags,
            claims: &self.claims,
            monte_carlo: self.monte_carlo.as_ref(),
            photos: &self.photos,
            record: &self.record,
        }
    }

    /// Returns what this run has other than an earlier one.
    pub fn changes_since(&self, earlier: &Self) -> Changes {
        Changes::between(&earlier.state(), &self.state())
    }

    fn state(&self) -> State<'_> {
        reported::state(&self.file, &self.results, &self.flags)
    }

    /// Returns the report in the style that is used unless another is asked for: see [`Run::report_in`].
    ///
    /// # Errors
    /// Every problem of templates and layout.
    pub fn report(
        &self,
        bytes: &[u8],
        templates: &Templates,
    ) -> Result<(Vec<u8>, Vec<Problem>), Vec<Problem>> {
        self.report_in(bytes, templates, &layout::Style::default(), "")
    }

    /// Returns the report: the bytes of its PDF, and warnings met on the way. `bytes` is the run file, which it carries
    /// with the files beside it and the results; `made_from` is a word of letters and digits that the file says near
    /// its beginning, empty for none.
    ///
    /// # Errors
    /// Every problem of templates and layout.
    pub fn report_in(
        &self,
        bytes: &[u8],
        templates: &Templates,
        style: &layout::Style,
        made_from: &str,
    ) -> Result<(Vec<u8>, Vec<Problem>), Vec<Problem>> {
        let manuscript = self.manuscript_in(bytes, templates, style)?;
        let attachments = self.attachments(bytes, made_from)?;
        set(manuscript, attachments, style, made_from)
    }

    /// Returns what the report says; `bytes` is the run file.
    ///
    /// # Errors
    /// Every problem of the templates.
    pub fn manuscript_in(
        &self,
        bytes: &[u8],
        templates: &Templates,
        style: &layout::Style,
    ) -> Result<Manuscript, Vec<Problem>> {
        let text = String::from_utf8_lossy(bytes);
        let photos = self.photos_in(style)?;
        let material = Material {
            photos: &photos,
            ..self.material(&text)
        };
        manuscript(&material, templates)
    }

    /// Returns the files that the report carries: see [`Run::report_in`].
    ///
    /// # Errors
    /// A problem, where they are too large, or a result is no finite number.
    pub fn attachments(
        &self,
        bytes: &[u8],
        made_from: &str,
    ) -> Result<Vec<Attachment>, Vec<Problem>> {
        let unwritten = |error| vec![results_file::not_written(&error)];
        let packed = |bytes| pdf::packed(|out| out.write_all(bytes)).map_err(unwritten);
        let name = self.file.file_name();
        let run_file = carried_as(name);
        let mut attachments = vec![Attachment {
            name: run_file.clone(),
            kind: Carried::RunFile,
            description: "The run file that this report was made from".into(),
            content: packed(bytes)?,
        }];
        for file in &self.file.beside {
            let (kind, description) = match file.holds {
                Holds::Weighings => (
                    Carried::Table,
                    format!("The readings that {name} takes from {}", file.path),
                ),
                Holds::Calibration => (
                    Carried::Data,
                    format!(
                        "The earlier results whose calibration is used, {}",
                        file.path
                    ),
                ),
            };
            attachments.push(Attachment {
                name: attached_as(&file.path, &run_file),
                kind,
                description,
                content: packed(&file.bytes)?,
            });
        }
        if let Some(record) = self.record.json().filter(|_| !self.record.is_empty()) {
            attachments.push(Attachment {
                name: RECORD.into(),
                kind: Carried::Data,
                description: "The changes in each issue of this report".into(),
                content: packed(record.as_bytes())?,
            });
        }
        let results = pdf::packed(|out| self.write_results(made_from, out));
        attachments.push(Attachment {
            name: results_name(&run_file, &attachments),
            kind: Carried::Data,
            description: "The results, unrounded, for other programs".into(),
            content: results.map_err(unwritten)?,
        });
        let carried = attachments.iter().map(|file| file.content.length);
        if carried.sum::<usize>() > LARGEST_CARRIED {
            return Err(vec![too_much(
                "the files that it carries",
                LARGEST_CARRIED as u64,
            )]);
        }
        Ok(attachments)
    }

    /// Returns the photographs as a style prints them.
    fn photos_in(&self, style: &layout::Style) -> Result<Cow<'_, [Photo]>, Vec<Problem>> {
        let room = room(style);
        if self.photos.is_empty() || room == self::room(&layout::Style::default()) {
            return Ok(Cow::Borrowed(&self.photos));
        }
        let (pictures, problems) = photos::pictures(&self.file.photos, room);
        if problems.is_empty() {
            Ok(Cow::Owned(photos::show(&self.file, &pictures)))
        } else {
            Err(problems)
        }
    }

    /// Returns the answer in a line for each unknown, with what speaks against it; of a run without unknowns, a line
    /// for each solution with a result, up to [`MOST_ANSWERS`].
    pub fn headlines(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if let Some(scale) = self.reduction.against() {
            let label = scale.label();
            for (name, solution) in &self.results.unknowns {
                if let Some(stated) = solution.composition.on(scale) {
                    let rounded = stated.rounded.as_ref();
                    let by = if stated.monte_carlo_interval.is_some() {
                        "interval by Monte Carlo".to_owned()
                    } else if rounded.is_some_and(|rounded| rounded.uncertainty().is_none()) {
                        "uncertainty below half a unit of the last digit".to_owned()
                    } else {
                        format!("k = {:.2}", stated.coverage_factor)
                    };
                    let mut line =
                        format!("{name}: {label} {} {} ({by})", stated.shown, stated.unit);
                    for verdict in verdicts(solution) {
                        line.push_str("; ");
                        line.push_str(&verdict);
                    }
                    for doubt in self.doubts(scale, name, solution) {
                        line.push_str("; ");
                        line.push_str(&doubt);
                    }
                    lines.push(line);
                }
            }
        }
        if lines.is_empty() {
            let all = self.results.solutions.iter().chain(&self.results.unknowns);
            let mut all = all.filter_map(|(name, solution)| self.answer(name, solution));
            lines.extend(all.by_ref().take(MOST_ANSWERS));
            match all.count() {
                0 => {}
                1 => lines.push("and 1 more solution".into()),
                more => lines.push(format!("and {more} more solutions")),
            }
        }
        if lines.is_empty() {
            lines.push("no result".into());
        }
        if !self.claims.is_empty() {
            lines.push(report::claims::summary(&self.claims));
        }
        lines
    }

    /// Returns a solution's density and composition, and how far the density is from the published one; `None` if it
    /// has neither.
    fn answer(&self, name: &str, solution: &SolutionStated) -> Option<String> {
        let composition = &solution.composition;
        let results = [
            ("density", &solution.density),
            ("mass percent", &composition.mass_percent),
            ("mass concentration", &composition.mass_concentration),
        ];
        let results = results.into_iter().filter_map(|(of, stated)| {
            let stated = stated.as_ref()?;
            Some(format!("{of} {} {}", stated.shown, stated.unit))
        });
        let mut parts: Vec<String> = results.collect();
        let mut compared = self.results.comparison.iter();
        if let Some((_, comparison)) = compared.find(|(other, _)| other == name) {
            parts.push(format!(
                "published density {} {}, difference {}",
                comparison.published.shown,
                comparison.published.unit,
                comparison.relative.in_percent()
            ));
        }
        (!parts.is_empty()).then(|| format!("{name}: {}", parts.join(", ")))
    }

    /// Returns what speaks against an unknown's result on the calibration's scale.
    fn doubts(&self, scale: Scale, name: &str, solution: &SolutionStated) -> Vec<String> {
        let value = solution.composition.on(scale).map(|stated| stated.value);
        let mut doubts = Vec::new();
        let calibration = self.reduction.calibration.as_ref();
        if calibration.is_some_and(|line| line.agreement.is_refused()) {
            doubts.push("not to be relied on: the points do not lie on it".to_owned());
        }
        if let Some(asked) = &solution.by_line_asked_for {
            doubts.push(format!(
                "by a curve, since the points do not lie on the straight line asked for, which gives {} {}",
                asked.shown, asked.unit
            ));
        }
        if let Some(departure) = solution.departure.filter(|departure| !departure.counted) {
            doubts.push(format!(
                "published density departs from the line asked for by {} {} here, which the uncertainty does not include",
                departure.shown(),
                scale.unit()
            ));
        }
        let straight = calibration.is_some_and(|line| line.fitted.model == Model::Straight);
        if straight && solution.fieller.is_none() {
            doubts.push("no finite interval: the slope may be zero".to_owned());
        }
        if value.is_some_and(|x| self.reduction.beyond(x).is_some()) {
            doubts.push("outside the calibrated range".to_owned());
        }
        let key = scale.key();
        let checks = self.monte_carlo.iter().flat_map(|check| &check.results);
        let undefined = |check: &CheckStated| {
            check.name == name && check.quantity == key && check.undefined > 0
        };
        if checks.clone().any(undefined) {
            doubts.push("no interval by Monte Carlo: some draws give no result".to_owned());
        }
        doubts
    }
}

/// Returns the PDF file of a manuscript, which carries some files and says what it is `made_from`, with warnings met on the
/// way. The run is no longer needed: a large one can be freed first.
///
/// # Errors
/// Every problem of layout.
pub fn set(
    manuscript: Manuscript,
    attachments: Vec<Attachment>,
    style: &layout::Style,
    made_from: &str,
) -> Result<(Vec<u8>, Vec<Problem>), Vec<Problem>> {
    let typefaces = Typefaces::shared();
    let mut laid = layout::set(manuscript, typefaces, style).map_err(not_set)?;
    made_from.clone_into(&mut laid.document.about.made_from);
    laid.document.attachments = attachments;
    let pdf = pdf::write(laid.document, typefaces).map_err(not_set)?;
    if pdf.len() as u64 > LARGEST_REPORT {
        return Err(vec![too_much("the report", LARGEST_REPORT)]);
    }
    Ok((pdf, laid.warnings))
}

/// Verdicts, an adjustment and differences from known values of a solution, in words.
fn verdicts(solution: &SolutionStated) -> Vec<String> {
    let limits = solution.limits.iter().map(|judged| {
        let probability = rounding::probability(judged.probability_of_conformity);
        let of = match solution.limits.as_slice() {
            [_] => String::new(),
            _ => format!("{} ", judged.label),
        };
        format!(
            "{of}{} by {} (probability of conformity {probability})",
            judged.verdict, judged.rule
        )
    });
    let adjustment = solution.adjustment.iter().map(|found| {
        let percent = rounding::significant(found.to, 4).unwrap_or_default();
        if found.within_uncertainty {
            format!("may have {percent} % already")
        } else {
            let (amount, add) = (&found.amount.shown, found.add.words());
            format!("for {percent} % add {amount} kg of {add}")
        }
    });
    let known = solution.known.iter().filter_map(|beside| {
        let en = rounding::to_place(beside.en?, -2)?;
        let (difference, unit) = (&beside.difference.shown, beside.difference.unit);
        Some(format!("{difference} {unit} from known value, En = {en}"))
    });
    limits.chain(adjustment).chain(known).collect()
}

/// The most solutions that have a line each where there is no unknown.
const MOST_ANSWERS: usize = 12;

/// Returns the most pixels of a photograph that a style prints.
fn room(style: &layout::Style) -> Room {
    Room::printed(style.photograph())
}

/// The name of a file beside the run file among the attachments: without its folders, of which readers of PDF files make
/// nothing, unless the run file itself is called so.
pub(super) fn attached_as(path: &str, run_file: &str) -> String {
    match path.rsplit('/').next() {
        Some(name) if name != run_file => name.to_owned(),
        _ => {
            let parts: Vec<&str> = path.split('/').filter(|part| *part != ".").collect();
            parts.join("_")
        }
    }
}

/// Returns the name of the run file among the attachments: its own, or where that is hidden or not one that every
/// system gives to files, one like it.
fn carried_as(name: &str) -> String {
    let plain: String = name
        .chars()
        .map(|c| {
            if is_plain_name(&format!("a{c}a")) {
                c
            } else {
                '_'
            }
        })
        .take(60)
        .collect();
    let plain = plain.trim_matches(['.', ' ']);
    let candidates = [name.to_owned(), plain.to_owned(), format!("run_{plain}")];
    let fit = candidates.into_iter().find(|name| is_plain_name(name));
    fit.unwrap_or_else(|| "run.yaml".to_owned())
}

/// Returns a report that could not be read again.
fn too_much(what: &str, limit: u64) -> Problem {
    let limit = limit / 1_000_000;
    Code::ReportTooLarge
        .error(format!(
            "The report could not be read again: {what} would be larger than {limit} MB."
        ))
        .right("fewer or smaller readings, files beside the run file, and photographs")
}

/// Returns the name of the results file among the attachments: that of the run file, ending in `.results.json`.
fn results_name(run_file: &str, others: &[Attachment]) -> String {
    let stem = run_file.rsplit_once('.').map_or(run_file, |(stem, _)| stem);
    let mut name = format!("{stem}.results.json");
    while others.iter().any(|other| other.name == name) {
        name.insert(0, '_');
    }
    name
}

/// Returns a failure of the print side as a problem of no certain place.
pub(super) fn not_set(failure: impl std::fmt::Display) -> Vec<Problem> {
    let headline = format!("the report cannot be laid out: {failure}");
    vec![Code::ReportNotSet.error(headline)]
}
