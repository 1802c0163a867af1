//! A run file that still has blanks: what is written, what is to be filled in, and where in the text that is done.
//!
//! A run file is only read into a model once it is whole (see [`super::model`]). Until then it is a tree of entries with
//! the words that their keys have in [`super::words`].

use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::Arc;

use super::csv_import::names_a_file;
use super::diagnostics::Diagnostics;
use super::entries::{lists_singles, name_of};
use super::fields::Value;
use super::fitting::Piece;
use super::model::ApparatusKind;
pub use super::scalars::scale_of;
use super::tree::{Content, Node};
use super::vocabulary::{ApparatusName, Form, Key, KeyInfo, Section};
use super::{FileLoader, apparatus, deliveries, fitting, read_beside, syntax, whole_root, words};
use crate::problem::{Code, Problem, Span};

/// Before the amount that a plan asks for, in the comment behind a blank.
pub(super) const PLANNED: &str = "Planned: ";

/// An entry, or a section of them.
pub struct Part {
    /// The entry's name, e.g. `weighings.A.1.filled`.
    pub entry: String,
    /// Its key or, where the writer gives names, its name; the number of an item of a list.
    pub key: String,
    /// What the key means; `None` for a name and for an item.
    pub word: Option<&'static dyn KeyInfo>,
    /// Where its value stands.
    pub span: Span,
    /// What stands there.
    pub holds: Holds,
}

/// What stands at a key.
pub enum Holds {
    /// A value, as written.
    Written(String),
    /// Nothing yet.
    Blank(Blank),
    /// Further entries.
    Parts(Vec<Part>),
}

/// A place in the text where a value is to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blank {
    /// The bytes that a value replaces, with one blank before it: what stands between the colon and what comes next.
    pub hole: Range<usize>,
    /// Whether a comment comes next, so that the room is filled up with blanks.
    pub comment_follows: bool,
    /// The amount that the comment says is planned.
    pub planned: Option<String>,
    /// Whether a report needs it.
    pub required: bool,
}

/// A run file that may have blanks.
pub struct Unfinished {
    /// Its text, without a byte order mark.
    pub text: String,
    /// Whether one stood before it.
    pub marked: bool,
    /// Its entries.
    pub root: Part,
}

impl Part {
    /// Returns whether it stands at this key.
    pub fn is_at(&self, key: &dyn KeyInfo) -> bool {
        self.key == key.name()
    }

    /// Returns the part at a key.
    pub fn get(&self, key: &dyn KeyInfo) -> Option<&Self> {
        self.parts().iter().find(|part| part.is_at(key))
    }

    /// Returns the parts of the section at a key.
    pub fn parts_at(&self, key: &dyn KeyInfo) -> &[Self] {
        self.get(key).map_or(&[], Self::parts)
    }

    /// Returns the parts of a section; none of a single entry.
    pub fn parts(&self) -> &[Self] {
        match &self.holds {
            Holds::Parts(parts) => parts,
            _ => &[],
        }
    }

    /// Returns what is written at it.
    pub fn written(&self) -> Option<&str> {
        match &self.holds {
            Holds::Written(text) => Some(text),
            _ => None,
        }
    }

    /// Returns what is written at a key of a section.
    pub fn written_at(&self, key: &dyn KeyInfo) -> Option<&str> {
        self.get(key)?.written()
    }

    /// Returns the kind of a piece of apparatus.
    pub fn kind(&self) -> Option<ApparatusKind> {
        apparatus::kind(self.written_at(&words::KIND)?)
    }

    /// Returns the volumes written at it, mL; `None` if there are none.
    pub fn volumes(&self) -> Option<Vec<f64>> {
        deliveries::volumes(self.written()?)
    }

    /// Returns the blank that it is.
    pub fn blank(&self) -> Option<&Blank> {
        match &self.holds {
            Holds::Blank(blank) => Some(blank),
            _ => None,
        }
    }

    /// Returns every single entry in it, in the order of the file.
    pub fn entries(&self) -> Vec<&Self> {
        let mut all = Vec::new();
        let mut open = vec![self];
        while let Some(part) = open.pop() {
            match &part.holds {
                Holds::Parts(parts) => open.extend(parts.iter().rev()),
                _ => all.push(part),
            }
        }
        all
    }
}

