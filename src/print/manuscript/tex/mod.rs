//! Formulas that a template's author wrote in TeX, as trees.

mod nesting;

use std::iter::Peekable;
use std::sync::Arc;
use std::vec::IntoIter;

use pulldown_latex::event::{
    ArrayColumn, ColumnAlignment, Content, DelimiterSize, DelimiterType, Dimension, DimensionUnit,
    EnvironmentFlow, Event, Font, Grouping, ScriptPosition, ScriptType, StateChange, Style as Size,
    Visual,
};
use pulldown_latex::{Parser, Storage};
use smol_str::SmolStr;

use self::nesting::{DEEPEST, too_deep, too_nested_to_parse};
use crate::maths::alphabet::Alphabet;
use crate::maths::handles::{Handles, is_handle};
use crate::maths::{Align, Class, EMPTY, Math, Placement, Scripts, Style};

/// Where a line may be broken, which the parser does not know.
const BREAK: &str = "\\allowbreak";
/// What stands for it while the formula is parsed.
const STAND_IN: char = '\u{e000}';
/// A combining stroke, by which what is struck through differs from what is not.
const STROKE: char = '\u{338}';

/// Reads a formula, in which characters may stand for others.
///
/// # Errors
/// One sentence on what is wrong with the TeX.
pub fn read(tex: &str, handles: &Handles) -> Result<Math, String> {
    let tex = tex.replace(BREAK, &format!("{STAND_IN} "));
    if too_nested_to_parse(&tex) {
        return Err(too_deep());
    }
    let first_line = |text: &str| text.lines().next().unwrap_or_default().to_owned();
    let storage = Storage::new();
    // An event is large, and moving many of them while the list grows takes longer than finding them.
    let mut events = Vec::with_capacity(tex.len().min(500));
    for event in Parser::new(&tex, &storage) {
        events.push(event.map_err(|error| first_line(&error.to_string()))?);
    }
    let mut reader = Reader {
        events: events.into_iter().peekable(),
        handles,
        depth: 0,
    };
    reader.sequence(None)
}

/// Returns the same; what a single character stands for is shared.
///
/// # Errors
/// As [`read`].
pub fn read_shared(tex: &str, handles: &Handles) -> Result<Arc<Math>, String> {
    match alone(tex, handles) {
        Some(known) => Ok(known),
        None => read(tex, handles).map(Arc::new),
    }
}

/// Returns the formula that a text is no more than a handle of.
fn alone(tex: &str, handles: &Handles) -> Option<Arc<Math>> {
    let mut chars = tex.trim().chars();
    let only = chars.next().filter(|_| chars.next().is_none());
    only.and_then(|only| handles.get(only))
}

/// Reads a displayed chain: rows, each with what stands before and behind its alignment point.
///
/// # Errors
/// One sentence on what is wrong with the TeX.
pub fn read_rows(tex: &str, handles: &Handles) -> Result<Vec<(Math, Math)>, String> {
    let rows = match alone(tex, handles).map(Arc::unwrap_or_clone) {
        Some(Math::Table { rows, .. }) => rows,
        Some(one) => vec![vec![one]],
        None => match read(&format!("\\begin{{aligned}}{tex}\\end{{aligned}}"), handles)? {
            Math::Table { rows, .. } => rows,
            _ => return Err("an environment ends without beginning".to_owned()),
        },
    };
    let mut chain = Vec::with_capacity(rows.len());
    for row in rows {
        let mut cells = row.into_iter();
        match (cells.next(), cells.next(), cells.next()) {
            (Some(left), Some(right), None) => chain.push((left, right)),
            (Some(right), None, None) => chain.push((EMPTY, right)),
            (None, ..) => {}
            _ => return Err("a row has more than one alignment point".to_owned()),
        }
    }
    chain.retain(|(left, right)| !left.is_empty() || !right.is_empty());
    if chain.is_empty() {
        return Err("the formula is empty".to_owned());
    }
    Ok(chain)
}

struct Reader<'a> {
    events: Peekable<IntoIter<Event<'a>>>,
    handles: &'a Handles,
    depth: usize,
}

