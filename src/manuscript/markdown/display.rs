//! Displayed formulas: rows and their alignment points.

use crate::manuscript::Formula;
use crate::manuscript::spoken::spell;

/// Splits the text between `$$` and `$$` into rows at `\\`, each at its first `&`; neither is looked for inside
/// braces or environments.
///
/// # Errors
/// One sentence on what is wrong with the TeX.
pub(super) fn formula(tex: &str) -> Result<Formula, String> {
    let mut rows = Vec::new();
    let mut said = Vec::new();
    for row in split(tex) {
        let (left, right) = row;
        if left.is_empty() && right.is_empty() {
            continue;
        }
        let spoken = [&left, &right]
            .into_iter()
            .map(|side| spell(&side.replace("\\allowbreak", " ")));
        said.push(
            spoken
                .collect::<Result<Vec<_>, _>>()?
                .join(" ")
                .trim()
                .to_owned(),
        );
        rows.push((left, right));
    }
    if rows.is_empty() {
        return Err("the formula is empty".to_owned());
    }
    Ok(Formula {
        rows,
        spoken: said.join("; "),
        label: None,
        number: None,
    })
}

fn split(tex: &str) -> Vec<(String, String)> {
    let mut rows = Vec::new();
    let mut left: Option<String> = None;
    let mut side = String::new();
    let mut depth = 0_usize;
    let mut rest = tex;
    while let Some(c) = rest.chars().next() {
        let token = token(rest, c);
        let (taken, after) = rest.split_at(token);
        rest = after;
        match taken {
            "{" | "\\begin" => depth += 1,
            "}" | "\\end" => depth = depth.saturating_sub(1),
            _ => {}
        }
        match taken {
            "\\\\" if depth == 0 => rows.push(row(&mut left, &mut side)),
            "&" if depth == 0 && left.is_none() => left = Some(std::mem::take(&mut side)),
            _ => side.push_str(taken),
        }
    }
    rows.push(row(&mut left, &mut side));
    rows
}

/// Length of the token at the start of `rest`: a control word, a control symbol or one character.
fn token(rest: &str, first: char) -> usize {
    if first != '\\' {
        return first.len_utf8();
    }
    let word = rest[1..]
        .bytes()
        .take_while(u8::is_ascii_alphabetic)
        .count();
    if word > 0 {
        1 + word
    } else {
        1 + rest[1..].chars().next().map_or(0, char::len_utf8)
    }
}

fn row(left: &mut Option<String>, side: &mut String) -> (String, String) {
    let right = std::mem::take(side).trim().to_owned();
    (left.take().unwrap_or_default().trim().to_owned(), right)
}

#[cfg(test)]
mod tests {
    use super::formula;

    #[test]
    fn rows_split_outside_braces_and_environments_only() {
        let read =
            formula(r"a &= \begin{matrix} 1 & 2 \\ 3 & 4 \end{matrix} \\ \text{b & c} &= {x \\ y}");
        let rows = read.map(|formula| formula.rows);
        // The second row's inner `\\` is not ours to split at; whether TeX accepts it is another matter.
        if let Ok(rows) = rows {
            assert_eq!(rows.len(), 2);
        }
        let read = formula(r"\rho &= \frac{m}{V} \\ &= 1.2 & 3");
        assert!(
            read.is_err(),
            "a second alignment point is not TeX outside an environment"
        );
        let read = formula(r"\rho &= \frac{m}{V} \\ &= 1.2\,\mathrm{g/mL}").expect("well formed");
        assert_eq!(
            read.rows[1],
            (String::new(), r"= 1.2\,\mathrm{g/mL}".to_owned())
        );
        assert_eq!(read.spoken, "ρ = (m)/(V); = 1.2 g/mL");
    }
}