/// Returns the instrument of some kinds that is used if none is named.
pub fn only<'u>(apparatus: &'u [Part], kinds: &[ApparatusKind]) -> Option<&'u Part> {
    fitting::only(&pieces(apparatus)?, kinds)
}

/// Returns the ware at a key that is used for volumes (mL) if none is named.
pub fn ware<'u>(
    apparatus: &'u [Part],
    key: &Key<ApparatusName>,
    volumes: &[f64],
) -> Option<&'u Part> {
    fitting::ware(&pieces(apparatus)?, key.form.0, volumes)
}

/// Returns the pieces to choose from; `None` if the kind of one is not known.
fn pieces(apparatus: &[Part]) -> Option<Vec<Piece<&Part>>> {
    let pieces = apparatus.iter().map(|item| {
        let capacity = item.get(&words::CAPACITY).and_then(Part::volumes);
        Some(Piece {
            item,
            kind: item.kind()?,
            capacity: capacity.and_then(|volumes| volumes.first().copied()),
        })
    });
    pieces.collect()
}

/// Reads a run file with blanks; `file` is the name the user knows it by. Without errors other than blanks that can be
/// filled there is one; warnings come in any case.
pub fn read_unfinished(
    file: &str,
    bytes: &[u8],
    beside: &dyn FileLoader,
) -> (Option<Unfinished>, Vec<Problem>) {
    let mut problems = read_beside(file, bytes, beside).problems;
    let file: Arc<str> = file.into();
    let (Ok((tree, _)), Ok(text)) = (whole_root(&file, bytes), syntax::text(&file, bytes)) else {
        return (None, problems);
    };
    let asked = problems
        .iter()
        .filter(|problem| problem.code == Code::Blank);
    let asked: BTreeSet<String> = asked.map(|problem| problem.entry.clone()).collect();
    let ends = text.match_indices('\n').map(|(at, _)| at + 1);
    let reader = Reader {
        text,
        lines: std::iter::once(0).chain(ends).collect(),
        asked: &asked,
    };
    let found = Diagnostics::default();
    let root = reader.part(
        &Value::of_file(&found, &tree),
        String::new(),
        None,
        Some(&Form::Section(&words::RUN)),
    );
    let blanks = root.entries().into_iter();
    let fillable: BTreeSet<&str> = blanks
        .filter(|part| part.blank().is_some())
        .map(|part| part.entry.as_str())
        .collect();
    problems.retain(|problem| match problem.code {
        Code::Blank => !fillable.contains(problem.entry.as_str()),
        // Problems beyond the limit of the list are of the same sort as those listed.
        Code::MoreProblems => asked.is_empty(),
        _ => true,
    });
    let failed = problems.iter().any(Problem::is_error);
    let unfinished = Unfinished {
        text: text.to_owned(),
        marked: bytes.starts_with("\u{feff}".as_bytes()),
        root,
    };
    ((!failed).then_some(unfinished), problems)
}

struct Reader<'t> {
    text: &'t str,
    /// The first byte of each line.
    lines: Vec<usize>,
    /// The entries that it is a problem to leave blank.
    asked: &'t BTreeSet<String>,
}

