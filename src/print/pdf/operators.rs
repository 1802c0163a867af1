//! Operators and operands as bytes of a content stream (ISO 32000-1, 7.8.2 and annex A).

use std::io::Write as _;

use super::write_object;

/// Lengths below this, points, are written as nothing.
pub(super) const LEAST: f32 = 0.005;

/// A content stream in the making.
#[derive(Default)]
pub(super) struct Operators(Vec<u8>);

impl Operators {
    /// Returns the finished stream.
    pub(super) fn into_bytes(self) -> Vec<u8> {
        self.0
    }

    /// An operator; its operands stand before it, each with a blank after it.
    pub(super) fn operator(&mut self, name: &str) {
        self.raw(name);
        self.0.push(b'\n');
    }

    /// What is already written as it will stand there.
    pub(super) fn raw(&mut self, text: &str) {
        self.0.extend_from_slice(text.as_bytes());
    }

    /// A name of plain letters and digits.
    pub(super) fn name(&mut self, name: &str) {
        self.0.push(b'/');
        self.raw(name);
        self.0.push(b' ');
    }

    /// A length in points, to two decimals: less than can be seen or printed.
    pub(super) fn length(&mut self, length: f32) {
        self.hundredths(hundredths(length));
    }

    /// A length in 1/100 point.
    pub(super) fn hundredths(&mut self, length: i64) {
        self.decimal(length, 2);
        self.0.push(b' ');
    }

    /// A colour's part or a cosine, to four decimals.
    pub(super) fn fraction(&mut self, fraction: f32) {
        self.decimal(whole(f64::from(fraction) * 10_000.0), 4);
        self.0.push(b' ');
    }

    /// Opens marked content that the structure tree knows by a number.
    pub(super) fn open_marked(&mut self, tag: &str, number: usize) {
        self.0.push(b'/');
        self.raw(tag);
        self.raw("<</MCID ");
        self.decimal(number as i64, 0);
        self.raw(">>");
        self.operator("BDC");
    }

    /// Opens content that is to be read as `text` (14.9.4), a text string with its byte order mark (7.9.2.2).
    pub(super) fn open_actual_text(&mut self, text: &str) {
        self.raw("/Span<</ActualText<FEFF");
        for unit in text.encode_utf16() {
            // Writing into memory does not fail.
            let _ = write!(self.0, "{unit:04X}");
        }
        self.raw(">>>");
        self.operator("BDC");
    }

    /// Closes the last marked content opened.
    pub(super) fn close_marked(&mut self) {
        self.operator("EMC");
    }

    /// Shows glyphs: their numbers in the font, and after some of them by how much the next one is moved to the left,
    /// in 1/1000 em (0 for not at all).
    pub(super) fn show(&mut self, glyphs: &[(u16, i64)]) {
        if glyphs.iter().all(|(_, moved)| *moved == 0) {
            self.0.push(b'(');
            for (number, _) in glyphs {
                self.glyph(*number);
            }
            self.raw(")");
            return self.operator("Tj");
        }
        self.0.push(b'[');
        let mut open = false;
        for (number, moved) in glyphs {
            if !open {
                self.0.push(b'(');
                open = true;
            }
            self.glyph(*number);
            if *moved != 0 {
                self.0.push(b')');
                open = false;
                self.decimal(*moved, 0);
            }
        }
        if open {
            self.0.push(b')');
        }
        self.raw("]");
        self.operator("TJ");
    }

    fn glyph(&mut self, number: u16) {
        for byte in number.to_be_bytes() {
            write_object::byte_of_string(&mut self.0, byte);
        }
    }

    /// `number` with the point `places` from its end, and no zeros after the last figure that counts.
    fn decimal(&mut self, number: i64, places: u32) {
        if number < 0 {
            self.0.push(b'-');
        }
        let (number, one) = (number.unsigned_abs(), 10_u64.pow(places));
        write_object::integer(&mut self.0, (number / one) as i64);
        let mut rest = number % one;
        if rest > 0 {
            self.0.push(b'.');
        }
        let mut unit = one;
        while rest > 0 {
            unit /= 10;
            self.0.push(b'0' + (rest / unit) as u8);
            rest %= unit;
        }
    }
}

/// Returns a length in points as the whole number of 1/100 point that is written for it.
pub(super) fn hundredths(length: f32) -> i64 {
    whole(f64::from(length) * 100.0)
}

/// Returns the nearest whole number, as [`f64::round`] does, which most processors are slower at.
pub(super) fn whole(number: f64) -> i64 {
    (number + 0.5_f64.copysign(number)) as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(write: impl FnOnce(&mut Operators)) -> String {
        let mut operators = Operators::default();
        write(&mut operators);
        String::from_utf8(operators.into_bytes()).unwrap()
    }

    #[test]
    fn numbers_are_as_short_as_they_can_be() {
        for (length, shown) in [
            (0.0, "0 "),
            (-0.0, "0 "),
            (0.004, "0 "),
            (-0.006, "-0.01 "),
            (0.1, "0.1 "),
            (12.0, "12 "),
            (100.0, "100 "),
            (-72.124, "-72.12 "),
            (841.89, "841.89 "),
            (1.0e6, "1000000 "),
        ] {
            assert_eq!(written(|it| it.length(length)), shown, "{length}");
        }
        assert_eq!(written(|it| it.fraction(0.703_11)), "0.7031 ");
    }

    #[test]
    fn glyphs_stand_together_until_one_is_moved() {
        let glyphs = [(0x4142, 0), (0x4344, -125), (0x4546, 7), (0x4748, 0)];
        assert_eq!(written(|it| it.show(&glyphs)), "[(ABCD)-125(EF)7(GH)]TJ\n");
    }

    #[test]
    fn bytes_that_would_end_or_change_a_string_are_escaped() {
        let glyphs = [(0x2829, 0), (0x5C0D, 0), (0x0A20, 0)];
        assert_eq!(written(|it| it.show(&glyphs)), "(\\(\\)\\\\\\r\n )Tj\n");
    }

    #[test]
    fn a_text_beyond_the_basic_plane_is_two_units() {
        assert_eq!(
            written(|it| it.open_actual_text("é\u{1D70C}")),
            "/Span<</ActualText<FEFF00E9D835DF0C>>>BDC\n"
        );
    }
}
