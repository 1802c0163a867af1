//! One axis: its range, its ticks and their labels.
//!
//! Ticks stand at whole multiples of 1, 2 or 5 times a power of ten. All of them are kept as whole numbers of the
//! smallest step, so that a label has exactly the digits its step needs and never a digit of binary rounding.

use super::geometry::{Area, At};
use std::ops::Range;

use plotters::coord::ranged1d::{KeyPointHint, NoDefaultFormatting, Ranged};

/// Of the span of the data, left free at each end.
const PADDING: f64 = 0.04;

/// Below this share of their size, a difference between values is no span to draw.
const LEAST_SPAN: f64 = 1e-9;

/// Values beyond this size are refused before a scale is made, and the inverse of it counts as nothing: powers of ten
/// stay far from where doubles end.
pub(super) const LARGEST: f64 = 1e100;

/// A length on an axis: 1, 2 or 5 times a power of ten.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Step {
    mantissa: i64,
    exponent: i32,
}

impl Step {
    fn new(mantissa: i64, exponent: i32) -> Self {
        Self { mantissa, exponent }
    }

    /// Returns the largest step not longer than `length`, which is positive and finite.
    fn within(length: f64) -> Self {
        let mut step = Self::new(1, length.log10().floor() as i32);
        if step.times(1) > length {
            step.exponent -= 1;
        }
        while step.longer().times(1) <= length {
            step = step.longer();
        }
        step
    }

    /// Returns the next longer one.
    fn longer(self) -> Self {
        match self.mantissa {
            1 => Self::new(2, self.exponent),
            2 => Self::new(5, self.exponent),
            _ => Self::new(1, self.exponent + 1),
        }
    }

    /// Returns the small step between ticks, and how many of them make this one.
    fn parts(self) -> (Self, i64) {
        match self.mantissa {
            1 => (Self::new(2, self.exponent - 1), 5),
            2 => (Self::new(5, self.exponent - 1), 4),
            _ => (Self::new(1, self.exponent), 5),
        }
    }

    /// So many of these steps.
    fn times(self, count: i64) -> f64 {
        let whole = (count * self.mantissa) as f64;
        // Division by a power of ten rounds once; multiplication by a negative power would round twice.
        if self.exponent < 0 {
            whole / 10f64.powi(-self.exponent)
        } else {
            whole * 10f64.powi(self.exponent)
        }
    }

    /// So many of these steps, in figures: exactly the decimals that the step needs after division by `10^factor`.
    fn figures(self, count: i64, factor: i32) -> String {
        let digits = (count * self.mantissa).unsigned_abs().to_string();
        let shift = self.exponent - factor;
        let size = if digits == "0" && shift >= 0 {
            digits
        } else if shift >= 0 {
            digits + &"0".repeat(shift.unsigned_abs() as usize)
        } else {
            let decimals = shift.unsigned_abs() as usize;
            let digits = format!("{digits:0>width$}", width = decimals + 1);
            let (whole, part) = digits.split_at(digits.len() - decimals);
            format!("{whole}.{part}")
        };
        if count < 0 {
            format!("\u{2212}{size}")
        } else {
            size
        }
    }
}

/// A linear axis that runs from one small tick to another.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scale {
    step: Step,
    small: Step,
    /// How many small steps make a step.
    parts: i64,
    /// The ends, in small steps.
    first: i64,
    last: i64,
}

impl Scale {
    /// Returns the scale for data from `low` to `high` with at most `most` labelled ticks (2 or more), and at least
    /// half as many. The values must be finite, no larger than [`LARGEST`] and in order; equal values get room on both
    /// sides.
    pub(super) fn covering(low: f64, high: f64, most: usize) -> Self {
        let size = low.abs().max(high.abs());
        let (low, high) = if high - low <= (size * LEAST_SPAN).max(1.0 / LARGEST) {
            let room = if size <= 1.0 / LARGEST {
                1.0
            } else {
                size * 0.05
            };
            (low - room, high + room)
        } else {
            let room = (high - low) * PADDING;
            (low - room, high + room)
        };
        Self::fitting(low, high, most)
    }

