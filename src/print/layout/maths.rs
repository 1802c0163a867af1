//! Formulas to marks on a baseline.
//!
//! `formulary` sets them with the face's `OpenType` MATH table. Nothing outside this file, `math_nodes` and
//! `text_run` knows it.

use std::slice;
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

use foldhash::HashMap;
use formulary::{Item as MathItem, LayoutOptions, MathFont};

use super::flow_item::{rule, scaled, shift};
pub(super) use super::math_nodes::MathStyle;
use super::math_nodes::{POWER, root};
use super::text_run::{TextRun, run_of};
use crate::maths::Math;
use crate::maths::superscript::raised;
use crate::print::page::{Colour, Face, Glyph, GlyphRun, GlyphText, Mark, Role};
use crate::print::typeface::{Forms, Typefaces};

/// A set formula, or something else that is set as a whole: marks with the baseline at y = 0 and the left end at x = 0.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SetFormula {
    pub width: f32,
    pub ascent: f32,
    pub descent: f32,
    pub marks: Vec<Mark>,
    /// In words, of a formula in a line; a displayed one is spoken as a whole.
    pub spoken: String,
    pub role: Role,
}

impl SetFormula {
    /// Returns the same formula in another size.
    pub(super) fn scaled(&self, factor: f32) -> Self {
        let marks = self.marks.iter().map(|mark| scaled(mark, factor)).collect();
        Self {
            width: self.width * factor,
            ascent: self.ascent * factor,
            descent: self.descent * factor,
            marks,
            spoken: self.spoken.clone(),
            role: self.role,
        }
    }

    /// Returns its marks with the left end of the baseline at (x, y).
    pub(super) fn marks_at(&self, x: f32, y: f32) -> impl Iterator<Item = Mark> {
        self.marks.iter().cloned().map(move |mut mark| {
            shift(&mut mark, x, y);
            mark
        })
    }
}

/// A formula, its size and how it stands.
type Key = (Arc<Math>, u32, MathStyle);
type Known = HashMap<Key, Arc<SetFormula>>;

/// Formulas that reports made in one go are likely to have in common, above all symbols: all that is set is a matter of
/// their keys.
static COMMON: LazyLock<Mutex<Known>> = LazyLock::new(|| Mutex::new(empty_store()));
/// A formula of more leaves than this has numbers of its own and is hardly met in another report.
const MOST_LEAVES: usize = 12;
/// No more formulas than this are kept for other reports, so that memory does not grow with their number.
const MOST_COMMON: usize = 4096;

/// Returns an empty store with room for the formulas, with their parts, of most reports.
fn empty_store() -> Known {
    Known::with_capacity_and_hasher(1024, foldhash::fast::RandomState::default())
}

/// Sets formulas, each once for a size and stand.
pub(super) struct Maths<'a> {
    typefaces: &'a Typefaces,
    /// No formula is set taller than this, points.
    tallest: f32,
    known: Known,
}

impl<'a> Maths<'a> {
    pub(super) fn new(typefaces: &'a Typefaces, tallest: f32) -> Self {
        Self {
            typefaces,
            tallest,
            known: empty_store(),
        }
    }

    /// Sets a formula; characters that the face lacks are added to `missing` and set as U+FFFD or `?`.
    pub(super) fn set(
        &mut self,
        math: &Arc<Math>,
        size: f32,
        stand: MathStyle,
        missing: &mut impl Extend<char>,
    ) -> Arc<SetFormula> {
        let key = (Arc::clone(math), size.to_bits(), stand);
        if let Some(known) = self.known.get(&key) {
            return Arc::clone(known);
        }
        // A thread that panicked while it held the lock left finished formulas only.
        let common = || COMMON.lock().unwrap_or_else(PoisonError::into_inner);
        let may_be_common = math.leaves() <= MOST_LEAVES;
        let met = may_be_common.then(|| common().get(&key).map(Arc::clone));
        let set = if let Some(met) = met.flatten() {
            met
        } else {
            let mut lacking = Vec::new();
            let set = Arc::new(self.typeset(math, size, stand, &mut lacking));
            // What lacks a character is told of anew in each report.
            if may_be_common && lacking.is_empty() {
                let mut common = common();
                if common.len() < MOST_COMMON {
                    common.insert(key.clone(), Arc::clone(&set));
                }
            }
            missing.extend(lacking);
            set
        };
        let height = set.ascent + set.descent;
        let set = if height > self.tallest {
            Arc::new(set.scaled(self.tallest / height))
        } else {
            set
        };
        self.known.insert(key, Arc::clone(&set));
        set
    }

