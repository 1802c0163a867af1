//! Templates: Markdown with minijinja, embedded in the program, each replaceable by a file of the user's.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Write};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, LazyLock};
use std::thread;

use minijinja::syntax::SyntaxConfig;
use minijinja::value::{Serde, ValueKind};
use minijinja::{
    AutoEscape, Environment, Error, ErrorKind, Output, State, UndefinedBehavior, Value,
};
use serde::Serialize;

use super::origin::Origin;
use super::shipped::{COMPARISON, SHEET};
pub use super::shipped::{SHIPPED, Shipped};
pub use super::template::ORDER;
use super::template::{Template, Texts};
use super::template_limits::{FULL, Limits};
use super::words::capitalized;
use super::{origin, template_error};
use crate::maths::handles::{Handles, is_handle};
use crate::problem::{Code, Problem, Sources, nearest};

/// How deep templates may include each other and macros call each other: an include counts ten, a loop one. The built-in
/// ones go to 40.
const DEEPEST: usize = 150;

/// Stack on which templates are read and run, bytes: many times what the deepest calls take.
const STACK: usize = 64_000_000;

/// The templates of a report.
#[derive(Debug, Clone)]
pub struct Templates {
    texts: Texts,
}

impl Default for Templates {
    /// Returns those of the full report.
    fn default() -> Self {
        let mut templates = Self {
            texts: BTreeMap::new(),
        };
        templates.put(&SHIPPED[0]);
        templates
    }
}

impl Templates {
    /// Returns a set that comes with the program, by its name.
    pub fn shipped(name: &str) -> Option<Self> {
        let set = SHIPPED.iter().find(|set| set.name == name)?;
        let mut templates = Self::default();
        templates.put(set);
        Some(templates)
    }

    /// Returns those of the bench sheet.
    pub fn sheet() -> Self {
        let mut templates = Self::default();
        templates.put(&SHEET);
        templates
    }

    /// Returns those of the comparison of several benches.
    pub fn comparison() -> Self {
        let mut templates = Self::default();
        templates.put(&COMPARISON);
        templates
    }

    /// Returns those of the full report, with those of a folder: see [`Templates::and`].
    pub fn with(folder: &str, own: impl IntoIterator<Item = (String, String)>) -> Self {
        Self::default().and(folder, own)
    }

    /// These, with those of a folder, by their file names, in place of the ones of the same name or beside them.
    #[must_use]
    pub fn and(self, folder: &str, own: impl IntoIterator<Item = (String, String)>) -> Self {
        let mut templates = self;
        let folder = folder.trim_end_matches('/');
        for (name, text) in own {
            let file = format!("{folder}/{name}");
            // As editors on Windows save it.
            let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n");
            let own = true;
            templates.texts.insert(name, Template { file, text, own });
        }
        templates
    }

    fn put(&mut self, set: &Shipped) {
        for (name, file, text) in set.texts {
            let (file, text) = ((*file).to_owned(), (*text).to_owned());
            let own = false;
            self.texts
                .insert((*name).to_owned(), Template { file, text, own });
        }
    }

    /// Names and texts, by name.
    pub fn texts(&self) -> impl Iterator<Item = (&str, &str)> {
        let all = self.texts.iter();
        all.map(|(name, template)| (name.as_str(), template.text.as_str()))
    }

