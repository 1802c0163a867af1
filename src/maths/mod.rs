//! Formulas as trees: what is calculated with, written, set on pages and read aloud.
//!
//! A tree says what a formula is made of, not how it looks. It is said in words by [`Math::words`], written as TeX by
//! [`Math::tex`]; layout and markup make pages and `MathML` of it.
//!
//! Symbols are typed as they are read, `Math::from("ρ_air")`, with [`Math::bar`], [`Math::prime`] and [`Math::subscript`]
//! for the rest. `report` puts formulas into the text by [`handles`], one character each; the Markdown reader puts the
//! trees back. TeX that an author writes becomes the same tree (`manuscript::tex`). Four writers walk it: [`words`],
//! [`tex`], `layout::math_nodes`, `markup::mathml`; [`spacing`] decides for all of them how operators and functions are
//! spaced.

pub mod alphabet;
pub mod groups;
pub mod handles;
mod spacing;
pub mod superscript;
mod symbol;
mod tex;
mod words;

use smol_str::SmolStr;

pub use spacing::{Application, Fitted, fitted};

/// A formula, or a part of one.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Math {
    /// A letter that stands for a quantity; it is set in italics.
    Variable(char),
    /// Upright letters and signs that are neither operators nor relations: units, labels, `∞`.
    Upright(SmolStr),
    /// The name of a function, `exp`.
    Function(SmolStr),
    /// A number's digits.
    Number(SmolStr),
    /// Words, with spaces that count.
    Text(SmolStr),
    /// A sign that is spaced by what it is.
    Sign(SmolStr, Class),
    /// Room, in thousandths of a math unit (18 units are one em).
    Space(i32),
    /// Where a line may be broken, among the parts of the outermost row.
    Break,
    /// Parts side by side.
    Row(Vec<Math>),
    /// One part above another.
    Fraction {
        /// Above.
        above: Box<Math>,
        /// Below.
        below: Box<Math>,
        /// Whether a bar stands between the two.
        bar: bool,
    },
    /// A part with others below and above its end, or itself.
    Scripts(Box<Scripts>),
    /// A root.
    Root {
        /// What it is the root of.
        of: Box<Math>,
        /// Its degree, where that is not two.
        degree: Option<Box<Math>>,
    },
    /// Brackets as high as what is between them.
    Fence {
        /// The opening one.
        open: Option<char>,
        /// What is between.
        inside: Box<Math>,
        /// The closing one.
        close: Option<char>,
    },
    /// A mark over a part, `‾` for a mean.
    Accent {
        /// The part.
        on: Box<Math>,
        /// The mark, as it stands by itself.
        mark: char,
        /// Whether it is as wide as the part.
        wide: bool,
    },
    /// Cells in rows and columns.
    Table {
        /// How each column is aligned.
        columns: Vec<Align>,
        /// Cells; a row may have fewer than there are columns.
        rows: Vec<Vec<Math>>,
    },
    /// A part set larger or smaller than its place asks for.
    Styled(Style, Box<Math>),
}

/// What a sign does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    /// Joins what is on its two sides, `+`; a sign of what follows where nothing is before it.
    Operator,
    /// Says how two sides stand to each other, `=`.
    Relation,
    /// Divides, `,`.
    Punctuation,
    /// Works on all that follows, `∑`.
    Large,
    /// Opens; so many tenths of an em high, or as high as a letter if 0.
    Open(u8),
    /// Closes; as `Open`.
    Close(u8),
    /// Stands between an opening and a closing one, as high as these.
    Middle,
    /// As wide as what it stands above or below.
    Stretched,
}

/// A part with scripts; one of the two is there.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Scripts {
    /// What bears them.
    pub base: Math,
    /// The lower one.
    pub below: Option<Math>,
    /// The upper one.
    pub above: Option<Math>,
    /// Where they stand.
    pub placement: Placement,
}

/// Where scripts stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Placement {
    /// At the right.
    Beside,
    /// Below and above.
    Around,
    /// Below and above where the formula stands by itself, else at the right.
    Movable,
}

/// How a column of a table is aligned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Align {
    /// Flush left.
    Left,
    /// Centred.
    Centre,
    /// Flush right.
    Right,
}

