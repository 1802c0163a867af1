//! Numbers of sections, tables, figures and formulas, and the labels that refer to them.

use std::collections::BTreeMap;

use crate::print::manuscript::{SectionNumber, letters};
use crate::problem::{Code, Problem, Span, nearest};

/// Counts as the reading goes on.
#[derive(Debug, Default)]
pub(super) struct Numbering {
    counters: [u32; 6],
    lettered: bool,
    tables: u32,
    figures: u32,
    formulas: u32,
    labels: BTreeMap<String, Span>,
    references: Vec<(String, Span)>,
}

impl Numbering {
    /// Returns the number of the next heading of that level, from 1; an appendix starts lettered numbering.
    pub(super) fn heading(&mut self, level: u8, appendix: bool) -> SectionNumber {
        let depth = usize::from(level.clamp(1, 6));
        if appendix && !self.lettered {
            self.lettered = true;
            self.counters = [0; 6];
        }
        self.counters[depth - 1] += 1;
        self.counters[depth..].fill(0);
        if self.lettered && depth == 1 {
            self.tables = 0;
        }
        let mut text = if self.lettered {
            self.letter()
        } else {
            self.counters[0].to_string()
        };
        for counter in &self.counters[1..depth] {
            text.push('.');
            text.push_str(&counter.to_string());
        }
        SectionNumber {
            text,
            appendix: self.lettered,
        }
    }

    /// The letter of the appendix.
    fn letter(&self) -> String {
        letters(self.counters[0] as usize).to_uppercase()
    }

    pub(super) fn table(&mut self) -> String {
        self.tables += 1;
        if self.lettered {
            format!("{}.{}", self.letter(), self.tables)
        } else {
            self.tables.to_string()
        }
    }

    pub(super) fn figure(&mut self) -> u32 {
        self.figures += 1;
        self.figures
    }

    pub(super) fn formula(&mut self) -> u32 {
        self.formulas += 1;
        self.formulas
    }

    /// Remembers a label; a second one of the same name is a problem.
    pub(super) fn label(&mut self, label: &str, span: &Span) -> Option<Problem> {
        if let Some(first) = self.labels.get(label) {
            return Some(
                Code::LabelTwice
                    .error(format!("the label #{label} is given twice"))
                    .at("", Some(span.clone()))
                    .also(first.clone(), "first given here"),
            );
        }
        self.labels.insert(label.to_owned(), span.clone());
        None
    }

    /// Remembers a reference, to be checked when all labels are known.
    pub(super) fn reference(&mut self, label: &str, span: Span) {
        self.references.push((label.to_owned(), span));
    }

    /// References to labels that nothing bears.
    pub(super) fn unresolved_references(self) -> Vec<Problem> {
        let Self {
            labels, references, ..
        } = self;
        references
            .into_iter()
            .filter(|(label, _)| !labels.contains_key(label))
            .map(|(label, span)| {
                let meant = nearest(&label, labels.keys().map(String::as_str));
                Code::UnknownLabel
                    .error(format!("nothing has the label #{label}"))
                    .at("", Some(span))
                    .read(format!("#{label}"))
                    .perhaps(
                        meant,
                        "the labels of headings, tables, figures and formulas",
                    )
            })
            .collect::<Vec<_>>()
    }
}

#[cfg(test)]
mod tests {
    use super::{Numbering, letters};

    #[test]
    fn headings_count_by_level_and_letter_in_the_appendix() {
        let mut numbering = Numbering::default();
        let numbers: Vec<String> = [
            (1, false),
            (2, false),
            (2, false),
            (1, false),
            (2, false),
            (1, true),
            (2, false),
            (1, true),
        ]
        .into_iter()
        .map(|(level, appendix)| numbering.heading(level, appendix).text)
        .collect();
        assert_eq!(numbers, ["1", "1.1", "1.2", "2", "2.1", "A", "A.1", "B"]);
    }

    #[test]
    fn tables_count_anew_in_each_appendix() {
        let mut numbering = Numbering::default();
        let mut numbers = vec![numbering.table(), numbering.table()];
        for (level, appendix) in [(1, true), (2, false), (1, true)] {
            numbering.heading(level, appendix);
            numbers.push(numbering.table());
        }
        assert_eq!(numbers, ["1", "2", "A.1", "A.2", "B.1"]);
    }

    #[test]
    fn letters_go_on_after_z() {
        assert_eq!(
            [1, 2, 26, 27, 52, 53, 702, 703].map(letters),
            ["a", "b", "z", "aa", "az", "ba", "zz", "aaa"]
        );
    }
}
