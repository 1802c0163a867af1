//! Many reports at once, on all cores; one that fails does not stop the others.

use std::io::IsTerminal;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::report_job::{Outcome, Previous, ReportJob, Target};
use super::results::{Entry, Table};
use super::terminal::Terminal;
use super::{Ending, stop};
use crate::threads::processors;

/// Work that takes less than this needs no bar.
const SOON: Duration = Duration::from_secs(1);

/// The longest result in the summary, in characters.
const LONGEST: usize = 100;

/// What became of a run.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Status {
    Made,
    Unchanged,
    HasProblems,
    NotWritten,
}

impl Status {
    fn word(self) -> &'static str {
        match self {
            Self::Made => "made",
            Self::Unchanged => "unchanged",
            Self::HasProblems => "has problems",
            Self::NotWritten => "not written",
        }
    }
}

/// A line of the summary.
struct Row {
    name: String,
    outcome: Status,
    result: String,
    /// What the table of results has of it, if there is one.
    entry: Option<Entry>,
}

/// Makes all of them, tells what was wrong with each in their order, and a summary at the end; the results go into the
/// table.
pub(super) fn make(
    making: &ReportJob,
    orders: &[Target],
    table: &mut Table,
    terminal: &mut Terminal,
) -> Ending {
    stop::listen();
    let next = AtomicUsize::new(0);
    let (sender, receiver) = mpsc::channel();
    let mut told: Vec<Option<(Ending, Row)>> = Vec::new();
    told.resize_with(orders.len(), || None);
    thread::scope(|scope| {
        let worker = || {
            let (sender, next) = (sender.clone(), &next);
            let pattern = terminal.keeping();
            move || {
                while let Some((index, order)) = taken(next, orders) {
                    let mut kept = pattern.keeping();
                    let made = making.make(order, Previous::AsItStands, &mut kept);
                    // All that is left of a run is its line: memory does not grow with their number.
                    let row = row(order, &made, making.table.is_some());
                    if sender.send((index, made.ending, row, kept)).is_err() {
                        break;
                    }
                }
            }
        };
        let begun = (0..processors().min(orders.len()))
            .flat_map(|_| thread::Builder::new().spawn_scoped(scope, worker()));
        if begun.count() == 0 {
            // A machine that gives no thread leaves this one.
            worker()();
        }
        drop(sender);
        let mut bar = Bar::new(orders.len(), terminal);
        let mut waiting = Vec::new();
        waiting.resize_with(orders.len(), || None);
        let mut first = 0;
        loop {
            match receiver.recv_timeout(SOON) {
                Ok((index, ending, row, kept)) => {
                    told[index] = Some((ending, row));
                    waiting[index] = Some(kept);
                    bar.advance();
                }
                Err(mpsc::RecvTimeoutError::Timeout) => bar.show(),
                Err(mpsc::RecvTimeoutError::Disconnected) => break,
            }
            while let Some(kept) = waiting.get_mut(first).and_then(Option::take) {
                bar.0.suspend(|| terminal.tell(kept));
                first += 1;
            }
        }
        for kept in waiting.into_iter().flatten() {
            terminal.tell(kept);
        }
        bar.0.finish_and_clear();
    });
    let entries = told
        .iter()
        .flatten()
        .filter_map(|(_, row)| row.entry.as_ref());
    entries.for_each(|entry| table.add(entry));
    summary(&told, terminal)
}

/// Returns the next order, unless it was asked to stop.
fn taken<'o>(next: &AtomicUsize, orders: &'o [Target]) -> Option<(usize, &'o Target<'o>)> {
    if stop::is_asked() {
        return None;
    }
    let index = next.fetch_add(1, Ordering::Relaxed);
    orders.get(index).map(|order| (index, order))
}

/// The bar on a terminal, once the work takes long enough for one.
struct Bar(ProgressBar);

impl Bar {
    fn new(count: usize, terminal: &Terminal) -> Self {
        let bar = ProgressBar::with_draw_target(Some(count as u64), ProgressDrawTarget::hidden());
        if let Ok(style) = ProgressStyle::with_template("{pos} of {len} reports {wide_bar} {eta}") {
            bar.set_style(style);
        }
        if terminal.is_quiet() || !std::io::stderr().is_terminal() {
            bar.finish_and_clear();
        }
        Self(bar)
    }

    fn advance(&mut self) {
        self.0.inc(1);
        if self.0.elapsed() >= SOON {
            self.show();
        }
    }

    fn show(&mut self) {
        if self.0.is_hidden() && !self.0.is_finished() {
            self.0.set_draw_target(ProgressDrawTarget::stderr());
        }
    }
}

fn row(order: &Target, made: &Outcome, tabled: bool) -> Row {
    let outcome = match made.ending {
        Ending::Done if made.unchanged => Status::Unchanged,
        Ending::Done => Status::Made,
        Ending::Problems => Status::HasProblems,
        Ending::Usage | Ending::Machine => Status::NotWritten,
    };
    let run = made.run.as_ref().filter(|_| made.ending == Ending::Done);
    let mut result = run.map_or_else(String::new, |run| {
        let flags = match run.flags.len() {
            0 => String::new(),
            1 => "; 1 flag".to_owned(),
            n => format!("; {n} flags"),
        };
        run.headlines.join(", ") + &flags
    });
    if result.chars().count() > LONGEST {
        result = result.chars().take(LONGEST - 1).collect::<String>() + "…";
    }
    Row {
        name: order.run.shown(),
        outcome,
        result,
        entry: tabled.then(|| Entry::new(order, made)),
    }
}

/// Returns a line for each run, and how many there are of each sort.
fn summary(told: &[Option<(Ending, Row)>], terminal: &mut Terminal) -> Ending {
    let widest = |of: &dyn Fn(&Row) -> usize| {
        let all = told.iter().flatten().map(|(_, row)| of(row));
        all.max().unwrap_or(0)
    };
    let name_width = widest(&|row| row.name.chars().count());
    let outcome_width = widest(&|row| row.outcome.word().len());
    for (_, row) in told.iter().flatten() {
        let line = format!(
            "{:name_width$}  {:outcome_width$}  {}",
            row.name,
            row.outcome.word(),
            row.result
        );
        terminal.say(line.trim_end());
    }
    let count = |outcome| {
        let all = told.iter().flatten();
        all.filter(|(_, row)| row.outcome == outcome).count()
    };
    let (made, unchanged) = (count(Status::Made), count(Status::Unchanged));
    let failed = told.iter().flatten().count() - made - unchanged;
    terminal.say(&format!(
        "{made} made, {unchanged} unchanged, {failed} failed"
    ));
    let endings = told.iter().flatten().map(|(ending, _)| *ending);
    let ending = endings.max().unwrap_or(Ending::Done);
    let not_begun = told.iter().filter(|row| row.is_none()).count();
    if not_begun > 0 {
        terminal.complain(&format!("stopped: {not_begun} not begun, none incomplete"));
        return ending.max(Ending::Problems);
    }
    ending
}
