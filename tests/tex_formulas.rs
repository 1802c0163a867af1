//! TeX as a template's author writes it, into formulas.

use fillmark::maths::handles::Handles;
use fillmark::maths::{Align, Class, Math, Placement, Scripts, Style};

fn read(tex: &str) -> Result<Math, String> {
    fillmark::print::manuscript::tex::read(tex, &Handles::default())
}

fn read_rows(tex: &str) -> Result<Vec<(Math, Math)>, String> {
    fillmark::print::manuscript::tex::read_rows(tex, &Handles::default())
}

#[test]
fn handles_are_read_as_what_they_stand_for() {
    let handles = Handles::default();
    let [rho, marked] = ["ρ_A", "m'"].map(|symbol| handles.text(symbol));
    let read =
        |tex: &str| fillmark::print::manuscript::tex::read(tex, &handles).map(|math| math.tex());
    let tex = format!(r"{rho}^2 = \frac{{{rho}}}{{V}} - {marked}");
    let said = Ok(r"{\rho_{\mathrm{A}}}^2 = \frac{\rho_{\mathrm{A}}}{V} - {m'}".to_owned());
    assert_eq!(read(&tex), said);
    let chain = Math::Table {
        columns: vec![Align::Right, Align::Left],
        rows: vec![vec![Math::from("a"), Math::relation("=")]],
    };
    let rows = fillmark::print::manuscript::tex::read_rows(
        &format!(" {} ", handles.text(chain)),
        &handles,
    );
    assert_eq!(rows, Ok(vec![(Math::from("a"), Math::relation("="))]));
}

#[test]
fn formulas_are_said_in_plain_characters() {
    for (tex, said) in [
        (r"\frac{a}{b}", "(a)/(b)"),
        (r"\rho_A", "ρ_A"),
        (r"x^2", "x^2"),
        (r"10^{-3}", "10^(−3)"),
        (r"\sqrt{u^2 + v^2}", "√(u^2 + v^2)"),
        (r"x = -3 - a", "x = −3 − a"),
        (r"\bar{x} = 1", "x bar = 1"),
        (r"\sum_{i=1}^n x_i", "sum from i = 1 to n of x_i"),
        (r"\sum_i x_i", "sum over i of x_i"),
        (r"\sum_{i=1} x_i", "sum from i = 1 of x_i"),
        (r"\prod_k k", "product over k of k"),
        (r"\lim_{x \to 0} x", "limit as x → 0 of x"),
        (r"12.5\,\mathrm{g/mL}", "12.5 g/mL"),
        (r"\left(\frac{1}{2}\right)", "((1)/(2))"),
        (r"m_{\text{salt}}", "m_salt"),
        (r"\rho_{\mathrm{bath\ 3}}", "ρ_(bath 3)"),
        (r"\mathbf{x} \not= \Delta", "x not = Δ"),
    ] {
        let words = read(tex).map(|math| math.words());
        assert_eq!(words.as_deref(), Ok(said), "{tex}");
    }
}

#[test]
fn broken_and_bottomless_formulas_are_refused() {
    for tex in [
        r"\frac{a".to_owned(),
        "{".repeat(10_000),
        r"\sqrt".repeat(499) + "x",
        r"\sqrt".repeat(10_000) + "x",
        r"\sqrt[x]".repeat(10_000) + "x",
        r"\sqrt [\frac".repeat(10_000) + "x",
        r"\frac x".repeat(10_000) + "x",
        r"\frac{x}".repeat(10_000) + "x",
        r"\left( x".repeat(10_000) + "x",
        r"\textstyle ".repeat(10_000) + "x",
        r"\nosuchcommand".to_owned(),
        r"\not{a + b}".to_owned(),
    ] {
        assert!(read(&tex).is_err(), "{tex:.20}");
    }
}

#[test]
fn long_formulas_that_are_not_deep_are_read() {
    for term in [
        r"\frac{m_2 - m_1}{V} + ",
        r"\rho_{\mathrm{app},\,A} + ",
        r"\left(-2.06 \times 10^{1}\,\mathrm{°C}\right)^{2} - ",
        r"\sqrt[3]{x}\, \alpha\beta ",
        r"\sqrt x + \frac12 ",
    ] {
        let read = read(&(term.repeat(2_000) + "x"));
        assert!(read.is_ok(), "{term}: {read:?}");
    }
}

#[test]
fn rows_are_divided_outside_braces_and_environments_only() {
    let rows = read_rows(r"\rho &= \frac{m}{V} \\ &= 1.2\,\mathrm{g/mL} \\").expect("well formed");
    assert_eq!(rows.len(), 2);
    assert!(rows[1].0.is_empty());
    assert_eq!(rows[1].1.words(), "= 1.2 g/mL");
    let rows = read_rows(r"a &= \begin{matrix} 1 & 2 \\ 3 & 4 \end{matrix} \\ \text{b & c} &= x");
    let rows = rows.expect("well formed");
    assert_eq!(rows.len(), 2);
    assert_eq!(rows[1].0.words(), "b & c");
    let alone = read_rows("a = b").expect("well formed");
    assert!(alone[0].0.is_empty());
    for tex in [
        "",
        r"\\ \\",
        r"\rho &= 1.2 & 3",
        r"a \end{aligned} b \begin{aligned} c",
    ] {
        assert!(read_rows(tex).is_err(), "{tex}");
    }
}

