//! Wishes that nothing on the bench can meet, each as a problem with its entry.

use super::bench::{Bench, Ware, gamma};
use super::search::Stuck;
use super::ways::{DEPARTURE, Node, aliquot, sources};
use crate::bench::quantity::rounding::significant;
use crate::bench::reduce::PublishedShape;
use crate::bench::reduce::instruments::{standard_kind, tolerance};
use crate::bench::reference::brine;
use crate::bench::reference::solubility;
use crate::bench::runfile::model::{ApparatusKind, Reading, Scale};
use crate::bench::runfile::plan::{PlanFile, WantedSolution};
use crate::problem::{Code, Problem};

/// Returns an error at a reading.
fn problem_at(reading: &Reading, code: Code, headline: String) -> Problem {
    let entry = &reading.entry;
    code.error(headline)
        .at_entry(entry)
        .read(reading.value.as_written())
}

/// Returns the published density of the salt at the temperature of the plan.
pub(super) fn shape(plan: &PlanFile, molar_mass: f64) -> Result<PublishedShape, Problem> {
    let name = &plan.solute.name;
    let salt = plan.solute.salt().ok_or_else(|| {
        let headline = format!(
            "No published densities of {} solutions are available.",
            name.value
        );
        let problem = Code::NoPublishedDensity
            .error(headline)
            .at_entry(&name.entry)
            .read(name.value.as_str());
        problem.right(format!("{}, by name or formula", brine::names()))
    })?;
    let liquid = plan.conditions.liquid.as_ref();
    let t = liquid.map_or(f64::NAN, |liquid| liquid.value.value);
    PublishedShape::at(salt, t, molar_mass).ok_or_else(|| {
        let headline = "No densities are published at the temperature of the liquids.".to_owned();
        let problem = match liquid {
            Some(liquid) => problem_at(liquid, Code::NoPublishedDensity, headline),
            None => Code::NoPublishedDensity.error(headline),
        };
        let (low, high) = (salt.temperatures.start(), salt.temperatures.end());
        problem.right(format!("a temperature from {low} °C to {high} °C"))
    })
}

/// Returns what saturates the salt's solutions at the temperature of the plan, mass percent, and how far that is known;
/// `None` where it is not.
fn saturation(plan: &PlanFile) -> Option<(f64, f64)> {
    let known = plan.solute.salt()?.solubility;
    let t = plan.conditions.liquid.as_ref()?.value.value;
    let within = solubility::TEMPERATURES.contains(&t);
    within.then(|| (known.at(t), known.limit()))
}

/// Returns the mass concentration of the strongest solution that can be made, g/L.
pub(super) fn strongest(plan: &PlanFile, shape: &PublishedShape) -> f64 {
    let published = shape.largest_mass_fraction();
    let fraction = saturation(plan).map_or(published, |(w, _)| published.min(w / 100.0));
    shape.on_scale(Scale::MassConcentration, fraction)
}

/// Returns everything that can be told without a search.
pub(super) fn impossible(plan: &PlanFile, shape: &PublishedShape) -> Vec<Problem> {
    let mut problems = ware(plan);
    for wanted in &plan.solutions {
        problems.extend(strength(plan, shape, wanted.scale, &wanted.strength));
    }
    let expected = &plan.expected;
    for end in [&expected.low, &expected.high] {
        let problem = strength(plan, shape, expected.scale, end);
        if problem.is_some() {
            problems.extend(problem);
            break;
        }
    }
    problems.extend(volumes(plan));
    problems.extend(stronger_than_stock(plan, shape));
    problems
}

/// Returns what can be done, and yet should be thought over.
pub(super) fn cautions(bench: &Bench) -> Vec<String> {
    let expected = &bench.plan.expected;
    let strongest = bench.targets.iter().map(|target| target.gamma);
    let strongest = strongest.fold(0.0, f64::max);
    let x = expected.scale.in_unit(expected.high.value.value);
    let high = gamma(&bench.shape, expected.scale, x).unwrap_or(0.0);
    let beyond = high > strongest * (1.0 + DEPARTURE);
    let caution = beyond.then(|| {
        format!(
            "The unknown may be stronger ({}) than every solution of the plan; its result would then be extrapolated.",
            expected.high.value.as_written()
        )
    });
    caution.into_iter().collect()
}

