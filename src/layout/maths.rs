//! TeX to marks on a baseline.
//!
//! `pulldown-latex` turns TeX into `MathML` and `formulary` sets the `MathML` with the face's `OpenType` MATH table. Nothing
//! outside this file knows either.

use std::collections::BTreeMap;
use std::rc::Rc;

use formulary::{Item as MathItem, LayoutOptions, MathFont};
use pulldown_latex::Storage;
use pulldown_latex::config::{DisplayMode, RenderConfig};
use pulldown_latex::event::{
    Content, Dimension, DimensionUnit, Event, Grouping, ScriptPosition, ScriptType,
};

use super::Failure;
use super::slab::{rectangle, shift};
use crate::manuscript::spoken::{read, say};
use crate::page::{Colour, Face, Glyph, GlyphRun, Mark, Shape, Step, Stroke};
use crate::typeface::{Forms, Typefaces};

/// A set formula: marks with the baseline at y = 0 and the left end at x = 0.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SetFormula {
    pub width: f32,
    pub ascent: f32,
    pub descent: f32,
    pub marks: Vec<Mark>,
    /// In words, of a formula in a line; a displayed one is spoken as a whole.
    pub spoken: String,
}

impl SetFormula {
    /// The same formula in another size.
    pub(super) fn scaled(&self, factor: f32) -> Self {
        let marks = self.marks.iter().map(|mark| scaled(mark, factor)).collect();
        Self {
            width: self.width * factor,
            ascent: self.ascent * factor,
            descent: self.descent * factor,
            marks,
            spoken: self.spoken.clone(),
        }
    }

    /// Its marks with the left end of the baseline at (x, y).
    pub(super) fn marks_at(&self, x: f32, y: f32) -> impl Iterator<Item = Mark> {
        self.marks.iter().cloned().map(move |mut mark| {
            shift(&mut mark, x, y);
            mark
        })
    }
}

/// How a formula stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Stand {
    /// In a line of text.
    InLine,
    /// By itself.
    Displayed,
    /// As `Displayed`, going on with what ends at its left with an operand: an operator that it begins with is spaced as
    /// one between two operands, so that parts set side by side look as if they had been set as one.
    Continued,
}

/// Sets formulas, each once for a size and stand.
pub(super) struct Maths<'a> {
    typefaces: &'a Typefaces,
    font: Option<MathFont<'static>>,
    /// No formula is set taller than this, points.
    tallest: f32,
    known: BTreeMap<(String, u32, Stand), Rc<SetFormula>>,
}

impl<'a> Maths<'a> {
    pub(super) fn new(typefaces: &'a Typefaces, tallest: f32) -> Self {
        Self {
            typefaces,
            font: None,
            tallest,
            known: BTreeMap::new(),
        }
    }

    /// Sets a formula; characters that the face lacks are added to `missing` and set as U+FFFD or `?`.
    pub(super) fn set(
        &mut self,
        tex: &str,
        size: f32,
        stand: Stand,
        missing: &mut impl Extend<char>,
    ) -> Result<Rc<SetFormula>, Failure> {
        let key = (tex.to_owned(), size.to_bits(), stand);
        if let Some(known) = self.known.get(&key) {
            return Ok(Rc::clone(known));
        }
        let failure = |why: String| Failure::Formula {
            tex: tex.to_owned(),
            why,
        };
        let storage = Storage::new();
        let events = read(tex, &storage).map_err(failure)?;
        let spoken = match stand {
            Stand::InLine => say(events.clone()).map_err(failure)?,
            Stand::Displayed | Stand::Continued => String::new(),
        };
        let mathml = match self.possible(tex, missing) {
            None => mathml(events, stand),
            Some(possible) => read(&possible, &Storage::new())
                .and_then(|possible_events| mathml(possible_events, stand)),
        };
        let tree = formulary::parse(&mathml.map_err(failure)?)
            .map_err(|error| failure(error.to_string()))?;
        if self.font.is_none() {
            let font = MathFont::new(self.typefaces.data(Face::Math), 0)
                .map_err(|error| failure(error.to_string()))?;
            self.font = Some(font);
        }
        let Some(font) = &self.font else {
            return Err(failure(
                "the face for mathematics cannot be read".to_owned(),
            ));
        };
        let laid = formulary::layout(&tree, font, &LayoutOptions { font_size: size });
        let set = SetFormula {
            width: laid.width,
            ascent: laid.ascent,
            descent: laid.descent,
            marks: marks(&laid.items, self.typefaces),
            spoken,
        };
        let height = set.ascent + set.descent;
        let set = Rc::new(if height > self.tallest {
            set.scaled(self.tallest / height)
        } else {
            set
        });
        self.known.insert(key, Rc::clone(&set));
        Ok(set)
    }

    /// The TeX with what the face cannot show replaced; none if it can show all.
    fn possible(&self, tex: &str, missing: &mut impl Extend<char>) -> Option<String> {
        let lacks = |c: char| {
            !c.is_ascii()
                && !self
                    .typefaces
                    .shape(Face::Math, Forms::default(), c.encode_utf8(&mut [0; 4]))
                    .missing
                    .is_empty()
        };
        if !tex.contains(lacks) {
            return None;
        }
        let stand_in = if lacks('\u{fffd}') { '?' } else { '\u{fffd}' };
        let replaced = tex.chars().map(|c| {
            if lacks(c) {
                missing.extend([c]);
                stand_in
            } else {
                c
            }
        });
        Some(replaced.collect())
    }
}

