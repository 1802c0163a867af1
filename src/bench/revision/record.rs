//! The record of a report's issues: what each changed, carried from one to the next.
//!
//! A report carries the record itself, so that nothing else has to be kept: the report that is replaced is all that the
//! next one needs. The record is an input like the run file. A run file that has not changed adds no issue. A draft carries
//! the files that the last issue was made from, with which the next issue is compared.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Changes, reason};
use crate::bench::runfile::model::RunFile;

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
    /// The last issue that is no longer listed, where the record became too long.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub not_listed: Option<u32>,
    /// Each with what it changed.
    pub issues: Vec<Issue>,
    /// Of a draft made over an issue: what that was made from, for the next issue to be compared with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_counted: Option<Source>,
}

/// The latest issues listed.
const MOST_ISSUES: usize = 100;
/// What the issues listed take as JSON, bytes: so much whatever the run, and so much for each byte of its entries. Of a run
/// whose every entry is another, an issue tells several times as much as the run file.
const ROOM: usize = 200_000;
const ROOM_FOR_EACH: usize = 30;
const MOST_ROOM: usize = 8_000_000;
/// The largest record read, bytes.
const LARGEST: usize = 40_000_000;
/// The longest text that is kept of an entry, characters.
const LONGEST: usize = 2_000;

impl Record {
    /// Returns the number of the report's last issue.
    pub fn number(&self) -> u32 {
        let listed = self.issues.last().map(|issue| issue.number);
        listed.or(self.not_listed).unwrap_or(1)
    }

    /// Returns the same with one more issue; where nothing differs there is none. No draft waits for the next any more.
    #[must_use]
    pub fn with(mut self, changes: Changes) -> Self {
        self.last_counted = None;
        if !changes.is_empty() {
            let number = self.number().saturating_add(1);
            self.issues.push(Issue { number, changes });
        }
        self
    }

    /// Returns the same with no more issues listed than there is room for beside a run whose `entries` are so many
    /// bytes: the latest.
    #[must_use]
    pub fn within(mut self, entries: usize) -> Self {
        for issue in &mut self.issues {
            issue.changes.texts().for_each(keep_short);
        }
        let mut room = ROOM
            .saturating_add(ROOM_FOR_EACH.saturating_mul(entries))
            .min(MOST_ROOM);
        let listed = self
            .issues
            .iter()
            .rev()
            .take(MOST_ISSUES)
            .take_while(|issue| {
                let taken = serde_json::to_vec(issue).map_or(usize::MAX, |json| json.len());
                let fits = taken <= room;
                room = room.saturating_sub(taken);
                fits
            });
        let listed = listed.count();
        let older = self.issues.len() - listed;
        if let Some(last) = older.checked_sub(1).and_then(|last| self.issues.get(last)) {
            self.not_listed = Some(last.number);
        }
        self.issues.drain(..older);
        self
    }

    /// Returns the same, every change explained for which a run file has a correction, made then or later.
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

    /// Returns whether it says nothing: one issue, and no draft of the next.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// As JSON, ending with a line end; `None` if it cannot be written, a number being no number.
    pub fn json(&self) -> Option<String> {
        serde_json::to_string_pretty(self)
            .ok()
            .map(|text| text + "\n")
    }

    /// From JSON.
    ///
    /// # Errors
    /// Why it is no record, in words to follow the report's name.
    pub fn from_json(bytes: &[u8]) -> Result<Self, String> {
        if bytes.len() > LARGEST {
            return Err(format!(
                "carries a record of issues of more than {} MB",
                LARGEST / 1_000_000
            ));
        }
        let record: Self = serde_json::from_slice(bytes)
            .map_err(|error| format!("carries a record of issues that cannot be read: {error}"))?;
        // Numbers that do not rise were not written here.
        let listed = record.issues.iter().map(|issue| issue.number);
        let numbers: Vec<u32> = [record.not_listed.unwrap_or(1)]
            .into_iter()
            .chain(listed)
            .collect();
        if numbers.windows(2).any(|pair| pair[0] >= pair[1]) {
            return Err("carries a record of issues whose numbers do not rise".into());
        }
        Ok(record)
    }
}

/// Shortens what is too long, and takes out what no run file holds: a record may come from anyone.
fn keep_short(text: &mut String) {
    if let Some((end, _)) = text.char_indices().nth(LONGEST) {
        text.truncate(end);
        text.pop();
        text.push('…');
    }
    if text.contains(|c: char| c.is_control() && !c.is_whitespace()) {
        *text = text.replace(|c: char| c.is_control() && !c.is_whitespace(), "\u{fffd}");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::revision::EntryChange;

    fn changes(entry: &str) -> Changes {
        Changes {
            entries: vec![EntryChange {
                entry: entry.into(),
                was: Some("1".into()),
                now: Some("2".into()),
                reason: None,
            }],
            ..Changes::default()
        }
    }

    #[test]
    fn the_oldest_issues_are_no_longer_listed() {
        let mut record = Record::default();
        for _ in 0..5_000 {
            record = record.with(changes("a")).within(1_000);
        }
        assert_eq!((record.number(), record.issues.len()), (5_001, MOST_ISSUES));
        assert_eq!(record.not_listed, Some(5_001 - MOST_ISSUES as u32));
        let again = Record::from_json(record.json().unwrap().as_bytes()).unwrap();
        assert_eq!(again, record);
        assert_eq!(
            again.with(Changes::default()).within(1_000),
            record,
            "nothing differs"
        );
    }

    #[test]
    fn the_record_has_room_in_proportion_to_the_run() {
        let long = format!("{}\u{1b}", "é".repeat(3_000));
        let mut record = Record::default();
        for _ in 0..90 {
            record = record.with(changes(&long)).within(0);
        }
        assert!(record.json().unwrap().len() < 2 * ROOM);
        assert!(record.issues.len() < 90 && record.number() == 91);
        let texts = record
            .issues
            .iter()
            .flat_map(|issue| &issue.changes.entries);
        for text in texts.map(|entry| &entry.entry) {
            assert_eq!(text.chars().count(), LONGEST);
        }
        let hostile = Record {
            last_counted: None,
            not_listed: None,
            issues: vec![Issue {
                number: 2,
                changes: Changes {
                    entries: vec![changes("a").entries[0].clone(); 100_000],
                    ..Changes::default()
                },
            }],
        };
        let next = hostile.with(changes("b")).within(1_000);
        assert_eq!((next.not_listed, next.issues.len()), (Some(2), 1));
    }

    #[test]
    fn what_is_no_record_is_told() {
        for (json, why) in [
            (" ".repeat(41_000_000), "more than 40 MB"),
            ("[".repeat(100_000), "cannot be read"),
            (r#"{"issues":[{"number":2,"changes":{"entries":[],"results":[],"flags_gone":[],"flags_new":[]}},{"number":2,"changes":{"entries":[],"results":[],"flags_gone":[],"flags_new":[]}}]}"#.into(), "do not rise"),
        ] {
            let told = Record::from_json(json.as_bytes()).unwrap_err();
            assert!(told.contains(why), "{told}");
        }
    }
}
