//! Templates: Markdown with minijinja, embedded in the program, each replaceable by a file of the user's.

use std::collections::BTreeMap;

use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, Error, Output, State, UndefinedBehavior, Value};
use serde::Serialize;

use crate::problem::{Place, Problem};

/// The template that orders the sections.
pub const ORDER: &str = "report.md";

/// Instructions a template may take before it is stopped: some hundred times what the longest report needs.
const FUEL: u64 = 50_000_000;

macro_rules! embedded {
    ($($name:literal),* $(,)?) => {
        /// The embedded templates by name.
        const EMBEDDED: &[(&str, &str)] = &[$(($name, include_str!(concat!("../../templates/", $name)))),*];
    };
}

embedded![
    "report.md",
    "at_a_glance.md",
    "aim.md",
    "apparatus.md",
    "ware.md",
    "solutions.md",
    "densities.md",
    "calibration.md",
    "unknowns.md",
    "strength.md",
    "comparison.md",
    "budgets.md",
    "monte_carlo.md",
    "observations.md",
    "cautions.md",
    "corrections.md",
    "appendix_calculations.md",
    "appendix_entries.md",
];

/// The templates of a report.
#[derive(Debug, Clone)]
pub struct Templates {
    texts: BTreeMap<String, String>,
}

impl Default for Templates {
    fn default() -> Self {
        Self {
            texts: EMBEDDED
                .iter()
                .map(|(name, text)| ((*name).into(), (*text).into()))
                .collect(),
        }
    }
}

impl Templates {
    /// The embedded templates, with those given in place of theirs of the same name or beside them.
    pub fn with(own: impl IntoIterator<Item = (String, String)>) -> Self {
        let mut templates = Self::default();
        templates.texts.extend(own);
        templates
    }

    /// Renders the report's Markdown.
    ///
    /// # Errors
    /// A problem at the template's line: what is misspelt, misused, or runs away.
    pub(super) fn render(&self, values: &impl Serialize) -> Result<String, Box<Problem>> {
        let mut environment = Environment::new();
        environment.set_undefined_behavior(UndefinedBehavior::Strict);
        environment.set_fuel(Some(FUEL));
        environment.set_auto_escape_callback(|_| AutoEscape::Custom("markdown".into()));
        environment.set_formatter(write_escaped);
        let lines = SyntaxConfig::builder()
            .trim_blocks(true)
            .lstrip_blocks(true)
            .build();
        environment.set_syntax(lines.map_err(|error| problem(&error))?);
        environment.add_filter("listing", listing);
        environment.add_filter("capitalize_first", capitalize_first);
        environment.add_filter("code_marked", code_marked);
        for (name, text) in &self.texts {
            environment
                .add_template(name, text)
                .map_err(|error| problem(&error))?;
        }
        let order = environment
            .get_template(ORDER)
            .map_err(|error| problem(&error))?;
        order
            .render(Value::from(Serde(values)))
            .map_err(|error| problem(&error))
    }
}

/// A minijinja error as a problem at the template's line.
fn problem(error: &Error) -> Box<Problem> {
    let what = error
        .detail()
        .map_or_else(|| error.kind().to_string(), str::to_owned);
    // The innermost template named is the one to be mended; an include wraps its error in its own.
    let mut innermost = error;
    let mut source = std::error::Error::source(error);
    let mut what_inside = what;
    while let Some(inner) = source.and_then(|e| e.downcast_ref::<Error>()) {
        innermost = inner;
        what_inside = inner
            .detail()
            .map_or_else(|| inner.kind().to_string(), str::to_owned);
        source = std::error::Error::source(inner);
    }
    let place = innermost.name().map(|name| Place {
        file: name.into(),
        line: innermost.line().unwrap_or(1),
        column: 1,
        length: 1,
    });
    Box::new(
        Problem::error(
            "template-fails",
            format!("the template cannot be rendered: {what_inside}"),
        )
        .at("", place)
        .right("a name listed in DEVELOPERS.md under template values, in minijinja's syntax"),
    )
}

/// Writes a value as text of the Markdown it stands in, whatever characters it holds; what a template marks safe is
/// written as it is.
fn write_escaped(out: &mut Output, state: &mut State, value: &Value) -> Result<(), Error> {
    if value.is_undefined() {
        // Strict: an undefined value is refused by the default formatter, with its own words.
        return minijinja::escape_formatter(out, state, value);
    }
    let text = value.to_string();
    let text = if value.is_safe() { text } else { escape(&text) };
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
        Templates::with([(ORDER.to_owned(), order.to_owned())])
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
        assert_eq!((&*place.file, place.line), (ORDER, 3));
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
