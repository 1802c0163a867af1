//! Numbers of one column, which have one power of ten.

use super::{Decimal, Rounded};
use crate::maths::superscript::raised;

/// The numbers of a column as printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// The power of ten by which all are divided, as in `10⁻³`; `None` where plain digits do.
    pub power: Option<String>,
    /// The numbers, `None` for each that there was not.
    pub cells: Vec<Option<String>>,
}

impl Column {
    /// Writes numbers below each other. If any would need a power of ten by itself, all are divided by one: that of the
    /// multiples of three with which every significant digit can be written, the last no further left than the units.
    pub fn new(numbers: &[Option<Rounded>]) -> Self {
        let written = || numbers.iter().flatten();
        let needed = written().any(|number| number.exponent().is_some());
        let last = written()
            .map(|number| &number.value)
            .filter(|value| !value.digits.is_empty())
            .map(|value| value.place)
            .max();
        let power = last
            .filter(|_| needed)
            .map_or(0, |last| -3 * (-last).div_euclid(3));
        let cell = |number: &Rounded| number.digits(power);
        Self {
            power: (power != 0).then(|| format!("10{}", raised(&power.to_string()))),
            cells: numbers
                .iter()
                .map(|number| number.as_ref().map(cell))
                .collect(),
        }
    }
}

impl Rounded {
    /// Rounds a value without uncertainty to some significant figures; `None` where it is not finite. Zero has no
    /// figures: `0`.
    pub fn significant(value: f64, figures: u32) -> Option<Self> {
        let value = Decimal::from_f64(value)?;
        let value = if value.digits.is_empty() {
            value.at(0)
        } else {
            value.significant(figures)
        };
        Some(Self {
            value,
            uncertainty: None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::{Column, Rounded};

    #[test]
    fn a_column_has_one_power_of_ten() {
        for (values, power, cells) in [
            (
                &[0.000_50, 0.000_025, 0.000_001_1][..],
                Some("10⁻³"),
                &["0.50", "0.025", "0.0011"][..],
            ),
            (&[0.25, 0.0031], None, &["0.25", "0.0031"]),
            (&[1234.0, 1.0], Some("10³"), &["1.2", "0.0010"]),
            (&[12_345.0, 0.0, -150.0], Some("10³"), &["12", "0", "−0.15"]),
            (&[0.25, 0.000_001], None, &["0.25", "0.0000010"]),
            (&[3e-9, 2e-10], Some("10⁻⁹"), &["3.0", "0.20"]),
        ] {
            let numbers: Vec<_> = values.iter().map(|v| Rounded::significant(*v, 2)).collect();
            let column = Column::new(&numbers);
            let shown: Vec<&str> = column.cells.iter().flatten().map(String::as_str).collect();
            assert_eq!(
                (column.power.as_deref(), &*shown),
                (power, cells),
                "{values:?}"
            );
        }
        let numbers = [
            Rounded::new(0.0063, 0.000_05, 2),
            None,
            Rounded::new(0.000_002, 0.000_000_12, 2),
        ];
        let column = Column::new(&numbers);
        assert_eq!(column.power.as_deref(), Some("10⁻⁶"));
        let cells = column.cells.iter().map(Option::as_deref);
        let expected = [Some("6300 ± 50"), None, Some("2.00 ± 0.12")];
        assert!(cells.eq(expected), "{column:?}");
    }
}
