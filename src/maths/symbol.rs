//! Symbols, labels, numbers and units as trees.

use smol_str::SmolStr;

use super::alphabet::Alphabet;
use super::superscript::lowered;
use super::{Class, Math, Placement, Scripts, THIN};

/// A symbol as it is typed: letters, marks as `'` or `′`, and behind `_` a label. `ρ`, `b_0`, `t_ref`, `Δρ`, `m'`, `m_pyc,w'`.
impl From<&str> for Math {
    fn from(symbol: &str) -> Self {
        let bare = symbol.trim_end_matches(['\'', '′']);
        let (letters, label) = match bare.split_once('_') {
            Some((letters, label)) => (letters, Some(label)),
            None => (bare, None),
        };
        let letters = Self::row(letters.chars().map(letter));
        let named = match label {
            Some(label) => letters.subscript(Self::label(label)),
            None => letters,
        };
        (0..symbol[bare.len()..].chars().count()).fold(named, |symbol, _| symbol.prime())
    }
}

/// Returns a letter of a symbol: Greek capitals are upright.
fn letter(letter: char) -> Math {
    match letter {
        '\'' => mark(),
        _ if Alphabet::Italic.styled(letter).is_some()
            && (letter.is_ascii() || !letter.is_uppercase()) =>
        {
            Math::Variable(letter)
        }
        letter => Math::Upright(SmolStr::from_iter([letter])),
    }
}

fn mark() -> Math {
    Math::Upright(SmolStr::new_static("′"))
}

impl Math {
    /// Returns whether it is no more than marks that tell a symbol from others of its letter.
    pub fn is_mark(&self) -> bool {
        matches!(self, Self::Upright(text) if text.chars().all(|c| c == '′'))
    }

    /// Returns the symbol of another quantity of the kind: with a mark.
    #[must_use]
    pub fn prime(self) -> Self {
        self.then([mark()])
    }

    /// Returns the symbol of a mean.
    #[must_use]
    pub fn bar(self) -> Self {
        Self::Accent {
            on: Box::new(self),
            mark: '‾',
            wide: false,
        }
    }

    /// As a function of another.
    #[must_use]
    pub fn applied_to(self, argument: Self) -> Self {
        let [open, close] = [("(", Class::Open(0)), (")", Class::Close(0))]
            .map(|(sign, class)| Self::Sign(sign.into(), class));
        self.then([open]).then(argument.into_parts()).then([close])
    }

    /// Returns its parts, to go on with in another row.
    pub fn into_parts(self) -> Vec<Self> {
        match self {
            Self::Row(parts) => parts,
            alone => vec![alone],
        }
    }

    /// With a subscript, at the last letter and its marks.
    #[must_use]
    pub fn subscript(self, below: Self) -> Self {
        let (mut before, base) = self.last_letter();
        before.push(Self::Scripts(Box::new(Scripts {
            base,
            below: Some(below),
            above: None,
            placement: Placement::Beside,
        })));
        Self::row(before)
    }

    /// Raised to a power: what has a subscript bears both.
    #[must_use]
    pub fn power(self, exponent: Self) -> Self {
        let (mut before, base) = self.last_letter();
        let scripts = match base {
            Self::Scripts(scripts) if scripts.above.is_none() => Scripts {
                above: Some(exponent),
                ..*scripts
            },
            base => Scripts {
                base,
                below: None,
                above: Some(exponent),
                placement: Placement::Beside,
            },
        };
        before.push(Self::Scripts(Box::new(scripts)));
        Self::row(before)
    }

    /// Returns what stands before its last letter with the marks behind it, and these.
    fn last_letter(self) -> (Vec<Self>, Self) {
        match self {
            Self::Row(mut parts) => {
                let marks = parts.iter().rev().take_while(|part| part.is_mark());
                let first = parts.len().saturating_sub(marks.count() + 1);
                let last = parts.split_off(first);
                (parts, Self::row(last))
            }
            alone => (Vec::new(), alone),
        }
    }

    /// With parts behind it, in one row.
    #[must_use]
    pub fn then(self, more: impl IntoIterator<Item = Self>) -> Self {
        let mut parts = self.into_parts();
        parts.extend(more);
        Self::row(parts)
    }

    /// Any text as an upright label; commas divide.
    pub fn label(text: &str) -> Self {
        let mut parts = Vec::new();
        for (at, piece) in text.split(',').enumerate() {
            if at > 0 {
                parts.push(Self::Sign(",".into(), Class::Punctuation));
            }
            parts.extend(runs(piece));
        }
        Self::row(parts)
    }

    /// Returns a unit's plain characters, `g/mL`.
    pub fn unit(unit: &str) -> Self {
        let mut parts = Vec::new();
        for (at, piece) in unit.split('/').enumerate() {
            if at > 0 {
                parts.push(Self::operator("/"));
            }
            // Factors stand apart, and one below the line is raised: `K⁻¹ Pa⁻¹`.
            for (at, factor) in piece.split(' ').enumerate() {
                parts.extend((at > 0).then_some(THIN));
                match factor.split_once('⁻') {
                    Some((base, raised)) => {
                        let exponent = Self::number(&lowered(&format!("⁻{raised}")));
                        parts.extend(Self::row(runs(base)).power(exponent).into_parts());
                    }
                    None => parts.extend(runs(factor)),
                }
            }
        }
        Self::row(parts)
    }

