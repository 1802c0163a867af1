//! A formula in words and plain characters, read from its TeX.

use std::iter::Peekable;
use std::vec::IntoIter;

use pulldown_latex::event::{
    Content, EnvironmentFlow, Event, Grouping, ScriptPosition, ScriptType, Visual,
};
use pulldown_latex::{Parser, Storage};

/// Deeper formulas are refused: nobody reads them, and every later pass walks them recursively.
const DEEPEST: usize = 40;
/// So are formulas in which more commands than this wait for their arguments: `\sqrt\sqrt…` nests without braces, and the
/// parser recurses.
const MOST_WAITING: usize = 100;

/// The formula `tex` for those who cannot see it: `\frac{a}{b}` becomes `(a)/(b)`, `\rho_A` becomes `ρ_A`.
///
/// # Errors
/// One sentence on what is wrong with the TeX.
pub fn spell(tex: &str) -> Result<String, String> {
    say(read(tex, &Storage::new())?)
}

/// The parts of a formula in order, as [`say`] takes them; `storage` keeps what the formula itself does not hold.
///
/// # Errors
/// One sentence on what is wrong with the TeX.
pub fn read<'a>(tex: &'a str, storage: &'a Storage) -> Result<Vec<Event<'a>>, String> {
    if too_nested_to_parse(tex) {
        return Err(too_deep());
    }
    let first_line = |text: &str| text.lines().next().unwrap_or_default().to_owned();
    // An event is large, and moving many of them while the list grows takes longer than finding them.
    let mut events = Vec::with_capacity(tex.len().min(500));
    for event in Parser::new(tex, storage) {
        events.push(event.map_err(|error| first_line(&error.to_string()))?);
    }
    Ok(events)
}

/// Says a formula that was read.
///
/// # Errors
/// A formula nested too deeply.
pub fn say(events: Vec<Event<'_>>) -> Result<String, String> {
    let mut speller = Speller {
        events: events.into_iter().peekable(),
        depth: 0,
    };
    // The parser gives TeX's control space as it stands in MathML.
    let said = speller.sequence()?.replace("&nbsp;", " ");
    Ok(spaced(&said))
}

/// One space between words, none after a sign that belongs to what follows.
fn spaced(said: &str) -> String {
    let mut text = String::with_capacity(said.len());
    let mut glued = true;
    for word in said.split_whitespace() {
        if !glued {
            text.push(' ');
        }
        text.push_str(word);
        let before_sign = word.strip_suffix(['−', '+', '±']);
        glued = before_sign.is_some_and(|before| {
            if before.is_empty() {
                text.trim_end_matches(word)
                    .trim_end()
                    .ends_with(|c: char| !c.is_alphanumeric() && c != ')')
                    || text.len() == word.len()
            } else {
                before.ends_with(['(', '[', '{'])
            }
        });
    }
    text
}

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

/// Whether the parser would recurse too deep: it does for groups, and for commands that take what follows as their argument.
/// Every command counts as one that takes some.
fn too_nested_to_parse(tex: &str) -> bool {
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

/// How many arguments a command takes, or might.
fn most_arguments(name: &str) -> usize {
    match name {
        "genfrac" => 6,
        "sideset" | "fcolorbox" => 3,
        "overset" | "underset" | "stackrel" | "buildrel" | "textcolor" | "colorbox" => 2,
        name if name.ends_with("frac") || name.ends_with("binom") => 2,
        _ => 1,
    }
}

fn too_deep() -> String {
    format!("the formula is nested deeper than {DEEPEST} levels")
}

struct Speller<'a> {
    events: Peekable<IntoIter<Event<'a>>>,
    depth: usize,
}

impl Speller<'_> {
    /// All elements up to the end of the group or the formula.
    fn sequence(&mut self) -> Result<String, String> {
        let mut said = String::new();
        while let Some(event) = self.events.next() {
            match event {
                Event::End => break,
                Event::EnvironmentFlow(EnvironmentFlow::NewLine { .. }) => said.push_str("; "),
                Event::EnvironmentFlow(_) => said.push(' '),
                other => said.push_str(&self.event(other)?),
            }
        }
        Ok(said)
    }

    /// The next element: a single content, a group, or a construct with its parts.
    fn element(&mut self) -> Result<String, String> {
        while let Some(event) = self.events.next_if(|event| *event != Event::End) {
            if matches!(event, Event::StateChange(_)) {
                continue;
            }
            return Ok(self.event(event)?.trim().to_owned());
        }
        Ok(String::new())
    }

    fn event(&mut self, event: Event<'_>) -> Result<String, String> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(too_deep());
        }
        let said = match event {
            Event::Content(content) => content_said(content),
            Event::Begin(grouping) => {
                let inside = self.sequence()?;
                match grouping {
                    Grouping::LeftRight(open, close) => {
                        let shown = |c: Option<char>| c.map(String::from).unwrap_or_default();
                        format!("{}{inside}{}", shown(open), shown(close))
                    }
                    _ => inside,
                }
            }
            Event::Visual(Visual::SquareRoot) => format!("√({})", self.element()?),
            Event::Visual(Visual::Root) => {
                let radicand = self.element()?;
                format!("root of degree {} of ({radicand})", self.element()?)
            }
            Event::Visual(Visual::Fraction(_)) => {
                let above = self.element()?;
                format!("({above})/({})", self.element()?)
            }
            Event::Visual(Visual::Negation) => format!("not {}", self.element()?),
            Event::Script { ty, position } => self.script(ty, position)?,
            Event::Space { width, .. } => if width.is_some_and(|w| w.value > 0.0) {
                " "
            } else {
                ""
            }
            .to_owned(),
            Event::End | Event::StateChange(_) | Event::EnvironmentFlow(_) => String::new(),
        };
        self.depth -= 1;
        Ok(said)
    }

    fn script(&mut self, ty: ScriptType, position: ScriptPosition) -> Result<String, String> {
        let base = self.element()?;
        let below = if ty == ScriptType::Superscript {
            None
        } else {
            Some(self.element()?)
        };
        let above = if ty == ScriptType::Subscript {
            None
        } else {
            Some(self.element()?)
        };
        let beside = position == ScriptPosition::Right;
        if let (false, Some(below), None) = (beside, &below, &above) {
            return Ok(over_all(&base, below));
        }
        let mut said = base;
        if let Some(below) = below {
            said += &if beside {
                "_".to_owned() + &grouped(&below)
            } else {
                " from ".to_owned() + &below
            };
        }
        if let Some(above) = above {
            said += &match (beside, accent(&above)) {
                (false, Some(name)) => " ".to_owned() + name,
                (false, None) => [" to ", &above, " of "].concat(),
                (true, _) => "^".to_owned() + &grouped(&above),
            };
        }
        Ok(said)
    }
}

