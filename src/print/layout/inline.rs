//! Collects the pieces of a text into words that are shaped and measured.

use std::rc::Rc;
use std::sync::Arc;

use super::digits::{Digits, may_be_long};
use super::maths::{MathStyle, SetFormula};
use super::words::{BreakAfter, Piece, PieceContent, TextStyle, Word};
use super::write_in::tick;
use super::{LayoutError, Layouter};
use crate::print::manuscript::Inline;
use crate::print::manuscript::said::{ManuscriptError, reference_text};
use crate::print::page::Face;

impl Layouter<'_> {
    /// Collects inlines into words.
    pub(super) fn words(
        &mut self,
        inlines: &[Inline],
        style: TextStyle,
    ) -> Result<Vec<Word>, LayoutError> {
        let mut words = Words::default();
        self.collect(inlines, style, &mut words)?;
        words.end(BreakAfter::Nothing);
        Ok(words.done)
    }

    fn collect(
        &mut self,
        inlines: &[Inline],
        style: TextStyle,
        words: &mut Words,
    ) -> Result<(), LayoutError> {
        for inline in inlines {
            match inline {
                Inline::Text(text) | Inline::Share { text, .. } => {
                    self.collect_text(text, style, words);
                }
                Inline::Emphasis(inside) => {
                    // There is no bold italic face; within bold, bold alone has to do.
                    let face = if style.face == Face::Regular {
                        Face::Italic
                    } else {
                        style.face
                    };
                    self.collect(inside, TextStyle { face, ..style }, words)?;
                }
                Inline::Strong(inside) => self.collect(
                    inside,
                    TextStyle {
                        face: Face::Bold,
                        ..style
                    },
                    words,
                )?,
                Inline::Struck(inside) => self.collect(
                    inside,
                    TextStyle {
                        struck: true,
                        ..style
                    },
                    words,
                )?,
                Inline::Code(text) => {
                    let style = TextStyle {
                        face: Face::Mono,
                        size: style.size * 0.82,
                        ..style
                    };
                    self.collect_text(text, style, words);
                }
                Inline::Math(math) => {
                    let formula =
                        self.maths
                            .set(math, style.size, MathStyle::InLine, &mut self.missing);
                    words.push(Piece {
                        width: formula.width,
                        ink: PieceContent::Formula(formula),
                        link: None,
                        style,
                    });
                }
                Inline::Reference(label) => self.collect_reference(label, false, style, words)?,
                Inline::Number(label) => self.collect_reference(label, true, style, words)?,
                Inline::Linked { label, text } => self.collect_linked(label, text, style, words)?,
                Inline::LineEnd => words.end(BreakAfter::LineEnd),
                Inline::Tick => words.push(set_piece(tick(), style)),
                Inline::WriteIn(cell) => {
                    let set = self.write_in(cell, style);
                    words.push(set_piece(set, style));
                }
            }
        }
        Ok(())
    }

    fn collect_reference(
        &mut self,
        label: &str,
        number_only: bool,
        style: TextStyle,
        words: &mut Words,
    ) -> Result<(), LayoutError> {
        let text = reference_text(&self.references, label, number_only)?;
        let link: Rc<str> = Rc::from(label);
        let style = TextStyle {
            colour: self.style.accent,
            ..style
        };
        for piece in self.pieces(&text, style) {
            words.push(Piece {
                link: Some(Rc::clone(&link)),
                ..piece
            });
        }
        Ok(())
    }

    /// Text that is a link; what is between its words is not.
    fn collect_linked(
        &mut self,
        label: &str,
        text: &[Inline],
        style: TextStyle,
        words: &mut Words,
    ) -> Result<(), LayoutError> {
        if !self.references.contains_key(label) {
            return Err(ManuscriptError::UnknownLabel(label.to_owned()).into());
        }
        let (done, open) = (words.done.len(), words.open.len());
        let style = TextStyle {
            colour: self.style.accent,
            ..style
        };
        self.collect(text, style, words)?;
        let link: Rc<str> = Rc::from(label);
        let mut first = open;
        for word in &mut words.done[done..] {
            for piece in word.pieces.iter_mut().skip(first) {
                piece.link = Some(Rc::clone(&link));
            }
            first = 0;
        }
        for piece in words.open.iter_mut().skip(first) {
            piece.link = Some(Rc::clone(&link));
        }
        Ok(())
    }

    fn collect_text(&mut self, text: &str, style: TextStyle, words: &mut Words) {
        let mut rest = text;
        while !rest.is_empty() {
            let space = rest.len() - rest.trim_start_matches(is_break).len();
            if space > 0 {
                words.end(BreakAfter::Space(style));
                rest = &rest[space..];
                continue;
            }
            let (word, after) = rest.split_at(rest.find(is_break).unwrap_or(rest.len()));
            rest = after;
            for (index, part) in parts(word).enumerate() {
                if index > 0 {
                    words.end(BreakAfter::Nothing);
                }
                let grouped = style.face != Face::Mono && may_be_long(part);
                for piece in self.pieces(part, style) {
                    words.push(if grouped {
                        piece.grouped(Digits::Among)
                    } else {
                        piece
                    });
                }
            }
        }
    }

    /// Shapes a text without breaks; what no face has is set as U+FFFD and remembered.
    pub(super) fn pieces(
        &mut self,
        text: &str,
        style: TextStyle,
    ) -> impl Iterator<Item = Piece> + use<> {
        let (runs, lacking) = self.typefaces.shape_shown(style.face, style.forms, text);
        self.missing.extend(lacking);
        runs.map(move |(face, shaped)| Piece {
            width: shaped.width * style.size,
            ink: PieceContent::Glyphs(shaped.glyphs),
            link: None,
            style: TextStyle { face, ..style },
        })
    }
}

