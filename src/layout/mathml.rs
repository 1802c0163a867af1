//! A formula read from TeX as `MathML`, written so that `formulary` sets it well.

use pulldown_latex::config::{DisplayMode, RenderConfig};
use pulldown_latex::event::{
    Content, Dimension, DimensionUnit, Event, Grouping, ScriptPosition, ScriptType,
};

use super::maths::Stand;

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

/// The formula with room between leaning letters and their subscripts.
fn apart(events: Vec<Event<'_>>) -> Vec<Event<'_>> {
    let mut moved = Vec::with_capacity(events.len());
    let mut events = events.into_iter().peekable();
    let room = || Event::Space {
        width: Some(Dimension::new(APART, DimensionUnit::Em)),
        height: None,
        depth: None,
    };
    while let Some(event) = events.next() {
        let below = matches!(
            event,
            Event::Script {
                ty: ScriptType::Subscript | ScriptType::SubSuperscript,
                position: ScriptPosition::Right
            }
        );
        moved.push(event);
        let leans = |event: &Event<'_>| matches!(event, Event::Content(Content::Ordinary { content, .. }) if LEANING.contains(content));
        let Some(base) = events.next_if(|next| below && leans(next)) else {
            continue;
        };
        moved.push(base);
        match events.next() {
            Some(open @ Event::Begin(Grouping::Normal)) => moved.extend([open, room()]),
            Some(content @ Event::Content(_)) => {
                moved.extend([Event::Begin(Grouping::Normal), room(), content, Event::End]);
            }
            other => moved.extend(other),
        }
    }
    moved
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
    fn amendments_are_made_wherever_they_are_due() {
        assert_eq!(
            amended("<mi>a</mi>&nbsp;<mfrac><mi>b</mi>&lt;</mfrac>"),
            "<mi>a</mi>\u{a0}<mrow><mspace width=\"0.12em\"/><mfrac><mi>b</mi>&lt;</mfrac>\
             <mspace width=\"0.12em\"/></mrow>"
        );
    }
}