/// Ware that no plan can do without, and ware whose limits are not known.
fn ware(plan: &PlanFile) -> Vec<Problem> {
    let mut problems = Vec::new();
    let has =
        |kinds: &[ApparatusKind]| plan.apparatus.iter().any(|item| kinds.contains(&item.kind));
    let needed: [(&[ApparatusKind], &str, &str); 3] = [
        (
            &[ApparatusKind::Balance],
            "balance",
            "balance: {kind: balance, readability: 0.01 g}",
        ),
        (
            &[ApparatusKind::Flask, ApparatusKind::Cylinder],
            "flask or cylinder to make solutions up in",
            "flask: {kind: flask, capacity: 100 mL, class: A}",
        ),
        (
            &[
                ApparatusKind::Pipette,
                ApparatusKind::GraduatedPipette,
                ApparatusKind::Burette,
            ],
            "pipette or burette to measure the volumes weighed",
            "pipette: {kind: pipette, capacity: 10 mL, class: A}",
        ),
    ];
    for (kinds, what, such) in needed {
        if !has(kinds) {
            let place = plan.apparatus_entry.as_ref().unwrap_or(&plan.entry);
            problems.push(
                Code::NoWare
                    .error(format!("There is no {what} among the apparatus."))
                    .at("apparatus", Some(place.span.clone()))
                    .right(such),
            );
        }
    }
    let limits = plan
        .apparatus
        .iter()
        .filter(|item| standard_kind(item.kind).is_some())
        .filter_map(|item| tolerance(item).err());
    problems.extend(limits);
    problems
}

/// Returns a strength that cannot be.
fn strength(
    plan: &PlanFile,
    shape: &PublishedShape,
    scale: Scale,
    wanted: &Reading,
) -> Option<Problem> {
    let x = scale.in_unit(wanted.value.value);
    let name = &wanted.entry.name;
    let salt = &plan.solute.name.value;
    let most = |fraction: f64| {
        let most = significant(shape.on_scale(scale, fraction), 3);
        format!("{} {} at most", most.unwrap_or_default(), scale.unit())
    };
    let fraction = shape.mass_fraction(scale, x);
    let t = plan.conditions.liquid.as_ref()?.value.as_written();
    if let Some((saturated, limit)) = saturation(plan)
        && fraction.is_none_or(|fraction| 100.0 * fraction > saturated - limit)
        && x >= shape.on_scale(
            scale,
            ((saturated - limit) / 100.0).min(shape.largest_mass_fraction()),
        )
    {
        let headline = format!("{name} is more {salt} than is certain to dissolve at {t}.");
        return Some(
            problem_at(wanted, Code::BeyondSaturation, headline)
                .right(most((saturated - limit) / 100.0)),
        );
    }
    if fraction.is_none() {
        let headline = format!("{name} is beyond the range of published densities.");
        return Some(
            problem_at(wanted, Code::NoPublishedDensity, headline)
                .right(most(shape.largest_mass_fraction())),
        );
    }
    None
}

/// Volumes that no vessel holds, or that do not suffice for the weighings.
fn volumes(plan: &PlanFile) -> Vec<Problem> {
    let kinds = [ApparatusKind::Flask, ApparatusKind::Cylinder];
    let vessels = plan.apparatus.iter();
    let vessels = vessels.filter(|item| kinds.contains(&item.kind));
    let capacities = vessels.filter_map(|item| Some(item.capacity.as_ref()?.value.value));
    let Some(largest) = capacities.max_by(f64::total_cmp) else {
        return Vec::new();
    };
    let too_large = |wanted: &&WantedSolution| wanted.volume.value.value > largest * (1.0 + 1e-9);
    let problem = |wanted: &WantedSolution| {
        let name = &wanted.name.value;
        let headline = format!("No flask or cylinder holds the volume of {name} wanted.");
        let right = format!("{largest} mL at most; or a larger flask under `apparatus`");
        problem_at(&wanted.volume, Code::NoVessel, headline).right(right)
    };
    let wanted = plan.solutions.iter();
    wanted.filter(too_large).map(problem).collect()
}

/// Returns what one weighing takes at least, with all weighings and the conditioning, is more than there is of a
/// solution.
pub(super) fn too_little(bench: &Bench) -> Vec<Problem> {
    let Some(smallest) = bench.deliver.first() else {
        return Vec::new();
    };
    let times = bench.plan.weighings;
    let least = f64::from(times) * smallest.capacity + smallest.conditioning();
    let name = bench.name(smallest.index);
    let wanted = bench.plan.solutions.iter();
    let short = wanted.filter(|wanted| wanted.volume.value.value < least * (1.0 - 1e-9));
    short
        .map(|wanted| {
            let headline = format!(
                "There is too little of {} to weigh it {times} times with {name}, the smallest pipette.",
                wanted.name.value
            );
            problem_at(&wanted.volume, Code::TooLittleToWeigh, headline).right(format!(
                "{least} mL or more, conditioning included; fewer weighings, or a smaller pipette"
            ))
        })
        .collect()
}

