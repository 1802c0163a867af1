//! What errors of the inputs do to the results: JCGM 100:2008, clause 5 and annex G.4.

use std::collections::BTreeMap;

use super::{Distribution, Estimate, NodeId, Source, Worksheet};

/// Standard uncertainty with its effective degrees of freedom, and the bias left uncorrected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertainty {
    /// Standard uncertainty, in the quantity's unit.
    pub standard: f64,
    /// Effective degrees of freedom (Welch–Satterthwaite, JCGM 100:2008, equation G.2b); infinite where no component
    /// has a finite number.
    pub dof: f64,
    /// The estimate of variance that takes most of the degrees of freedom; `None` if all are known for certain.
    pub leading: Option<Leading>,
    /// The share of the largest rectangular error in the variance, 0 to 1.
    pub rectangular: f64,
    /// The best estimate less the value, in the quantity's unit: what it lacks for the quantities neglected, to first
    /// order. The standard uncertainty is that of the best estimate.
    pub bias: f64,
}

/// The estimate of variance of finite degrees of freedom that lowers the effective ones most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leading {
    /// Its degrees of freedom.
    pub dof: f64,
    /// Its share of the variance, 0 to 1.
    pub share: f64,
    /// Its share of Σ u⁴/ν, 0 to 1.
    pub freedom_share: f64,
    /// Effective degrees of freedom of all else; infinite where no other is finite.
    pub rest_dof: f64,
}

/// A contribution below this share of the largest is left over from rounding.
const ROUNDING: f64 = 1e-12;

/// A sum of errors, each an input's times a factor.
#[derive(Debug, Clone, Default)]
pub struct Form(Vec<f64>);

impl Form {
    /// Adds errors times a factor.
    pub fn add(&mut self, factor: f64, errors: &[(NodeId, f64)]) {
        if let Some((NodeId(last), _)) = errors.last() {
            self.0.resize(self.0.len().max(last + 1), 0.0);
        }
        for (NodeId(index), c) in errors {
            self.0[*index] += factor * c;
        }
    }

    /// Returns the errors whose factors are not zero, by rising place.
    pub fn errors(self) -> impl Iterator<Item = (NodeId, f64)> {
        let all = self.0.into_iter().enumerate();
        let all = all.map(|(index, factor)| (NodeId(index), factor));
        all.filter(|(_, factor)| *factor != 0.0)
    }
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
    /// Sensitivity coefficients of a result with respect to all inputs it depends on, by rising place, and to the
    /// quantities neglected. The best estimate of what is neglected counts: of inputs behind it, too, errors are errors of
    /// the result.
    pub fn sensitivities(&self, result: NodeId) -> &[(NodeId, f64)] {
        let remembered = &self.node(result).remembered;
        let found = || self.expand(result).into_boxed_slice();
        remembered.sensitivities.get_or_init(found)
    }