    /// Returns the texts, for showing the lines of problems.
    pub fn sources(&self) -> Sources<'_> {
        let all = self.texts.values();
        all.fold(Sources::none(), |sources, template| {
            sources.with(&*template.file, &*template.text)
        })
    }

    /// Warnings for templates that no other includes, which are misspelt or forgotten.
    pub fn unused_templates(&self) -> Vec<Problem> {
        // What stands between quotes of one kind or the other.
        let quoted = |quote: char| {
            let texts = self.texts.values();
            texts.flat_map(move |template| template.text.split(quote))
        };
        let named: BTreeSet<&str> = quoted('"').chain(quoted('\'')).collect();
        let included = |name: &str| named.contains(name);
        let sets = || SHIPPED.iter().chain([&SHEET, &COMPARISON]);
        let shipped = || sets().flat_map(|set| set.texts).map(|text| text.0);
        let own = self
            .texts
            .iter()
            .filter(|(name, _)| shipped().all(|known| known != *name));
        own.filter(|(name, _)| !included(name))
            .map(|(name, template)| {
                let known = SHIPPED[0].texts.iter().map(|text| text.0);
                let headline = format!("no template includes `{}`", template.file);
                let problem = Code::TemplateNotIncluded.warning(headline).read(name);
                let meant = nearest(name, known);
                problem.perhaps(meant, "the names of templates that the report includes")
            })
            .collect()
    }

    /// Renders the report's Markdown.
    ///
    /// # Errors
    /// A problem at the template's line: what is misspelt, misused, or runs away.
    pub(super) fn render(
        &self,
        values: &impl Serialize,
        handles: &Arc<Handles>,
        limits: Limits,
    ) -> Result<String, Problem> {
        let root = Value::from(Serde(values));
        let render = || self.rendered(&root, handles, limits);
        if self.texts.values().all(|template| !template.own) {
            // Only templates of others may be nested so deeply, or make the engine fail, that they need a thread.
            return render();
        }
        on_large_stack(render).unwrap_or_else(|why| {
            let headline = format!("the templates cannot be run: {why}");
            Err(Code::TemplateFails.error(headline))
        })
    }

    fn rendered(
        &self,
        root: &Value,
        handles: &Arc<Handles>,
        limits: Limits,
    ) -> Result<String, Problem> {
        let problem = |error: &Error| template_error::problem(error, &self.texts, root, limits);
        self.check()?;
        let environment = self
            .environment(handles, limits)
            .map_err(|error| problem(&error))?;
        let order = environment
            .get_template(ORDER)
            .map_err(|error| problem(&error))?;
        let mut text = Bounded {
            bytes: Vec::new(),
            room: limits.text,
            full: false,
        };
        let rendered = order.render_captured_to(root.clone(), &mut text);
        if text.full {
            return Err(self.too_long(root, handles, limits));
        }
        rendered.map_err(|error| problem(&error))?;
        String::from_utf8(text.bytes).map_err(|error| {
            let headline = format!("the templates do not produce UTF-8: {error}");
            Code::TemplateFails.error(headline)
        })
    }

    /// Returns the problem of too long a text, at what was written last: the engine does not tell where it was when it
    /// was refused, so that all is rendered once more, as far as it goes.
    fn too_long(&self, root: &Value, handles: &Arc<Handles>, limits: Limits) -> Problem {
        let again = self.environment(handles, limits).and_then(|environment| {
            let rendered = environment
                .get_template(ORDER)?
                .render_with_spans(root.clone())?;
            Ok(Origin::new(&rendered.0, &rendered.1, &self.texts).locate_byte(limits.text, 1))
        });
        match again {
            Ok(span) => template_error::too_long(Some(span), limits),
            Err(error) => template_error::problem(&error, &self.texts, root, limits),
        }
    }

    /// Problems of the rendered Markdown, at the lines of the templates that wrote it: they are rendered once more, and
    /// the engine tells what each piece of text came from.
    pub(super) fn traced(
        &self,
        problems: Vec<Problem>,
        values: &impl Serialize,
        handles: &Arc<Handles>,
        limits: Limits,
    ) -> Vec<Problem> {
        let root = Value::from(Serde(values));
        let again = || {
            let environment = self.environment(handles, limits)?;
            environment.get_template(ORDER)?.render_with_spans(root)
        };
        // What could be rendered before can be again; if not, the problems stay where the reader saw them.
        let Ok(Ok((text, spans))) = on_large_stack(again) else {
            return problems;
        };
        let origin = Origin::new(&text, &spans, &self.texts);
        let traced = problems.into_iter().map(|problem| origin.traced(problem));
        traced.collect()
    }

    /// Refuses characters that stand for formulas.
    fn check(&self) -> Result<(), Problem> {
        for template in self.texts.values().filter(|template| template.own) {
            if let Some((at, c)) = template.text.char_indices().find(|(_, c)| is_handle(*c)) {
                let why = format!(
                    "a template contains a character for private use (U+{:04X})",
                    c as u32
                );
                let span = origin::locate_bytes(template, at, c.len_utf8());
                return Err(Code::TemplateFails
                    .error(why)
                    .at("", Some(span))
                    .right("a standard character"));
            }
        }
        Ok(())
    }

    fn environment(
        &self,
        handles: &Arc<Handles>,
        limits: Limits,
    ) -> Result<Environment<'_>, Error> {
        /// Compiled once; none only if a built-in template were wrong.
        static ENGINE: LazyLock<Option<Environment<'static>>> = LazyLock::new(|| engine().ok());
        let mut environment: Environment<'_> = match &*ENGINE {
            Some(engine) => engine.clone(),
            None => engine()?,
        };
        environment.set_fuel(Some(limits.steps));
        let room = AtomicUsize::new(limits.text);
        environment.set_formatter(move |out, state, value| write_escaped(out, state, value, &room));
        let handles = Arc::clone(handles);
        environment.add_filter("tex", move |text: &str| {
            Value::from_safe_string(handles.spelled_out(text))
        });
        let compiled = |name: &str, text: &str| {
            let mut known = SHIPPED[0].texts.iter();
            known.any(|(known, _, compiled)| *known == name && *compiled == text)
        };
        for (name, template) in &self.texts {
            if !compiled(name, &template.text) {
                environment.add_template(name, &template.text)?;
            }
        }
        Ok(environment)
    }
}

