//! Reading the values of a section by its keys, every problem noted, none stopping the rest.

use super::at::child_name;
use super::diagnostics::Diagnostics;
use super::misplaced_key;
use super::model::{At, Entry};
use super::slips;
use super::tree::{self, Content, Node};
use super::vocabulary::{Key, KeyInfo, Section};
use super::words::synonym;
use crate::problem::{Code, Problem, Span, nearest};
use std::collections::btree_map::Entry as Slot;
use std::collections::{BTreeMap, BTreeSet};

/// A value with its name, and the span of its key for when something is missing inside.
///
/// Its reader returns what it says, or none and notes why.
#[derive(Clone)]
pub(super) struct Value<'n> {
    /// Where its reader notes problems.
    pub(super) found: &'n Diagnostics,
    pub(super) node: &'n Node,
    pub(super) name: String,
    pub(super) key_span: Option<Span>,
}

impl<'n> Value<'n> {
    /// Returns a whole file.
    pub(super) fn of_file(found: &'n Diagnostics, root: &'n Node) -> Self {
        Self {
            found,
            node: root,
            name: String::new(),
            key_span: Some(root.span.clone()),
        }
    }

    /// Returns what stands at a key.
    pub(super) fn at_key(
        found: &'n Diagnostics,
        (key, node): (&tree::Key, &'n Node),
        name: impl Into<String>,
    ) -> Self {
        Self {
            found,
            node,
            name: name.into(),
            key_span: Some(key.span.clone()),
        }
    }

    /// Returns its entry.
    pub(super) fn entry(&self) -> Entry {
        Entry::new(self.name.clone(), self.node.span.clone())
    }

    pub(super) fn at<T>(&self, value: T) -> At<T> {
        At::new(value, self.entry())
    }

    /// Returns a problem with this very value.
    pub(super) fn problem(&self, code: Code, headline: impl Into<String>) -> Problem {
        let problem = code
            .error(headline)
            .at(self.name.clone(), Some(self.node.span.clone()));
        match &self.node.content {
            Content::Scalar { text, .. } if !text.is_empty() => problem.read(text.trim_end()),
            _ => problem,
        }
    }

    fn wrong_shape(&self, right: &str) -> Problem {
        self.problem(
            Code::WrongShape,
            format!("{} is {}.", self.title(), self.node.described()),
        )
        .right(right)
    }

    /// Returns how it is called at the start of a sentence.
    pub(super) fn title(&self) -> &str {
        if self.name.is_empty() {
            "The file"
        } else {
            &self.name
        }
    }

    /// Returns the text of a single value.
    pub(super) fn scalar(&self, right: &str) -> Option<&'n str> {
        if let Content::Scalar { text, .. } = &self.node.content {
            return Some(text.trim());
        }
        self.found.add(|| self.wrong_shape(right));
        None
    }

    /// That something is still to be written here.
    pub(super) fn blank(&self, right: impl Into<String>) -> Problem {
        let span = self.key_span.as_ref().unwrap_or(&self.node.span);
        Code::Blank
            .error(format!("{} is still blank.", self.title()))
            .at(self.name.clone(), Some(span.clone()))
            .right(right)
    }

