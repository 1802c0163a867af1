//! Formulas as `MathML` (`MathML` Core), with the formula in words as `alttext`.

use crate::maths::alphabet::Alphabet;
use crate::maths::{Align, Class, Math, Placement, Scripts, Style, fitted};
use crate::print::manuscript::Formula;
use crate::print::page::xml;

/// The room that a formula has on a phone, em.
const MEASURE: f32 = 19.0;

/// Returns a formula in a line.
pub(super) fn in_line(math: &Math) -> String {
    inline(math, "alttext")
}

/// Returns a formula that is all there is of the head of a row or column: browsers take such a head for empty where it
/// has no name.
pub(super) fn as_head(math: &Math) -> String {
    inline(math, "aria-label")
}

/// Returns a formula in a line, with its words as an attribute.
fn inline(math: &Math, words: &str) -> String {
    let mut writer = Writer {
        display: false,
        text: String::new(),
    };
    writer.row(math.parts());
    format!(
        "<math {words}=\"{}\"><mrow>{}</mrow></math>",
        xml(&math.words()),
        writer.text
    )
}

/// Returns a displayed chain: a table of two columns that meet at the relation.
pub(super) fn displayed(formula: &Formula) -> String {
    let mut writer = Writer {
        display: true,
        text: String::new(),
    };
    for (left, right) in &formula.rows {
        for (index, line) in lines(left, right).into_iter().enumerate() {
            writer.text.push_str("<mtr>");
            writer.wrap("mtd", "", |writer| {
                if index == 0 {
                    writer.row(left.parts());
                }
            });
            writer.wrap("mtd", "", |writer| {
                if index > 0 {
                    // Behind something, if only behind nothing, a sign is one between two operands.
                    writer.text.push_str("<mrow></mrow>");
                }
                writer.parts(line, index > 0);
            });
            writer.text.push_str("</mtr>");
        }
    }
    format!(
        "<math display=\"block\" alttext=\"{}\"><mtable displaystyle=\"true\">{}</mtable></math>",
        xml(&formula.words()),
        writer.text
    )
}

/// Returns the lines of a row of a chain: one, or as many as it needs, divided where it may be: browsers divide no
/// formula.
fn lines<'m>(left: &Math, right: &'m Math) -> Vec<&'m [Math]> {
    let parts = right.parts();
    let room = MEASURE - left.ems();
    if ems(parts) <= room {
        return vec![parts];
    }
    let breaks = parts.iter().enumerate();
    let breaks = breaks.filter(|(_, part)| **part == Math::Break);
    let ends = breaks.map(|(at, _)| at).chain([parts.len()]);
    let (mut lines, mut start, mut end) = (Vec::new(), 0, 0);
    for next in ends {
        if end > start && ems(&parts[start..next]) > room {
            lines.push(&parts[start..end]);
            start = end;
        }
        end = next;
    }
    lines.push(&parts[start..]);
    lines
}

/// Returns whether a displayed chain is wider than a phone, however it is divided.
pub(super) fn is_wide(formula: &Formula) -> bool {
    formula.rows.iter().any(|(left, right)| {
        let mut lines = lines(left, right).into_iter();
        lines.any(|line| left.ems() + ems(line) > MEASURE)
    })
}

fn ems(parts: &[Math]) -> f32 {
    parts.iter().map(Math::ems).sum()
}

struct Writer {
    /// Whether scripts that may stand around do so.
    display: bool,
    text: String,
}

impl Writer {
    fn wrap(&mut self, name: &str, attributes: &str, inside: impl FnOnce(&mut Self)) {
        self.text.push_str(&format!("<{name}{attributes}>"));
        inside(self);
        self.text.push_str(&format!("</{name}>"));
    }

    fn leaf(&mut self, name: &str, attributes: &str, text: &str) {
        self.wrap(name, attributes, |writer| writer.text.push_str(&xml(text)));
    }

