//! Formulas as `MathML` (`MathML` Core), with the formula in words as `alttext`.

use pulldown_latex::Storage;
use pulldown_latex::config::{DisplayMode, RenderConfig};

use super::escape::xml;
use crate::manuscript::Formula;
use crate::manuscript::said::Unsaid;
use crate::manuscript::spoken::{read, spell};

/// Where a row may be broken; a browser has its own ways.
const BREAK: &str = "\\allowbreak";

/// A formula in a line.
pub(super) fn in_line(tex: &str) -> Result<String, Unsaid> {
    let spoken = spell(tex).map_err(|why| failure(tex, why))?;
    let inside = inside(tex, DisplayMode::Inline)?;
    Ok(format!(
        "<math alttext=\"{}\"><mrow>{inside}</mrow></math>",
        xml(&spoken)
    ))
}

/// A displayed chain: a table of two columns that meet at the relation.
pub(super) fn displayed(formula: &Formula) -> Result<String, Unsaid> {
    let mut rows = String::new();
    for (left, right) in &formula.rows {
        let [left, right] = [left, right].map(|side| inside(side, DisplayMode::Block));
        rows.push_str(&format!(
            "<mtr><mtd>{}</mtd><mtd>{}</mtd></mtr>",
            left?, right?
        ));
    }
    Ok(format!(
        "<math display=\"block\" alttext=\"{}\"><mtable displaystyle=\"true\">{rows}</mtable></math>",
        xml(&formula.spoken)
    ))
}

/// What stands in the `math` element of a formula.
fn inside(tex: &str, display_mode: DisplayMode) -> Result<String, Unsaid> {
    let plain = tex.replace(BREAK, " ");
    let storage = Storage::new();
    let events = read(&plain, &storage).map_err(|why| failure(tex, why))?;
    let config = RenderConfig {
        display_mode,
        ..RenderConfig::default()
    };
    let mut whole = String::new();
    let events = events.into_iter().map(Ok::<_, std::fmt::Error>);
    pulldown_latex::push_mathml(&mut whole, events, config)
        .map_err(|error| failure(tex, error.to_string()))?;
    let inside = whole
        .split_once('>')
        .and_then(|(_, rest)| rest.rsplit_once("</math>"))
        .map_or("", |(inside, _)| inside);
    // The parser gives TeX's control space by its name in HTML; by its number XML can read it as well.
    let inside = inside
        .replace("&amp;nbsp;", "&#160;")
        .replace("&nbsp;", "&#160;");
    Ok(worded(&inside))
}

/// Begins an upright letter.
const UPRIGHT: &str = "<mi mathvariant=\"normal\">";
/// Begins a row, in which the count of elements means nothing.
const ROW: &str = "<mrow>";

/// Upright letters that begin a row as one word: it looks the same, and is read aloud as a word.
fn worded(mathml: &str) -> String {
    let mut pieces = mathml.split(ROW);
    let mut text = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        text.push_str(ROW);
        let (mut rest, mut word, mut letters) = (piece, String::new(), 0);
        while let Some((letter, after)) = rest
            .strip_prefix(UPRIGHT)
            .and_then(|rest| rest.split_once("</mi>"))
        {
            word.push_str(letter);
            letters += 1;
            rest = after;
        }
        match letters {
            0 => {}
            1 => text.push_str(&format!("{UPRIGHT}{word}</mi>")),
            _ => text.push_str(&format!("<mi>{word}</mi>")),
        }
        text.push_str(rest);
    }
    text
}

fn failure(tex: &str, why: String) -> Unsaid {
    Unsaid::Formula {
        tex: tex.to_owned(),
        why,
    }
}

#[cfg(test)]
mod tests {
    use super::{displayed, in_line};
    use crate::manuscript::Formula;

    #[test]
    fn a_chain_is_a_table_that_meets_at_the_relation() {
        let rows = [(r"\rho", "= a"), ("", r"= 1.5\allowbreak + b")];
        let formula = Formula {
            rows: rows.map(|(l, r)| (l.to_owned(), r.to_owned())).to_vec(),
            spoken: "ρ = a; = 1.5 + b".to_owned(),
            label: None,
            number: Some(3),
        };
        let set = displayed(&formula).unwrap();
        assert_eq!(set.matches("<mtr>").count(), 2);
        assert_eq!(set.matches("<mtd>").count(), 4);
        assert!(set.contains("<mtr><mtd></mtd><mtd><mo>=</mo>"), "{set}");
        assert!(set.contains("alttext=\"ρ = a; = 1.5 + b\""), "{set}");
    }

    #[test]
    fn text_in_a_formula_is_text() {
        assert!(
            in_line(r"m_{\mathrm{salt}}")
                .unwrap()
                .contains("<mi>salt</mi>")
        );
        let set = in_line(r"m_{\text{a<b>&}}").unwrap();
        assert!(set.contains("a&lt;b&gt;&amp;"), "{set}");
    }
}