impl Reader<'_> {
    /// Returns all up to the end of the group, of the cell or of the formula, which is left.
    fn sequence(&mut self, mut font: Option<Font>) -> Result<Math, String> {
        let mut parts = Vec::new();
        while let Some(event) = self
            .events
            .next_if(|event| !matches!(event, Event::End | Event::EnvironmentFlow(_)))
        {
            match event {
                Event::StateChange(StateChange::Font(other)) => font = other,
                // Colours are the style file's.
                Event::StateChange(StateChange::Color(_)) => {}
                Event::StateChange(StateChange::Style(size)) => {
                    self.deeper()?;
                    let rest = self.sequence(font)?;
                    self.depth -= 1;
                    parts.push(Math::Styled(style(size), Box::new(rest)));
                }
                event => parts.extend(self.part(event, font)?),
            }
        }
        Ok(Math::row(parts))
    }

    /// Returns the next element: a single content, a group, or a construct with its parts.
    fn element(&mut self, font: Option<Font>) -> Result<Math, String> {
        while let Some(event) = self.events.next_if(|event| *event != Event::End) {
            if matches!(event, Event::StateChange(_)) {
                continue;
            }
            return Ok(self.part(event, font)?.unwrap_or(EMPTY));
        }
        Ok(EMPTY)
    }

    fn boxed(&mut self, font: Option<Font>) -> Result<Box<Math>, String> {
        self.element(font).map(Box::new)
    }

    fn deeper(&mut self) -> Result<(), String> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(too_deep());
        }
        Ok(())
    }

    fn part(&mut self, event: Event<'_>, font: Option<Font>) -> Result<Option<Math>, String> {
        self.deeper()?;
        let part = match event {
            Event::Content(Content::Ordinary { content, .. }) if is_handle(content) => {
                self.handles.get(content).map(Arc::unwrap_or_clone)
            }
            Event::Content(content) => Some(content_part(content, font)),
            Event::Begin(grouping) => Some(self.group(grouping, font)?),
            Event::Visual(Visual::SquareRoot) => Some(Math::Root {
                of: self.boxed(font)?,
                degree: None,
            }),
            Event::Visual(Visual::Root) => Some(Math::Root {
                of: self.boxed(font)?,
                degree: Some(self.boxed(font)?),
            }),
            Event::Visual(Visual::Fraction(bar)) => Some(Math::Fraction {
                above: self.boxed(font)?,
                below: self.boxed(font)?,
                bar: bar.is_none_or(|bar| bar.value != 0.0),
            }),
            Event::Visual(Visual::Negation) => Some(struck(&self.element(font)?)?),
            Event::Script { ty, position } => Some(self.scripts(ty, position, font)?),
            Event::Space { width, .. } => width.map(room),
            Event::End | Event::StateChange(_) | Event::EnvironmentFlow(_) => None,
        };
        self.depth -= 1;
        Ok(part)
    }

    fn group(&mut self, grouping: Grouping, font: Option<Font>) -> Result<Math, String> {
        match grouping {
            Grouping::Normal => {
                let inside = self.sequence(font)?;
                self.end();
                Ok(inside)
            }
            Grouping::LeftRight(open, close) => {
                let inside = Box::new(self.sequence(font)?);
                self.end();
                Ok(Math::Fence {
                    open,
                    inside,
                    close,
                })
            }
            environment => {
                let rows = self.cells()?;
                let cases = match environment {
                    Grouping::Cases { left } => Some(left),
                    _ => None,
                };
                let widest = rows.iter().map(Vec::len).max().unwrap_or_default();
                let columns = columns(&environment, widest);
                let table = Math::Table { columns, rows };
                Ok(match cases {
                    Some(left) => Math::Fence {
                        open: left.then_some('{'),
                        inside: Box::new(table),
                        close: (!left).then_some('}'),
                    },
                    None => table,
                })
            }
        }
    }

    /// Returns the cells of an environment, up to its end.
    fn cells(&mut self) -> Result<Vec<Vec<Math>>, String> {
        let mut rows = vec![Vec::new()];
        loop {
            let cell = self.sequence(None)?;
            let event = self.events.next();
            if let Some(row) = rows.last_mut()
                && (!row.is_empty() || !cell.is_empty() || is_alignment(event.as_ref()))
            {
                row.push(cell);
            }
            match event {
                Some(Event::EnvironmentFlow(EnvironmentFlow::NewLine { .. })) => {
                    rows.push(Vec::new());
                }
                Some(Event::EnvironmentFlow(_)) => {}
                _ => break,
            }
        }
        if rows.last().is_some_and(Vec::is_empty) {
            rows.pop();
        }
        Ok(rows)
    }

    fn end(&mut self) {
        // Only an alignment point outside of an environment stands before it, which the parser refuses.
        self.events.next_if(|event| *event == Event::End);
    }

    fn scripts(
        &mut self,
        ty: ScriptType,
        position: ScriptPosition,
        font: Option<Font>,
    ) -> Result<Math, String> {
        let base = self.element(font)?;
        if let (ScriptType::Superscript, ScriptPosition::AboveBelow) = (ty, position)
            && let Some(Event::Content(Content::Ordinary { content, stretchy })) =
                self.events.peek()
            && (*stretchy || is_accent(*content))
        {
            let (mark, wide) = (*content, *stretchy);
            self.events.next();
            return Ok(Math::Accent {
                on: Box::new(base),
                mark,
                wide,
            });
        }
        let below = match ty {
            ScriptType::Superscript => None,
            _ => Some(self.element(font)?),
        };
        let above = match ty {
            ScriptType::Subscript => None,
            _ => Some(self.element(font)?),
        };
        let placement = match position {
            ScriptPosition::Right => Placement::Beside,
            ScriptPosition::AboveBelow => Placement::Around,
            ScriptPosition::Movable => Placement::Movable,
        };
        Ok(Math::Scripts(Box::new(Scripts {
            base,
            below,
            above,
            placement,
        })))
    }
}

