//! Where words may be divided.

use std::ops::Range;

use hypher::{Lang, hyphenate_bounded};

use super::words::{Piece, PieceContent, Word};
use crate::print::page::Face;

/// A word of fewer letters is not divided.
const SHORTEST_DIVIDED: usize = 6;

/// Returns the text of a word that may be divided: one piece of running text in which no figure stands.
pub(super) fn dividable(word: &Word) -> Option<String> {
    let [piece] = word.pieces.as_slice() else {
        return None;
    };
    if piece.link.is_some() || matches!(piece.style.face, Face::Mono | Face::Math) {
        return None;
    }
    text_of(piece)
        .filter(|text| text.len() >= SHORTEST_DIVIDED && !text.chars().any(char::is_numeric))
}

/// Returns the text of a piece; `None` for a formula.
pub(super) fn text_of(piece: &Piece) -> Option<String> {
    match &piece.ink {
        PieceContent::Glyphs(glyphs) => Some(glyphs.iter().map(|glyph| &*glyph.text).collect()),
        PieceContent::Formula(_) => None,
    }
}

/// Width of a range of bytes of a piece's text, points; `None` if a ligature crosses an end of the range.
pub(super) fn part_width(piece: &Piece, bytes: Range<usize>) -> Option<f32> {
    let PieceContent::Glyphs(glyphs) = &piece.ink else {
        return None;
    };
    let (mut at, mut width) = (0, 0.0);
    for glyph in glyphs.iter() {
        let start = at;
        at += glyph.text.len();
        // A glyph without text of its own belongs to the one before it.
        let reaches_in = at > bytes.start && (start < bytes.end || start == at && at == bytes.end);
        if reaches_in {
            if start < bytes.start || at > bytes.end {
                return None;
            }
            width += glyph.advance;
        }
    }
    Some(width / 1000.0 * piece.style.size)
}

/// Returns where a word may be divided: inside runs of at least six letters, two from the front and three from the end.
pub(super) fn cuts(text: &str) -> Vec<usize> {
    let letters = |from: usize| {
        text[from..]
            .find(|c: char| !c.is_alphabetic())
            .map_or(text.len(), |at| from + at)
    };
    let mut cuts = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let end = letters(at);
        let run = &text[at..end];
        // Capitals throughout are an abbreviation or a formula such as NaCl's ions.
        let ordinary = run.chars().skip(1).all(char::is_lowercase);
        if ordinary && run.chars().count() >= SHORTEST_DIVIDED {
            let mut cut = at;
            for syllable in hyphenate_bounded(run, Lang::English, 2, 3) {
                cut += syllable.len();
                if cut < end {
                    cuts.push(cut);
                }
            }
        }
        at = end + text[end..].chars().next().map_or(1, char::len_utf8);
    }
    cuts
}

#[cfg(test)]
mod tests {
    use super::cuts;

    #[test]
    fn words_divide_at_syllables_and_figures_never() {
        let parts = |text: &str| {
            let mut parts = Vec::new();
            let mut from = 0;
            for cut in cuts(text) {
                parts.push(text[from..cut].to_owned());
                from = cut;
            }
            parts.push(text[from..].to_owned());
            parts.join("|")
        };
        assert_eq!(parts("(measurement),"), "(mea|sure|ment),");
        assert_eq!(parts("mass"), "mass");
        assert_eq!(parts("NaHCOOOO"), "NaHCOOOO");
        assert_eq!(parts("naïveté"), "naïveté");
        // Longer than the words that most programs expect.
        let name = "polyvinylpyrrolidonehydroxypropylmethylcelluloseacetate";
        assert!(parts(name).contains("cel|lu|lose"), "{}", parts(name));
        let greek = "υδροξυπροπυλομεθυλοκυτταρίνη";
        assert_eq!(parts(greek).replace('|', ""), greek);
    }
}