    /// Sets a formula, with another character for each that the face lacks; it is spoken as it is written.
    fn typeset(
        &self,
        math: &Math,
        size: f32,
        stand: MathStyle,
        lacking: &mut Vec<char>,
    ) -> SetFormula {
        static FONT: LazyLock<MathFont<'static>> = LazyLock::new(|| {
            MathFont::new(Typefaces::shared().data(Face::Math), 0)
                .expect("the face for mathematics has a MATH table")
        });
        let spoken = match stand {
            MathStyle::InLine => math.words(),
            MathStyle::Displayed | MathStyle::Continued => String::new(),
        };
        let mut shown = |c: char| {
            if c.is_ascii() || !self.lacks(c) {
                return c;
            }
            lacking.push(c);
            if self.lacks('\u{fffd}') {
                '?'
            } else {
                '\u{fffd}'
            }
        };
        let (tree, runs) = root(math, size, stand, self.typefaces, &mut shown);
        let laid = formulary::layout(&tree, &FONT, &LayoutOptions { font_size: size });
        SetFormula {
            width: laid.width,
            ascent: laid.ascent,
            descent: laid.descent,
            marks: marks(&laid.items, &runs, self.typefaces),
            spoken,
            role: Role::Formula,
        }
    }

    fn lacks(&self, c: char) -> bool {
        let mut buffer = [0; 4];
        let text = c.encode_utf8(&mut buffer);
        let shaped = self.typefaces.shape(Face::Math, Forms::default(), text);
        !shaped.missing.is_empty()
    }
}

/// Text runs stand where the glyphs do that stand for them. Neighbours on one baseline, in one face and size, become one run.
fn marks(items: &[MathItem], runs: &[TextRun], typefaces: &Typefaces) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    let mut open: Option<OpenRun> = None;
    let mut last_run = None;
    for item in items {
        match *item {
            MathItem::Glyph {
                id,
                x,
                y,
                size,
                color,
                ..
            } => {
                let index = run_of(color);
                let alone;
                let (face, glyphs) = match index.and_then(|index| runs.get(index)) {
                    Some(_) if index == last_run => continue,
                    Some(run) => {
                        last_run = index;
                        (run.face, &*run.glyphs)
                    }
                    None => {
                        let text = typefaces.math_text(id.0);
                        alone = Glyph {
                            id: id.0,
                            advance: typefaces.advance(Face::Math, id.0),
                            // A power is copied as one, not as digits more.
                            text: match color {
                                Some(POWER) => GlyphText::new(&raised(&text)),
                                _ => text,
                            },
                        };
                        (Face::Math, slice::from_ref(&alone))
                    }
                };
                match &mut open {
                    Some(run) if run.goes_on(face, size, x, y) => run.extend(x, glyphs),
                    _ => {
                        let next = OpenRun::new(face, size, x, y, glyphs);
                        marks.extend(open.replace(next).map(OpenRun::closed));
                    }
                }
            }
            MathItem::Rule { x, y, w, h, .. } => {
                marks.extend(open.take().map(OpenRun::closed));
                marks.push(rule(x, x + w, y, h, Colour::BLACK));
            }
            _ => {}
        }
    }
    marks.extend(open.map(OpenRun::closed));
    marks
}

/// A run of a formula that may still go on.
struct OpenRun {
    face: Face,
    size: f32,
    x: f32,
    y: f32,
    glyphs: Vec<Glyph>,
    /// Left end of the last glyph.
    last: f32,
}

impl OpenRun {
    fn new(face: Face, size: f32, x: f32, y: f32, glyphs: &[Glyph]) -> Self {
        let mut run = Self {
            face,
            size,
            x,
            y,
            glyphs: Vec::new(),
            last: x,
        };
        run.extend(x, glyphs);
        run
    }

    /// Whether what begins at (x, y) stands to the right of the last glyph on its baseline, in its face and size.
    fn goes_on(&self, face: Face, size: f32, x: f32, y: f32) -> bool {
        let same = |a: f32, b: f32| (a - b).abs() < 1e-3;
        self.face == face && same(self.y, y) && same(self.size, size) && x > self.last
    }

