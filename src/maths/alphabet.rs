//! Letters and digits in mathematical styles (Unicode, block "Mathematical Alphanumeric Symbols" and what of it stands among
//! "Letterlike Symbols").

/// A style of letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Alphabet {
    /// 𝑥
    Italic,
    /// 𝐱
    Bold,
    /// 𝒙
    BoldItalic,
    /// 𝓍
    Script,
    /// 𝔁
    BoldScript,
    /// 𝔵
    Fraktur,
    /// 𝖝
    BoldFraktur,
    /// 𝕩
    DoubleStruck,
    /// 𝗑
    SansSerif,
    /// 𝘅
    BoldSansSerif,
    /// 𝘹
    SansSerifItalic,
    /// 𝙭
    SansSerifBoldItalic,
    /// 𝚡
    Monospace,
}

/// Where the letters of an alphabet begin; 0 for what it has not.
struct Plane {
    capitals: u32,
    small: u32,
    digits: u32,
    greek_capitals: u32,
    greek_small: u32,
    /// Letters that are elsewhere.
    apart: &'static [(char, char)],
}

const ALL: [Alphabet; 13] = [
    Alphabet::Italic,
    Alphabet::Bold,
    Alphabet::BoldItalic,
    Alphabet::Script,
    Alphabet::BoldScript,
    Alphabet::Fraktur,
    Alphabet::BoldFraktur,
    Alphabet::DoubleStruck,
    Alphabet::SansSerif,
    Alphabet::BoldSansSerif,
    Alphabet::SansSerifItalic,
    Alphabet::SansSerifBoldItalic,
    Alphabet::Monospace,
];

impl Alphabet {
    fn plane(self) -> Plane {
        let plane =
            |[capitals, small, digits, greek_capitals, greek_small]: [u32; 5], apart| Plane {
                capitals,
                small,
                digits,
                greek_capitals,
                greek_small,
                apart,
            };
        match self {
            Self::Italic => plane(
                [0x1D434, 0x1D44E, 0, 0x1D6E2, 0x1D6FC],
                &[
                    ('h', 'ℎ'),
                    ('ı', '𝚤'),
                    ('ȷ', '𝚥'),
                    ('∂', '𝜕'),
                    ('∇', '𝛻'),
                    ('ϵ', '𝜖'),
                    ('ϑ', '𝜗'),
                    ('ϰ', '𝜘'),
                    ('ϕ', '𝜙'),
                    ('ϱ', '𝜚'),
                    ('ϖ', '𝜛'),
                ],
            ),
            Self::Bold => plane([0x1D400, 0x1D41A, 0x1D7CE, 0x1D6A8, 0x1D6C2], &[]),
            Self::BoldItalic => plane([0x1D468, 0x1D482, 0, 0x1D71C, 0x1D736], &[]),
            Self::Script => plane(
                [0x1D49C, 0x1D4B6, 0, 0, 0],
                &[
                    ('B', 'ℬ'),
                    ('E', 'ℰ'),
                    ('F', 'ℱ'),
                    ('H', 'ℋ'),
                    ('I', 'ℐ'),
                    ('L', 'ℒ'),
                    ('M', 'ℳ'),
                    ('R', 'ℛ'),
                    ('e', 'ℯ'),
                    ('g', 'ℊ'),
                    ('o', 'ℴ'),
                ],
            ),
            Self::BoldScript => plane([0x1D4D0, 0x1D4EA, 0, 0, 0], &[]),
            Self::Fraktur => plane(
                [0x1D504, 0x1D51E, 0, 0, 0],
                &[('C', 'ℭ'), ('H', 'ℌ'), ('I', 'ℑ'), ('R', 'ℜ'), ('Z', 'ℨ')],
            ),
            Self::BoldFraktur => plane([0x1D56C, 0x1D586, 0, 0, 0], &[]),
            Self::DoubleStruck => plane(
                [0x1D538, 0x1D552, 0x1D7D8, 0, 0],
                &[
                    ('C', 'ℂ'),
                    ('H', 'ℍ'),
                    ('N', 'ℕ'),
                    ('P', 'ℙ'),
                    ('Q', 'ℚ'),
                    ('R', 'ℝ'),
                    ('Z', 'ℤ'),
                ],
            ),
            Self::SansSerif => plane([0x1D5A0, 0x1D5BA, 0x1D7E2, 0, 0], &[]),
            Self::BoldSansSerif => plane([0x1D5D4, 0x1D5EE, 0x1D7EC, 0x1D756, 0x1D770], &[]),
            Self::SansSerifItalic => plane([0x1D608, 0x1D622, 0, 0, 0], &[]),
            Self::SansSerifBoldItalic => plane([0x1D63C, 0x1D656, 0, 0x1D790, 0x1D7AA], &[]),
            Self::Monospace => plane([0x1D670, 0x1D68A, 0x1D7F6, 0, 0], &[]),
        }
    }