/// Sizes of parts of formulas.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Style {
    /// As in a formula that stands by itself.
    Display,
    /// As in a line of text.
    Text,
    /// As in a script.
    Script,
    /// As in a script's script.
    ScriptScript,
}

/// A thin space, as between a number and its unit.
pub const THIN: Math = Math::Space(3000);

/// Nothing.
pub const EMPTY: Math = Math::Row(Vec::new());

impl Math {
    /// Parts side by side: upright letters that meet are one word, a part alone is itself. A sign alone stays in a row,
    /// where it joins nothing.
    pub fn row(parts: impl IntoIterator<Item = Self>) -> Self {
        let mut joined: Vec<Self> = Vec::new();
        for part in parts {
            match (joined.last_mut(), part) {
                (Some(Self::Upright(word)), Self::Upright(more)) => {
                    *word = SmolStr::from_iter([word.as_str(), more.as_str()]);
                }
                (_, part) => joined.push(part),
            }
        }
        match joined.pop() {
            Some(only) if joined.is_empty() && !only.is_loose() => only,
            last => {
                joined.extend(last);
                Self::Row(joined)
            }
        }
    }

    /// Returns whether it is a formula only beside others.
    fn is_loose(&self) -> bool {
        matches!(self, Self::Sign(..) | Self::Space(_) | Self::Break)
    }

    /// Returns the parts of the outermost row.
    pub fn parts(&self) -> &[Self] {
        match self {
            Self::Row(parts) => parts,
            one => std::slice::from_ref(one),
        }
    }

    /// Returns whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.parts().is_empty()
    }

    /// Returns an operator.
    pub fn operator(sign: &str) -> Self {
        Self::Sign(sign.into(), Class::Operator)
    }

    /// Returns a relation.
    pub fn relation(sign: &str) -> Self {
        Self::Sign(sign.into(), Class::Relation)
    }

    /// About how wide it is, in em: faces differ.
    pub fn ems(&self) -> f32 {
        let all = |parts: &[Self]| parts.iter().map(Self::ems).sum::<f32>();
        let some = |part: &Option<Self>| part.as_ref().map_or(0.0, Self::ems);
        match self {
            Self::Variable(_) => 0.6,
            Self::Upright(text) | Self::Number(text) | Self::Text(text) | Self::Function(text) => {
                0.52 * text.chars().count() as f32
            }
            Self::Sign(_, Class::Relation) => 1.35,
            Self::Sign(_, Class::Operator | Class::Large) => 1.25,
            Self::Sign(..) => 0.45,
            Self::Space(width) => *width as f32 / 18_000.0,
            Self::Break => 0.0,
            Self::Row(parts) => all(parts),
            Self::Fraction { above, below, .. } => above.ems().max(below.ems()) + 0.2,
            Self::Scripts(scripts) => {
                let wider = some(&scripts.below).max(some(&scripts.above));
                scripts.base.ems() + 0.7 * wider
            }
            Self::Root { of, .. } => of.ems() + 0.9,
            Self::Fence { inside, .. } => inside.ems() + 0.9,
            Self::Accent { on, .. } => on.ems(),
            Self::Table { rows, .. } => {
                let widths = rows.iter().map(|row| all(row));
                widths.fold(0.0, f32::max)
            }
            Self::Styled(_, inside) => inside.ems(),
        }
    }

    /// Returns how many leaves it has.
    pub fn leaves(&self) -> usize {
        let all = |parts: &[Self]| parts.iter().map(Self::leaves).sum();
        let some = |part: &Option<Self>| part.as_ref().map_or(0, Self::leaves);
        match self {
            Self::Row(parts) => all(parts),
            Self::Fraction { above, below, .. } => above.leaves() + below.leaves(),
            Self::Scripts(scripts) => {
                scripts.base.leaves() + some(&scripts.below) + some(&scripts.above)
            }
            Self::Root { of, degree } => {
                of.leaves() + degree.as_ref().map_or(0, |degree| degree.leaves())
            }
            Self::Fence { inside, .. } => inside.leaves() + 2,
            Self::Accent { on, .. } => on.leaves() + 1,
            Self::Table { rows, .. } => rows.iter().map(|row| all(row)).sum(),
            Self::Styled(_, inside) => inside.leaves(),
            _ => 1,
        }
    }
}