/// Returns the engine as every report has it, with the templates of the full report.
fn engine() -> Result<Environment<'static>, Error> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.set_recursion_limit(DEEPEST);
    environment.set_auto_escape_callback(|_| AutoEscape::Custom("markdown".into()));
    // Lines of tags alone leave no empty line.
    let mut syntax = SyntaxConfig::builder();
    environment.set_syntax(syntax.trim_blocks(true).lstrip_blocks(true).build()?);
    environment.add_filter("listing", listing);
    environment.add_filter("capitalize_first", capitalized);
    environment.add_filter("code_marked", code_marked);
    for (name, _, text) in SHIPPED[0].texts {
        environment.add_template(name, text)?;
    }
    Ok(environment)
}

/// Does something on a stack of [`STACK`] bytes, apart from others: whatever fails there fails alone.
fn on_large_stack<T: Send>(what: impl FnOnce() -> T + Send) -> Result<T, String> {
    thread::scope(|scope| {
        let thread = thread::Builder::new().stack_size(STACK);
        let running = thread.spawn_scoped(scope, what);
        let running = running.map_err(|error| format!("no thread for them: {error}"))?;
        running.join().map_err(|_| "the engine failed".to_owned())
    })
}

/// Takes text as long as there is room.
struct Bounded {
    bytes: Vec<u8>,
    room: usize,
    full: bool,
}