    /// Returns the scale of so many rows (1 or more), the first at 0, the next at −1, with half a row of room at each
    /// end.
    pub(super) fn rows(count: usize) -> Self {
        let step = Step::new(1, 0);
        let half = Step::new(5, -1);
        Self {
            step,
            small: half,
            parts: 2,
            first: 1 - 2 * count as i64,
            last: 1,
        }
    }

    /// Returns the scale from `low` to `high` or a little beyond.
    fn fitting(low: f64, high: f64, most: usize) -> Self {
        let mut step = Step::within((high - low) / (most * 2) as f64);
        loop {
            let to_small = Self::spanning(low, high, step, false);
            if (most / 2..=most).contains(&to_small.ticks().count()) {
                return to_small;
            }
            // Too few, perhaps, only because the ends fall between ticks: let the axis run to the next ones.
            let to_full = Self::spanning(low, high, step, true);
            if to_full.ticks().count() <= most {
                return to_full;
            }
            step = step.longer();
        }
    }

    /// Returns the scale of that step whose ends are the next small (or full) ticks outside `low` and `high`.
    fn spanning(low: f64, high: f64, step: Step, full: bool) -> Self {
        let (small, parts) = step.parts();
        let (end, size) = if full { (step, parts) } else { (small, 1) };
        let length = end.times(1);
        let (mut first, mut last) = ((low / length).floor() as i64, (high / length).ceil() as i64);
        // The quotient can round to the wrong side of a whole number.
        while end.times(first) > low {
            first -= 1;
        }
        while end.times(last) < high {
            last += 1;
        }
        Self {
            step,
            small,
            parts,
            first: first * size,
            last: last * size,
        }
    }

    /// Returns the lower end.
    pub(super) fn low(&self) -> f64 {
        self.small.times(self.first)
    }

    /// Returns the upper end.
    pub(super) fn high(&self) -> f64 {
        self.small.times(self.last)
    }

    /// Returns the labelled ticks, counted in steps, rising.
    fn ticks(&self) -> impl Iterator<Item = i64> + use<> {
        let below = self.first.div_euclid(self.parts);
        let first = if below * self.parts == self.first {
            below
        } else {
            below + 1
        };
        first..=self.last.div_euclid(self.parts)
    }

    /// Values and labels of the labelled ticks.
    pub(super) fn labelled(&self) -> Vec<(f64, String)> {
        let factor = self.factor();
        self.ticks()
            .map(|count| (self.step.times(count), self.step.figures(count, factor)))
            .collect()
    }

    /// Values of the small ticks between them.
    pub(super) fn unlabelled(&self) -> Vec<f64> {
        (self.first..=self.last)
            .filter(|count| count.rem_euclid(self.parts) != 0)
            .map(|count| self.small.times(count))
            .collect()
    }

    /// Returns the power of ten that the labels leave to the unit: 0, unless they would be long; else a multiple of 3.
    pub(super) fn factor(&self) -> i32 {
        let largest = self
            .ticks()
            .map(|count| self.step.times(count).abs())
            .fold(0.0, f64::max);
        if largest == 0.0 || (1e-3..1e5).contains(&largest) {
            return 0;
        }
        // Leaves at most two figures, or one decimal, before the largest label's next ones: 0.1 to 100.
        ((largest.log10() - 2.0) / 3.0).ceil() as i32 * 3
    }

    /// Returns where a value falls between `from` (the lower end) and `to` (the upper end).
    pub(super) fn at(&self, value: f64, from: f64, to: f64) -> f64 {
        let share = (value - self.low()) / (self.high() - self.low());
        from + share * (to - from)
    }
}

impl Ranged for Scale {
    type FormatOption = NoDefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, limit: (i32, i32)) -> i32 {
        self.at(*value, f64::from(limit.0), f64::from(limit.1))
            .round() as i32
    }

    fn key_points<Hint: KeyPointHint>(&self, _: Hint) -> Vec<f64> {
        self.ticks().map(|count| self.step.times(count)).collect()
    }

    fn range(&self) -> Range<f64> {
        self.low()..self.high()
    }
}

/// The scales of a panel in the box of its axes.
#[derive(Clone, Copy)]
pub(super) struct Axes<'p> {
    pub(super) frame: &'p Area,
    pub(super) x: &'p Scale,
    pub(super) y: &'p Scale,
}

