//! Standard atomic weights, and the molar mass that a chemical formula stands for.
//!
//! T. Prohaska et al., *Standard atomic weights of the elements 2021*, Pure Appl. Chem. 94 (2022) 573–600: the abridged
//! values with their uncertainty, and for sodium and potassium the full ones. Values other than those of Na and Cl are
//! from memory.
//!
//! The abridged values are those that IUPAC recommends for material of unknown origin; their limits are taken as
//! rectangular.

/// The source, as it is cited in a report.
pub const SOURCE: &str = "IUPAC/CIAAW standard atomic weights 2021 (Prohaska et al., Pure Appl. Chem. 94 (2022) 573–600)";

/// An element of the table.
#[derive(Debug, PartialEq)]
pub struct Element {
    /// Its symbol.
    pub symbol: &'static str,
    /// Its standard atomic weight as published; numerically the molar mass in g/mol.
    pub text: &'static str,
    /// The limits ±a of the published uncertainty, within which values are taken as equally likely.
    pub limit: f64,
}

const fn element(symbol: &'static str, text: &'static str, limit: f64) -> Element {
    Element {
        symbol,
        text,
        limit,
    }
}

/// Elements of common salts, by atomic number.
const ELEMENTS: [Element; 27] = [
    element("H", "1.0080", 0.0002),
    element("Li", "6.94", 0.06),
    element("B", "10.81", 0.02),
    element("C", "12.011", 0.002),
    element("N", "14.007", 0.001),
    element("O", "15.999", 0.001),
    element("F", "18.998", 0.001),
    element("Na", "22.98976928", 0.000_000_02),
    element("Mg", "24.305", 0.002),
    element("Al", "26.982", 0.001),
    element("Si", "28.085", 0.001),
    element("P", "30.974", 0.001),
    element("S", "32.06", 0.02),
    element("Cl", "35.45", 0.01),
    element("K", "39.0983", 0.0001),
    element("Ca", "40.078", 0.004),
    element("Mn", "54.938", 0.001),
    element("Fe", "55.845", 0.002),
    element("Co", "58.933", 0.001),
    element("Ni", "58.693", 0.001),
    element("Cu", "63.546", 0.003),
    element("Zn", "65.38", 0.02),
    element("Br", "79.904", 0.003),
    element("Sr", "87.62", 0.01),
    element("Ag", "107.87", 0.01),
    element("I", "126.90", 0.01),
    element("Ba", "137.33", 0.01),
];

impl Element {
    /// Returns its molar mass, g/mol.
    pub fn molar_mass(&self) -> f64 {
        self.text.parse().unwrap_or(f64::NAN)
    }
}

/// Returns the elements of a chemical formula with their counts, each once, in the order of first mention.
///
/// Understands groups in parentheses and water of crystallisation after `·`, `.` or `*`: `CaCl2·2H2O`.
///
/// # Errors
/// A sentence on what cannot be read, for an element outside the table or a formula that is none.
pub fn elements(formula: &str) -> Result<Vec<(&'static Element, u32)>, String> {
    let mut counts: Vec<(&'static Element, u32)> = Vec::new();
    for part in formula.split(['·', '.', '*']) {
        let mut reader = Reader { rest: part.trim() };
        let times = reader.count()?;
        reader.group(times, 0, &mut counts)?;
        if !reader.rest.is_empty() {
            return Err(format!("`{}` cannot be read in the formula", reader.rest));
        }
    }
    if counts.is_empty() {
        Err("the formula contains no element".into())
    } else {
        Ok(counts)
    }
}

/// Deeper parentheses are no chemical formula.
const DEEPEST_GROUP: u32 = 8;
/// Larger counts are no chemical formula.
const LARGEST_COUNT: u32 = 1000;

struct Reader<'a> {
    rest: &'a str,
}

impl Reader<'_> {
    /// Returns a count written in digits; 1 where there is none.
    fn count(&mut self) -> Result<u32, String> {
        let end = self
            .rest
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(self.rest.len());
        let (digits, rest) = self.rest.split_at(end);
        self.rest = rest;
        if digits.is_empty() {
            return Ok(1);
        }
        match digits.parse() {
            Ok(count) if (1..=LARGEST_COUNT).contains(&count) => Ok(count),
            _ => Err(format!("`{digits}` is not a number of atoms")),
        }
    }

    /// Elements and groups up to the end or a closing parenthesis, each counted `times`.
    fn group(
        &mut self,
        times: u32,
        depth: u32,
        counts: &mut Vec<(&'static Element, u32)>,
    ) -> Result<(), String> {
        while let Some(first) = self.rest.chars().next() {
            if first == ')' {
                return Ok(());
            }
            if first == '(' {
                if depth == DEEPEST_GROUP {
                    return Err("the formula's parentheses are nested too deep".into());
                }
                self.rest = &self.rest[1..];
                let mut inside = Vec::new();
                self.group(1, depth + 1, &mut inside)?;
                self.rest = self
                    .rest
                    .strip_prefix(')')
                    .ok_or("a parenthesis is not closed in the formula")?;
                let count = self.count()?;
                for (element, n) in inside {
                    add(
                        counts,
                        element,
                        n.saturating_mul(count).saturating_mul(times),
                    );
                }
                continue;
            }
            let long = self
                .rest
                .chars()
                .nth(1)
                .is_some_and(|c| c.is_ascii_lowercase());
            let end = first.len_utf8() + usize::from(long);
            let (symbol, rest) = self.rest.split_at(end);
            let element = ELEMENTS
                .iter()
                .find(|e| e.symbol == symbol)
                .ok_or_else(|| {
                    format!("`{symbol}` is not an element in the table of atomic weights")
                })?;
            self.rest = rest;
            let count = self.count()?;
            add(counts, element, count.saturating_mul(times));
        }
        Ok(())
    }
}

fn add(counts: &mut Vec<(&'static Element, u32)>, element: &'static Element, count: u32) {
    match counts.iter_mut().find(|(e, _)| e.symbol == element.symbol) {
        Some((_, n)) => *n = n.saturating_add(count),
        None => counts.push((element, count)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(formula: &str) -> Vec<(&'static str, u32)> {
        elements(formula)
            .unwrap()
            .into_iter()
            .map(|(e, n)| (e.symbol, n))
            .collect()
    }

    #[test]
    fn formulas_count_their_atoms() {
        assert_eq!(count("NaCl"), [("Na", 1), ("Cl", 1)]);
        assert_eq!(
            count("CaCl2·2H2O"),
            [("Ca", 1), ("Cl", 2), ("H", 4), ("O", 2)]
        );
        assert_eq!(count("Mg(NO3)2"), [("Mg", 1), ("N", 2), ("O", 6)]);
        assert_eq!(count("Ca3(PO4)2"), [("Ca", 3), ("P", 2), ("O", 8)]);
    }

    #[test]
    fn what_is_no_formula_is_refused() {
        for text in [
            "",
            "salt",
            "Xx2",
            "Na(Cl",
            "NaCl)",
            "Na0",
            "Na99999999999",
            "2",
            "²",
        ] {
            assert!(elements(text).is_err(), "{text}");
        }
    }

    #[test]
    fn every_atomic_weight_is_a_number() {
        for e in &ELEMENTS {
            assert!(e.molar_mass() > 1.0 && e.limit > 0.0, "{}", e.symbol);
        }
    }
}
