//! Words that are wider than their column, made to fit: nothing is cut.

use std::sync::Arc;

use super::words::{BreakAfter, Piece, PieceContent, Word};

/// Words with those divided that are wider than `measure`: between glyphs, or set smaller if a formula.
pub(super) fn fitted(words: Vec<Word>, measure: f32) -> Vec<Word> {
    if words.iter().all(|word| word.width() <= measure) {
        return words;
    }
    let mut fitted = Vec::with_capacity(words.len() + 1);
    for word in words {
        if word.width() <= measure {
            fitted.push(word);
            continue;
        }
        let mut width = 0.0;
        let mut pieces = Vec::new();
        for piece in word
            .pieces
            .into_iter()
            .flat_map(|piece| clusters(piece, measure))
        {
            if width + piece.width > measure && !pieces.is_empty() {
                fitted.push(Word {
                    pieces: std::mem::take(&mut pieces),
                    after: BreakAfter::Nothing,
                });
                width = 0.0;
            }
            width += piece.width;
            pieces.push(piece);
        }
        fitted.push(Word {
            pieces,
            after: word.after,
        });
    }
    fitted
}

/// Returns a piece as pieces of one glyph, or one that is made to fit.
fn clusters(piece: Piece, measure: f32) -> Vec<Piece> {
    if piece.width <= measure && matches!(piece.ink, PieceContent::Formula(_)) {
        return vec![piece];
    }
    match piece.ink {
        PieceContent::Formula(ref formula) => {
            let formula = Arc::new(formula.scaled(measure / piece.width));
            vec![Piece {
                width: formula.width,
                ink: PieceContent::Formula(formula),
                ..piece
            }]
        }
        PieceContent::Glyphs(glyphs) => glyphs
            .iter()
            .map(|glyph| Piece {
                width: glyph.advance / 1000.0 * piece.style.size,
                ink: PieceContent::Glyphs([*glyph].into()),
                link: piece.link.clone(),
                style: piece.style,
            })
            .collect(),
    }
}