fn is_alignment(event: Option<&Event<'_>>) -> bool {
    matches!(
        event,
        Some(Event::EnvironmentFlow(EnvironmentFlow::Alignment))
    )
}

/// Returns whether a mark stands over letters; others are what somebody set there.
fn is_accent(mark: char) -> bool {
    matches!(
        mark,
        '´' | '‾' | '˘' | 'ˇ' | '˙' | '¨' | '`' | '^' | '~' | '→' | '˚'
    )
}

fn content_part(content: Content<'_>, font: Option<Font>) -> Math {
    let sign = |sign: char, class| Math::Sign(SmolStr::from_iter([sign]), class);
    match content {
        // The parser gives TeX's control space as it stands in HTML.
        Content::Text("&nbsp;") => Math::Text(SmolStr::new_static("\u{a0}")),
        Content::Text(text) => Math::Text(words(text, font)),
        Content::Number(digits) => {
            let font = match font {
                Some(Font::BoldSymbol) => Some(Font::Bold),
                other => other,
            };
            Math::Number(digits.chars().map(|digit| styled(digit, font)).collect())
        }
        Content::Function(name) => Math::Function(name.into()),
        Content::Ordinary {
            content,
            stretchy: true,
        } => sign(content, Class::Stretched),
        Content::Ordinary {
            content: STAND_IN, ..
        } => Math::Break,
        Content::Ordinary { content, .. } => letter(content, font),
        Content::LargeOp { content, .. } => sign(content, Class::Large),
        Content::BinaryOp { content: '*', .. } => Math::operator("∗"),
        Content::BinaryOp { content, .. } => sign(content, Class::Operator),
        Content::Relation { content, .. } => {
            let mut buffer = [0_u8; 8];
            Math::relation(&String::from_utf8_lossy(
                content.encode_utf8_to_buf(&mut buffer),
            ))
        }
        Content::Delimiter { content, size, ty } => {
            let tenths = match size {
                None => 0,
                Some(DelimiterSize::Big) => 12,
                Some(DelimiterSize::BIG) => 18,
                Some(DelimiterSize::Bigg) => 24,
                Some(DelimiterSize::BIGG) => 30,
            };
            let class = match ty {
                DelimiterType::Open => Class::Open(tenths),
                DelimiterType::Close => Class::Close(tenths),
                DelimiterType::Fence => Class::Middle,
            };
            sign(content, class)
        }
        Content::Punctuation(mark) => sign(mark, Class::Punctuation),
    }
}

/// Returns a letter in a font: italic by itself, as TeX has it, but for capitals that are not Latin.
fn letter(letter: char, font: Option<Font>) -> Math {
    let upright = |letter: char| Math::Upright(SmolStr::from_iter([letter]));
    let variable = |letter: char| match Alphabet::from_styled(letter) {
        Some((Alphabet::Italic, plain)) => Math::Variable(plain),
        // The parser takes the unit's prefix for the letter.
        None if letter == 'µ' => Math::Variable('μ'),
        None if Alphabet::Italic.styled(letter).is_some() => Math::Variable(letter),
        _ => upright(letter),
    };
    let capital =
        letter.is_uppercase() && !letter.is_ascii() && Alphabet::from_styled(letter).is_none();
    match font {
        None if capital => upright(letter),
        None | Some(Font::Italic) => variable(letter),
        Some(Font::BoldSymbol) if !capital => upright(styled(letter, Some(Font::BoldItalic))),
        font => upright(styled(letter, font)),
    }
}

/// Returns a letter or digit in a font; itself if the font has no other.
fn styled(letter: char, font: Option<Font>) -> char {
    let alphabet = match font {
        None | Some(Font::UpRight) => None,
        Some(Font::Italic) => Some(Alphabet::Italic),
        Some(Font::Bold | Font::BoldSymbol) => Some(Alphabet::Bold),
        Some(Font::BoldItalic) => Some(Alphabet::BoldItalic),
        Some(Font::Script) => Some(Alphabet::Script),
        Some(Font::BoldScript) => Some(Alphabet::BoldScript),
        Some(Font::Fraktur) => Some(Alphabet::Fraktur),
        Some(Font::BoldFraktur) => Some(Alphabet::BoldFraktur),
        Some(Font::DoubleStruck | Font::DoubleStruckItalic) => Some(Alphabet::DoubleStruck),
        Some(Font::SansSerif) => Some(Alphabet::SansSerif),
        Some(Font::BoldSansSerif) => Some(Alphabet::BoldSansSerif),
        Some(Font::SansSerifItalic) => Some(Alphabet::SansSerifItalic),
        Some(Font::SansSerifBoldItalic) => Some(Alphabet::SansSerifBoldItalic),
        Some(Font::Monospace) => Some(Alphabet::Monospace),
    };
    alphabet
        .and_then(|alphabet| alphabet.styled(letter))
        .unwrap_or(letter)
}

