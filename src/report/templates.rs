//! Templates: Markdown with minijinja, embedded in the program, each replaceable by a file of the user's.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::sync::atomic::{AtomicUsize, Ordering};

use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{
    AutoEscape, Environment, Error, ErrorKind, Output, State, UndefinedBehavior, Value,
};
use serde::Serialize;

use super::origin;
pub use super::shipped::{SHIPPED, Shipped};
use crate::manuscript::markdown::UNKNOWN_LABEL;
use crate::problem::{Place, Problem, Sources, nearest};

/// The template that orders the sections.
pub const ORDER: &str = "report.md";

/// Instructions a template may take before it is stopped: some hundred times what the longest report needs.
const FUEL: u64 = 50_000_000;

/// The most text that templates may make, bytes: a hundred times what the longest report needs.
const LARGEST_TEXT: usize = 64_000_000;

/// A template and the file it stands in, as problems name it.
#[derive(Debug, Clone)]
pub(super) struct Template {
    pub(super) file: String,
    pub(super) text: String,
}

/// The templates of a report.
#[derive(Debug, Clone)]
pub struct Templates {
    texts: BTreeMap<String, Template>,
}

impl Default for Templates {
    /// Those of the full report.
    fn default() -> Self {
        let mut templates = Self {
            texts: BTreeMap::new(),
        };
        templates.put(&SHIPPED[0]);
        templates
    }
}

impl Templates {
    /// A set that comes with the program, by its name.
    #[must_use]
    pub fn shipped(name: &str) -> Option<Self> {
        let set = SHIPPED.iter().find(|set| set.name == name)?;
        let mut templates = Self::default();
        templates.put(set);
        Some(templates)
    }

    /// Those of the full report, with those of a folder, by their file names, in place of theirs of the same name or
    /// beside them.
    pub fn with(folder: &str, own: impl IntoIterator<Item = (String, String)>) -> Self {
        let mut templates = Self::default();
        let folder = folder.trim_end_matches('/');
        for (name, text) in own {
            let file = format!("{folder}/{name}");
            templates.texts.insert(name, Template { file, text });
        }
        templates
    }

    fn put(&mut self, set: &Shipped) {
        for (name, file, text) in set.texts {
            let (file, text) = ((*file).to_owned(), (*text).to_owned());
            self.texts
                .insert((*name).to_owned(), Template { file, text });
        }
    }

    /// Names and texts, by name.
    pub fn texts(&self) -> impl Iterator<Item = (&str, &str)> {
        let all = self.texts.iter();
        all.map(|(name, template)| (name.as_str(), template.text.as_str()))
    }