    /// Returns its items: those of a list, or itself where it is not one.
    pub(super) fn items(&self) -> Vec<Value<'n>> {
        match &self.node.content {
            Content::List(nodes) => nodes
                .iter()
                .enumerate()
                .map(|(i, node)| Value {
                    found: self.found,
                    node,
                    name: format!("{}.{}", self.name, i + 1),
                    // It has no key of its own; what it lacks is lacking here.
                    key_span: Some(node.span.clone()),
                })
                .collect(),
            _ => vec![self.clone()],
        }
    }

    /// Returns its items, with numbers even where it is one alone.
    pub(super) fn numbered(&self) -> Vec<Value<'n>> {
        match self.node.content {
            Content::List(_) => self.items(),
            _ => vec![Value {
                name: format!("{}.1", self.name),
                ..self.clone()
            }],
        }
    }

    /// Returns the keys and values of a section whose keys are names; a name used twice is noted and kept once.
    pub(super) fn read_named(&self, what: &str) -> Vec<(At<String>, Value<'n>)> {
        let Content::Map(pairs) = &self.node.content else {
            self.found.add(|| {
                self.wrong_shape(&format!("names of {what}, each with a section of its own"))
            });
            return Vec::new();
        };
        let mut seen: BTreeMap<&str, &Span> = BTreeMap::new();
        let mut values = Vec::new();
        for (key, node) in pairs {
            let text = key.text.trim();
            let name = format!("{}.{text}", self.name);
            if text.is_empty() {
                self.found.add(|| {
                    Code::NoName
                        .error(format!("One of the {what} has no name."))
                        .at(self.name.clone(), Some(key.span.clone()))
                        .right("a name of its own for each, before the colon")
                });
                continue;
            }
            match seen.entry(text) {
                Slot::Occupied(first) => self.found.add(|| {
                    Code::NameUsedTwice
                        .error(format!("The name {text} is used twice among the {what}."))
                        .at(name.clone(), Some(key.span.clone()))
                        .right("a name of its own for each")
                        .also((*first.get()).clone(), "first used here")
                }),
                Slot::Vacant(slot) => {
                    slot.insert(&key.span);
                    let entry = Entry::new(name.clone(), key.span.clone());
                    let written = At::new(text.to_owned(), entry);
                    values.push((written, Value::at_key(self.found, (key, node), name)));
                }
            }
        }
        values
    }

    /// Returns the values of a section with a fixed set of keys. Keys that are unknown, used twice, missing or,
    /// though needed, blank are noted.
    pub(super) fn fields(&self, section: &'static Section) -> Option<Fields<'n>> {
        let Content::Map(pairs) = &self.node.content else {
            let keys = || {
                format!(
                    "keys of {} with their values: {}",
                    section.what,
                    key_names(section)
                )
            };
            self.found.add(|| {
                if self.node.is_empty() {
                    self.blank(keys())
                } else {
                    self.wrong_shape(&keys())
                }
            });
            return None;
        };
        let mut fields = Fields {
            found: self.found,
            section: self.clone(),
            values: BTreeMap::new(),
            blank: BTreeMap::new(),
        };
        let mut first: BTreeMap<&str, &Span> = BTreeMap::new();
        // A misspelt key is not missing as well: it is given, if not usable.
        let mut misspelt: BTreeSet<&'static str> = BTreeSet::new();
        let mut strangers: Vec<(&str, &Span)> = Vec::new();
        // Sections that lack a key which stands outside them.
        let mut homes: BTreeSet<&'static str> = BTreeSet::new();
        let mut strays: BTreeSet<usize> = BTreeSet::new();
        for (index, (key, node)) in pairs.iter().enumerate() {
            let text = key.text.as_str();
            let known = section.key(text);
            if matches!(node.content, Content::Unread) {
                // One that is not recognised may be any of those not found.
                let meant = section.names();
                misspelt
                    .extend(meant.filter(|name| known.is_none_or(|known| known.name() == *name)));
                continue;
            }
            let Some(known) = known else {
                if strays.contains(&index) {
                    continue;
                }
                if let Some(slip) = slips::find(&self.name, pairs, index, section) {
                    strays.extend(slip.strays);
                    self.found.add(|| slip.problem);
                    // What stands there is no value, and yet is given.
                    fields.values.remove(slip.key);
                    misspelt.insert(slip.key);
                    continue;
                }
                match self.unknown(key, node, section) {
                    Unknown::StandsFor(keys) => misspelt.extend(keys),
                    Unknown::BelongsTo(home) => _ = homes.insert(home),
                    Unknown::Stranger => strangers.push((text, &key.span)),
                }
                continue;
            };
            let value = Value::at_key(self.found, (key, node), self.child(text));
            match first.entry(known.name()) {
                Slot::Occupied(slot) => self.found.add(|| {
                    Code::KeyUsedTwice
                        .error(format!("{} occurs twice.", value.name))
                        .at(value.name.clone(), Some(key.span.clone()))
                        .right("one of them only")
                        .also((*slot.get()).clone(), "first here")
                }),
                Slot::Vacant(slot) => {
                    slot.insert(&key.span);
                    if !node.is_empty() {
                        fields.values.insert(known.name(), Some(value));
                    } else if known.is_required() {
                        self.found.add(|| value.blank(known.expected()));
                        fields.values.insert(known.name(), None);
                    } else {
                        fields.blank.insert(known.name(), value);
                    }
                }
            }
        }
        for name in misspelt.iter().chain(&homes) {
            first.entry(name).or_insert(&self.node.span);
        }
        fields.given_otherwise(misspelt, homes);
        let missing = || {
            let required = section.keys.iter().filter(|key| key.is_required());
            required
                .filter(|key| !first.contains_key(key.name()))
                .collect::<Vec<_>>()
        };
        // One stranger where one key is missing: it may be that one by another name.
        if let ([(text, span)], [lacking]) = (strangers.as_slice(), missing().as_slice()) {
            self.found
                .add(|| unknown_key(self, text, span, section, Some(lacking.name())));
            fields.values.insert(lacking.name(), None);
        } else {
            for (text, span) in strangers {
                self.found
                    .add(|| unknown_key(self, text, span, section, None));
            }
            for key in missing() {
                self.found
                    .add(|| fields.missing(key.name(), key.expected()));
            }
        }
        fields.fill_a_way(section);
        Some(fields)
    }

    /// Notes a key that is not one of the section's, if it tells what was meant.
    fn unknown(&self, key: &tree::Key, node: &Node, section: &'static Section) -> Unknown {
        let text = key.text.as_str();
        let problem = |meant| unknown_key(self, text, &key.span, section, meant);
        if let Some(stranger) = section.strangers.iter().find(|one| one.word == text) {
            self.found.add(|| problem(None).right(stranger.right));
            return Unknown::StandsFor(stranger.stands_for.to_vec());
        }
        let names = || section.names();
        let nearest = || nearest(text, names()).or_else(|| synonym(text, names()));
        // What will not be listed is not looked into.
        if let Some(meant) = (!self.found.is_full()).then(nearest).flatten() {
            self.found.add(|| problem(Some(meant)));
            return Unknown::StandsFor(vec![meant]);
        }
        let Some(home) = misplaced_key::under(section, text, node) else {
            return Unknown::Stranger;
        };
        let right = format!("`{text}` under `{home}`, indented");
        self.found.add(|| problem(None).right(right));
        Unknown::BelongsTo(home)
    }

    /// Returns whether it is a section of keys and values in which no name is lacking.
    pub(super) fn has_all_names(&self) -> bool {
        match &self.node.content {
            Content::Map(pairs) => pairs.iter().all(|(key, _)| !key.text.trim().is_empty()),
            _ => false,
        }
    }

    /// Returns the name of what stands at a key inside.
    pub(super) fn child(&self, key: &str) -> String {
        child_name(&self.name, key)
    }
}

