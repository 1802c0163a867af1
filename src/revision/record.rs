//! The record of a report's issues: what each changed, carried from one to the next.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Changes, reason};
use crate::runfile::model::RunFile;

/// A report issued again, and what was other in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Issue {
    /// Its number; the first report is issue 1.
    pub number: u32,
    /// What is other in it than in the issue before.
    pub changes: Changes,
}

/// The files that an issue was made from.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Source {
    /// The text of the run file.
    pub run_file: String,
    /// The texts of the files beside it, by path.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub beside: BTreeMap<String, String>,
}

/// The issues of a report after the first, in order.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Each with what it changed.
    pub issues: Vec<Issue>,
    /// Of a draft made over an issue: what that was made from, for the next issue to be compared with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_counted: Option<Source>,
}

impl Record {
    /// The number of the report's last issue.
    #[must_use]
    pub fn number(&self) -> u32 {
        self.issues.last().map_or(1, |issue| issue.number)
    }

    /// The same with one more issue; where nothing differs there is none.
    #[must_use]
    pub fn with(mut self, changes: Changes) -> Self {
        if !changes.is_empty() {
            let number = self.number().saturating_add(1);
            self.issues.push(Issue { number, changes });
        }
        self
    }

    /// The same, every change explained for which a run file has a correction, made then or later.
    #[must_use]
    pub fn explained_by(mut self, run: &RunFile) -> Self {
        let issues = self.issues.iter_mut();
        for change in issues.flat_map(|issue| &mut issue.changes.entries) {
            if let (None, Some(was), Some(now)) = (&change.reason, &change.was, &change.now) {
                change.reason = reason(run, &change.entry, was, now);
            }
        }
        self
    }

    /// Whether it says nothing: one issue, and no draft of the next.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.issues.is_empty() && self.last_counted.is_none()
    }

    /// As JSON, ending with a line end; none where it cannot be written, a number being no number.
    #[must_use]
    pub fn json(&self) -> Option<String> {
        serde_json::to_string_pretty(self)
            .ok()
            .map(|text| text + "\n")
    }

    /// From JSON; none where it is no record.
    #[must_use]
    pub fn from_json(bytes: &[u8]) -> Option<Self> {
        let record: Self = serde_json::from_slice(bytes).ok()?;
        // Numbers that do not rise were not written here.
        let rising = record
            .issues
            .windows(2)
            .all(|pair| pair[0].number < pair[1].number);
        rising.then_some(record)
    }
}
