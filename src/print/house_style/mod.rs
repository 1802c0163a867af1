//! The house style: a YAML file that says how reports look, into layout's [`Style`].

mod logo;
mod values;

use serde::Deserialize;

use self::values::{Accent, HeadText, Margin, Paper, TextSize};
use crate::print::layout::Style;
use crate::problem::{Code, Problem, Span, nearest};

/// A measure narrower or a text lower than this holds no report, points (about 90 mm).
const LEAST: f32 = 255.0;

/// No style file is longer, bytes: reading YAML can cost the square of its length.
const LONGEST: usize = 20_000;

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct StyleFile {
    paper: Option<Paper>,
    margins: Option<Margins>,
    text_size: Option<TextSize>,
    accent: Option<Accent>,
    head: Option<Head>,
    logo: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "left, right, top and bottom, each with its length: {left: 25 mm}"
)]
struct Margins {
    left: Option<Margin>,
    right: Option<Margin>,
    top: Option<Margin>,
    bottom: Option<Margin>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "left and right, each with its text: {left: Brine laboratory}"
)]
struct Head {
    left: Option<HeadText>,
    right: Option<HeadText>,
}

/// Reads a style file; `file` is its name as the user gave it, `beside` reads the logo by its path from the file's folder.
///
/// # Errors
/// One problem, with its line: no YAML, an unknown key, a value out of range, or a logo that cannot be read.
pub fn read(
    file: &str,
    bytes: &[u8],
    beside: &dyn Fn(&str) -> Result<Vec<u8>, String>,
) -> Result<Style, Problem> {
    if bytes.len() > LONGEST {
        let problem = refuse(file, Code::FileTooLarge, "is too large");
        let right = format!("at most {LONGEST} bytes");
        return Err(problem.right(right));
    }
    let text = std::str::from_utf8(bytes)
        .map_err(|_| refuse(file, Code::NotUtf8, "is not UTF-8"))?
        .trim_start_matches('\u{feff}');
    if text.trim().is_empty() {
        return Err(refuse(file, Code::EmptyFile, "is empty"));
    }
    let said: StyleFile =
        serde_yaml::from_str(text).map_err(|error| not_read(file, text, &error))?;
    if let Some(problem) = taken_for_a_comment(file, text, said.accent.is_none()) {
        return Err(problem);
    }
    let mut style = Style::default();
    if let Some(TextSize(size)) = said.text_size {
        let times = size / style.text_size;
        style = style.scaled(times);
    }
    if let Some(Paper(page)) = said.paper {
        // The same share of every page.
        let times = page.1 / style.page.1;
        style.top_margin *= times;
        style.bottom_margin *= times;
        style.page = page;
    }
    let margins = said.margins.unwrap_or_default();
    for (margin, of) in [
        (margins.left, &mut style.left_margin),
        (margins.right, &mut style.right_margin),
        (margins.top, &mut style.top_margin),
        (margins.bottom, &mut style.bottom_margin),
    ] {
        if let Some(Margin(points)) = margin {
            *of = points;
        }
    }
    if style.measure() < LEAST || style.text_height() < LEAST {
        let problem = refuse(
            file,
            Code::NoRoom,
            "leaves too little room between the margins",
        );
        let span = line_of(file, text, "margins");
        return Err(problem
            .at("margins", span)
            .right("at least 90 mm of width and of height between them"));
    }
    if let Some(Accent(colour)) = said.accent {
        style.accent = colour;
    }
    let head = said.head.unwrap_or_default();
    style.head = [head.left, head.right].map(|text| text.map(|HeadText(text)| text));
    if let Some(path) = &said.logo {
        let logo = beside(path)
            .and_then(|bytes| logo::decoded(&bytes))
            .map_err(|why| {
                let headline = format!("the logo `{path}` cannot be used: {why}");
                let problem = Code::LogoNotRead.error(headline);
                problem
                    .at("logo", line_of(file, text, "logo"))
                    .read(path)
                    .right("a PNG or JPEG picture in the style file's folder")
            })?;
        style.logo = Some(logo);
    }
    Ok(style)
}