/// A sign with something below it and nothing above.
fn over_all(base: &str, below: &str) -> String {
    let range = below.contains(['=', '<', '>', '≤', '≥', '→']);
    match base {
        "sum" | "product" | "integral" if range => format!("{base} from {below} of "),
        "sum" | "product" | "integral" | "max" | "min" | "sup" | "inf" => {
            format!("{base} over {below} of ")
        }
        "lim" => format!("limit as {below} of "),
        _ => format!("{base} with {below} below"),
    }
}

/// A script as it is said: in parentheses unless it is one word.
fn grouped(script: &str) -> String {
    if script.chars().all(char::is_alphanumeric) {
        script.to_owned()
    } else {
        format!("({script})")
    }
}

fn accent(mark: &str) -> Option<&'static str> {
    Some(match mark {
        "‾" | "¯" => "bar",
        "^" | "ˆ" => "hat",
        "~" | "˜" => "tilde",
        "→" | "⃗" => "vector",
        "˙" => "dot",
        _ => return None,
    })
}

fn content_said(content: Content<'_>) -> String {
    match content {
        Content::Text(text) | Content::Number(text) => text.to_owned(),
        Content::Function(name) => format!("{name} "),
        Content::Ordinary { content, .. } | Content::Delimiter { content, .. } => {
            content.to_string()
        }
        Content::LargeOp { content, .. } => match content {
            '∑' => "sum ".to_owned(),
            '∏' => "product ".to_owned(),
            '∫' => "integral ".to_owned(),
            other => other.to_string(),
        },
        Content::BinaryOp { content: '/', .. } => "/".to_owned(),
        Content::BinaryOp { content, .. } => format!(" {content} "),
        Content::Relation { content, .. } => {
            let mut buffer = [0_u8; 8];
            format!(
                " {} ",
                String::from_utf8_lossy(content.encode_utf8_to_buf(&mut buffer))
            )
        }
        Content::Punctuation(mark) => format!("{mark} "),
    }
}

#[cfg(test)]
mod tests {
    use super::spell;

    #[test]
    fn formulas_are_said_in_plain_characters() {
        for (tex, said) in [
            (r"\frac{a}{b}", "(a)/(b)"),
            (r"\rho_A", "ρ_A"),
            (r"x^2", "x^2"),
            (r"10^{-3}", "10^(−3)"),
            (r"\sqrt{u^2 + v^2}", "√(u^2 + v^2)"),
            (r"x = -3 - a", "x = −3 − a"),
            (r"\bar{x} = 1", "x bar = 1"),
            (r"\sum_{i=1}^n x_i", "sum from i = 1 to n of x_i"),
            (r"\sum_i x_i", "sum over i of x_i"),
            (r"\sum_{i=1} x_i", "sum from i = 1 of x_i"),
            (r"\prod_k k", "product over k of k"),
            (r"\lim_{x \to 0} x", "limit as x → 0 of x"),
            (r"12.5\,\mathrm{g/mL}", "12.5 g/mL"),
            (r"\left(\frac{1}{2}\right)", "((1)/(2))"),
            (r"m_{\text{salt}}", "m_salt"),
            (r"\rho_{\mathrm{bath\ 3}}", "ρ_(bath 3)"),
        ] {
            assert_eq!(spell(tex).as_deref(), Ok(said), "{tex}");
        }
    }

    #[test]
    fn broken_and_bottomless_formulas_are_refused() {
        for tex in [
            r"\frac{a".to_owned(),
            "{".repeat(10_000),
            r"\sqrt".repeat(499) + "x",
            r"\sqrt".repeat(10_000) + "x",
            r"\sqrt[x]".repeat(10_000) + "x",
            r"\sqrt [\frac".repeat(10_000) + "x",
            r"\frac x".repeat(10_000) + "x",
            r"\frac{x}".repeat(10_000) + "x",
            r"\left( x".repeat(10_000) + "x",
            r"\nosuchcommand".to_owned(),
        ] {
            assert!(spell(&tex).is_err(), "{tex:.20}");
        }
    }

    #[test]
    fn long_formulas_that_are_not_deep_are_said() {
        for term in [
            r"\frac{m_2 - m_1}{V} + ",
            r"\rho_{\mathrm{app},\,A} + ",
            r"\left(-2.06 \times 10^{1}\,\mathrm{°C}\right)^{2} - ",
            r"\sqrt[3]{x}\, \alpha\beta ",
            r"\sqrt x + \frac12 ",
        ] {
            let said = spell(&(term.repeat(2_000) + "x"));
            assert!(said.is_ok(), "{term}: {said:?}");
        }
    }
}
