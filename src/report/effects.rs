//! Effects that were not corrected, and what they do to the results.

use serde::Serialize;

use crate::bench::quantity::ShownIn;
use crate::bench::reduce::Effect;
use crate::bench::reduce::results::Stated;

use super::Material;
use super::words::{figures, with_unit};

/// A share in the expanded uncertainty that is but what rounding leaves of what cancels.
const NOTHING: f64 = 1e-9;

/// The part of a result's expanded uncertainty from which on an effect is stated on page 1.
const MATTERS: f64 = 0.1;

/// An effect that is not corrected.
#[derive(Debug, Serialize)]
pub(super) struct EffectShown {
    /// The effect in words.
    name: &'static str,
    /// The entry under `allow_for` that corrects it.
    key: &'static str,
    /// Corrections that the main results lack for it, if above a tenth of their expanded uncertainty.
    main: Vec<LackingShown>,
    /// The largest corrections that a density, a composition and an unknown lack for it, by falling share.
    most: Vec<LackingShown>,
    /// Whether all of these are below a tenth of the expanded uncertainty.
    negligible: bool,
}

/// The correction that a result lacks for an effect.
#[derive(Debug, Serialize)]
struct LackingShown {
    /// The result in words.
    of: String,
    /// The correction, signed, with unit.
    amount: String,
    /// Its size over the expanded uncertainty.
    share: String,
}

/// A result and what it lacks for an effect, in its unit.
#[derive(Clone)]
struct Lacking<'a> {
    what: &'static str,
    solution: &'a str,
    stated: &'a Stated,
    amount: f64,
}

impl<'a> Lacking<'a> {
    fn new(
        what: &'static str,
        solution: &'a str,
        stated: Option<&'a Stated>,
        effect: Effect,
    ) -> Option<Self> {
        let stated = stated?;
        let found = stated.not_corrected.iter().find(|n| n.effect == effect)?;
        Some(Self {
            what,
            solution,
            stated,
            amount: found.lacking,
        })
    }

    fn share(&self) -> f64 {
        self.amount.abs() / self.stated.expanded_uncertainty
    }

    fn show(&self) -> LackingShown {
        LackingShown {
            of: format!("{} of {}", self.what, self.solution),
            amount: with_unit(
                &amount(self.amount, self.stated.shown_in),
                self.stated.shown_in.unit.symbol,
            ),
            share: figures(self.share(), 2),
        }
    }
}

/// Returns what a result lacks, to two figures, signed, without its unit.
pub(super) fn amount(lacking: f64, shown_in: ShownIn) -> String {
    let sign = if lacking > 0.0 { "+" } else { "" };
    format!("{sign}{}", shown_in.significant(lacking, 2))
}

/// Returns the effects that were not corrected, in their order.
pub(super) fn show(material: &Material) -> Vec<EffectShown> {
    Effect::ALL
        .into_iter()
        .filter_map(|effect| of_effect(material, effect))
        .collect()
}

fn of_effect(material: &Material, effect: Effect) -> Option<EffectShown> {
    let results = material.results;
    let unknowns: Vec<Lacking> = results
        .unknowns
        .iter()
        .filter_map(|(name, stated)| {
            let stated = stated.composition.on(material.reduction.against()?);
            Lacking::new("composition", name, stated, effect)
        })
        .collect();
    let all = || results.solutions.iter().chain(&results.unknowns);
    let densities: Vec<Lacking> = all()
        .filter_map(|(name, s)| Lacking::new("density", name, s.density.as_ref(), effect))
        .collect();
    let compositions: Vec<Lacking> = results
        .solutions
        .iter()
        .filter_map(|(name, s)| {
            let c = &s.composition;
            let stated = c.mass_percent.as_ref().or(c.mass_concentration.as_ref());
            Lacking::new("composition", name, stated, effect)
        })
        .collect();
    let mut most: Vec<&Lacking> = [&densities, &compositions, &unknowns]
        .into_iter()
        .filter_map(|all| all.iter().max_by(|a, b| a.share().total_cmp(&b.share())))
        .filter(|lacking| lacking.share() > NOTHING)
        .collect();
    if most.is_empty() {
        return None;
    }
    most.sort_by(|a, b| b.share().total_cmp(&a.share()));
    let matters = |lacking: &Lacking| lacking.share() > MATTERS;
    // Page 1 answers with the unknowns; where there is none, with the solutions.
    let answers = if results.unknowns.is_empty() {
        most.clone()
    } else {
        unknowns.iter().collect()
    };
    Some(EffectShown {
        name: effect.words(),
        key: effect.entry(),
        main: answers
            .into_iter()
            .filter(|lacking| matters(lacking))
            .map(Lacking::show)
            .collect(),
        negligible: !most.iter().any(|lacking| matters(lacking)),
        most: most.into_iter().map(Lacking::show).collect(),
    })
}
