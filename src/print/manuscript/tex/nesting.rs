//! How deep formulas may be nested.

/// Deeper formulas are refused: nobody reads them, and every later pass walks them recursively.
pub(super) const DEEPEST: usize = 40;
/// So are formulas in which more commands than this wait for their arguments: `\sqrt\sqrt…` nests without braces, and the
/// parser recurses.
const MOST_WAITING: usize = 100;

/// What is not at its end in a formula.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Open {
    /// Braces, or what stands between a pair of commands.
    Group,
    /// Brackets after a command.
    Bracket,
    /// A command that may take so many more arguments.
    Command(usize),
}

/// Returns whether the parser would recurse too deep: it does for groups, and for commands that take what follows as
/// their argument. Every command counts as one that takes some.
pub(super) fn too_nested_to_parse(tex: &str) -> bool {
    let mut open: Vec<Open> = Vec::new();
    let mut rest = tex;
    let mut optional = false;
    while let Some(c) = rest.chars().next() {
        rest = &rest[c.len_utf8()..];
        let after_root = std::mem::take(&mut optional);
        match c {
            '{' => open.push(Open::Group),
            '[' if after_root => open.push(Open::Bracket),
            '}' => {
                close(&mut open, Open::Group);
                argument_ends(&mut open);
            }
            ']' if close(&mut open, Open::Bracket) => {}
            '^' | '_' => open.push(Open::Command(1)),
            '\\' => {
                let letters = rest.find(|c: char| !c.is_ascii_alphabetic());
                let (name, after) = rest.split_at(letters.unwrap_or(rest.len()));
                rest = after;
                optional = name == "sqrt";
                match name {
                    "left" | "begin" => open.push(Open::Group),
                    "right" | "end" => {
                        close(&mut open, Open::Group);
                    }
                    // A sign, which follows.
                    "" => {
                        let sign = rest.chars().next();
                        rest = &rest[sign.map_or(0, char::len_utf8)..];
                        if !sign.is_some_and(|c| matches!(c, ',' | ';' | ':' | '!' | ' ' | '\\')) {
                            argument_ends(&mut open);
                        }
                    }
                    name => open.push(Open::Command(most_arguments(name))),
                }
            }
            c if c.is_whitespace() => optional = after_root,
            _ => argument_ends(&mut open),
        }
        let groups = || open.iter().filter(|open| !matches!(open, Open::Command(_)));
        if open.len() > DEEPEST && (groups().count() > DEEPEST || open.len() > MOST_WAITING) {
            return true;
        }
    }
    false
}

/// Closes the last group of a kind with all that waits in it; false, and nothing done, where another one is open inside it.
fn close(open: &mut Vec<Open>, kind: Open) -> bool {
    let last = open
        .iter()
        .rposition(|open| !matches!(open, Open::Command(_)));
    let found = last.filter(|at| open[*at] == kind);
    if let Some(at) = found {
        open.truncate(at);
    }
    found.is_some()
}

/// Commands have one argument fewer to wait for; one that has its last is itself an argument.
fn argument_ends(open: &mut Vec<Open>) {
    while let Some(Open::Command(left)) = open.last_mut() {
        *left -= 1;
        if *left > 0 {
            break;
        }
        open.pop();
    }
}

/// Returns how many arguments a command takes, or might.
fn most_arguments(name: &str) -> usize {
    match name {
        "genfrac" => 6,
        "sideset" | "fcolorbox" => 3,
        "overset" | "underset" | "stackrel" | "buildrel" | "textcolor" | "colorbox" => 2,
        name if name.ends_with("frac") || name.ends_with("binom") => 2,
        _ => 1,
    }
}

pub(super) fn too_deep() -> String {
    format!("the formula is nested deeper than {DEEPEST} levels")
}
