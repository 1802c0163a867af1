//! What several test modules share: published cases, reduced runs, numbers that only look random.

use fillmark::bench::reduce::{Reduction, SolutionResult, reduce};
use fillmark::bench::runfile;
use fillmark::bench::worksheet::{NodeId, Source, Worksheet};
use fillmark::pipeline::{self, Run};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The cases of a file of published values.
pub(crate) fn cases(text: &str) -> Vec<Value> {
    serde_json::from_str(text).expect("published values are JSON")
}

#[track_caller]
pub(crate) fn number(value: &Value, name: &str) -> f64 {
    let number = value[name].as_f64();
    number.unwrap_or_else(|| panic!("no number {name:?} in {value}"))
}

pub(crate) fn numbers(value: &Value) -> Vec<f64> {
    let list = value
        .as_array()
        .unwrap_or_else(|| panic!("no list: {value}"));
    list.iter().filter_map(Value::as_f64).collect()
}

pub(crate) fn id(case: &Value) -> &str {
    case["id"].as_str().expect("every case has an id")
}

#[track_caller]
pub(crate) fn close(what: &str, got: f64, expected: f64, absolute: f64, relative: f64) {
    let room = absolute + relative * expected.abs();
    assert!(
        (got - expected).abs() <= room,
        "{what} is {got}, expected {expected} ± {room:e}"
    );
}

/// A run file read and reduced; it must be without any problem.
#[track_caller]
pub(crate) fn reduced(text: &str) -> Run {
    let (run, problems) = pipeline::read("run.yaml", text.as_bytes());
    assert!(problems.is_empty(), "{problems:#?}");
    run.expect("a run without problems")
}

/// A run file read and reduced, and nothing more; it must be without any problem.
#[track_caller]
pub(crate) fn reduction(text: &str) -> Reduction {
    let (run, problems) = runfile::read("run.yaml", text.as_bytes());
    assert!(problems.is_empty(), "{problems:#?}");
    reduce(&run.expect("a run without problems")).expect("a run that can be reduced")
}

#[track_caller]
pub(crate) fn solution<'a>(run: &'a Run, name: &str) -> &'a SolutionResult {
    let found = run
        .reduction
        .solutions
        .iter()
        .find(|solution| solution.name == name);
    found.unwrap_or_else(|| panic!("no solution {name}"))
}

#[track_caller]
pub(crate) fn density(run: &Run, name: &str) -> NodeId {
    solution(run, name)
        .density
        .as_ref()
        .unwrap_or_else(|| panic!("{name} has no density"))
        .density
}

/// Every result of a run by a name of its own: densities, compositions, coefficients, differences from published.
pub(crate) fn results(reduction: &Reduction) -> Vec<(String, NodeId)> {
    let mut all = Vec::new();
    for s in &reduction.solutions {
        let c = &s.composition;
        let named = [
            ("density", s.density.as_ref().map(|d| d.density)),
            ("mass percent", c.mass_percent),
            ("mass concentration", c.mass_concentration),
            ("molarity", c.molarity),
            ("molality", c.molality),
            (
                "published",
                s.comparison
                    .as_ref()
                    .and_then(|c| c.as_ref().ok())
                    .map(|c| c.published),
            ),
            (
                "difference",
                s.comparison
                    .as_ref()
                    .and_then(|c| c.as_ref().ok())
                    .map(|c| c.difference),
            ),
        ];
        all.extend(
            named
                .into_iter()
                .filter_map(|(what, id)| Some((format!("{what} of {}", s.name), id?))),
        );
    }
    if let Some(calibration) = &reduction.calibration {
        let coefficients = calibration.coefficients.iter().enumerate();
        all.extend(coefficients.map(|(k, id)| (format!("coefficient {k}"), *id)));
    }
    all
}

/// A path within the project.
pub(crate) fn path(within: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(within)
}

/// The files of a folder of the project with an ending, sorted, folders within it too.
pub(crate) fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut waiting = vec![path(folder)];
    while let Some(folder) = waiting.pop() {
        for entry in
            std::fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()))
        {
            let path = entry.expect("a folder can be listed").path();
            if path.is_dir() {
                waiting.push(path);
            } else if path.extension().is_some_and(|e| e == ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

pub(crate) fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// The samples of single runs; plans and a class stand in folders of their own.
pub(crate) fn sample_runs() -> Vec<PathBuf> {
    let mut all = files("sample_runs", "yaml");
    all.retain(|file| file.parent() == Some(&path("sample_runs")));
    all
}

/// Every good run file there is: those of the tests and the samples.
pub(crate) fn good_runs() -> Vec<(String, String)> {
    let paths = files("tests/runs", "yaml").into_iter().chain(sample_runs());
    let name = |path: &Path| {
        path.file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned()
    };
    let runs: Vec<(String, String)> = paths.map(|path| (name(&path), read(&path))).collect();
    assert!(runs.len() >= 5, "run files are missing: {}", runs.len());
    runs
}

/// Numbers that look random and depend on the seed alone (Steele, Lea and Flood 2014).
pub(crate) struct Generator(pub(crate) u64);

impl Generator {
    pub(crate) fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// About normal: mean 0, variance 1.
    pub(crate) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// A whole number below `bound`.
    pub(crate) fn below(&mut self, bound: usize) -> usize {
        (self.uniform() * bound as f64) as usize
    }

    pub(crate) fn chance(&mut self, probability: f64) -> bool {
        self.uniform() < probability
    }
}

/// Sensitivities of a result's value: without those of what is neglected, which it does not depend on, though errors of
/// its estimate count as errors of the result.
pub(crate) fn of_value(ws: &Worksheet, result: NodeId) -> BTreeMap<NodeId, f64> {
    let mut all: BTreeMap<NodeId, f64> = ws.sensitivities(result).iter().copied().collect();
    // From the latest down: an estimate may have others behind it.
    let neglected = |id: &NodeId| matches!(ws.node(*id).source, Source::Neglected(_));
    let ids: Vec<NodeId> = all.keys().copied().filter(neglected).collect();
    for id in ids.into_iter().rev() {
        let c = all.remove(&id).unwrap_or_default();
        if let Source::Neglected(estimate) = ws.node(id).source {
            for (behind, slope) in ws.sensitivities(estimate) {
                *all.entry(*behind).or_insert(0.0) -= c * slope;
            }
        }
    }
    all
}

/// Covariance of two results as of runs weighed in vacuum, with ware at 20 °C: what is published of worked runs knows no
/// air.
pub(crate) fn covariance_in_vacuum(ws: &Worksheet, a: NodeId, b: NodeId) -> f64 {
    let (a, b) = (of_value(ws, a), of_value(ws, b));
    let shared = a.iter().filter_map(|(id, c)| Some((*id, c * b.get(id)?)));
    let variance = |id| match &ws.node(id).source {
        Source::Input(input) => input.standard_uncertainty().powi(2),
        _ => 0.0,
    };
    shared.map(|(id, c)| c * variance(id)).sum()
}

/// The standard uncertainty of a result in vacuum.
pub(crate) fn in_vacuum(ws: &Worksheet, result: NodeId) -> f64 {
    covariance_in_vacuum(ws, result, result).sqrt()
}

/// What air of 0.0012 g/mL ± 0.000 05 g/mL, not corrected, adds to the standard uncertainty of a density, in quadrature.
pub(crate) fn with_air(standard: f64, density: f64) -> f64 {
    standard.hypot((1.0 - density / 8.0) * 0.000_05)
}
