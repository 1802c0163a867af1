//! A formula read from TeX as `MathML`, written so that `formulary` sets it well.

use std::collections::BTreeMap;

use pulldown_latex::config::{DisplayMode, RenderConfig};
use pulldown_latex::event::{
    Content, Dimension, DimensionUnit, Event, Grouping, ScriptPosition, ScriptType, Visual,
};

/// How a formula stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Stand {
    /// In a line of text.
    InLine,
    /// By itself.
    Displayed,
    /// As `Displayed`, going on with what ends at its left with an operand: an operator that it begins with is spaced as
    /// one between two operands, so that parts set side by side look as if they had been set as one.
    Continued,
}

/// What `formulary` sets well only if it is written otherwise: it leaves fractions and stretched parentheses without
/// space, lifts bars too high, reads no `&nbsp;` and would show the sign of applying a function, which is invisible.
const AMENDMENTS: [(&str, &str); 7] = [
    ("<mo>\u{2061}</mo>", "<mo lspace=\"0\" rspace=\"0\"></mo>"),
    ("&amp;nbsp;", "\u{a0}"),
    ("&nbsp;", "\u{a0}"),
    ("<mover>", "<mover accent=\"true\">"),
    (
        "<mrow><mo stretchy=\"true\">",
        "<mrow><mspace width=\"0.1em\"/><mo stretchy=\"true\">",
    ),
    ("<mfrac", "<mrow><mspace width=\"0.12em\"/><mfrac"),
    ("</mfrac>", "</mfrac><mspace width=\"0.12em\"/></mrow>"),
];

/// `MathML` of a formula.
pub(super) fn mathml(mut events: Vec<Event<'_>>, stand: Stand) -> Result<String, String> {
    let config = RenderConfig {
        display_mode: if stand == Stand::InLine {
            DisplayMode::Inline
        } else {
            DisplayMode::Block
        },
        ..RenderConfig::default()
    };
    if stand == Stand::Continued {
        events.splice(0..0, [Event::Begin(Grouping::Normal), Event::End]);
    }
    let apart = apart(events).into_iter().map(Ok::<_, std::fmt::Error>);
    let mut raw = String::new();
    pulldown_latex::push_mathml(&mut raw, apart, config).map_err(|error| error.to_string())?;
    if stand == Stand::Continued {
        // To `pulldown-latex` an empty group is an operand, to `formulary` an empty identifier is one.
        raw = raw.replacen("<mrow></mrow>", "<mi></mi>", 1);
    }
    Ok(amended(&raw))
}

/// Begins an upright letter.
const UPRIGHT: &str = "<mi mathvariant=\"normal\">";
/// Elements without elements in them, as they begin and end; the first is a letter.
const LEAVES: [&str; 5] = ["mi", "mn", "mo", "mtext", "mspace"];

/// `MathML` with the [`AMENDMENTS`] made, and upright letters side by side made one word: it comes out the same, and
/// every element that is spared is one less to be read and set.
fn amended(raw: &str) -> String {
    let mut text = String::with_capacity(raw.len() + raw.len() / 4);
    let mut rest = raw;
    // Whether what comes next is known to stand in a row, where the count of elements means nothing.
    let mut in_row = false;
    let mut upright = false;
    while let Some(at) = rest.bytes().position(|byte| matches!(byte, b'<' | b'&')) {
        text.push_str(&rest[..at]);
        rest = &rest[at..];
        if in_row
            && upright
            && let Some(after) = rest.strip_prefix("</mi>")
            && let Some(after) = after.strip_prefix(UPRIGHT)
        {
            rest = after;
            continue;
        }
        if let Some(tag) = rest.strip_prefix('<') {
            upright = rest.starts_with(UPRIGHT);
            let name = tag.strip_prefix('/').unwrap_or(tag);
            let name = &name[..name.find([' ', '>']).unwrap_or(name.len())];
            in_row = tag.starts_with("mrow") || (in_row && LEAVES.contains(&name));
        }
        let found = AMENDMENTS.iter().find(|(from, _)| rest.starts_with(from));
        let (from, to) = found.map_or((1, &rest[..1]), |(from, to)| (from.len(), *to));
        text.push_str(to);
        rest = &rest[from..];
    }
    text.push_str(rest);
    text
}