impl Write for Bounded {
    fn write(&mut self, more: &[u8]) -> io::Result<usize> {
        self.full |= self.bytes.len() + more.len() > self.room;
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
    let kind = value.kind();
    if matches!(kind, ValueKind::Undefined | ValueKind::Invalid) {
        // Strict: such a value is refused by the default formatter, with its own words.
        return minijinja::escape_formatter(out, state, value);
    }
    if !matches!(
        kind,
        ValueKind::String | ValueKind::Number | ValueKind::Bool | ValueKind::None
    ) {
        let what = format!("{kind}s cannot be printed whole, only their elements one by one");
        return Err(Error::new(ErrorKind::InvalidOperation, what));
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

/// Returns whether a text is what is typed into a run file: a key, and perhaps its value. Names that hold backticks are
/// not.
fn is_typed(text: &str) -> bool {
    const LONGEST: usize = 60;
    let (key, value) = text.split_once(": ").unwrap_or((text, "x"));
    let is_key = key.starts_with(|c: char| c.is_ascii_lowercase())
        && key.bytes().all(|c| c.is_ascii_lowercase() || c == b'_');
    is_key && !value.is_empty() && text.len() <= LONGEST
}

/// Text in which backticks mark what is to be typed as written.
fn code_marked(text: &str) -> Value {
    let mut marked = String::with_capacity(text.len());
    let mut plain = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('`') {
        plain += before;
        match after.split_once('`') {
            Some((typed, others)) if is_typed(typed) => {
                marked += &sentence(&std::mem::take(&mut plain));
                marked += &format!("`{typed}`");
                rest = others;
            }
            // One that marks nothing is a character like others.
            _ => {
                plain.push('`');
                rest = after;
            }
        }
    }
    plain += rest;
    marked += &sentence(&plain);
    Value::from_safe_string(marked)
}

/// Returns a piece of a sentence as Markdown, with the blanks at its ends.
fn sentence(text: &str) -> String {
    let end = if text.ends_with(' ') { " " } else { "" };
    escape(text) + end
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Renders with a `name` and the `symbol` of a formula.
    fn render(order: &str) -> Result<String, Problem> {
        let handles = Arc::new(Handles::default());
        let symbol = handles.text("ρ_A");
        let limits = Limits {
            steps: 100_000,
            text: 100_000,
        };
        Templates::with("own", [(ORDER.to_owned(), order.to_owned())]).render(
            &BTreeMap::from([("name", "A*|_`$"), ("symbol", &symbol)]),
            &handles,
            limits,
        )
    }

    #[test]
    fn names_come_out_as_text() {
        assert_eq!(render("{{ name }}").unwrap(), "A\\*\\|\\_\\`\\$");
        assert_eq!(render("{{ name|safe }}").unwrap(), "A*|_`$");
    }

    #[test]
    fn formulas_are_a_character_or_tex_and_no_template_brings_its_own() {
        assert_eq!(render("{{ symbol|tex }}").unwrap(), r"\rho_{\mathrm{A}}");
        let handle = render("{{ symbol }}").unwrap();
        assert!(handle.chars().all(is_handle), "{handle}");
        assert!(render(&handle).is_err());
    }

    #[test]
    fn what_is_typed_is_marked_and_nothing_else() {
        for (text, marked) in [
            ("a `line: curve`.", "a `line: curve`\\."),
            ("A*`", "A\\*\\`"),
            (
                "a`b took c. Write `rinsed: 3` there.",
                "a\\`b took c\\. Write `rinsed: 3` there\\.",
            ),
            ("`a took `b`", "\\`a took `b`"),
            ("two ` of ` them", "two \\` of \\` them"),
        ] {
            assert_eq!(code_marked(text).to_string(), marked);
        }
    }

    #[test]
    fn a_misspelt_name_is_a_problem_at_its_place() {
        let problem = render("one\n\nthe {{ nmae }}").unwrap_err();
        let span = problem.span.as_ref().unwrap();
        assert_eq!((&*span.file, span.line), ("own/report.md", 3));
        assert_eq!((span.column, span.length), (8, 4));
        assert_eq!(problem.read.as_deref(), Some("nmae"));
        assert_eq!(problem.nearest.as_deref(), Some("name"));
    }

    #[test]
    fn lists_are_not_printed_whole() {
        assert!(render("{{ [1, 2] }}").is_err());
    }

    #[test]
    fn a_listing_cannot_be_closed_by_its_text() {
        assert_eq!(
            listing("a\n````\nb").to_string(),
            "`````\na\n````\nb\n`````\n"
        );
    }
}