/// Solutions that are to be diluted from a stock that is not stronger.
fn stronger_than_stock(plan: &PlanFile, shape: &PublishedShape) -> Vec<Problem> {
    let Some(stock) = &plan.stock else {
        return Vec::new();
    };
    let fraction = |i: usize| {
        let wanted = &plan.solutions[i];
        shape.mass_fraction(
            wanted.scale,
            wanted.scale.in_unit(wanted.strength.value.value),
        )
    };
    let Some(most) = fraction(stock.value) else {
        return Vec::new();
    };
    let name = &plan.solutions[stock.value].name.value;
    let others = (0..plan.solutions.len()).filter(|i| *i != stock.value);
    others
        .filter(|i| fraction(*i).is_some_and(|w| w * (1.0 + DEPARTURE) >= most))
        .map(|i| {
            let wanted = &plan.solutions[i];
            let headline = format!(
                "{} cannot be diluted from {name}, which is not stronger.",
                wanted.name.value
            );
            problem_at(&wanted.strength, Code::StrongerThanStock, headline)
                .right(format!(
                    "less than the strength of {name}; or another stock"
                ))
                .also(stock.entry.span.clone(), "the stock")
        })
        .collect()
}

/// Returns why no series was found, as a problem.
pub(super) fn stuck(bench: &Bench, nodes: &[Node], stuck: Stuck) -> Problem {
    let plan = bench.plan;
    let node = &nodes[stuck.node];
    let Some(target) = node.target else {
        let entry = plan.entry.clone();
        return Code::NoWay
            .error("No stock can be made.")
            .at(entry.name, Some(entry.span));
    };
    let wanted = &plan.solutions[target];
    let name = &wanted.name.value;
    let beside = |problem: Problem| match &plan.stock {
        Some(stock) => problem.also(stock.entry.span.clone(), "the solution to dilute"),
        None => problem,
    };
    if stuck.for_want_of_stock {
        let headline = format!("There is not enough of the solution that {name} is diluted from.");
        return beside(problem_at(&wanted.volume, Code::MoreThanTheStockGives, headline)).right(
            "a smaller volume of it or of the others, a larger flask for the stock, or no `stock`, so that salt may be weighed for it",
        );
    }
    let headline = format!("No ware at hand makes {name} at the strength wanted.");
    let problem = beside(problem_at(
        &wanted.strength,
        Code::NotToBeMeasured,
        headline,
    ));
    problem.right(nearest(bench, nodes, stuck.node, target))
}

/// Returns the strengths next to a wanted one that the ware makes, in words.
fn nearest(bench: &Bench, nodes: &[Node], at: usize, target: usize) -> String {
    let node = &nodes[at];
    let mut reached: Vec<f64> = Vec::new();
    for source in sources(nodes, at) {
        let holds = |ware: &&Ware| ware.capacity >= node.volume * (1.0 - 1e-9);
        for vessel in 0..bench.vessels.len() {
            if !holds(&&bench.vessels[vessel]) {
                continue;
            }
            for with in 0..bench.deliver.len() {
                let ratio = node.gamma / nodes[source].gamma;
                let least = bench.deliver[with].full(1).total / bench.vessels[vessel].capacity;
                let found = aliquot(bench, with, vessel, ratio.max(least));
                reached.extend(found.map(|(_, reached)| reached * ratio.max(least) / ratio));
            }
        }
    }
    let wanted = &bench.plan.solutions[target];
    let scale = wanted.scale;
    let near = reached
        .into_iter()
        .min_by(|a, b| (a - 1.0).abs().total_cmp(&(b - 1.0).abs()));
    let near = near.and_then(|share| {
        let fraction = bench
            .shape
            .mass_fraction(Scale::MassConcentration, node.gamma * share)?;
        let x = bench.shape.on_scale(scale, fraction);
        Some(format!("{} {}", significant(x, 3)?, scale.unit()))
    });
    match near {
        Some(near) => format!("{near}, which is nearest; or other ware"),
        None => "smaller pipettes, or larger flasks".into(),
    }
}
