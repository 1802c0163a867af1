//! How far templates may go, and what is refused before they run.
//!
//! The engine counts the steps of a template and the bytes it makes, and stops it. Three things it does not count: how deep
//! it recurses while it reads a long expression, what the pages take that are made of the text, and how large a list is
//! in which the same list stands twice: sixty doublings make one that no comparison comes to the end of. So tags have a
//! limit, text is limited by what the pages can take, and no list of a template's own holds another value of the run.

use minijinja::machinery::{Span, Token, tokenize};
use minijinja::syntax::SyntaxConfig;

use super::Material;

/// The longest tag, in words and signs. The engine recurses for each `not`, `-`, `~` or filter of a chain.
const LONGEST_TAG: usize = 500;
/// So many `elif` may stand in a template; it recurses for them too.
const MOST_BRANCHES: usize = 500;

/// Steps that a template may take whatever the run. The engine counts 64 bytes made as one step.
const STEPS: u64 = 1_000_000;
/// And for each quantity of the run: several times what the built-in templates take.
const STEPS_FOR_EACH: u64 = 150;
/// Text that templates may make whatever the run, bytes.
const TEXT: usize = 1_000_000;
/// And for each quantity of the run, and for each byte of its entries, which are a part of the report.
const TEXT_FOR_EACH: usize = 300;
const TEXT_FOR_ENTRIES: usize = 8;

/// What the engine is told when there is no more room for text.
pub(super) const FULL: &str = "the text has no end";

/// How far templates may go with one run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Limits {
    /// Steps of the engine.
    pub(super) steps: u64,
    /// Bytes of text.
    pub(super) text: usize,
}

impl Limits {
    /// In proportion to what there is to report.
    pub(super) fn of(material: &Material) -> Self {
        let quantities = material.reduction.worksheet.nodes().count();
        let beside = material.run.beside.iter().map(|file| file.bytes.len());
        let record = material.record.json().map_or(0, |json| json.len());
        Self::for_so_much(
            quantities,
            material.text.len() + beside.sum::<usize>() + record,
        )
    }

    /// For so many quantities, and so many bytes of entries.
    pub(super) fn for_so_much(quantities: usize, entries: usize) -> Self {
        let text = TEXT + TEXT_FOR_EACH * quantities + TEXT_FOR_ENTRIES * entries;
        let steps = STEPS + STEPS_FOR_EACH * quantities as u64 + (text / 64) as u64;
        Self { steps, text }
    }
}

/// What is refused in a template before it is run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Refused {
    /// Where, byte.
    pub(super) at: usize,
    /// What stands there.
    pub(super) read: String,
    /// What is wrong, as a sentence without its end.
    pub(super) why: String,
    /// The right value.
    pub(super) right: &'static str,
}

/// The first thing that is refused in a template. What the engine cannot take apart is left to it.
pub(super) fn refused(template: &str, lines: &SyntaxConfig) -> Option<Refused> {
    let mut tag: Vec<(Token<'_>, Span)> = Vec::new();
    let mut branches = 0;
    for token in tokenize(template, false, lines.clone()) {
        let (token, span) = token.ok()?;
        let found = match token {
            Token::TemplateData(_) => continue,
            Token::BlockStart | Token::VariableStart => {
                tag.clear();
                None
            }
            Token::BlockEnd | Token::VariableEnd => refused_in(&tag),
            token => {
                branches += usize::from(tag.is_empty() && matches!(token, Token::Ident("elif")));
                tag.push((token, span));
                let last = tag.len() - 1;
                if tag.len() > LONGEST_TAG {
                    let why = format!(
                        "a tag of a template contains more than {LONGEST_TAG} words and signs"
                    );
                    Some((
                        last,
                        why,
                        "shorter expressions, with `{% set … %}` for their parts",
                    ))
                } else if branches > MOST_BRANCHES {
                    let why = format!("a template contains `elif` more than {MOST_BRANCHES} times");
                    Some((last, why, "a template of fewer branches"))
                } else {
                    None
                }
            }
        };
        if let Some((index, why, right)) = found {
            let span = tag[index].1;
            let (at, end) = (span.start_offset as usize, span.end_offset as usize);
            let read = template.get(at..end).unwrap_or_default().to_owned();
            return Some(Refused {
                at,
                read,
                why,
                right,
            });
        }
    }
    None
}

/// A bracket that is open in a tag.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Open {
    /// Of the arguments of a filter, macro or function.
    Arguments,
    /// Around a part of an expression, or around an index.
    Part,
    /// Of a list or map that is written out.
    List,
}