/// Returns a colour without quotes: YAML takes it for a comment, and nobody would see why it has no effect.
fn taken_for_a_comment(file: &str, text: &str, no_accent: bool) -> Option<Problem> {
    let after = |line: &str| {
        let value = line.trim_start().strip_prefix("accent:")?.trim();
        value.starts_with('#').then(|| value.to_owned())
    };
    let colour = text.lines().find_map(after).filter(|_| no_accent)?;
    let word = colour.split_whitespace().next().unwrap_or_default();
    let problem = refuse(
        file,
        Code::TextTakenForAComment,
        "gives a colour without quotes, which YAML reads as a comment",
    );
    let problem = problem.at("accent", line_of(file, text, "accent"));
    let right = format!("accent: \"{word}\"");
    Some(problem.read(word).right(right))
}

fn refuse(file: &str, code: Code, what: &str) -> Problem {
    code.error(format!("the style file `{file}` {what}"))
}

/// Returns the line of a key at the top of the file.
fn line_of(file: &str, text: &str, key: &str) -> Option<Span> {
    let starts = |line: &str| line.trim_start_matches(['{', ' ']).starts_with(key);
    let line = text.lines().position(starts)?;
    Some(Span::new(
        file,
        line + 1,
        1,
        text.lines().nth(line)?.chars().count(),
    ))
}

/// Returns what serde says of the file as a problem at its place, with the key most like an unknown one.
fn not_read(file: &str, text: &str, error: &serde_yaml::Error) -> Problem {
    let said = error.to_string();
    // The place is told on its own.
    let said = said.split(" at line ").next().unwrap_or_default();
    let mut quoted = said.split('`').skip(1).step_by(2);
    let span = |length: usize| {
        error
            .location()
            .map(|at| Span::new(file, at.line(), at.column(), length))
    };
    if said.contains("unknown field") {
        let unknown = quoted.next().unwrap_or_default();
        let known: Vec<&str> = quoted.collect();
        let problem = Code::UnknownKey
            .error(format!("the key `{unknown}` is unknown"))
            .at("", span(unknown.chars().count().max(1)))
            .read(unknown);
        let meant = nearest(unknown, known.iter().copied());
        return problem.perhaps(meant, &known.join(", "));
    }
    if said.contains("duplicate field") {
        let key = quoted.next().unwrap_or_default();
        // serde tells where the keys begin; the second of the two is meant.
        let again = |line: &&str| line.trim_start().starts_with(key);
        let second = text.lines().filter(again).nth(1).unwrap_or_default();
        let line = text
            .lines()
            .collect::<Vec<_>>()
            .iter()
            .rposition(|line| *line == second);
        let span = line.map_or_else(
            || span(1),
            |line| {
                let length = second.chars().count().max(1);
                Some(Span::new(file, line + 1, 1, length))
            },
        );
        let problem = Code::KeyTwice.error(format!("the key `{key}` is used twice"));
        return problem.at("", span).right("each key once");
    }
    let (headline, right) = if let Some((key, _)) = said.split_once(": invalid type: ") {
        let expected = said.split_once(", expected ").map_or("", |(_, e)| e);
        let single = expected == "a string";
        let right = if single { "a single value" } else { expected };
        (format!("{key} has a value of the wrong form"), right)
    } else {
        let (headline, right) = said.split_once("; right is ").unwrap_or((said, ""));
        (headline.to_owned(), right)
    };
    let tab = text.lines().position(|line| line.starts_with('\t'));
    if let Some(line) = tab.filter(|_| right.is_empty()) {
        let span = Span::new(file, line + 1, 1, 1);
        let headline = "a line of the style file is indented with a tab, which YAML does not allow";
        let problem = Code::TabIndent.error(headline).at("", Some(span));
        return problem.right("spaces at the start of the line");
    }
    let problem = Code::StyleNotRead.error(format!("the style file cannot be used: {headline}"));
    let mut comma = false;
    let value = quoted.next().and_then(|value| {
        let first = error.location()?.line();
        let mut lines = text.lines().enumerate().skip(first - 1);
        let (line, at) = lines.find_map(|(line, text)| Some((line, text.find(value)?)))?;
        let after = text.lines().nth(line)?.get(at + value.len()..)?;
        comma = after.starts_with(',') && after[1..].starts_with(|c: char| c.is_ascii_digit());
        let before = text.lines().nth(line)?.get(..at)?.chars().count();
        Some(Span::new(file, line + 1, before + 1, value.chars().count()))
    });
    let problem = problem.at("", value.or_else(|| span(1)));
    let right = if comma {
        "a decimal point, as in 27.5 mm"
    } else {
        right
    };
    if right.is_empty() {
        problem.right("the keys paper, margins, text_size, accent, head and logo, in YAML")
    } else {
        problem.right(right)
    }
}
