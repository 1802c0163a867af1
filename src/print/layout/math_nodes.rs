//! A formula's tree as the nodes that `formulary` sets.
//!
//! Letters, digits and units are those of the text around the formula ([`TextRuns`]); operators, fences, roots and accents
//! come from the face for mathematics.

use formulary::ast::{
    Color, ColumnAlign, DisplayMode, Length, MathRoot, Node, OperatorAttrs, ScriptLevel,
    StyleOverrides, TableCell,
};

use super::text_run::{TextRun, TextRuns};
use crate::maths::alphabet::Alphabet;
use crate::maths::{Align, Class, Fitted, Math, Placement, Scripts, Style, fitted};
use crate::print::page::Face;
use crate::print::typeface::Typefaces;

/// How a formula stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum MathStyle {
    /// In a line of text.
    InLine,
    /// By itself.
    Displayed,
    /// As `Displayed`, going on with what ends at its left with an operand: an operator that it begins with is spaced as
    /// one between two operands, so that parts set side by side look as if they had been set as one.
    Continued,
}

/// Room before and behind a function's name, ems.
const THIN: f32 = 0.1667;
/// Room before brackets that stretch, which `formulary` leaves none, ems.
const BEFORE_FENCE: f32 = 0.1;
/// Room at both ends of a fraction, likewise.
const BESIDE_FRACTION: f32 = 0.12;
/// How far a superscript is moved from a letter with an accent, which would run into it, in ems of the superscript.
const BESIDE_ACCENT: f32 = 0.12;

/// Accents as they stand by themselves, and as the face draws them over a letter: as wide as one, and with a place at which
/// they are attached.
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

/// So many fractions, one within the other, keep the size of a displayed formula: in a smaller one, scripts would be as large
/// as letters.
const FULL_FRACTIONS: usize = 2;
/// Sizes of scripts, and of scripts of scripts, in that of the formula: what the face's MATH table says.
const SCRIPTS: [f32; 3] = [1.0, 0.7, 0.5];
/// No script is smaller, points; a formula that is smaller itself has scripts of its own size.
pub(super) const SMALLEST: f32 = 7.0;

/// The ink that the glyphs of a power are known by. `formulary` hands it on to them; nothing is painted in it.
pub(super) const POWER: Color = Color::rgb(2, 2, 2);

/// Returns the nodes of a formula of a size in points, and the text runs in it; `shown` is what is set for a character,
/// itself if the face for mathematics has it.
pub(super) fn root(
    math: &Math,
    size: f32,
    stand: MathStyle,
    typefaces: &Typefaces,
    shown: &mut dyn FnMut(char) -> char,
) -> (MathRoot, Vec<TextRun>) {
    let (display, inline) = match stand {
        MathStyle::InLine => (DisplayMode::Inline, true),
        MathStyle::Displayed | MathStyle::Continued => (DisplayMode::Block, false),
    };
    let mut writer = Writer {
        size,
        level: 0,
        display: !inline,
        is_power: false,
        runs: TextRuns::new(typefaces),
        full_fractions: if inline { 0 } else { FULL_FRACTIONS },
        shown,
    };
    let continued = stand == MathStyle::Continued;
    // What `formulary` takes for an operand that shows nothing.
    let before = continued.then(|| Node::Identifier(String::new()));
    let mut children: Vec<Node> = before.into_iter().collect();
    children.extend(writer.row(math.parts(), continued));
    let root = MathRoot {
        display,
        displaystyle: None,
        children,
        warnings: Vec::new(),
    };
    (root, writer.runs.into_runs())
}

struct Writer<'a> {
    /// That of the formula, points.
    size: f32,
    /// How often what is written is a script of a script.
    level: usize,
    /// Whether scripts that may stand around do so.
    display: bool,
    /// Whether what is written is the power of a number or symbol, which is copied as one.
    is_power: bool,
    runs: TextRuns<'a>,
    /// So many fractions, one within the other, are set in full size.
    full_fractions: usize,
    shown: &'a mut dyn FnMut(char) -> char,
}