    /// The texts, for showing the lines of problems.
    #[must_use]
    pub fn sources(&self) -> Sources<'_> {
        let all = self.texts.values();
        all.fold(Sources::none(), |sources, template| {
            sources.with(&*template.file, &*template.text)
        })
    }

    /// Warnings for templates that no other includes, which are misspelt or forgotten.
    pub fn left_alone(&self) -> Vec<Problem> {
        let included = |name: &str| {
            let mut texts = self.texts.values();
            texts.any(|other| {
                ["\"", "'"]
                    .iter()
                    .any(|q| other.text.contains(&format!("{q}{name}{q}")))
            })
        };
        let shipped = || SHIPPED.iter().flat_map(|set| set.texts).map(|text| text.0);
        let own = self
            .texts
            .iter()
            .filter(|(name, _)| shipped().all(|known| known != *name));
        own.filter(|(name, _)| !included(name))
            .map(|(name, template)| {
                let known = SHIPPED[0].texts.iter().map(|text| text.0);
                let headline = format!("no template includes `{}`", template.file);
                let problem = Problem::warning("template-not-included", headline).read(name);
                let meant = nearest(name, known);
                problem.perhaps(meant, "the names of templates that the report includes")
            })
            .collect()
    }

    /// A problem of the rendered Markdown, at the line of the template that wrote it.
    pub(super) fn traced(&self, mut problem: Problem, rendered: &str) -> Problem {
        let line = problem
            .place
            .as_ref()
            .and_then(|place| rendered.lines().nth(place.line.checked_sub(1)?));
        let line = line.unwrap_or_default().trim();
        let label = problem
            .read
            .as_deref()
            .filter(|_| problem.code == UNKNOWN_LABEL);
        problem.place = label
            .and_then(|label| origin::of_reference(label, self.texts.values()))
            .or_else(|| origin::of_line(line, self.texts.values()));
        if problem.read.is_none() && !line.is_empty() {
            problem.read = Some(line.to_owned());
        }
        problem
    }

    /// Renders the report's Markdown.
    ///
    /// # Errors
    /// A problem at the template's line: what is misspelt, misused, or runs away.
    pub(super) fn render(&self, values: &impl Serialize) -> Result<String, Box<Problem>> {
        let problem = |error: &Error| self.problem(error);
        let mut environment = Environment::new();
        environment.set_undefined_behavior(UndefinedBehavior::Strict);
        environment.set_fuel(Some(FUEL));
        environment.set_auto_escape_callback(|_| AutoEscape::Custom("markdown".into()));
        let room = AtomicUsize::new(LARGEST_TEXT);
        environment.set_formatter(move |out, state, value| write_escaped(out, state, value, &room));
        let lines = SyntaxConfig::builder()
            .trim_blocks(true)
            .lstrip_blocks(true)
            .build();
        environment.set_syntax(lines.map_err(|error| problem(&error))?);
        environment.add_filter("listing", listing);
        environment.add_filter("capitalize_first", capitalize_first);
        environment.add_filter("code_marked", code_marked);
        for (name, template) in &self.texts {
            environment
                .add_template(name, &template.text)
                .map_err(|error| problem(&error))?;
        }
        let order = environment
            .get_template(ORDER)
            .map_err(|error| problem(&error))?;
        let mut text = Bounded::default();
        let rendered = order.render_captured_to(Value::from(Serde(values)), &mut text);
        if text.full {
            let place = rendered.as_ref().err().and_then(|error| self.place(error));
            return Err(Box::new(too_long(place)));
        }
        rendered.map_err(|error| problem(&error))?;
        String::from_utf8(text.bytes).map_err(|error| {
            let headline = format!("the templates make no UTF-8: {error}");
            Box::new(Problem::error("template-fails", headline))
        })
    }

    /// A minijinja error as a problem at the template's line.
    fn problem(&self, error: &Error) -> Box<Problem> {
        let inside = innermost(error);
        let what = inside
            .detail()
            .map_or_else(|| inside.kind().to_string(), str::to_owned);
        if what == FULL {
            return Box::new(too_long(self.place(error)));
        }
        Box::new(
            Problem::error(
                "template-fails",
                format!("the template cannot be rendered: {what}"),
            )
            .at("", self.place(error))
            .right("a name listed in DEVELOPERS.md under template values, in minijinja's syntax"),
        )
    }

    fn place(&self, error: &Error) -> Option<Place> {
        let inside = innermost(error);
        let name = inside.name()?;
        let template = self.texts.get(name);
        let line = inside.line().unwrap_or(1);
        let text = template.and_then(|t| t.text.lines().nth(line.checked_sub(1)?));
        Some(Place {
            file: template.map_or(name, |template| &template.file).into(),
            line,
            column: 1,
            length: text.map_or(1, |text| text.chars().count().max(1)),
        })
    }
}

/// What a formatter says when there is no more room.
const FULL: &str = "the text has no end";

fn too_long(place: Option<Place>) -> Problem {
    let headline = format!(
        "the templates make more than {} MB of text and are stopped",
        LARGEST_TEXT / 1_000_000
    );
    Problem::error("template-endless", headline)
        .at("", place)
        .right("loops over the values of the run alone")
}

/// The error of the innermost template is the one to be mended; an include wraps it in its own.
fn innermost(error: &Error) -> &Error {
    let mut innermost = error;
    while let Some(inner) =
        std::error::Error::source(innermost).and_then(|source| source.downcast_ref::<Error>())
    {
        innermost = inner;
    }
    innermost
}

/// Takes text up to [`LARGEST_TEXT`].
#[derive(Default)]
struct Bounded {
    bytes: Vec<u8>,
    full: bool,
}