/// What `formulary` sets well only if it is written otherwise: it leaves fractions and stretched parentheses without
/// space, lifts bars too high and reads no `&nbsp;`.
const AMENDMENTS: [(&str, &str); 6] = [
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
fn mathml(mut events: Vec<Event<'_>>, stand: Stand) -> Result<String, String> {
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

/// Neighbouring glyphs on one baseline and in one size become one run.
fn marks(items: &[MathItem], typefaces: &Typefaces) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    // Left end of the last glyph.
    let mut before = 0.0;
    for item in items {
        match *item {
            MathItem::Glyph { id, x, y, size, .. } => {
                let glyph = Glyph {
                    id: id.0,
                    advance: typefaces.advance(Face::Math, id.0),
                    text: typefaces.math_text(id.0),
                };
                match marks.last_mut() {
                    Some(Mark::Glyphs(run)) if goes_on(run, before, x, y, size) => {
                        if let Some(last) = run.glyphs.last_mut() {
                            last.advance = (x - before) / size * 1000.0;
                        }
                        run.glyphs.push(glyph);
                    }
                    _ => marks.push(Mark::Glyphs(GlyphRun {
                        face: Face::Math,
                        size,
                        x,
                        y,
                        turn: 0.0,
                        colour: Colour::BLACK,
                        glyphs: vec![glyph],
                    })),
                }
                before = x;
            }
            MathItem::Rule { x, y, w, h, .. } => marks.push(rectangle(x, y, w, h, Colour::BLACK)),
            _ => {}
        }
    }
    marks
}

/// Whether a glyph at (x, y) stands on the baseline of a run, in its size, and to the right of its last glyph, which is
/// at `before`.
fn goes_on(run: &GlyphRun, before: f32, x: f32, y: f32, size: f32) -> bool {
    let same = |a: f32, b: f32| (a - b).abs() < 1e-3;
    same(run.y, y) && same(run.size, size) && x > before
}

fn scaled(mark: &Mark, factor: f32) -> Mark {
    match mark {
        Mark::Glyphs(run) => Mark::Glyphs(GlyphRun {
            size: run.size * factor,
            x: run.x * factor,
            y: run.y * factor,
            ..run.clone()
        }),
        Mark::Picture(picture) => Mark::Picture(picture.clone()),
        Mark::Shape(shape) => Mark::Shape(Shape {
            steps: shape
                .steps
                .iter()
                .map(|step| scaled_step(*step, factor))
                .collect(),
            fill: shape.fill,
            stroke: shape.stroke.clone().map(|stroke| Stroke {
                width: stroke.width * factor,
                ..stroke
            }),
        }),
    }
}

fn scaled_step(step: Step, f: f32) -> Step {
    match step {
        Step::Move(x, y) => Step::Move(x * f, y * f),
        Step::Line(x, y) => Step::Line(x * f, y * f),
        Step::Curve(x1, y1, x2, y2, x3, y3) => {
            Step::Curve(x1 * f, y1 * f, x2 * f, y2 * f, x3 * f, y3 * f)
        }
        Step::Close => Step::Close,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_side_by_side_are_as_wide_as_the_whole() {
        let typefaces = Typefaces::load();
        let mut maths = Maths::new(&typefaces, 600.0);
        let mut width = |tex: &str, stand| {
            let mut missing = Vec::new();
            maths.set(tex, 10.0, stand, &mut missing).unwrap().width
        };
        for (one, other) in [
            ("a", "+ b"),
            ("= 1.5", r"- \left(-2\right)"),
            ("= a", r"\times 10^{-3}"),
            (r"\rho", "= 3"),
            (r"\frac{a}{b}", r"\, c"),
        ] {
            let whole = width(&format!("{one} {other}"), Stand::Displayed);
            let parts = width(one, Stand::Displayed) + width(other, Stand::Continued);
            assert!(
                (whole - parts).abs() < 1e-3,
                "{one} {other}: {parts} for {whole}"
            );
        }
    }

    #[test]
    fn upright_letters_of_a_row_are_one_word() {
        let letters =
            |text: &str| -> String { text.chars().map(|c| format!("{UPRIGHT}{c}</mi>")).collect() };
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
    fn words_are_set_as_their_letters() {
        let typefaces = Typefaces::load();
        let mut maths = Maths::new(&typefaces, 600.0);
        for (word, letters) in [
            (
                r"\mathrm{AVATAR}",
                r"\mathrm{A}\mathrm{V}\mathrm{A}\mathrm{T}\mathrm{A}\mathrm{R}",
            ),
            (
                r"x_{\mathrm{offline}}^2",
                r"x_{\mathrm{o}\mathrm{f}\mathrm{f}\mathrm{l}\mathrm{i}\mathrm{n}\mathrm{e}}^2",
            ),
        ] {
            let mut set = |tex| {
                maths
                    .set(tex, 10.0, Stand::Displayed, &mut Vec::new())
                    .unwrap()
            };
            assert_eq!(set(word).marks, set(letters).marks, "{word}");
        }
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
