//! What is kept of a run once its report no longer needs it.

use super::Run;
use crate::bench::practice::Flag;
use crate::bench::reduce::results::Results;
use crate::bench::revision::{Changes, FlagAt, Record, State};
use crate::bench::runfile::model::RunFile;

/// A run without what only its report needs, above all its worksheet.
#[derive(Debug)]
pub struct ReportedRun {
    /// What the run file says.
    pub file: RunFile,
    /// Its results.
    pub results: Results,
    /// What asks for a second look.
    pub flags: Vec<Flag>,
    /// The issues of the report.
    pub record: Record,
    /// See [`Run::headlines`].
    pub headlines: Vec<String>,
}

impl From<Run> for ReportedRun {
    fn from(run: Run) -> Self {
        Self {
            headlines: run.headlines(),
            file: run.file,
            results: run.results,
            flags: run.flags,
            record: run.record,
        }
    }
}

impl ReportedRun {
    /// Returns what this run has other than an earlier one.
    pub fn changes_since(&self, earlier: &Self) -> Changes {
        Changes::between(&earlier.state(), &self.state())
    }

    fn state(&self) -> State<'_> {
        state(&self.file, &self.results, &self.flags)
    }
}

/// Returns a run as it is compared with another.
pub(super) fn state<'a>(run: &'a RunFile, results: &'a Results, flags: &[Flag]) -> State<'a> {
    let flags = flags.iter().map(|flag| FlagAt {
        flag: flag.code.word().to_owned(),
        entry: flag.entry.clone(),
    });
    State {
        run,
        results,
        flags: flags.collect(),
    }
}
