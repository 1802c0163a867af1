//! What the engine of templates refuses, as problems at the template's line.

use std::collections::BTreeSet;

use minijinja::value::ValueKind;
use minijinja::{Error, ErrorKind, Value};

use super::origin;
use super::template::{Template, Texts};
use super::template_limits::{FULL, Limits};
use crate::problem::{Code, Problem, Span, nearest};

/// Where the values are told, for those who are to mend a template.
const VALUES: &str = "the values listed in templates/VALUES.md";

/// Returns an error of the engine as a problem.
pub(super) fn problem(error: &Error, templates: &Texts, root: &Value, limits: Limits) -> Problem {
    let inside = innermost(error);
    let what = inside
        .detail()
        .map_or_else(|| inside.kind().to_string(), str::to_owned);
    let span = locate(inside, templates);
    if what == FULL {
        return too_long(span, limits);
    }
    if let Some(right) = endless(inside, &what) {
        let headline = "the templates do not end and are stopped";
        return Code::TemplateEndless
            .error(headline)
            .at("", span)
            .right(right);
    }
    let headline = format!("the template cannot be rendered: {what}");
    let problem = Code::TemplateFails.error(headline).at("", span);
    match inside.kind() {
        ErrorKind::UndefinedError => undefined(problem, inside, &what, templates, root),
        ErrorKind::TemplateNotFound => {
            let name = what.split(['"', '\'']).nth(1).unwrap_or_default();
            let known = templates.keys().map(String::as_str);
            let meant = nearest(name, known);
            let known = "the templates of the folder and the built-in ones";
            problem.read(name).perhaps(meant, known)
        }
        ErrorKind::SyntaxError => problem.right("minijinja's syntax"),
        ErrorKind::UnknownFilter | ErrorKind::UnknownTest | ErrorKind::UnknownFunction => {
            problem.right("the filters and functions of minijinja")
        }
        _ => problem.right(format!("{VALUES}, each used as its type allows")),
    }
}

/// Returns the problem of templates that make more text than there is room for.
pub(super) fn too_long(span: Option<Span>, limits: Limits) -> Problem {
    let headline = format!(
        "the templates produce more than {:.1} MB of text, far more than this run can need, and are stopped",
        limits.text as f64 / 1e6
    );
    Code::TemplateEndless
        .error(headline)
        .at("", span)
        .right("loops over the values of the run only")
}

/// Returns what would be right instead of what has no end; `None` if it is something else that is wrong.
fn endless(error: &Error, what: &str) -> Option<&'static str> {
    if error.kind() == ErrorKind::OutOfFuel {
        return Some("loops over the values of the run, and no value that grows in each pass");
    }
    [
        (
            "recursion limit exceeded",
            "templates that do not include themselves, and macros that do not call themselves",
        ),
        ("is too large", "texts and lists no longer than a report"),
        (
            "range has too many elements",
            "loops over the values of the run",
        ),
    ]
    .into_iter()
    .find(|(said, _)| what.contains(said) && error.kind() == ErrorKind::InvalidOperation)
    .map(|(_, right)| right)
}

/// Names what is not there. The engine has it between backticks.
fn undefined(
    problem: Problem,
    error: &Error,
    what: &str,
    templates: &Texts,
    root: &Value,
) -> Problem {
    let Some(expression) = what.split('`').nth(1) else {
        return problem.right(VALUES);
    };
    let mut known = BTreeSet::new();
    let missing = if let Some((_, name)) = expression.rsplit_once('.') {
        names_within(root, &mut known);
        name
    } else {
        names_of(root, &mut known);
        let template = error.name().and_then(|name| templates.get(name));
        known.extend(template.into_iter().flat_map(names_given));
        expression
    };
    let meant = nearest(missing, known.iter().map(String::as_str));
    problem.read(expression).perhaps(meant, VALUES)
}

/// The names that a group of values has itself.
fn names_of(value: &Value, names: &mut BTreeSet<String>) {
    if value.kind() == ValueKind::Map
        && let Ok(keys) = value.try_iter()
    {
        names.extend(keys.filter_map(|key| key.as_str().map(str::to_owned)));
    }
}

/// The names that anything within a value has.
fn names_within(value: &Value, names: &mut BTreeSet<String>) {
    // The characters of a text can be gone through as well, each a text of one character.
    if !matches!(value.kind(), ValueKind::Map | ValueKind::Seq) {
        return;
    }
    names_of(value, names);
    let Ok(inside) = value.try_iter() else { return };
    let map = value.kind() == ValueKind::Map;
    for one in inside {
        let below = if map {
            value.get_item(&one).ok()
        } else {
            Some(one)
        };
        if let Some(below) = below {
            names_within(&below, names);
        }
    }
}

/// Returns the names that a template gives itself, in loops and by setting.
fn names_given(template: &Template) -> Vec<String> {
    let mut names = Vec::new();
    for opening in ["for ", "set ", "with ", "macro "] {
        for (at, _) in template.text.match_indices(opening) {
            let rest = &template.text[at + opening.len()..];
            let given = rest.split(['=', '(', '%', '\n']).next().unwrap_or_default();
            let given = given.split(" in ").next().unwrap_or_default();
            names.extend(given.split(',').map(|name| name.trim().to_owned()));
        }
    }
    names
}

/// Returns the error of the innermost template is the one to be mended; an include wraps it in its own.
fn innermost(error: &Error) -> &Error {
    let mut innermost = error;
    while let Some(inner) =
        std::error::Error::source(innermost).and_then(|source| source.downcast_ref::<Error>())
    {
        innermost = inner;
    }
    innermost
}

/// Returns what the error is about, or its whole line.
fn locate(error: &Error, templates: &Texts) -> Option<Span> {
    let name = error.name()?;
    let line = error.line().unwrap_or(1);
    let Some(template) = templates.get(name) else {
        return Some(Span::new(name, line, 1, 1));
    };
    let range = error.range().unwrap_or_default();
    let exact = origin::locate_bytes(template, range.start, range.len());
    Some(if !range.is_empty() && exact.line == line {
        exact
    } else {
        origin::line(template, line)
    })
}
