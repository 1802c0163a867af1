//! The record of a report's issues: what each changed, carried from one to the next.

use serde::{Deserialize, Serialize};

use super::Changes;

/// A report issued again, and what was other in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Issue {
    /// Its number; the first report is issue 1.
    pub number: u32,
    /// What is other in it than in the issue before.
    pub changes: Changes,
}

/// The issues of a report after the first, in order.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Each with what it changed.
    pub issues: Vec<Issue>,
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
