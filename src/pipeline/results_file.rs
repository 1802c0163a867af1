//! The results file: all results of a run as JSON, for other programs and later runs.

use std::io::{self, Write};

use serde::Serialize;

use super::Run;
use crate::bench::claims::Judged;
use crate::bench::practice::Flag;
use crate::bench::reduce::monte_carlo::MonteCarloStated;
use crate::bench::reduce::results::Results;
use crate::problem::{Code, Problem};

/// Who writes results.
const WRITTEN_BY: &str = concat!("Fillmark ", env!("CARGO_PKG_VERSION"));

/// Returns whether a file's beginning is that of a results file written here, of whatever version.
pub(crate) fn is_results(bytes: &[u8]) -> bool {
    bytes.starts_with(b"{\n  \"written_by\": \"Fillmark ")
}

/// Returns what whole results say that they were made from.
pub(crate) fn results_made_from(bytes: &[u8]) -> Option<String> {
    #[derive(serde::Deserialize)]
    struct Said {
        made_from: String,
    }
    let said: Said = serde_json::from_slice(bytes).ok()?;
    is_results(bytes).then_some(said.made_from)
}

/// What the results file holds.
#[derive(Serialize)]
struct ResultsFile<'a> {
    /// Who wrote it: by this it is known as ours.
    written_by: &'static str,
    /// What it was made from, as one word.
    #[serde(skip_serializing_if = "str::is_empty")]
    made_from: &'a str,
    /// The name of the run file.
    file: &'a str,
    title: &'a str,
    /// Year, month and day.
    date: String,
    analysts: &'a [String],
    solute: &'a str,
    #[serde(flatten)]
    results: &'a Results,
    flags: &'a [Flag],
    #[serde(skip_serializing_if = "<[Judged]>::is_empty")]
    claims: &'a [Judged],
    #[serde(skip_serializing_if = "Option::is_none")]
    monte_carlo: Option<&'a MonteCarloStated>,
}

impl Run {
    /// Returns the results file: JSON, ending with a line end.
    ///
    /// # Errors
    /// A problem, where a result is no finite number.
    pub fn results_json(&self) -> Result<String, Problem> {
        self.results_json_from("")
    }

    /// Returns the same, which says what it was `made_from`, a word of letters and digits, if that is not empty.
    ///
    /// # Errors
    /// As [`Run::results_json`].
    pub fn results_json_from(&self, made_from: &str) -> Result<String, Problem> {
        let mut json = Vec::new();
        let written = self.write_results(made_from, &mut json);
        let json = written.map(|()| String::from_utf8_lossy(&json).into_owned());
        json.map_err(|error| not_written(&error))
    }

    /// Writes the same.
    pub(super) fn write_results(&self, made_from: &str, out: &mut dyn Write) -> io::Result<()> {
        let file = ResultsFile {
            written_by: WRITTEN_BY,
            made_from,
            file: self.file.file_name(),
            title: &self.file.title.value,
            date: self.file.date.value.to_string(),
            analysts: &self.file.analysts,
            solute: &self.file.solute.name.value,
            results: &self.results.in_full(&self.reduction),
            flags: &self.flags,
            claims: &self.claims,
            monte_carlo: self.monte_carlo.as_ref(),
        };
        serde_json::to_writer_pretty(&mut *out, &file)?;
        out.write_all(b"\n")
    }
}

pub(super) fn not_written(error: &io::Error) -> Problem {
    let headline = format!("the results cannot be written as JSON: {error}");
    Code::ResultsNotWritten.error(headline)
}