    fn row(&mut self, parts: &[Math]) {
        self.parts(parts, false);
    }

    /// Parts in a row, which goes on with what ends before it where it is `continued`.
    fn parts(&mut self, parts: &[Math], continued: bool) {
        for fitted in fitted(parts, continued) {
            if fitted.function.apart {
                self.room(3_000);
            }
            self.part(fitted.part, fitted.infix);
            if fitted.function.applied {
                self.leaf("mo", "", "\u{2061}");
            }
            if fitted.function.open {
                self.room(3_000);
            }
        }
    }

    fn part(&mut self, part: &Math, infix: bool) {
        match part {
            Math::Variable(letter) => self.leaf("mi", "", letter.encode_utf8(&mut [0; 4])),
            Math::Upright(text) | Math::Function(text) => self.upright(text),
            Math::Number(digits) => self.leaf("mn", "", digits),
            Math::Text(text) => self.leaf("mtext", "", text),
            Math::Sign(sign, Class::Operator) if !infix => self.upright(sign),
            Math::Sign(sign, class) => self.leaf("mo", &attributes(*class), sign),
            Math::Space(width) => self.room(*width),
            Math::Break => {}
            Math::Row(parts) => self.wrap("mrow", "", |writer| writer.row(parts)),
            Math::Fraction { above, below, bar } => {
                let thickness = if *bar { "" } else { " linethickness=\"0\"" };
                self.wrap("mfrac", thickness, |writer| {
                    writer.part(above, false);
                    writer.part(below, false);
                });
            }
            Math::Scripts(scripts) => self.scripts(scripts),
            Math::Root { of, degree: None } => {
                self.wrap("msqrt", "", |writer| writer.part(of, false));
            }
            Math::Root {
                of,
                degree: Some(degree),
            } => self.wrap("mroot", "", |writer| {
                writer.part(of, false);
                writer.part(degree, false);
            }),
            Math::Fence {
                open,
                inside,
                close,
            } => self.wrap("mrow", "", |writer| {
                writer.fence(*open);
                writer.row(inside.parts());
                writer.fence(*close);
            }),
            Math::Accent { on, mark, wide } => self.wrap("mover", " accent=\"true\"", |writer| {
                writer.part(on, false);
                let attributes = format!(" stretchy=\"{wide}\"");
                writer.leaf("mo", &attributes, mark.encode_utf8(&mut [0; 4]));
            }),
            Math::Table { columns, rows } => self.table(columns, rows),
            Math::Styled(style, inside) => self.styled(*style, inside),
        }
    }

    /// Upright letters; of one letter alone a browser must be told so.
    fn upright(&mut self, text: &str) {
        let mut letters = text.chars();
        let alone = letters
            .next()
            .is_some_and(|c| Alphabet::Italic.styled(c).is_some())
            && letters.next().is_none();
        self.leaf(
            "mi",
            if alone { " mathvariant=\"normal\"" } else { "" },
            text,
        );
    }

    fn room(&mut self, width: i32) {
        let ems = f64::from(width) / 18_000.0;
        self.text
            .push_str(&format!("<mspace width=\"{ems:.4}em\"/>"));
    }

    fn fence(&mut self, sign: Option<char>) {
        if let Some(sign) = sign {
            self.leaf("mo", &attributes(Class::Stretched), &sign.to_string());
        }
    }

    fn scripts(&mut self, scripts: &Scripts) {
        let around = match scripts.placement {
            Placement::Beside => false,
            Placement::Around => true,
            Placement::Movable => self.display,
        };
        let name = match (around, &scripts.below, &scripts.above) {
            (false, Some(_), None) => "msub",
            (false, None, _) => "msup",
            (false, ..) => "msubsup",
            (true, Some(_), None) => "munder",
            (true, None, _) => "mover",
            (true, ..) => "munderover",
        };
        self.wrap(name, "", |writer| {
            writer.part(&scripts.base, false);
            for script in [&scripts.below, &scripts.above].into_iter().flatten() {
                writer.part(script, false);
            }
        });
    }

