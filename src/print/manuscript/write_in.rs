//! Cells to write a value in.

/// A place to write a value in.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WriteIn {
    /// The name of what is written there, printed small below it.
    pub name: String,
    /// What is written there, for those who cannot see where the cell stands, e.g. "reading of the vessel empty, in g".
    pub said: String,
    /// Boxes for digits, each a `#`, and what is printed between them; empty for a ruled line.
    pub boxes: String,
    /// What is printed behind it.
    pub unit: String,
    /// What is expected, printed small and grey; may be empty.
    pub expected: String,
}

/// Stands for a ruled line, where it is not known how many digits there are.
const RULED: char = '…';
/// Stands before what is expected.
const EXPECTED: char = '≈';

impl WriteIn {
    /// Reads what a template writes: `###.## g ≈ 26.89`, or `… g` for a ruled line. Each part may be left out.
    pub fn read(text: &str, name: &str, said: &str) -> Self {
        let (front, expected) = text.split_once(EXPECTED).unwrap_or((text, ""));
        let front = front.trim();
        let (first, rest) = front.split_once(char::is_whitespace).unwrap_or((front, ""));
        let is_boxes = first.contains('#');
        let unit = if is_boxes || first.starts_with(RULED) || first.is_empty() {
            rest
        } else {
            front
        };
        let one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join("\u{a0}");
        Self {
            name: name.to_owned(),
            said: said.to_owned(),
            boxes: if is_boxes { first } else { "" }.to_owned(),
            unit: one_line(unit),
            expected: one_line(expected),
        }
    }

    /// Returns whether a number is to be written.
    pub fn is_number(&self) -> bool {
        let digits = |text: &str| text.chars().all(|c| matches!(c, '#' | '.'));
        digits(&self.boxes) && !(self.boxes.is_empty() && self.unit.is_empty())
    }
}

#[cfg(test)]
mod tests {
    use super::WriteIn;

    #[test]
    fn boxes_unit_and_what_is_expected_are_told_apart() {
        for (text, boxes, unit, expected, number) in [
            ("###.## g ≈ 26.89", "###.##", "g", "26.89", true),
            ("… g", "", "g", "", true),
            ("####-##-##", "####-##-##", "", "", false),
            ("", "", "", "", false),
            ("…", "", "", "", false),
            ("#", "#", "", "", true),
            ("… ≈ empty + 25.6", "", "", "empty\u{a0}+\u{a0}25.6", false),
        ] {
            let cell = WriteIn::read(text, "a", "b");
            let read = (&*cell.boxes, &*cell.unit, &*cell.expected, cell.is_number());
            assert_eq!(read, (boxes, unit, expected, number), "{text}");
        }
    }
}