/// What a key is that is not one of its section's.
enum Unknown {
    /// It is in place of these, which are not missing, though not usable.
    StandsFor(Vec<&'static str>),
    /// It belongs in the section at this key.
    BelongsTo(&'static str),
    /// Nothing is known of it.
    Stranger,
}

/// Returns the names of a section's keys, listed.
pub(super) fn key_names(section: &Section) -> String {
    section.names().collect::<Vec<_>>().join(", ")
}

fn unknown_key(
    section_value: &Value<'_>,
    text: &str,
    span: &Span,
    section: &'static Section,
    meant: Option<&str>,
) -> Problem {
    let problem = Code::UnknownKey
        .error(format!("`{text}` is not a key of {}.", section.what))
        .at(section_value.child(text), Some(span.clone()))
        .read(text);
    problem.perhaps(meant, &key_names(section))
}

/// The values of a section by key.
pub(super) struct Fields<'n> {
    pub(super) found: &'n Diagnostics,
    pub(super) section: Value<'n>,
    /// `None` if a key stands without a usable value, which has been noted.
    values: BTreeMap<&'static str, Option<Value<'n>>>,
    /// Optional keys at which nothing is written: they are not given.
    blank: BTreeMap<&'static str, Value<'n>>,
}

impl<'n> Fields<'n> {
    /// Returns a single value of a section, where the rest of it is read elsewhere.
    pub(super) fn of_one(section: Value<'n>, key: &'static str, value: Value<'n>) -> Self {
        Self {
            found: section.found,
            section,
            values: BTreeMap::from([(key, Some(value))]),
            blank: BTreeMap::new(),
        }
    }