/// Letters that lean over their subscript so far that `formulary`, which kerns by the face's `MathKern`, lets the two
/// overlap.
const LEANING: [char; 6] = ['F', 'P', 'T', 'V', 'W', 'Y'];
/// How far their subscripts are moved, in ems of the subscript.
const APART: f32 = 0.18;
/// How far a superscript is moved from a letter with an accent, which would run into it, in ems of the superscript.
const BESIDE_ACCENT: f32 = 0.12;

/// Accents as `pulldown-latex` has them, which stand by themselves, and as the face draws them over a letter: as wide as
/// one, and with a place at which they are attached.
const ACCENTS: [(char, char); 9] = [
    ('‾', '\u{304}'),
    ('^', '\u{302}'),
    ('~', '\u{303}'),
    ('˙', '\u{307}'),
    ('¨', '\u{308}'),
    ('˘', '\u{306}'),
    ('ˇ', '\u{30c}'),
    ('→', '\u{20d7}'),
    ('˚', '\u{30a}'),
];

/// The formula with room between leaning letters and their subscripts and between accents and superscripts, and with the
/// accents of letters as the face has them.
fn apart(events: Vec<Event<'_>>) -> Vec<Event<'_>> {
    let mut events = bare(events);
    // By the place of what room is left before.
    let mut room: BTreeMap<usize, f32> = BTreeMap::new();
    for at in 0..events.len() {
        let Event::Script { ty, position } = events[at] else {
            continue;
        };
        let base = at + 1;
        let first = end(&events, base);
        if position != ScriptPosition::Right {
            accent(&mut events, base, first);
            continue;
        }
        let (below, above) = match ty {
            ScriptType::Subscript => (Some(first), None),
            ScriptType::Superscript => (None, Some(first)),
            ScriptType::SubSuperscript => (Some(first), Some(end(&events, first))),
        };
        match events.get(base) {
            Some(Event::Content(Content::Ordinary { content, .. }))
                if LEANING.contains(content) =>
            {
                room.extend(below.map(|below| (below, APART)));
            }
            Some(Event::Script {
                ty: ScriptType::Superscript,
                position: ScriptPosition::AboveBelow,
            }) => room.extend(above.map(|above| (above, BESIDE_ACCENT))),
            _ => {}
        }
    }
    let mut moved = Vec::with_capacity(events.len() + 3 * room.len());
    for (at, event) in events.into_iter().enumerate() {
        let space = room.get(&at).map(|ems| Event::Space {
            width: Some(Dimension::new(*ems, DimensionUnit::Em)),
            height: None,
            depth: None,
        });
        match (space, event) {
            (Some(space), open @ Event::Begin(Grouping::Normal)) => moved.extend([open, space]),
            (Some(space), content @ Event::Content(_)) => {
                moved.extend([Event::Begin(Grouping::Normal), space, content, Event::End]);
            }
            (_, event) => moved.push(event),
        }
    }
    moved
}

/// Letters and numbers that are groups by themselves, as `{t}` is, without their braces: what stands on or beside a letter
/// is fitted to it.
fn bare(events: Vec<Event<'_>>) -> Vec<Event<'_>> {
    let mut bare: Vec<Event> = Vec::with_capacity(events.len());
    for event in events {
        if event == Event::End
            && let [.., Event::Begin(Grouping::Normal), single] = bare.as_slice()
            && let Event::Content(
                Content::Ordinary {
                    stretchy: false, ..
                }
                | Content::Number(_),
            ) = single
        {
            let single = single.clone();
            bare.truncate(bare.len() - 2);
            bare.push(single);
        } else {
            bare.push(event);
        }
    }
    bare
}

/// Replaces the accent at `over` of a single letter at `base` by the face's.
fn accent(events: &mut [Event<'_>], base: usize, over: usize) {
    let letter = matches!(events.get(base), Some(Event::Content(_))) && over == base + 1;
    if let Some(Event::Content(Content::Ordinary { content, .. })) = events.get_mut(over)
        && letter
        && let Some((_, drawn)) = ACCENTS.iter().find(|(accent, _)| accent == content)
    {
        *content = *drawn;
    }
}

/// Where the part of a formula that begins `at` ends.
fn end(events: &[Event<'_>], at: usize) -> usize {
    let parts = match events.get(at) {
        Some(Event::Begin(_)) => {
            let mut depth = 0_usize;
            for (place, event) in events.iter().enumerate().skip(at) {
                match event {
                    Event::Begin(_) => depth += 1,
                    Event::End => depth -= 1,
                    _ => {}
                }
                if depth == 0 {
                    return place + 1;
                }
            }
            return events.len();
        }
        Some(Event::Script { ty, .. }) => match ty {
            ScriptType::Subscript | ScriptType::Superscript => 2,
            ScriptType::SubSuperscript => 3,
        },
        Some(Event::Visual(visual)) => match visual {
            Visual::SquareRoot | Visual::Negation => 1,
            Visual::Root | Visual::Fraction(_) => 2,
        },
        Some(_) => 0,
        None => return at,
    };
    (0..parts).fold(at + 1, |at, _| end(events, at))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn upright_letters_of_a_row_are_one_word() {
        let letters = |text: &str| -> String {
            let each: Vec<String> = text.chars().map(|c| format!("{UPRIGHT}{c}</mi>")).collect();
            each.concat()
        };
        let row = format!("<mrow>{}<mo>/</mo>{}</mrow>", letters("g"), letters("mol"));
        assert_eq!(
            amended(&row),
            format!("<mrow>{UPRIGHT}g</mi><mo>/</mo>{UPRIGHT}mol</mi></mrow>")
        );
        // A base and its exponent are two.
        let power = format!("<mrow><msup>{}</msup></mrow>", letters("ab"));
        assert_eq!(amended(&power), power);
        let italic = format!("<mrow><mi>a</mi>{}</mrow>", letters("b"));
        assert_eq!(amended(&italic), italic);
    }

    #[test]
    fn accents_of_letters_are_the_faces_own_and_keep_off_superscripts() {
        let storage = pulldown_latex::Storage::new();
        let made = |tex| {
            let events = crate::manuscript::spoken::read(tex, &storage).unwrap();
            mathml(events, Stand::Displayed).unwrap()
        };
        let bar = made(r"\overline{t}_{\mathrm{A}}^{2}");
        assert!(bar.contains("\u{304}</mi></mover>"), "{bar}");
        let room = format!("<mrow><mspace width=\"{BESIDE_ACCENT}em\" /><mn>2</mn></mrow>");
        assert!(bar.contains(&room), "{bar}");
        assert!(made(r"\vec v").contains("\u{20d7}"));
        let wide = made(r"\overline{ab}");
        assert!(wide.contains('‾'), "of one letter only: {wide}");
        let leaning = made(r"V_1^2");
        assert_eq!(leaning.matches("<mspace").count(), 1, "{leaning}");
    }

    #[test]
    fn amendments_are_made_wherever_they_are_due() {
        assert_eq!(
            amended("<mi>a</mi>&nbsp;<mfrac><mi>b</mi>&lt;</mfrac>"),
            "<mi>a</mi>\u{a0}<mrow><mspace width=\"0.12em\"/><mfrac><mi>b</mi>&lt;</mfrac>\
             <mspace width=\"0.12em\"/></mrow>"
        );
    }
}