    fn expand(&self, result: NodeId) -> Vec<(NodeId, f64)> {
        // Quantities are taken from the latest down; each is expanded once, when all that depends on it has been.
        let mut waiting = BTreeMap::from([(result, 1.0)]);
        let mut inputs = Vec::new();
        while let Some((id, weight)) = waiting.pop_last() {
            let node = self.node(id);
            if matches!(
                node.source,
                Source::Input(_) | Source::Neglected(_) | Source::Correction(_)
            ) {
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
            _ => 0.0,
        }
    }

    /// Returns what a quantity adds to biases of its own: the best estimate of what is neglected less zero, and the
    /// negative of what makes up for another's bias; in its unit.
    fn own_bias(&self, id: NodeId) -> f64 {
        let node = self.node(id);
        match &node.source {
            Source::Neglected(estimate) => self.value(*estimate) - node.value,
            Source::Correction(_) => -node.value,
            Source::Input(_) | Source::Calculated(_) | Source::Solved(_) => 0.0,
        }
    }

    /// Returns what a result lacks for each quantity neglected, in the result's unit, by rising place.
    pub fn neglected(&self, result: NodeId) -> Vec<(NodeId, f64)> {
        self.sensitivities(result)
            .iter()
            .map(|&(id, c)| (id, c * self.own_bias(id)))
            .filter(|(_, part)| *part != 0.0)
            .collect()
    }

    /// Sources of a result's error: each uncertain input with the part of the standard uncertainty due to it, signed,
    /// in the result's unit.
    pub fn influences(&self, result: NodeId) -> Vec<(NodeId, f64)> {
        self.sensitivities(result)
            .iter()
            .map(|&(id, c)| (id, c * self.input_uncertainty(id)))
            .filter(|(_, part)| *part != 0.0)
            .collect()
    }

    /// Standard uncertainty of a result and its effective degrees of freedom.
    pub fn uncertainty(&self, result: NodeId) -> Uncertainty {
        let remembered = &self.node(result).remembered;
        let form = || self.sensitivities(result).iter().copied();
        let found = || Box::new(self.uncertainty_of_form(form()));
        **remembered.uncertainty.get_or_init(found)
    }

    /// Standard uncertainty, effective degrees of freedom and bias of a sum of errors, each an input's times a factor; an
    /// input named twice is taken as two errors of the same kind, independent of each other.
    ///
    /// Welch and Satterthwaite's formula takes the estimates of variance as independent of each other (JCGM 100:2008,
    /// G.4.1). Parts that rest on one estimate are therefore added up before they are divided by its degrees of freedom.
    pub fn uncertainty_of_form(
        &self,
        form: impl IntoIterator<Item = (NodeId, f64)>,
    ) -> Uncertainty {
        let mut variance = 0.0;
        let mut bias = 0.0;
        let mut rectangular: f64 = 0.0;
        // Part of the variance and degrees of freedom of each estimate.
        let mut parts: Vec<(f64, f64)> = Vec::new();
        let mut shared: BTreeMap<Estimate, (f64, f64)> = BTreeMap::new();
        for (id, c) in form {
            bias += c * self.own_bias(id);
            let Source::Input(input) = &self.node(id).source else {
                continue;
            };
            for component in &input.components {
                let part = (c * component.standard_uncertainty).powi(2);
                variance += part;
                if component.distribution == Distribution::Rectangular {
                    rectangular = rectangular.max(part);
                }
                match component.estimate {
                    Some(estimate) => {
                        shared.entry(estimate).or_insert((0.0, component.dof)).0 += part;
                    }
                    None if component.dof.is_finite() => parts.push((part, component.dof)),
                    None => {}
                }
            }
        }
        parts.extend(shared.into_values());
        parts.retain(|(part, dof)| dof.is_finite() && *part > 0.0);
        let freedom = |(part, dof): &(f64, f64)| part * part / dof;
        let by_freedom: f64 = parts.iter().map(freedom).sum();
        let over = |variance: f64, by_freedom: f64| {
            if by_freedom > 0.0 {
                variance * variance / by_freedom
            } else {
                f64::INFINITY
            }
        };
        let largest = parts.iter().enumerate();
        let largest = largest.max_by(|a, b| freedom(a.1).total_cmp(&freedom(b.1)));
        let leading = largest.map(|(at, &(part, dof))| {
            let rest = parts.iter().enumerate().filter(|(other, _)| *other != at);
            Leading {
                dof,
                share: part / variance,
                freedom_share: part * part / dof / by_freedom,
                rest_dof: over(
                    (variance - part).max(0.0),
                    rest.map(|(_, p)| freedom(p)).sum(),
                ),
            }
        });
        Uncertainty {
            standard: variance.sqrt(),
            dof: over(variance, by_freedom),
            leading,
            rectangular: if variance > 0.0 {
                rectangular / variance
            } else {
                0.0
            },
            bias,
        }
    }

    /// Covariance of two results, in the product of their units.
    pub fn covariance(&self, a: NodeId, b: NodeId) -> f64 {
        shared_variance(&self.influences(a), &self.influences(b))
    }

    /// Returns the covariance matrix of some results, each expanded once.
    pub fn covariances(&self, of: &[NodeId]) -> Vec<Vec<f64>> {
        let expanded: Vec<_> = of.iter().map(|id| self.influences(*id)).collect();
        expanded
            .iter()
            .map(|a| expanded.iter().map(|b| shared_variance(a, b)).collect())
            .collect()
    }

    /// Returns the uncertainty budget of a result, largest share first; inputs that contribute nothing are left out.
    pub fn budget(&self, result: NodeId) -> Vec<BudgetRow> {
        let mut rows: Vec<BudgetRow> = self
            .sensitivities(result)
            .iter()
            .map(|&(input, sensitivity)| {
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
            .collect();
        // What rounding leaves of a sensitivity of zero is no contribution.
        let largest = rows
            .iter()
            .fold(0.0_f64, |most, row| most.max(row.contribution));
        rows.retain(|row| row.contribution > ROUNDING * largest);
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

/// Returns the covariance of two results, given their influences by rising place.
fn shared_variance(a: &[(NodeId, f64)], b: &[(NodeId, f64)]) -> f64 {
    let mut others = b.iter().peekable();
    let mut sum = 0.0;
    for (id, part) in a {
        while others.next_if(|(other, _)| other < id).is_some() {}
        if let Some((_, other)) = others.next_if(|(other, _)| other == id) {
            sum += part * other;
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::super::{Component, Expr, Input, Plan, Title};
    use super::*;
    use crate::bench::quantity::Unit;

    /// Returns the sum of two errors of standard uncertainties 3 and 4, each of 5 degrees of freedom.
    fn sum_of_two(shared: bool) -> Uncertainty {
        let mut ws = Worksheet::new();
        let estimate = ws.estimate();
        let ids = [3.0, 4.0].map(|u| {
            let component = Component::sampled("spread", u, 5.0);
            let input = Input {
                components: vec![if shared {
                    component.with_estimate(estimate)
                } else {
                    component
                }],
                ..Input::default()
            };
            ws.input(Title::new("error", "e", &Unit::ONE), 0.0, input)
        });
        let sum = ws.calculate(
            Title::new("sum", "s", &Unit::ONE),
            Expr::from(ids[0]) + ids[1],
        );
        ws.uncertainty(sum)
    }

    #[test]
    fn errors_by_one_estimate_share_its_degrees_of_freedom() {
        let (apart, together) = (sum_of_two(false), sum_of_two(true));
        assert!(
            (apart.standard - 5.0).abs() < 1e-12,
            "the errors are independent"
        );
        assert!((together.standard - 5.0).abs() < 1e-12, "and stay so");
        // 5⁴/(3⁴/5 + 4⁴/5) and 5⁴/((3² + 4²)²/5).
        assert!((apart.dof - 3125.0 / 337.0).abs() < 1e-12, "{apart:?}");
        assert!((together.dof - 5.0).abs() < 1e-12, "{together:?}");
    }

    #[test]
    fn errors_by_one_estimate_are_drawn_with_one_standard_deviation() {
        let mut ws = Worksheet::new();
        let estimate = ws.estimate();
        let errors = (0..16)
            .map(|_| {
                let components =
                    vec![Component::sampled("spread", 1.0, 5.0).with_estimate(estimate)];
                let input = Input {
                    components,
                    ..Input::default()
                };
                ws.input(Title::new("error", "e", &Unit::ONE), 0.0, input)
                    .into()
            })
            .collect();
        let sum = ws.calculate(Title::new("sum", "s", &Unit::ONE), Expr::Sum(errors));
        let plan = Plan {
            draws: 400_000,
            seed: 7,
            coverage: 0.99,
            threads: None,
        };
        let found = &ws.monte_carlo(&[sum], &plan)[0];
        // 4 times Student's t of 5 degrees of freedom, 4.0321. Sixteen estimates would even out to 13.3.
        for end in [-found.symmetric.low, found.symmetric.high] {
            assert!((end - 16.128).abs() < 0.3, "{found:?}");
        }
    }

    #[test]
    fn a_covariance_is_of_what_is_shared() {
        let mut ws = Worksheet::new();
        let [a, b, c] = [2.0, 3.0, 5.0].map(|u| {
            let components = vec![Component::normal("stated", u)];
            let input = Input {
                components,
                ..Input::default()
            };
            ws.input(Title::new("reading", "x", &Unit::ONE), 1.0, input)
        });
        let first = ws.calculate(Title::new("first", "f", &Unit::ONE), Expr::from(a) + b);
        let second = ws.calculate(Title::new("second", "g", &Unit::ONE), Expr::from(b) - c);
        let matrix = ws.covariances(&[first, second]);
        // 4 + 9, 9, 9 + 25.
        assert_eq!(matrix, [[13.0, 9.0], [9.0, 34.0]]);
        assert!(
            (ws.covariance(first, second) - 9.0).abs() < 1e-12,
            "the one alone"
        );
    }
}