    /// Takes keys for given without a usable value: those that were misspelt, unless they stand there rightly too, and
    /// those of sections that lack a key which stands outside them.
    fn given_otherwise(&mut self, misspelt: BTreeSet<&'static str>, homes: BTreeSet<&'static str>) {
        for meant in misspelt {
            let value = self.values.entry(meant).or_insert(None);
            // An empty section beside it is the one that was meant to be filled.
            if value
                .as_ref()
                .is_some_and(|value| value.node.holds_nothing())
            {
                *value = None;
            }
        }
        for home in homes {
            self.values.insert(home, None);
        }
    }

    /// Where the section is complete in no way, but would be in one if blank keys were filled, notes these: they are
    /// what is lacking.
    fn fill_a_way(&mut self, section: &'static Section) {
        if self.blank.is_empty() {
            return;
        }
        let given = |name: &str| self.values.contains_key(name);
        let of_a_way = || section.ways.iter().copied().flatten();
        let fits = |way: &&&[&dyn KeyInfo]| {
            let of_this = |name| way.iter().any(|key| key.name() == name);
            way.iter()
                .all(|key| given(key.name()) || self.blank.contains_key(key.name()))
                && of_a_way().all(|key| of_this(key.name()) || !given(key.name()))
        };
        // The fullest of them, the first of equals. Of a section that is complete it is one without blanks.
        let Some(way) = section.ways.iter().filter(fits).reduce(|fullest, way| {
            let filled = |way: &[&dyn KeyInfo]| way.iter().filter(|key| given(key.name())).count();
            if (filled(way), way.len()) > (filled(fullest), fullest.len()) {
                way
            } else {
                fullest
            }
        }) else {
            return;
        };
        for key in *way {
            if let Some(value) = self.blank.remove(key.name()) {
                self.found.add(|| value.blank(key.expected()));
                self.values.insert(key.name(), None);
            }
        }
    }

    /// Returns what stands at an optional key that is blank.
    pub(super) fn blank<F>(&self, key: &Key<F>) -> Option<&Value<'n>> {
        self.blank.get(key.name)
    }

    /// Returns whether the key is given: with a value, or with one that cannot be used, which has been noted.
    pub(super) fn has<F>(&self, key: &Key<F>) -> bool {
        self.values.contains_key(key.name)
    }

    /// Returns the value at a key.
    pub(super) fn value<F>(&self, key: &Key<F>) -> Option<&Value<'n>> {
        self.values.get(key.name)?.as_ref()
    }

    /// Returns the keys given of those that make up the ways of a section, with their spans.
    pub(super) fn given_of_ways(&self, section: &'static Section) -> Vec<(&'static str, Span)> {
        let of_a_way = |name: &str| {
            let mut keys = section.ways.iter().copied().flatten();
            keys.any(|key| key.name() == name)
        };
        let given = |name: &str| self.values.get(name)?.as_ref()?.key_span.clone();
        let names = section.names();
        names
            .filter(|name| of_a_way(name))
            .filter_map(|name| Some((name, given(name)?)))
            .collect()
    }

    /// That a key is missing.
    pub(super) fn missing(&self, key: &str, right: String) -> Problem {
        let name = self.section.child(key);
        let span = self.section.key_span.clone();
        let headline = match self.section.name.as_str() {
            "" => format!("`{key}` is missing."),
            section => format!("`{key}` is missing in {section}."),
        };
        Code::MissingKey.error(headline).at(name, span).right(right)
    }
}
