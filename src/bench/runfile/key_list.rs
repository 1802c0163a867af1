//! The keys of the run file and of the plan file as Markdown, section by section, from the words that read them.

use std::collections::BTreeSet;

use super::schema::{name_of, titled};
use super::vocabulary::{Form, KeyInfo, Section, Short};
use super::words;

/// Returns the keys of a run file.
pub fn run_file() -> String {
    List::write(&words::RUN, &[])
}

/// Returns the keys of a plan file, apart from the sections that it has in common with a run file.
pub fn plan_file() -> String {
    List::write(&words::PLAN_FILE, &words::RUN.with_all_below())
}

struct List(String);

impl List {
    fn write(file: &'static Section, passed_over: &[&'static Section]) -> String {
        let mut list = Self(String::new());
        let known: BTreeSet<&str> = passed_over.iter().map(|section| section.what).collect();
        for section in file.with_all_below() {
            if !known.contains(section.what) {
                list.section(section);
            }
        }
        list.0
    }

    fn section(&mut self, section: &'static Section) {
        self.0 += &format!("### {}\n\n", titled(&name_of(section)));
        if let Some(short) = &section.short {
            let short = match short {
                Short::Of(key) => format!("A single value in its place stands for `{key}`."),
                Short::Amount { mass, volume } => format!(
                    "A single value in its place, `95 g` or `95 mL`, stands for `{mass}` or `{volume}`."
                ),
                Short::TakenOf { volume, of } => format!(
                    "A single value in its place, `10 mL of A`, stands for `{volume}` and `{of}`."
                ),
            };
            self.0 += &format!("{short}\n\n");
        }
        for key in section.keys {
            let (name, must) = (
                key.name(),
                if key.is_required() { " (required)" } else { "" },
            );
            self.0 += &format!("- `{name}`{must}: {}\n", describe(*key));
        }
        let ways: Vec<String> = section.ways.iter().map(|way| names(way)).collect();
        if let [one] = ways.as_slice() {
            self.0 += &format!("\nIt has {one}.\n");
        } else if !ways.is_empty() {
            let only = if section.one_way { "either " } else { "" };
            self.0 += &format!("\nIt has {only}{}.\n", ways.join(", or "));
        }
        self.0 += "\n";
    }
}

/// Keys that stand together, in words.
fn names(way: &[&'static dyn KeyInfo]) -> String {
    let names: Vec<String> = way.iter().map(|key| format!("`{}`", key.name())).collect();
    names.join(" and ")
}

/// Returns what a key means, and where its parts are described.
fn describe(key: &'static dyn KeyInfo) -> String {
    let form = key.form();
    let sections = form.sections().into_iter().map(|(section, kinds)| {
        let named = words::KIND.form.0.iter();
        let named = named.filter(|(_, kind)| kinds.contains(kind));
        let kinds: Vec<&str> = named.map(|(word, _)| *word).collect();
        let title = titled(&name_of(section));
        match kinds.as_slice() {
            [] => format!("“{title}”"),
            kinds => format!("“{title}” ({})", kinds.join(", ")),
        }
    });
    let sections: Vec<String> = sections.collect();
    let mut told = key.help();
    let manner = match form {
        Form::Named(_) | Form::NamedByKind(_) => "By name, each a section",
        Form::NamedLists(_) => "By name, each a list of sections",
        Form::NamedListsOrSection(..) => "By name, each a list of sections, or one section",
        Form::List(_) => "A list of sections",
        Form::WordOrSection(words, _) => &format!("{}, or a section", words.join(", ")),
        Form::TextOrSection(known, _) => &format!("{}, or a section", known().join(", ")),
        _ => "A section",
    };
    if let Form::NamedValues(word) = form {
        told += &format!(" By name, each: {}", word.help());
    }
    if !sections.is_empty() {
        told += &format!(" {manner}: {}.", sections.join(", "));
    }
    told
}
