//! `--watch`: a report is made again whenever a file that it is made from is saved.
//!
//! Files are looked at by name a few times a second. That sees what every editor does, be it that it writes into the
//! file, or puts another in its place, or takes it away for a while, on every kind of disk.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

use super::command_error::CommandError;
use super::previous_report::{self, Earlier};
use super::report_job::{Outcome, Previous, Target, beside};
use super::terminal::Terminal;
use super::{Ending, changes, stop};
use crate::bench::revision::stated_results;
use crate::files::{self, Stamp};
use crate::pipeline::ReportedRun;

/// Between two looks.
const PAUSE: Duration = Duration::from_millis(150);

/// A report that is kept up to date.
struct Watched<'a> {
    order: Target<'a>,
    /// What it is compared with: the report that stood there at the start, or what the command line names. However often
    /// a file is saved, that is one new issue.
    earlier: Option<Earlier>,
    /// The files beside the run file that it is made from.
    beside: Vec<PathBuf>,
    /// The run as it was made last.
    last: Option<ReportedRun>,
    /// What stood on the disk when it was last made.
    stamps: BTreeMap<PathBuf, Option<Stamp>>,
}

/// Makes each report and makes it again, until it is asked to stop. `make` makes one, reading templates and style anew.
pub(super) fn watch(
    orders: &[Target<'_>],
    looks: &[&Path],
    since: Option<&Path>,
    make: impl Fn(&mut Terminal, &Target, Previous) -> Result<Outcome, CommandError>,
    terminal: &mut Terminal,
) -> Ending {
    stop::listen();
    let mut all: Vec<Watched> = orders
        .iter()
        .map(|order| Watched {
            order: *order,
            earlier: match since {
                Some(since) => previous_report::read(since).ok(),
                None => previous_report::last_issue(order.output).ok().flatten(),
            },
            beside: Vec::new(),
            last: None,
            stamps: BTreeMap::new(),
        })
        .collect();
    terminal.say("watching; Ctrl-C ends it");
    while !stop::is_asked() {
        for kept in &mut all {
            kept.look(looks, &make, terminal);
        }
        thread::sleep(PAUSE);
    }
    Ending::Done
}

impl Watched<'_> {
    /// Makes the report, if a file has changed since it was made, and has stopped changing.
    fn look(
        &mut self,
        looks: &[&Path],
        make: &impl Fn(&mut Terminal, &Target, Previous) -> Result<Outcome, CommandError>,
        terminal: &mut Terminal,
    ) {
        let now = self.stamps_now(looks);
        if now == self.stamps {
            return;
        }
        // An editor may still be at it: half a file is no file.
        thread::sleep(PAUSE / 3);
        if self.stamps_now(looks) != now {
            return;
        }
        let gone = now.get(self.order.run.path()).is_some_and(Option::is_none);
        if gone {
            if self.stamps.get(self.order.run.path()) != Some(&None) {
                let (run, output) = (self.order.run.shown(), self.order.output.display());
                terminal.say(&format!("{run} no longer exists; {output} is unchanged"));
            }
            self.stamps = now;
            return;
        }
        // Nothing to compare with yet: the first report is a beginning, not a change.
        let before = match &self.earlier {
            None if self.last.is_none() && self.stamps.is_empty() => Previous::AsItStands,
            earlier => Previous::Fixed(earlier.as_ref()),
        };
        match make(terminal, &self.order, before) {
            Ok(made) => self.tell(made, terminal),
            Err(error) => {
                error.tell(terminal);
                self.stays(terminal);
            }
        }
        // As they stood before: a file saved meanwhile is seen at the next look. What the run file names may be others now.
        let others = self.stamps_now(looks);
        self.stamps = others
            .into_iter()
            .map(|(path, stamp)| {
                let before = now.get(&path).cloned().unwrap_or(stamp);
                (path, before)
            })
            .collect();
    }

    /// Says what has changed since the report was last made: every result, and what speaks against it.
    fn tell(&mut self, made: Outcome, terminal: &mut Terminal) {
        if let Some(run) = &made.run {
            let all = beside(self.order.run, &run.file).into_iter();
            self.beside = all.map(|(path, _)| path).collect();
        }
        let Some(run) = made.run.filter(|_| made.ending == Ending::Done) else {
            self.stays(terminal);
            return;
        };
        let output = self.order.output.display();
        let lines = match &self.last {
            Some(last) => changed(last, &run),
            None => run.headlines.clone(),
        };
        match lines.as_slice() {
            [] => terminal.say(&format!("{output}: no result changed")),
            [one] => terminal.say(&format!("{output}: {one}")),
            several => {
                terminal.say(&format!("{output}:"));
                for line in several {
                    terminal.say(&format!("  {line}"));
                }
            }
        }
        self.last = Some(run);
    }

    fn stays(&self, terminal: &mut Terminal) {
        if self.order.output.exists() {
            let output = self.order.output.display();
            terminal.say(&format!("{output} is unchanged"));
        }
    }

    /// Returns everything the report is made from, as it stands on the disk.
    fn stamps_now(&self, looks: &[&Path]) -> BTreeMap<PathBuf, Option<Stamp>> {
        let own = [self.order.run.path()]
            .into_iter()
            .chain(looks.iter().copied());
        let own = own.map(Path::to_path_buf);
        own.chain(self.beside.iter().cloned())
            .map(|path| (path.clone(), files::stamp(&path)))
            .collect()
    }
}

/// Returns what differs between two states of a run, in lines: results, flags, and what speaks against an answer.
fn changed(was: &ReportedRun, now: &ReportedRun) -> Vec<String> {
    let changes = now.changes_since(was);
    let mut lines: Vec<String> = changes.results.iter().map(changes::result).collect();
    let results = |run: &ReportedRun| -> BTreeMap<(String, &'static str), String> {
        stated_results(&run.results)
            .map(|((solution, of), stated)| {
                let shown = format!("{} {}", stated.shown, stated.unit);
                ((solution.to_owned(), of), shown)
            })
            .collect()
    };
    let (before, after) = (results(was), results(now));
    for ((solution, of), shown) in &after {
        if !before.contains_key(&(solution.clone(), of)) {
            lines.push(format!("new: {of} of {solution}, {shown}"));
        }
    }
    for (solution, of) in before.keys() {
        if !after.contains_key(&(solution.clone(), of)) {
            lines.push(format!("no longer known: {of} of {solution}"));
        }
    }
    if lines.is_empty() && was.headlines != now.headlines {
        lines.extend(now.headlines.iter().cloned());
    }
    lines.extend(changes::flags(&changes));
    lines
}