    /// Returns the letter or digit `plain` in this style, if there is one.
    pub fn styled(self, plain: char) -> Option<char> {
        let plane = self.plane();
        if let Some((_, styled)) = plane.apart.iter().find(|(letter, _)| *letter == plain) {
            return Some(*styled);
        }
        let (start, first) = plane.block(plain)?;
        char::from_u32(start + (u32::from(plain) - u32::from(first)))
    }

    /// Returns what a styled letter or digit is without its style.
    pub fn from_styled(styled: char) -> Option<(Self, char)> {
        // Most letters are plain.
        if !matches!(styled, '\u{2100}'..='\u{214F}' | '\u{1D400}'..='\u{1D7FF}') {
            return None;
        }
        ALL.into_iter().find_map(|alphabet| {
            let plain = alphabet.plane().plain(styled)?;
            Some((alphabet, plain))
        })
    }
}

/// What the blocks of a plane hold, and how many of it.
const BLOCKS: [(char, u32); 5] = [('A', 26), ('a', 26), ('0', 10), ('Α', 25), ('α', 25)];

impl Plane {
    fn starts(&self) -> [u32; 5] {
        [
            self.capitals,
            self.small,
            self.digits,
            self.greek_capitals,
            self.greek_small,
        ]
    }

    /// Returns where the block of a letter starts, and its first letter.
    fn block(&self, plain: char) -> Option<(u32, char)> {
        let blocks = self.starts().into_iter().zip(BLOCKS);
        blocks
            .filter(|(start, (first, count))| {
                *start > 0 && (u32::from(*first)..u32::from(*first) + count).contains(&plain.into())
            })
            .map(|(start, (first, _))| (start, first))
            .next()
    }

    fn plain(&self, styled: char) -> Option<char> {
        if let Some((plain, _)) = self.apart.iter().find(|(_, letter)| *letter == styled) {
            return Some(*plain);
        }
        let mut blocks = self.starts().into_iter().zip(BLOCKS);
        blocks.find_map(|(start, (first, count))| {
            let at = u32::from(styled)
                .checked_sub(start)
                .filter(|at| *at < count)?;
            (start > 0)
                .then(|| char::from_u32(u32::from(first) + at))
                .flatten()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::{ALL, Alphabet};

    #[test]
    fn letters_are_styled_and_known_again() {
        for (alphabet, plain, styled) in [
            (Alphabet::Italic, 'x', '𝑥'),
            (Alphabet::Italic, 'h', 'ℎ'),
            (Alphabet::Italic, 'ρ', '𝜌'),
            (Alphabet::Italic, 'Δ', '𝛥'),
            (Alphabet::Bold, '7', '𝟕'),
            (Alphabet::DoubleStruck, 'R', 'ℝ'),
            (Alphabet::Monospace, 'z', '𝚣'),
        ] {
            assert_eq!(alphabet.styled(plain), Some(styled));
        }
        assert_eq!(Alphabet::Italic.styled('7'), None);
        assert_eq!(Alphabet::from_styled('ρ'), None);
        for alphabet in ALL {
            for plain in [
                'A', 'B', 'C', 'Z', 'a', 'e', 'g', 'h', 'z', '0', '9', 'Α', 'Ω', 'α', 'ω',
            ] {
                if let Some(styled) = alphabet.styled(plain) {
                    assert_eq!(
                        Alphabet::from_styled(styled),
                        Some((alphabet, plain)),
                        "{styled}"
                    );
                }
            }
        }
    }
}