/// What is wrong in a tag, and at which of its tokens.
fn refused_in(tag: &[(Token<'_>, Span)]) -> Option<(usize, String, &'static str)> {
    const JOINS: &str = "a template joins values with `+`, which could grow without end";
    const HOLDS: &str = "a template makes a list of other values, which could grow without end";
    let token = |index: usize| tag.get(index).map(|(token, _)| token);
    let mut open: Vec<Open> = Vec::new();
    // Names that are given stand before these, with commas between them.
    let names_end = |index: usize| match token(0) {
        Some(Token::Ident("for")) => before(tag, index, |t| matches!(t, Token::Ident("in"))),
        Some(Token::Ident("set")) => before(tag, index, |t| matches!(t, Token::Assign)),
        Some(Token::Ident("with" | "from" | "import")) => true,
        _ => false,
    };
    for (index, (here, _)) in tag.iter().enumerate() {
        let previous = index.checked_sub(1).and_then(token);
        let in_list = open.contains(&Open::List);
        match here {
            Token::ParenOpen if !in_list && previous.is_some_and(ends_operand) => {
                open.push(Open::Arguments);
            }
            Token::BracketOpen if previous.is_some_and(ends_operand) => open.push(Open::Part),
            Token::ParenOpen => open.push(Open::Part),
            Token::BracketOpen | Token::BraceOpen => open.push(Open::List),
            Token::ParenClose | Token::BracketClose | Token::BraceClose => {
                open.pop();
            }
            Token::Comma => {
                let divides = match open.last() {
                    Some(Open::Arguments | Open::List) => true,
                    Some(Open::Part) | None => names_end(index),
                };
                if !divides {
                    let right = "a list of texts and numbers in brackets, or the values one by one";
                    return Some((index, HOLDS.to_owned(), right));
                }
            }
            Token::Plus if !(number_before(tag, index) || number_after(tag, index)) => {
                let right = "`a ~ b` for texts, `a + 1` or `a|plus(b)` for numbers, and for lists one loop after the other";
                return Some((index, JOINS.to_owned(), right));
            }
            _ => {}
        }
        if in_list && !stands_in_list(here) {
            let right = "plain texts and numbers in a list, and loops over the values of the run";
            return Some((index, HOLDS.to_owned(), right));
        }
    }
    None
}

/// Whether a token of a kind comes only after one of a tag.
fn before(tag: &[(Token<'_>, Span)], index: usize, kind: impl Fn(&Token<'_>) -> bool) -> bool {
    tag[..index].iter().all(|(token, _)| !kind(token))
}

/// Whether what comes after is about the value that ends here: an index or arguments.
fn ends_operand(token: &Token<'_>) -> bool {
    match token {
        Token::Ident(name) => !matches!(
            *name,
            "and"
                | "elif"
                | "else"
                | "for"
                | "if"
                | "in"
                | "include"
                | "is"
                | "not"
                | "or"
                | "set"
                | "with"
        ),
        Token::Str(_)
        | Token::String(_)
        | Token::ParenClose
        | Token::BracketClose
        | Token::BraceClose => true,
        _ => false,
    }
}

/// What may stand in a list that is written out.
fn stands_in_list(token: &Token<'_>) -> bool {
    match token {
        Token::Ident(name) => matches!(
            name.to_ascii_lowercase().as_str(),
            "true" | "false" | "none"
        ),
        _ => matches!(
            token,
            Token::Str(_)
                | Token::String(_)
                | Token::Int(_)
                | Token::Float(_)
                | Token::Comma
                | Token::Colon
                | Token::Minus
                | Token::BracketOpen
                | Token::BracketClose
                | Token::BraceOpen
                | Token::BraceClose
        ),
    }
}

/// Whether a number stands before a `+` that is not itself a factor.
fn number_before(tag: &[(Token<'_>, Span)], index: usize) -> bool {
    let token = |back: usize| index.checked_sub(back).map(|index| &tag[index].0);
    matches!(token(1), Some(Token::Int(_) | Token::Float(_)))
        && !matches!(token(2), Some(Token::Mul | Token::Dot))
}

/// Whether a number stands after it that is not itself a factor.
fn number_after(tag: &[(Token<'_>, Span)], index: usize) -> bool {
    let token = |on: usize| tag.get(index + on).map(|(token, _)| token);
    let more = matches!(
        token(2),
        Some(Token::Mul | Token::Pipe | Token::BracketOpen)
    );
    matches!(token(1), Some(Token::Int(_) | Token::Float(_))) && !more
}

#[cfg(test)]
mod tests {
    use super::*;

    fn why(text: &str) -> Option<String> {
        refused(text, &SyntaxConfig::default()).map(|refused| refused.why)
    }

    #[test]
    fn lists_are_not_joined_and_numbers_are_added() {
        for (text, joins) in [
            ("a + b {{ c }}", false),
            ("{{ x + x }}", true),
            ("{% set ns.x = ns.x + ns.x %}", true),
            ("{{ x + [1] }}", true),
            ("{{ x + 2 * [1] }}", true),
            ("{{ [1] * 2 + x }}", true),
            ("{{ x.2 + y }}", true),
            ("{{ x2 + y }}", true),
            ("{{ loop.index + 1 }} {{ 1 + loop.index }}", false),
            ("{{ f(2 + n)|length }}", false),
            ("{{ '}} + ' ~ \"\\\" + \" }}", false),
            ("{{+ x +}} {%+ if y +%}{%- endif -%}", false),
            ("{# a + b #}{% raw %}{{ x + x }}{% endraw %}", false),
            ("{% raw %}{{ x + x }}{% endraw %}{{ y + y }}", true),
            ("{ {{ a", false),
        ] {
            assert_eq!(
                why(text).is_some_and(|why| why.contains("joins")),
                joins,
                "{text}"
            );
        }
        let refused = refused("é{{ a + b }}", &SyntaxConfig::default()).expect("refused");
        assert_eq!((refused.at, refused.read.as_str()), (7, "+"));
    }

    #[test]
    fn lists_hold_plain_texts_and_numbers() {
        for (text, grows) in [
            (
                "{% for a in [1, -2.5, 'x', \"y\", true, none, [3]] %}",
                false,
            ),
            (
                "{% for a, b in x %}{% set c, d = e %}{% with a=1, b=2 %}",
                false,
            ),
            (
                "{{ f(a, b)|g(c, d) }} {% call(a) f(b, c) %} {% macro f(a, b=1) %}",
                false,
            ),
            (
                "{{ x[0][a] }} {{ {'a': 1}['a'] }} {{ x is in [1, 2] }}",
                false,
            ),
            (
                "{{ (a ~ b)[1] }} {{ 'ab'[0] }} {% from 'x' import a, b %}",
                false,
            ),
            ("{% set x = [x, x] %}", true),
            ("{% set x = [x] %}", true),
            ("{% set x = [f()] %}", true),
            ("{% set x = {'a': x} %}", true),
            ("{% set x = [[1], {'a': [x]}] %}", true),
            ("{% set x = x, x %}", true),
            ("{% set x = (x, x) %}", true),
            ("{% for a in x, x %}", true),
            ("{% for a in (x, x) %}", true),
            ("{{ x in [x] }}", true),
            ("{{ f([x]) }}", true),
            ("{{ x is eq [x, x] }}", true),
        ] {
            assert_eq!(why(text).is_some(), grows, "{text}: {:?}", why(text));
        }
    }

    #[test]
    fn long_tags_and_many_branches_are_refused() {
        for (open, part, close) in [
            ("{{ ", "not ", "1 }}"),
            ("{{ ", "- ", "1 }}"),
            ("{{ 1", "|abs", " }}"),
            ("{{ x", ".x", " }}"),
            ("{{ 1", " ~ 1", " }}"),
            ("{{ ", "[", " }}"),
            ("{% if 1 %}", "{% elif 1 %}", "{% endif %}"),
        ] {
            let of = |times: usize| format!("{open}{}{close}", part.repeat(times));
            assert_eq!(why(&of(200)), None, "{part}");
            assert!(
                why(&of(600)).is_some_and(|why| why.contains("more than 500")),
                "{part}"
            );
        }
    }
}