/// Words as they are set: blanks that count at their ends, signs without the backslash that TeX wants before them.
fn words(tex: &str, font: Option<Font>) -> SmolStr {
    let mut plain = String::with_capacity(tex.len());
    let mut rest = tex.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '\\' => plain.extend(
                rest.next_if(|next| matches!(next, '%' | '&' | '_' | '#' | '$' | '{' | '}' | ' '))
                    .or(Some('\\')),
            ),
            '{' | '}' => {}
            c => plain.push(styled(c, font)),
        }
    }
    let inner: Vec<&str> = plain.split_whitespace().collect();
    let blank = |there: bool| if there { "\u{a0}" } else { "" };
    SmolStr::from_iter([
        blank(plain.starts_with(char::is_whitespace)),
        &inner.join(" "),
        blank(plain.ends_with(char::is_whitespace) && !inner.is_empty()),
    ])
}

/// Returns a sign or a letter with a stroke through it.
fn struck(part: &Math) -> Result<Math, String> {
    let with_stroke = |text: &str| SmolStr::from(format!("{text}{STROKE}"));
    match part.parts() {
        [Math::Sign(sign, class)] => Ok(Math::Sign(with_stroke(sign), *class)),
        [Math::Upright(text)] => Ok(Math::Upright(with_stroke(text))),
        [Math::Variable(letter)] => {
            let set = styled(*letter, Some(Font::Italic));
            Ok(Math::Upright(with_stroke(set.encode_utf8(&mut [0; 4]))))
        }
        _ => Err("only a sign or a letter can be struck through".to_owned()),
    }
}

fn style(size: Size) -> Style {
    match size {
        Size::Display => Style::Display,
        Size::Text => Style::Text,
        Size::Script => Style::Script,
        Size::ScriptScript => Style::ScriptScript,
    }
}

/// Returns how the columns of an environment are aligned, if it has so many.
fn columns(environment: &Grouping, count: usize) -> Vec<Align> {
    let of = |alignment: &ColumnAlignment| match alignment {
        ColumnAlignment::Left => Align::Left,
        ColumnAlignment::Center => Align::Centre,
        ColumnAlignment::Right => Align::Right,
    };
    match environment {
        Grouping::Array(columns) => columns
            .iter()
            .filter_map(|column| match column {
                ArrayColumn::Column(alignment) => Some(of(alignment)),
                ArrayColumn::Separator(_) => None,
            })
            .collect(),
        Grouping::Matrix { alignment } | Grouping::SubArray { alignment } => {
            vec![of(alignment); count]
        }
        Grouping::Cases { .. } => vec![Align::Left; count],
        Grouping::Align { .. }
        | Grouping::Aligned
        | Grouping::Alignat { .. }
        | Grouping::Alignedat { .. }
        | Grouping::Split => [Align::Right, Align::Left]
            .into_iter()
            .cycle()
            .take(count)
            .collect(),
        _ => vec![Align::Centre; count],
    }
}

/// Returns a width as room, in thousandths of a math unit; what does not go with the size of text is taken at 10
/// points.
fn room(width: Dimension) -> Math {
    /// TeX's points in an inch.
    const INCH: f32 = 72.27;
    /// Points in an em.
    const EM: f32 = 10.0;
    let points = match width.unit {
        DimensionUnit::Em => width.value * EM,
        DimensionUnit::Mu => width.value * EM / 18.0,
        DimensionUnit::Ex => width.value * 0.43 * EM,
        DimensionUnit::Mm => width.value * INCH / 25.4,
        DimensionUnit::Cm => width.value * INCH / 2.54,
        DimensionUnit::In => width.value * INCH,
        DimensionUnit::Bp => width.value * INCH / 72.0,
        DimensionUnit::Pt => width.value,
        DimensionUnit::Pc => width.value * 12.0,
        DimensionUnit::Sp => width.value / 65_536.0,
        DimensionUnit::Dd => width.value * 1238.0 / 1157.0,
        DimensionUnit::Cc => width.value * 12.0 * 1238.0 / 1157.0,
    };
    Math::Space((points / EM * 18_000.0).round() as i32)
}