impl Writer<'_> {
    fn row(&mut self, parts: &[Math], continued: bool) -> Vec<Node> {
        let mut nodes = Vec::with_capacity(parts.len());
        for Fitted {
            part,
            infix,
            function,
        } in fitted(parts, continued)
        {
            nodes.extend(function.apart.then(|| room(THIN)));
            nodes.extend(self.node(part, infix));
            nodes.extend(function.open.then(|| room(THIN)));
        }
        nodes
    }

    /// Returns a part by itself.
    fn alone(&mut self, part: &Math) -> Node {
        self.node(part, false)
            .unwrap_or_else(|| Node::Row(Vec::new()))
    }

    fn boxed(&mut self, part: &Math) -> Box<Node> {
        Box::new(self.alone(part))
    }

    /// Returns what `write` writes as a script: so many levels down, in its size.
    fn smaller(
        &mut self,
        levels: usize,
        color: Option<Color>,
        write: impl FnOnce(&mut Self) -> Vec<Node>,
    ) -> Node {
        let before = (self.level, self.display, self.is_power, self.full_fractions);
        self.level = (self.level + levels).min(SCRIPTS.len() - 1);
        self.display = false;
        self.is_power |= color == Some(POWER);
        self.full_fractions = if levels == 0 {
            self.full_fractions.saturating_sub(1)
        } else {
            0
        };
        let children = write(self);
        let styles = StyleOverrides {
            math_size: Some(self.size_here()),
            color,
            ..StyleOverrides::default()
        };
        (self.level, self.display, self.is_power, self.full_fractions) = before;
        Node::Styled { styles, children }
    }

    /// Returns the size of what is written, as a length of `formulary`'s.
    fn size_here(&self) -> Length {
        Length::Px((self.size * SCRIPTS[self.level]).max(SMALLEST.min(self.size)))
    }

    /// Returns a part of a fraction.
    fn beside_bar(&mut self, part: &Math) -> Node {
        let levels = usize::from(self.full_fractions == 0);
        self.smaller(levels, None, |writer| vec![writer.alone(part)])
    }

    fn text(&mut self, text: &str) -> String {
        text.chars().map(|c| (self.shown)(c)).collect()
    }

    fn node(&mut self, part: &Math, infix: bool) -> Option<Node> {
        Some(match part {
            Math::Variable(letter) => {
                let set = Alphabet::Italic.styled(*letter).unwrap_or(*letter);
                let mut buffer = [0; 4];
                let typed = letter.encode_utf8(&mut buffer);
                let run = self.runs.node(Face::Italic, typed, self.is_power);
                run.unwrap_or_else(|| Node::Identifier((self.shown)(set).to_string()))
            }
            Math::Upright(text) if part.is_mark() => Node::Identifier(self.text(text)),
            Math::Upright(text) | Math::Function(text) | Math::Number(text) | Math::Text(text) => {
                let run = self.runs.node(Face::Regular, text, self.is_power);
                run.unwrap_or_else(|| Node::Text(self.text(text)))
            }
            Math::Sign(sign, Class::Punctuation) if self.level > 0 => {
                Node::Identifier(self.text(sign))
            }
            Math::Sign(sign, Class::Operator) if !infix => Node::Identifier(self.text(sign)),
            Math::Sign(sign, class) => self.operator(sign, attributes(*class)),
            Math::Space(width) => room(*width as f32 / 18_000.0),
            Math::Break => return None,
            Math::Row(parts) => Node::Row(self.row(parts, false)),
            Math::Fraction { above, below, bar } => {
                let fraction = Node::Frac {
                    num: Box::new(self.beside_bar(above)),
                    den: Box::new(self.beside_bar(below)),
                    line_thickness: (!bar).then_some(Length::Px(0.0)),
                };
                // One in full size has the gaps of one that is displayed.
                let styles = StyleOverrides {
                    display_style: (self.full_fractions > 0).then_some(true),
                    ..StyleOverrides::default()
                };
                let fraction = Node::Styled {
                    styles,
                    children: vec![fraction],
                };
                let [before, behind] = [BESIDE_FRACTION; 2].map(room);
                Node::Row(vec![before, fraction, behind])
            }
            Math::Scripts(scripts) => self.scripts(scripts),
            Math::Root { of, degree: None } => Node::Sqrt(vec![self.alone(of)]),
            Math::Root {
                of,
                degree: Some(degree),
            } => Node::Root {
                base: self.boxed(of),
                index: Box::new(self.smaller(2, None, |writer| vec![writer.alone(degree)])),
            },
            Math::Fence {
                open,
                inside,
                close,
            } => {
                let mut nodes = Vec::new();
                if let Some(open) = open {
                    nodes.push(room(BEFORE_FENCE));
                    nodes.push(self.stretched(*open));
                }
                nodes.extend(self.row(inside.parts(), false));
                nodes.extend(close.map(|close| self.stretched(close)));
                Node::Row(nodes)
            }
            Math::Accent { on, mark, wide } => {
                let drawn = ACCENTS.iter().find(|(accent, _)| accent == mark);
                let over = match drawn {
                    Some((_, drawn)) if is_letter(on) => {
                        Node::Identifier((self.shown)(*drawn).to_string())
                    }
                    _ if *wide => self.stretched(*mark),
                    _ => Node::Identifier((self.shown)(*mark).to_string()),
                };
                Node::UnderOver {
                    base: self.boxed(on),
                    under: None,
                    over: Some(Box::new(over)),
                    accent: Some(true),
                    accent_under: None,
                }
            }
            Math::Table { columns, rows } => self.table(columns, rows),
            Math::Styled(style, inside) => self.styled(*style, inside),
        })
    }

    fn operator(&mut self, sign: &str, attrs: OperatorAttrs) -> Node {
        Node::Operator {
            text: self.text(sign),
            attrs,
        }
    }

    fn stretched(&mut self, sign: char) -> Node {
        self.operator(sign.encode_utf8(&mut [0; 4]), attributes(Class::Stretched))
    }

    fn scripts(&mut self, scripts: &Scripts) -> Node {
        // Marks and a subscript stand one above the other, as the marks alone belong to the letter.
        let (letter, marks) = match &scripts.base {
            Math::Row(parts) if scripts.below.is_some() && scripts.above.is_none() => {
                let marks = parts.iter().rev().take_while(|part| part.is_mark());
                match parts.split_at(parts.len() - marks.count()) {
                    ([letter], marks @ [_, ..]) => (letter, Some(Math::row(marks.to_vec()))),
                    _ => (&scripts.base, None),
                }
            }
            base => (base, None),
        };
        let mut base = self.boxed(letter);
        if scripts.below.is_some() && stands_as_letter(letter) {
            // Subscripts stand level, however far the letter itself reaches below the line.
            base = Box::new(Node::Padded {
                width: None,
                height: None,
                depth: Some(Length::Px(0.0)),
                lspace: None,
                voffset: None,
                children: vec![*base],
            });
        }
        let around = match scripts.placement {
            Placement::Beside => false,
            Placement::Around => true,
            Placement::Movable => self.display,
        };
        let before_above = match letter {
            Math::Variable(letter) => self.runs.lean(*letter) / SCRIPTS[1],
            Math::Accent { .. } => BESIDE_ACCENT,
            _ => 0.0,
        };
        let mut moved = |script: &Option<Math>, ems: f32, ink: Option<Color>| {
            let script = script.as_ref()?;
            let script = self.smaller(1, ink, |writer| {
                let apart = (ems > 0.0 && !around).then(|| room(ems));
                let mut parts: Vec<Node> = apart.into_iter().collect();
                parts.extend(writer.row(script.parts(), false));
                parts
            });
            Some(Box::new(script))
        };
        let below = moved(&scripts.below, 0.0, None);
        let above = marks.as_ref().map_or(&scripts.above, |_| &marks);
        let ink = above.as_ref().filter(|above| is_whole_number(above));
        let above = moved(above, before_above, ink.filter(|_| !around).map(|_| POWER));
        if around {
            Node::UnderOver {
                base,
                under: below,
                over: above,
                accent: None,
                accent_under: None,
            }
        } else {
            Node::Scripts {
                base,
                sub: below,
                sup: above,
            }
        }
    }

    fn table(&mut self, columns: &[Align], rows: &[Vec<Math>]) -> Node {
        let rows = rows
            .iter()
            .map(|row| {
                row.iter()
                    .map(|cell| TableCell::new(Node::Row(self.row(cell.parts(), false))))
                    .collect()
            })
            .collect();
        let column_align = columns
            .iter()
            .map(|align| match align {
                Align::Left => ColumnAlign::Left,
                Align::Centre => ColumnAlign::Center,
                Align::Right => ColumnAlign::Right,
            })
            .collect();
        Node::Table { rows, column_align }
    }

    fn styled(&mut self, style: Style, inside: &Math) -> Node {
        let level = match style {
            Style::Display | Style::Text => 0,
            Style::Script => 1,
            Style::ScriptScript => 2,
        };
        let before = (self.level, self.display, self.full_fractions);
        self.level = usize::from(level);
        self.display = style == Style::Display;
        self.full_fractions = if self.display { FULL_FRACTIONS } else { 0 };
        let children = self.row(inside.parts(), false);
        let size = self.size_here();
        (self.level, self.display, self.full_fractions) = before;
        Node::Styled {
            styles: StyleOverrides {
                display_style: Some(style == Style::Display),
                script_level: Some(ScriptLevel::Set(level)),
                math_size: Some(size),
                ..StyleOverrides::default()
            },
            children,
        }
    }
}