    /// Returns a decimal number: `-1.2e-3` or `−1.2 × 10⁻³` is one times a power of ten.
    pub fn number(text: &str) -> Self {
        let (mantissa, exponent) = match text.split_once("× 10") {
            Some((mantissa, raised)) => (mantissa.trim_end(), lowered(raised)),
            None => match text.split_once(['e', 'E']) {
                Some((mantissa, exponent)) => (mantissa, exponent.replace('-', "−")),
                None => (text, String::new()),
            },
        };
        let mut parts = Vec::new();
        if !matches!((mantissa, exponent.as_str()), ("1" | "", e) if !e.is_empty()) {
            parts.extend(signed(mantissa));
            parts.extend((!exponent.is_empty()).then(|| Self::operator("×")));
        }
        if !exponent.is_empty() {
            let exponent = Self::row(signed(exponent.trim_start_matches('+')));
            parts.push(Self::Number("10".into()).power(exponent));
        }
        Self::row(parts)
    }

    /// Returns a number with its unit, if it has one.
    pub fn quantity(text: &str, unit: &str) -> Self {
        let number = Self::number(text);
        if unit.is_empty() {
            number
        } else {
            number.then([THIN, Self::unit(unit)])
        }
    }

    /// Between parentheses as high as it is.
    #[must_use]
    pub fn parenthesised(self) -> Self {
        Self::Fence {
            open: Some('('),
            inside: Box::new(self),
            close: Some(')'),
        }
    }

    /// Returns one over the other.
    pub fn fraction(above: impl Into<Self>, below: impl Into<Self>) -> Self {
        Self::Fraction {
            above: Box::new(above.into()),
            below: Box::new(below.into()),
            bar: true,
        }
    }

    /// Returns its square root.
    #[must_use]
    pub fn root(self) -> Self {
        Self::Root {
            of: Box::new(self),
            degree: None,
        }
    }
}

/// Returns a number's sign and digits.
fn signed(text: &str) -> impl Iterator<Item = Math> {
    let digits = text.trim_start_matches(['-', '−']);
    let sign = (digits.len() < text.len()).then(|| Math::operator("−"));
    sign.into_iter().chain([Math::Number(digits.into())])
}

/// Digits as numbers, blanks as room, brackets as brackets, anything else as upright words.
fn runs(text: &str) -> Vec<Math> {
    #[derive(PartialEq)]
    enum Kind {
        Digits,
        Blank,
        Open,
        Close,
        Word,
    }
    let kind = |c: char| match c {
        '.' | '0'..='9' => Kind::Digits,
        '(' => Kind::Open,
        ')' => Kind::Close,
        c if c.is_whitespace() => Kind::Blank,
        _ => Kind::Word,
    };
    let chars: Vec<char> = text.chars().collect();
    let runs = chars.chunk_by(|a, b| kind(*a) == kind(*b));
    let part = |run: &[char]| {
        let word = run.iter().map(|c| if *c == '-' { '‐' } else { *c });
        let word: SmolStr = word.collect();
        match kind(run[0]) {
            Kind::Digits if run[0] != '.' => Math::Number(word),
            Kind::Digits | Kind::Word => Math::Upright(word),
            Kind::Blank => Math::Text("\u{a0}".into()),
            Kind::Open => Math::Sign(word, Class::Open(0)),
            Kind::Close => Math::Sign(word, Class::Close(0)),
        }
    };
    runs.map(part).collect()
}

#[cfg(test)]
mod tests {
    use super::Math;

    #[test]
    fn symbols_are_read_as_they_are_typed() {
        for (symbol, tex) in [
            ("ρ", r"\rho"),
            ("b_0", "b_0"),
            ("t_ref", r"t_{\mathrm{ref}}"),
            ("m'", "m'"),
            ("Δρ", r"\Delta\rho"),
            ("Δρ_A", r"\Delta\rho_{\mathrm{A}}"),
            ("m_pyc,w'", r"m_{\mathrm{pyc},\mathrm{w}}'"),
            ("ρ_bath 3", r"\rho_{\mathrm{bath}\ 3}"),
            ("m''", "m''"),
        ] {
            assert_eq!(Math::from(symbol).tex(), tex, "{symbol}");
        }
        let marked = Math::from("ρ'").subscript(Math::label("A"));
        assert_eq!(marked.tex(), r"{\rho'}_{\mathrm{A}}");
        let marked = Math::from("m''").subscript(Math::label("A"));
        assert_eq!(marked.tex(), r"{m''}_{\mathrm{A}}");
        let mean = Math::from("t").bar().subscript(Math::label("A,1"));
        assert_eq!(mean.tex(), r"\bar{t}_{\mathrm{A}, 1}");
        assert_eq!(mean.power(Math::number("2")).words(), "t bar_(A, 1)^2");
    }

    #[test]
    fn numbers_have_signs_and_powers() {
        for (text, words) in [
            ("0.0041", "0.0041"),
            ("-1.5", "−1.5"),
            ("−1.2 × 10⁻⁵", "−1.2 × 10^(−5)"),
            ("1.2e-3", "1.2 × 10^(−3)"),
            ("1e3", "10^3"),
        ] {
            assert_eq!(Math::number(text).words(), words);
        }
        assert_eq!(Math::quantity("1.13", "g/mL").tex(), r"1.13\,\mathrm{g/mL}");
    }
}
