//! What errors of the inputs do to the results: JCGM 100:2008, clause 5 and annex G.4.

use std::collections::BTreeMap;

use super::{NodeId, Source, Worksheet};

/// Standard uncertainty with its effective degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertainty {
    /// Standard uncertainty, in the quantity's unit.
    pub standard: f64,
    /// Effective degrees of freedom (Welch–Satterthwaite, JCGM 100:2008, equation G.2b); infinite where no component
    /// has a finite number.
    pub dof: f64,
}

/// A row of an uncertainty budget.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BudgetRow {
    /// The input.
    pub input: NodeId,
    /// Sensitivity coefficient ∂result/∂input, unit of the result per unit of the input.
    pub sensitivity: f64,
    /// Standard uncertainty of the input, in its unit.
    pub standard_uncertainty: f64,
    /// |sensitivity| × standard uncertainty, in the result's unit.
    pub contribution: f64,
    /// The part of the result's variance that comes from it, 0 to 1.
    pub share: f64,
}

impl Worksheet {
    /// Sensitivity coefficients of a result with respect to all inputs it depends on, by rising place.
    pub fn sensitivities(&self, result: NodeId) -> Vec<(NodeId, f64)> {
        // Quantities are taken from the latest down; each is expanded once, when all that depends on it has been.
        let mut waiting = BTreeMap::from([(result, 1.0)]);
        let mut inputs = Vec::new();
        while let Some((id, weight)) = waiting.pop_last() {
            let node = self.node(id);
            if matches!(node.source, Source::Input(_)) {
                inputs.push((id, weight));
            }
            for (earlier, partial) in &node.partials {
                *waiting.entry(*earlier).or_insert(0.0) += weight * partial;
            }
        }
        inputs.reverse();
        inputs
    }

    /// Standard uncertainty of an input, in its unit; 0 for a calculated quantity.
    fn input_uncertainty(&self, id: NodeId) -> f64 {
        match &self.node(id).source {
            Source::Input(input) => input.standard_uncertainty(),
            Source::Calculated(_) | Source::Solved(_) => 0.0,
        }
    }

    /// Sources of a result's error: each uncertain input with the part of the standard uncertainty due to it, signed,
    /// in the result's unit.
    pub fn influences(&self, result: NodeId) -> Vec<(NodeId, f64)> {
        self.sensitivities(result)
            .into_iter()
            .map(|(id, c)| (id, c * self.input_uncertainty(id)))
            .filter(|(_, part)| *part != 0.0)
            .collect()
    }

    /// Standard uncertainty of a result and its effective degrees of freedom.
    pub fn uncertainty(&self, result: NodeId) -> Uncertainty {
        let mut variance = 0.0;
        let mut by_freedom = 0.0;
        for (id, c) in self.sensitivities(result) {
            let Source::Input(input) = &self.node(id).source else {
                continue;
            };
            for component in &input.components {
                let part = (c * component.standard_uncertainty).powi(2);
                variance += part;
                by_freedom += part * part / component.dof;
            }
        }
        let dof = if by_freedom > 0.0 {
            variance * variance / by_freedom
        } else {
            f64::INFINITY
        };
        Uncertainty {
            standard: variance.sqrt(),
            dof,
        }
    }

    /// Covariance of two results, in the product of their units.
    pub fn covariance(&self, a: NodeId, b: NodeId) -> f64 {
        let of_b: BTreeMap<NodeId, f64> = self.influences(b).into_iter().collect();
        self.influences(a)
            .iter()
            .filter_map(|(id, part)| of_b.get(id).map(|other| part * other))
            .sum()
    }

    /// The uncertainty budget of a result, largest share first; inputs that contribute nothing are left out.
    pub fn budget(&self, result: NodeId) -> Vec<BudgetRow> {
        let mut rows: Vec<BudgetRow> = self
            .sensitivities(result)
            .into_iter()
            .map(|(input, sensitivity)| {
                let standard_uncertainty = self.input_uncertainty(input);
                let contribution = (sensitivity * standard_uncertainty).abs();
                BudgetRow {
                    input,
                    sensitivity,
                    standard_uncertainty,
                    contribution,
                    share: 0.0,
                }
            })
            .filter(|row| row.contribution > 0.0)
            .collect();
        let variance: f64 = rows.iter().map(|row| row.contribution.powi(2)).sum();
        for row in &mut rows {
            row.share = row.contribution.powi(2) / variance;
        }
        rows.sort_by(|a, b| {
            b.contribution
                .total_cmp(&a.contribution)
                .then(a.input.cmp(&b.input))
        });
        rows
    }
}