/// Returns whether a part is one character, over which the face's own accents fit.
fn is_letter(part: &Math) -> bool {
    match part {
        Math::Variable(_) => true,
        Math::Upright(text) | Math::Number(text) => text.chars().count() == 1,
        _ => false,
    }
}

/// Returns whether a part is digits, with a sign or without.
fn is_whole_number(part: &Math) -> bool {
    part.parts().iter().all(|part| match part {
        Math::Number(digits) => digits.chars().all(|c| c.is_ascii_digit()),
        Math::Sign(sign, _) => sign == "−",
        _ => false,
    })
}

/// Returns whether a part is a letter, with an accent or without.
fn stands_as_letter(part: &Math) -> bool {
    match part {
        Math::Accent { on, .. } => is_letter(on),
        part => is_letter(part),
    }
}

fn room(ems: f32) -> Node {
    Node::Space {
        width: Some(Length::Em(ems)),
        height: None,
        depth: None,
    }
}

fn attributes(class: Class) -> OperatorAttrs {
    let none = OperatorAttrs::default();
    match class {
        Class::Operator | Class::Relation | Class::Punctuation => none,
        Class::Large => OperatorAttrs {
            movablelimits: Some(false),
            ..none
        },
        Class::Open(0) | Class::Close(0) => OperatorAttrs {
            symmetric: Some(false),
            stretchy: Some(false),
            ..none
        },
        Class::Open(tenths) | Class::Close(tenths) => {
            let size = Some(Length::Em(f32::from(tenths) / 10.0));
            OperatorAttrs {
                symmetric: Some(true),
                stretchy: Some(true),
                minsize: size,
                maxsize: size,
                ..none
            }
        }
        Class::Middle => OperatorAttrs {
            symmetric: Some(true),
            stretchy: Some(true),
            ..none
        },
        Class::Stretched => OperatorAttrs {
            stretchy: Some(true),
            ..none
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::handles::Handles;
    use crate::print::layout::text_run::run_of;
    use crate::print::manuscript::tex;

    const SIZE: f32 = 10.0;

    /// Returns what is in a script.
    fn within(script: Option<&Node>) -> &[Node] {
        match script {
            Some(Node::Styled { children, .. }) => children,
            _ => panic!("a script"),
        }
    }

    fn read(tex: &str) -> Result<Math, String> {
        tex::read(tex, &Handles::default())
    }

    /// Returns the nodes of a formula, with the text of each run in its place.
    fn nodes(math: &Math, stand: MathStyle) -> Vec<Node> {
        let (root, runs) = root(math, SIZE, stand, Typefaces::shared(), &mut |c| c);
        root.children
            .into_iter()
            .map(|node| read_back(node, &runs))
            .collect()
    }

    fn read_back(node: Node, runs: &[TextRun]) -> Node {
        let boxed = |node: Box<Node>| Box::new(read_back(*node, runs));
        let all = |nodes: Vec<Node>| -> Vec<Node> {
            nodes
                .into_iter()
                .map(|node| read_back(node, runs))
                .collect()
        };
        match node {
            Node::Styled { styles, children } => match run_of(styles.color) {
                Some(run) => {
                    let glyphs = runs[run].glyphs.iter();
                    Node::Text(glyphs.map(|glyph| &*glyph.text).collect())
                }
                None => Node::Styled {
                    styles,
                    children: all(children),
                },
            },
            Node::Padded {
                width: Some(_),
                children,
                ..
            } => all(children).remove(0),
            Node::Padded { children, .. } => Node::Row(all(children)),
            Node::Scripts { base, sub, sup } => Node::Scripts {
                base: boxed(base),
                sub: sub.map(boxed),
                sup: sup.map(boxed),
            },
            node => node,
        }
    }

    fn text(text: &str) -> Node {
        Node::Text(text.to_owned())
    }

    #[test]
    fn accents_of_letters_are_the_faces_own_and_keep_off_superscripts() {
        let displayed = |tex: &str| nodes(&read(tex).unwrap(), MathStyle::Displayed);
        let [Node::Scripts { base, sup, .. }] = &displayed(r"\overline{t}_{\mathrm{A}}^{2}")[..]
        else {
            panic!("scripts");
        };
        let Node::Row(children) = &**base else {
            panic!("a letter");
        };
        let over = |mark: &str| Some(Box::new(Node::Identifier(mark.to_owned())));
        assert!(
            matches!(&children[..], [Node::UnderOver { over: mark, .. }] if *mark == over("\u{304}"))
        );
        assert_eq!(within(sup.as_deref()), [room(BESIDE_ACCENT), text("²")]);
        let [Node::UnderOver { over: mark, .. }] = &displayed(r"\vec v")[..] else {
            panic!("an accent");
        };
        assert_eq!(*mark, over("\u{20d7}"));
        let [Node::UnderOver { over: mark, .. }] = &displayed(r"\overline{ab}")[..] else {
            panic!("an accent");
        };
        assert_eq!(*mark, over("‾"), "of one letter only");
    }

    /// Donald E. Knuth, *The `TeXbook`* (1984), chapter 16: marks are superscripts, above a subscript (from memory).
    #[test]
    fn marks_stand_above_a_subscript() {
        let symbol = Math::from("m''").subscript(Math::label("A"));
        let [Node::Scripts { sub, sup, .. }] = &nodes(&symbol, MathStyle::InLine)[..] else {
            panic!("scripts");
        };
        assert_eq!(within(sub.as_deref()), [text("A")]);
        let marks = Node::Identifier("′′".to_owned());
        assert_eq!(within(sup.as_deref()).last(), Some(&marks));
    }

    #[test]
    fn superscripts_keep_off_leaning_letters() {
        let symbol = read("V_1^2").unwrap();
        let [Node::Scripts { sub, sup, .. }] = &nodes(&symbol, MathStyle::Displayed)[..] else {
            panic!("scripts");
        };
        assert_eq!(within(sub.as_deref()), [text("1")]);
        assert!(matches!(
            within(sup.as_deref()),
            [Node::Space { width: Some(Length::Em(by)), .. }, _] if *by > 0.1
        ));
    }

    /// The sizes of numerators, from the outermost in.
    fn numerators(nodes: &[Node], sizes: &mut Vec<Option<Length>>) {
        for node in nodes {
            match node {
                Node::Row(parts) => numerators(parts, sizes),
                Node::Styled { children, .. } => numerators(children, sizes),
                Node::Frac { num, .. } => {
                    let Node::Styled { styles, children } = &**num else {
                        panic!("a size");
                    };
                    sizes.push(styles.math_size);
                    numerators(children, sizes);
                }
                _ => {}
            }
        }
    }

    #[test]
    fn letters_of_a_fraction_in_a_fraction_are_larger_than_their_scripts() {
        let mut sizes = Vec::new();
        let formula = read(r"\frac{\frac{\frac{a_1}{b}}{c}}{d}").unwrap();
        numerators(&nodes(&formula, MathStyle::Displayed), &mut sizes);
        let [full, small] = [10.0, 7.0].map(|size| Some(Length::Px(size)));
        assert_eq!(sizes, [full, full, small]);
    }
}