/// Random trees as the reader makes them.
struct Trees(u64);

impl Trees {
    fn below(&mut self, count: usize) -> usize {
        // xorshift64 (G. Marsaglia, Journal of Statistical Software 8 (2003) 14)
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % count as u64).expect("small")
    }

    fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }

    fn row(&mut self, depth: usize) -> Math {
        let count = self.below(6);
        Math::row((0..count).map(|_| self.part(depth)).collect::<Vec<_>>())
    }

    /// What can bear scripts, stand below a root and so on.
    fn solid(&mut self, depth: usize) -> Math {
        match self.below(4) {
            0 => Math::Variable(self.pick(&['a', 'V', 'ρ', 'ϕ', 'Δ', 'h', '∂'])),
            1 => Math::Upright(
                self.pick(&["g", "mL", "°C", "%", "Δ", "𝐱𝐲", "m𝕩", "#", "∞"])
                    .into(),
            ),
            2 => Math::Number(self.pick(&["1", "42.510", "1,000", "𝟕"]).into()),
            _ => self.row(depth.saturating_sub(1)),
        }
    }

    fn part(&mut self, depth: usize) -> Math {
        if depth == 0 {
            return match self.below(7) {
                0 => Math::Sign(
                    self.pick(&["+", "−", "×", "±", "⋅", "/", "∗"]).into(),
                    Class::Operator,
                ),
                1 => Math::relation(self.pick(&["=", "≤", "<", ">", "≈", "→", "=\u{338}"])),
                2 => Math::Sign(self.pick(&[",", ";", "."]).into(), Class::Punctuation),
                3 => Math::Space(self.pick(&[3_000, 5_000, 18_000, -3_000, 1_800])),
                4 => self
                    .pick(&[&Math::Break, &Math::Text("\u{a0}".into())][..])
                    .clone(),
                5 => Math::Text(
                    self.pick(&["where a < b", "50 % of {x}", "\u{a0}and\u{a0}"])
                        .into(),
                ),
                _ => Math::Function(self.pick(&["exp", "lim", "erf", "lim sup"]).into()),
            };
        }
        let depth = depth - 1;
        match self.below(10) {
            0 => Math::Fraction {
                above: Box::new(self.solid(depth)),
                below: Box::new(self.solid(depth)),
                bar: self.below(4) > 0,
            },
            1 | 2 => {
                let base = self.solid(depth);
                self.scripts(base, Placement::Beside, depth)
            }
            3 => {
                let base = Math::Sign(self.pick(&["∑", "∏"]).into(), Class::Large);
                let placement =
                    self.pick(&[Placement::Movable, Placement::Beside, Placement::Around]);
                self.scripts(base, placement, depth)
            }
            4 => Math::Root {
                of: Box::new(self.solid(depth)),
                degree: (self.below(3) == 0).then(|| Box::new(Math::Number("3".into()))),
            },
            5 => Math::Fence {
                open: self.pick(&[Some('('), Some('['), Some('{'), Some('|'), None]),
                inside: Box::new(self.row(depth)),
                close: self.pick(&[Some(')'), Some(']'), Some('‖'), None]),
            },
            6 => {
                let (mark, wide) = self.pick(&[('‾', false), ('^', true), ('→', false)]);
                Math::Accent {
                    on: Box::new(self.solid(depth)),
                    mark,
                    wide,
                }
            }
            7 => Math::Table {
                columns: vec![Align::Right, Align::Left],
                rows: (0..2)
                    .map(|_| vec![self.solid(0), self.row(depth)])
                    .collect(),
            },
            8 => Math::Styled(
                self.pick(&[Style::Display, Style::Script]),
                Box::new(self.solid(depth)),
            ),
            _ => self.solid(depth),
        }
    }

    fn scripts(&mut self, base: Math, placement: Placement, depth: usize) -> Math {
        let which = self.below(3);
        Math::Scripts(Box::new(Scripts {
            base,
            below: (which < 2).then(|| self.solid(depth)),
            above: (which > 0).then(|| self.solid(depth)),
            placement,
        }))
    }
}

#[test]
fn what_is_written_in_tex_is_read_as_the_same_tree() {
    let mut trees = Trees(0x9e37_79b9_7f4a_7c15);
    for _ in 0..20_000 {
        let depth = trees.below(4);
        let tree = trees.row(depth);
        let tex = tree.tex();
        assert_eq!(read(&tex).as_ref(), Ok(&tree), "{tex}");
    }
}