    /// Adds glyphs that begin at `x`.
    fn extend(&mut self, x: f32, glyphs: &[Glyph]) {
        if let Some(last) = self.glyphs.last_mut() {
            last.advance = (x - self.last) / self.size * 1000.0;
        }
        let before = glyphs.iter().rev().skip(1);
        let before: f32 = before.map(|glyph| glyph.advance).sum();
        self.last = x + before / 1000.0 * self.size;
        self.glyphs.extend_from_slice(glyphs);
    }

    fn closed(self) -> Mark {
        Mark::Glyphs(GlyphRun {
            face: self.face,
            size: self.size,
            x: self.x,
            y: self.y,
            turn: 0.0,
            colour: Colour::BLACK,
            glyphs: self.glyphs.into(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::handles::Handles;
    use crate::print::manuscript::tex;

    fn read(tex: &str) -> Result<Math, String> {
        tex::read(tex, &Handles::default())
    }

    #[test]
    fn parts_side_by_side_are_as_wide_as_the_whole() {
        let typefaces = Typefaces::load();
        let mut maths = Maths::new(&typefaces, 600.0);
        let mut width = |tex: &str, stand| {
            let math = Arc::new(read(tex).unwrap());
            maths.set(&math, 10.0, stand, &mut Vec::new()).width
        };
        for (one, other) in [
            ("a", "+ b"),
            ("= 1.5", r"- \left(-2\right)"),
            ("= a", r"\times 10^{-3}"),
            (r"\rho", "= 3"),
            (r"\frac{a}{b}", r"\, c"),
        ] {
            let whole = width(&format!("{one} {other}"), MathStyle::Displayed);
            let parts = width(one, MathStyle::Displayed) + width(other, MathStyle::Continued);
            assert!(
                (whole - parts).abs() < 1e-3,
                "{one} {other}: {parts} for {whole}"
            );
        }
    }

    #[test]
    fn a_power_is_copied_as_one() {
        let typefaces = Typefaces::load();
        let mut maths = Maths::new(&typefaces, 600.0);
        for (tex, copied) in [
            ("10^{-6}", "10⁻⁶"),
            ("19.5667^2", "19.5667²"),
            (r"t_{2}^{3} - 2", "t³2−2"),
            ("a^{1.5}", "a1.5"),
            ("a^{n}", "an"),
        ] {
            let math = Arc::new(read(tex).unwrap());
            let set = maths.set(&math, 10.0, MathStyle::Displayed, &mut Vec::new());
            let glyphs = set.marks.iter().filter_map(|mark| match mark {
                Mark::Glyphs(run) => Some(run.glyphs.iter().map(|glyph| &*glyph.text)),
                _ => None,
            });
            let text: String = glyphs.flatten().collect();
            assert_eq!(text, copied, "{tex}");
        }
    }

    /// Donald E. Knuth, *The `TeXbook`* (1984), appendix G, rule 18: how far a subscript of a single letter drops does not
    /// depend on the letter (from memory).
    #[test]
    fn subscripts_stand_level_behind_every_letter() {
        let typefaces = Typefaces::load();
        let mut maths = Maths::new(&typefaces, 600.0);
        let latin = ('a'..='z').chain('A'..='Z');
        let greek = ('α'..='ω').chain("ΓΔΘΛΞΠΣΦΨΩ".chars());
        let mut baselines: Vec<f32> = Vec::new();
        for letter in latin.chain(greek) {
            for base in [letter.to_string(), format!(r"\overline{{{letter}}}")] {
                let math = Arc::new(read(&format!("{base}_1")).unwrap());
                let set = maths.set(&math, 10.0, MathStyle::Displayed, &mut Vec::new());
                let digit = set.marks.iter().find_map(|mark| match mark {
                    Mark::Glyphs(run) if run.glyphs.iter().any(|g| &*g.text == "1") => Some(run.y),
                    _ => None,
                });
                baselines.push(digit.unwrap_or_else(|| panic!("{letter} has no subscript")));
            }
        }
        baselines.dedup_by(|one, other| (*one - *other).abs() < 1e-3);
        assert_eq!(baselines.len(), 1, "{baselines:?}");
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
                let math = Arc::new(read(tex).unwrap());
                maths.set(&math, 10.0, MathStyle::Displayed, &mut Vec::new())
            };
            assert_eq!(set(word).marks, set(letters).marks, "{word}");
        }
    }
}