impl Axes<'_> {
    /// Returns where a pair of values falls.
    pub(super) fn at(&self, (x, y): At) -> At {
        let frame = self.frame;
        (
            self.x.at(x, frame.x0, frame.x1),
            self.y.at(y, frame.y1, frame.y0),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Many ranges, spread over sizes, spans and positions without a random number.
    fn ranges() -> impl Iterator<Item = (f64, f64)> {
        (0..4000).map(|i| {
            let turn = f64::from(i) * 0.618_033_988_749_894_9;
            let span = 10f64.powf((turn * 7.0).fract() * 14.0 - 7.0);
            let offset =
                ((turn * 3.0).fract() - 0.5) * 10f64.powf((turn * 5.0).fract() * 5.0) * span;
            (offset, offset + span)
        })
    }

    #[test]
    fn ticks_keep_their_laws() {
        for (low, high) in ranges() {
            for most in [4, 5, 6, 8] {
                let scale = Scale::covering(low, high, most);
                let told = || format!("{low}..{high} in {most}: {scale:?}");
                assert!(
                    scale.low() <= low && high <= scale.high(),
                    "covers {}",
                    told()
                );
                let count = scale.labelled().len();
                assert!(
                    (most / 2..=most).contains(&count),
                    "{count} ticks of {}",
                    told()
                );
                assert!(
                    [1, 2, 5].contains(&scale.step.mantissa),
                    "step of {}",
                    told()
                );
                let waste = (scale.high() - scale.low()) / (high - low);
                assert!(waste < 2.2, "wastes {waste} in {}", told());
            }
        }
    }

    #[test]
    fn labels_say_the_value() {
        for (low, high) in ranges() {
            let scale = Scale::covering(low, high, 8);
            let labelled = scale.labelled();
            for (value, label) in &labelled {
                let read: f64 = format!("{}e{}", label.replace('\u{2212}', "-"), scale.factor())
                    .parse()
                    .unwrap();
                assert!(
                    (read - value).abs() <= value.abs() * 1e-14,
                    "{label} for {value}"
                );
            }
            let decimals = |label: &str| label.split_once('.').map_or(0, |(_, part)| part.len());
            assert!(
                labelled
                    .iter()
                    .all(|(_, label)| decimals(label) == decimals(&labelled[0].1)),
                "{labelled:?}"
            );
        }
    }

    #[test]
    fn mapping_is_monotone() {
        for (low, high) in ranges() {
            let scale = Scale::covering(low, high, 8);
            let places: Vec<i32> = (0..=50)
                .map(|i| scale.map(&(low + (high - low) * f64::from(i) / 50.0), (40_000, 0)))
                .collect();
            assert!(places.is_sorted_by(|a, b| a > b), "{low}..{high}");
        }
    }

    #[test]
    fn decimals_are_those_of_the_step() {
        let labels = |low, high| -> Vec<String> {
            Scale::covering(low, high, 8)
                .labelled()
                .into_iter()
                .map(|(_, label)| label)
                .collect()
        };
        assert_eq!(
            labels(0.9972, 1.1296),
            ["1.00", "1.02", "1.04", "1.06", "1.08", "1.10", "1.12"]
        );
        assert_eq!(
            labels(-1.0, 1.0),
            ["\u{2212}1.0", "\u{2212}0.5", "0.0", "0.5", "1.0"]
        );
        assert_eq!(labels(0.0, 17.6), ["0", "5", "10", "15"]);
        assert_eq!(
            labels(0.0, 4e-4),
            ["0.0", "0.1", "0.2", "0.3", "0.4"],
            "in thousandths"
        );
    }

    #[test]
    fn equal_values_get_room() {
        for value in [0.0, 1.0, -3e-5, 7e80, 1e-90, 5e-324, LARGEST, -LARGEST] {
            let scale = Scale::covering(value, value, 8);
            assert!(scale.low() < value && value < scale.high(), "{scale:?}");
            let tiny = Scale::covering(value, value.next_up(), 8);
            assert!((2..=8).contains(&tiny.labelled().len()), "{tiny:?}");
        }
    }
}