impl Reader<'_> {
    fn part(
        &self,
        value: &Value<'_>,
        key: String,
        word: Option<&'static dyn KeyInfo>,
        form: Option<&Form>,
    ) -> Part {
        let holds = match &value.node.content {
            Content::Scalar { text, .. } => {
                let blank = value.key_span.as_ref().filter(|_| value.node.is_empty());
                match blank.and_then(|key| self.blank(key, &value.name, word)) {
                    Some(blank) => Holds::Blank(blank),
                    None => Holds::Written(text.trim().to_owned()),
                }
            }
            Content::Unread => Holds::Parts(Vec::new()),
            Content::List(items) if items.iter().all(is_scalar) => {
                let texts = items.iter().map(|item| match &item.content {
                    Content::Scalar { text, .. } => text.trim(),
                    _ => "",
                });
                Holds::Written(texts.collect::<Vec<_>>().join(", "))
            }
            Content::List(_) => {
                let section = form.and_then(section_of);
                let items = value.items().into_iter().enumerate();
                let items = items.map(|(index, item)| {
                    let form = section.map(Form::Section);
                    self.part(&item, (index + 1).to_string(), None, form.as_ref())
                });
                Holds::Parts(items.collect())
            }
            Content::Map(pairs) => {
                let parts = pairs.iter().map(|(key, node)| {
                    let text = key.text.trim();
                    let child = Value::at_key(value.found, (key, node), name_of(value, text));
                    self.child(value, text, &child, form)
                });
                Holds::Parts(parts.collect())
            }
        };
        Part {
            entry: value.name.clone(),
            key,
            word,
            span: value.node.span.clone(),
            holds,
        }
    }

    /// Returns what stands at a key of a section.
    fn child(&self, of: &Value<'_>, text: &str, child: &Value<'_>, form: Option<&Form>) -> Part {
        let key = text.to_owned();
        match form {
            Some(Form::Named(section)) => {
                self.part(child, key, None, Some(&Form::Section(section)))
            }
            Some(Form::NamedValues(word)) => self.part(child, key, Some(*word), None),
            Some(Form::NamedByKind(sections)) => {
                let kind = child.node.get(words::KIND.name);
                let kind = kind.and_then(|(_, node)| match &node.content {
                    Content::Scalar { text, .. } => apparatus::kind(text),
                    _ => None,
                });
                let mut sections = sections.iter();
                let section = sections.find(|(_, kinds)| kind.is_some_and(|k| kinds.contains(&k)));
                let form = section.map(|(section, _)| Form::Section(section));
                self.part(child, key, None, form.as_ref())
            }
            Some(Form::NamedLists(section) | Form::NamedListsOrSection(section, _))
                if lists_singles(&of.name) && !names_a_file(of.node) =>
            {
                let items = child.numbered().into_iter().enumerate();
                let items = items.map(|(index, item)| {
                    self.part(
                        &item,
                        (index + 1).to_string(),
                        None,
                        Some(&Form::Section(section)),
                    )
                });
                Part {
                    entry: child.name.clone(),
                    key,
                    word: None,
                    span: child.node.span.clone(),
                    holds: Holds::Parts(items.collect()),
                }
            }
            _ => {
                let section = form.and_then(section_of);
                let word = section.and_then(|section| section.key(text));
                let form = word.map(KeyInfo::form);
                self.part(child, key, word, form.as_ref())
            }
        }
    }

    /// Returns the blank after a key. `None` if its value cannot be replaced, such as an alias, or if a section belongs
    /// there.
    fn blank(&self, key: &Span, entry: &str, word: Option<&'static dyn KeyInfo>) -> Option<Blank> {
        let word = word?;
        // The reader lists only the first of very many problems.
        let required = word.is_required() || self.asked.contains(entry);
        if !word.form().takes_single() {
            return None;
        }
        let line = *self.lines.get(key.line.checked_sub(1)?)?;
        let rest = self.text.get(line..)?;
        let (at, _) = rest.char_indices().nth(key.column + key.length - 1)?;
        let room = |from: usize| {
            let rest = self.text.get(from..).unwrap_or_default();
            from + rest.len() - rest.trim_start_matches([' ', '\t']).len()
        };
        let colon = room(line + at);
        let start = self.text[colon..].starts_with(':').then_some(colon + 1)?;
        let mut end = room(start);
        for nothing in ["~", "null", "Null", "NULL", "\"\"", "''"] {
            if self.text[end..].starts_with(nothing) {
                end = room(end + nothing.len());
                break;
            }
        }
        let rest = &self.text[end..];
        let next = rest.chars().next();
        let ends = matches!(next, None | Some('\n' | '\r' | '#' | ',' | '}' | ']'));
        let comment = next == Some('#');
        let planned = rest.lines().next().filter(|_| comment).and_then(|comment| {
            let (_, planned) = comment.split_once(PLANNED)?;
            let planned = planned.split(". ").next().unwrap_or_default();
            Some(planned.trim().trim_end_matches('.').to_owned())
        });
        ends.then_some(Blank {
            hole: start..end,
            comment_follows: comment,
            planned,
            required,
        })
    }
}

fn is_scalar(node: &Node) -> bool {
    matches!(node.content, Content::Scalar { .. })
}

/// Returns the section whose keys stand at such a form, or at each item of it.
fn section_of(form: &Form) -> Option<&'static Section> {
    match form {
        Form::Section(section)
        | Form::List(section)
        | Form::NamedListsOrSection(_, section)
        | Form::WordOrSection(_, section)
        | Form::TextOrSection(_, section) => Some(section),
        _ => None,
    }
}