impl Write for Bounded {
    fn write(&mut self, more: &[u8]) -> io::Result<usize> {
        self.full |= self.bytes.len() + more.len() > LARGEST_TEXT;
        if self.full {
            return Err(io::Error::other(FULL));
        }
        self.bytes.extend_from_slice(more);
        Ok(more.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Writes a value as text of the Markdown it stands in, whatever characters it holds; what a template marks safe is
/// written as it is.
///
/// All that is written is counted, also what is caught in a variable, of which the writer knows nothing.
fn write_escaped(
    out: &mut Output,
    state: &mut State,
    value: &Value,
    room: &AtomicUsize,
) -> Result<(), Error> {
    if value.is_undefined() {
        // Strict: an undefined value is refused by the default formatter, with its own words.
        return minijinja::escape_formatter(out, state, value);
    }
    let text = value.to_string();
    let text = if value.is_safe() { text } else { escape(&text) };
    let left = room.load(Ordering::Relaxed).checked_sub(text.len());
    let left = left.ok_or_else(|| Error::new(ErrorKind::InvalidOperation, FULL))?;
    room.store(left, Ordering::Relaxed);
    out.write_str(&text).map_err(Error::from)
}

/// Text as Markdown that reads as that text: punctuation escaped, white space folded to one line.
fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    let mut blank = false;
    for c in text.chars() {
        // Hard spaces are meant.
        if c.is_whitespace() && !matches!(c, '\u{a0}' | '\u{202f}') {
            blank = true;
            continue;
        }
        if std::mem::take(&mut blank) {
            escaped.push(' ');
        }
        if c.is_ascii_punctuation() && !matches!(c, ',' | ';' | '?' | '\'' | '"' | '/' | '%') {
            escaped.push('\\');
        }
        escaped.push(c);
    }
    escaped
}

/// Text as a block that shows it line for line: a fence longer than any in the text.
fn listing(text: &str) -> Value {
    let longest = text.split(|c| c != '`').map(str::len).max().unwrap_or(0);
    let fence = "`".repeat(longest.max(2) + 1);
    let end = if text.ends_with('\n') { "" } else { "\n" };
    Value::from_safe_string(format!("{fence}\n{text}{end}{fence}\n"))
}

/// Text in which backticks mark what is to be typed as written.
fn code_marked(text: &str) -> Value {
    let mut marked = String::with_capacity(text.len());
    let mut parts = text.split('`').peekable();
    let mut code = false;
    while let Some(part) = parts.next() {
        // A backtick without a second one is a character like others.
        if code && parts.peek().is_some() {
            marked += &format!("`{part}`");
        } else if code {
            marked += &escape(&format!("`{part}"));
        } else {
            marked += &escape(part);
            if part.ends_with(' ') {
                marked.push(' ');
            }
        }
        code = !code;
    }
    Value::from_safe_string(marked)
}

/// A sentence's first letter large, the rest as it is.
fn capitalize_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn render(order: &str) -> Result<String, Box<Problem>> {
        Templates::with("own", [(ORDER.to_owned(), order.to_owned())])
            .render(&BTreeMap::from([("name", "A*|_`$")]))
    }

    #[test]
    fn names_come_out_as_text() {
        assert_eq!(render("{{ name }}").unwrap(), "A\\*\\|\\_\\`\\$");
        assert_eq!(render("{{ name|safe }}").unwrap(), "A*|_`$");
    }

    #[test]
    fn what_is_typed_is_marked_and_nothing_else() {
        for (text, marked) in [
            ("a `line: curve`.", "a `line: curve`\\."),
            ("A*`", "A\\*\\`"),
        ] {
            assert_eq!(code_marked(text).to_string(), marked);
        }
    }

    #[test]
    fn a_misspelt_name_is_a_problem_at_its_line() {
        let problem = render("one\n\n{{ nmae }}").unwrap_err();
        let place = problem.place.unwrap();
        assert_eq!((&*place.file, place.line), ("own/report.md", 3));
    }

    #[test]
    fn a_runaway_template_is_stopped() {
        let endless =
            "{% for i in range(9999) %}{% for j in range(9999) %}{{ j }}{% endfor %}{% endfor %}";
        assert!(render(endless).unwrap_err().headline.contains("fuel"));
    }

    #[test]
    fn a_listing_cannot_be_closed_by_its_text() {
        assert_eq!(
            listing("a\n````\nb").to_string(),
            "`````\na\n````\nb\n`````\n"
        );
    }
}