/// Something set as a whole.
fn set_piece(set: SetFormula, style: TextStyle) -> Piece {
    Piece {
        width: set.width,
        ink: PieceContent::Formula(Arc::new(set)),
        link: None,
        style,
    }
}

/// White space where a line may end: the plain ones. The others are set as they are.
fn is_break(c: char) -> bool {
    matches!(c, ' ' | '\t' | '\n' | '\r')
}

/// Parts of a compound, each with its hyphen: a line may end between two longer words joined by one.
fn parts(word: &str) -> impl Iterator<Item = &str> {
    let mut rest = word;
    std::iter::from_fn(move || {
        if rest.is_empty() {
            return None;
        }
        let cut = rest
            .match_indices(['-', '–', '—'])
            .map(|(at, mark)| at + mark.len())
            .find(|&at| {
                let letters =
                    |text: &str| text.chars().count() >= 3 && text.chars().all(char::is_alphabetic);
                let before: String = rest[..at].chars().rev().skip(1).take(3).collect();
                let after: String = rest[at..].chars().take(3).collect();
                letters(&before) && letters(&after)
            })
            .unwrap_or(rest.len());
        let (part, after) = rest.split_at(cut);
        rest = after;
        Some(part)
    })
}

#[derive(Default)]
struct Words {
    done: Vec<Word>,
    open: Vec<Piece>,
}

impl Words {
    fn push(&mut self, piece: Piece) {
        self.open.push(piece);
    }

    fn end(&mut self, after: BreakAfter) {
        if !self.open.is_empty() {
            self.done.push(Word {
                pieces: std::mem::take(&mut self.open),
                after,
            });
        } else if let Some(last) = self.done.last_mut() {
            // Space after a forced line end, or before one, counts for nothing.
            match (last.after, after) {
                (BreakAfter::LineEnd, BreakAfter::LineEnd) => self.done.push(Word {
                    pieces: Vec::new(),
                    after,
                }),
                (BreakAfter::LineEnd, _) => {}
                _ => {
                    last.after = if after == BreakAfter::Nothing {
                        last.after
                    } else {
                        after
                    }
                }
            }
        }
    }
}