    fn table(&mut self, columns: &[Align], rows: &[Vec<Math>]) {
        self.wrap("mtable", "", |writer| {
            for row in rows {
                writer.wrap("mtr", "", |writer| {
                    for (column, cell) in row.iter().enumerate() {
                        let align = match columns.get(column) {
                            Some(Align::Left) => " style=\"text-align: left\"",
                            Some(Align::Right) => " style=\"text-align: right\"",
                            Some(Align::Centre) | None => "",
                        };
                        writer.wrap("mtd", align, |writer| writer.row(cell.parts()));
                    }
                });
            }
        });
    }

    fn styled(&mut self, style: Style, inside: &Math) {
        let (display, level) = match style {
            Style::Display => (true, 0),
            Style::Text => (false, 0),
            Style::Script => (false, 1),
            Style::ScriptScript => (false, 2),
        };
        let attributes = format!(" displaystyle=\"{display}\" scriptlevel=\"{level}\"");
        let before = std::mem::replace(&mut self.display, display);
        self.wrap("mrow", &attributes, |writer| writer.row(inside.parts()));
        self.display = before;
    }
}

fn attributes(class: Class) -> String {
    match class {
        Class::Operator | Class::Relation | Class::Punctuation => String::new(),
        Class::Large => " movablelimits=\"false\"".to_owned(),
        Class::Open(0) | Class::Close(0) => " stretchy=\"false\"".to_owned(),
        Class::Open(tenths) | Class::Close(tenths) => {
            let size = f32::from(tenths) / 10.0;
            format!(
                " symmetric=\"true\" stretchy=\"true\" minsize=\"{size}em\" maxsize=\"{size}em\""
            )
        }
        Class::Middle => " symmetric=\"true\" stretchy=\"true\"".to_owned(),
        Class::Stretched => " stretchy=\"true\"".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::{displayed, in_line};
    use crate::maths::handles::Handles;
    use crate::print::manuscript::Formula;
    use crate::print::manuscript::tex::{read, read_rows};

    #[test]
    fn a_chain_is_a_table_that_meets_at_the_relation() {
        let formula = Formula::new(
            read_rows(r"\rho &= a \\ &= 1.5\allowbreak + b", &Handles::default()).unwrap(),
        );
        let set = displayed(&formula);
        assert_eq!(set.matches("<mtr>").count(), 2);
        assert_eq!(set.matches("<mtd>").count(), 4);
        assert!(set.contains("<mtr><mtd></mtd><mtd><mo>=</mo>"), "{set}");
        assert!(set.contains("alttext=\"ρ = a; = 1.5 + b\""), "{set}");
    }

    #[test]
    fn a_wide_row_is_divided_where_it_may_be() {
        let term = r"1234567.89\,\mathrm{g}";
        let wide = format!(r"x &= {}", [term; 6].join(r"\allowbreak + "));
        let formula = Formula::new(read_rows(&wide, &Handles::default()).unwrap());
        let set = displayed(&formula);
        assert_eq!(set.matches("<mtr>").count(), 3, "{set}");
        let goes_on = "<mtr><mtd></mtd><mtd><mrow></mrow><mo>+</mo>";
        assert!(set.contains(goes_on), "{set}");
        assert_eq!(set.matches("1234567.89").count(), 12, "and in words: {set}");
    }

    #[test]
    fn text_in_a_formula_is_text() {
        let set = in_line(&read(r"m_{\mathrm{salt}}", &Handles::default()).unwrap());
        assert!(set.contains("<mi>salt</mi>"), "{set}");
        let set = in_line(&read(r"m_{\text{a<b>&}}", &Handles::default()).unwrap());
        assert!(set.contains("a&lt;b&gt;&amp;"), "{set}");
    }
}
