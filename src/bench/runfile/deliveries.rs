//! Reading deliveries: one volume, several in a list, or a count of equal ones.

use super::fields::Fields;
use super::model::{At, Entry, Reading};
use super::quantity_suggestions::{self, times};
use super::scalars::quantity;
use super::slips;
use super::tree::Content;
use super::vocabulary::{Deliveries, Key};
use crate::bench::quantity::{Quantity, Unit};
use crate::problem::Code;

impl Fields<'_> {
    /// Returns one or more quantities, each with its own name where there are several.
    pub(super) fn deliveries(&self, key: &'static Key<Deliveries>) -> Option<Vec<Reading>> {
        /// Nobody empties a pipette more often into one flask.
        const MOST: usize = 1000;
        let measure = &key.form.0;
        let value = self.value(key)?;
        if let Content::Scalar { text, .. } = &value.node.content {
            if let Some((amiss, right)) =
                quantity_suggestions::suggest_deliveries(text.trim(), measure)
            {
                self.found.add(|| {
                    value
                        .problem(Code::NotACount, format!("{} {amiss}.", value.name))
                        .right(right)
                });
                return None;
            }
            let Some((count, each)) = times(text.trim()) else {
                return Some(vec![value.at(quantity(value, text.trim(), measure)?)]);
            };
            let count = count
                .parse::<usize>()
                .ok()
                .filter(|count| (1..=MOST).contains(count));
            let Some(count) = count else {
                self.found.add(|| {
                    value
                        .problem(
                            Code::NotACount,
                            format!("{} does not begin with a number of deliveries.", value.name),
                        )
                        .right(format!("a whole number from 1 to {MOST} before the ×"))
                });
                return None;
            };
            let each = quantity(value, each, measure)?;
            let delivery = |i| {
                At::new(
                    each.clone(),
                    Entry::new(format!("{}.{i}", value.name), value.node.span.clone()),
                )
            };
            return Some((1..=count).map(delivery).collect());
        }
        let items = value.items();
        if items.is_empty() || items.len() > MOST || matches!(value.node.content, Content::Map(_)) {
            self.found.add(|| {
                value
                    .problem(
                        Code::WrongShape,
                        match items.len() {
                            0 => format!("{} lists no delivery.", value.name),
                            1 => format!("{} is not a list of deliveries.", value.name),
                            _ => format!("{} lists too many deliveries.", value.name),
                        },
                    )
                    .right(format!("one volume, or a list of 1 to {MOST}"))
            });
            return None;
        }
        if let Some((span, written, meant)) =
            slips::parted_in_list(&items.iter().map(|item| item.node).collect::<Vec<_>>())
        {
            self.found.add(|| {
                let headline = format!(
                    "{} has commas inside its numbers; the decimal sign is a point.",
                    value.name
                );
                Code::DecimalComma
                    .error(headline)
                    .at(value.name.clone(), Some(span))
                    .read(format!("[{written}]"))
                    .right(format!(
                        "[{meant}]; or a space after every comma of the list"
                    ))
            });
            return None;
        }
        let readings = items.iter().map(|item| {
            let text = item.scalar("one quantity")?;
            Some(item.at(quantity(item, text, measure)?))
        });
        // All of them are read before one that failed ends it.
        let readings: Vec<Option<Reading>> = readings.collect();
        readings.into_iter().collect()
    }
}

/// Volumes as written, mL: `25 mL`, `4 × 5.00 mL`, or several with commas between them; `None` if one cannot be read.
pub(super) fn volumes(text: &str) -> Option<Vec<f64>> {
    let one = |text: &str| {
        let quantity = Quantity::parse(text.trim(), &Unit::MILLILITRE);
        quantity.ok().map(|quantity| quantity.value)
    };
    match times(text) {
        Some((count, each)) => Some(vec![one(each)?; count.parse().ok().filter(|n| *n <= 1000)?]),
        None => text.split(',').map(one).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn deliveries_are_counted() {
        assert_eq!(times("4 × 5.00 mL"), Some(("4", "5.00 mL")), "sign");
        assert_eq!(times("4x5.00"), Some(("4", "5.00")), "letter");
        assert_eq!(times("5.00 mL"), None, "one");
        assert_eq!(times("0x10"), None, "hexadecimal");
    }
}
