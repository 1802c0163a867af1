//! Every pair of plain characters, shaped in one setting.

use rustybuzz::ttf_parser::GlyphId;
use rustybuzz::{Face, ShapePlan, UnicodeBuffer};

use crate::shaper;

/// The one glyph of a character and how far the pen moves after it.
type Alone = Option<(u16, i32)>;

/// Appends 16-bit numbers, little-endian, in units of the face: for each character its glyph (0 if it is not set as one) and
/// by how much its advance exceeds the glyph's own; then for each character its kern before each of them.
pub(crate) fn write(face: &Face<'_>, plan: &ShapePlan, table: &mut Vec<u8>) {
    let shape = |text: &[char]| {
        let text: String = text.iter().collect();
        shaper::shape(face, plan, UnicodeBuffer::new(), &text)
    };
    let plain: Vec<char> = shaper::PLAIN.chars().collect();
    let alone = |character: &char| -> Alone {
        let shaped = shape(&[*character]);
        match (shaped.glyph_infos(), shaped.glyph_positions()) {
            ([info], [at]) if info.glyph_id != 0 && (at.x_offset, at.y_offset) == (0, 0) => {
                Some((info.glyph_id as u16, at.x_advance))
            }
            _ => None,
        }
    };
    let alone: Vec<Alone> = plain.iter().map(alone).collect();
    for glyph in &alone {
        let (id, advance) = glyph.unwrap_or_default();
        let nominal = face.glyph_hor_advance(GlyphId(id)).unwrap_or_default();
        let excess = glyph.map_or(0, |_| advance - i32::from(nominal));
        table.extend(id.to_le_bytes());
        table.extend((excess as i16).to_le_bytes());
    }
    for (first, first_alone) in plain.iter().zip(&alone) {
        for (second, second_alone) in plain.iter().zip(&alone) {
            let shaped = shape(&[*first, *second]);
            let kern = match (
                shaped.glyph_infos(),
                shaped.glyph_positions(),
                first_alone,
                second_alone,
            ) {
                (
                    [one, two],
                    [at_one, at_two],
                    Some((first, advance)),
                    Some((second, unchanged)),
                ) if one.glyph_id == u32::from(*first)
                    && two.glyph_id == u32::from(*second)
                    && at_two.x_advance == *unchanged
                    && [at_one, at_two].map(|at| (at.x_offset, at.y_offset)) == [(0, 0); 2] =>
                {
                    (at_one.x_advance - advance) as i16
                }
                _ => shaper::JOINED,
            };
            table.extend(kern.to_le_bytes());
        }
    }
}
