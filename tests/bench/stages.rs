//! How long a report takes, whole and stage by stage: `cargo bench`.

use criterion::{Criterion, criterion_group, criterion_main};
use fillmark::bench::reduce;
use fillmark::bench::reduce::monte_carlo::MonteCarloStated;
use fillmark::bench::runfile;
use fillmark::pipeline;
use fillmark::print::layout;
use fillmark::print::pdf;
use fillmark::print::typeface::Typefaces;
use fillmark::report::{manuscript, templates::Templates};
use std::hint::black_box;

const NAME: &str = "creamery_brine_bath.yaml";
const SAMPLE: &[u8] = include_bytes!("../../sample_runs/creamery_brine_bath.yaml");

/// A run of so many solutions made by mass, each weighed three times, read as a straight line.
fn many(solutions: usize) -> String {
    let mut text = String::from(
        "title: Many\ndate: 2026-03-04\nanalysts: [R. Example]\nconditions: {liquid: 20.0 °C}\n\
         solute: sodium chloride\napparatus:\n  scale: {kind: balance, readability: 0.001 g}\n\
         \x20 ten: {kind: pipette, capacity: 10 mL, class: A}\nsolutions:\n",
    );
    let mut weighings = String::from("density:\n  balance: scale\n  pipette: ten\n  weighings:\n");
    for i in 0..solutions {
        let salt = 1.0 + 10.0 * i as f64 / solutions as f64;
        text += &format!(
            "  S{i}: {{weighed: {{mass: {salt:.3} g, balance: scale}}, solvent: {{mass: {:.3} g, balance: scale}}}}\n",
            100.0 - salt
        );
        weighings += &format!("    S{i}:\n");
        for replicate in [0.0, 0.004, -0.003] {
            let filled = 40.0 + 10.0 * (0.9982 + 0.0071 * salt) + replicate;
            weighings +=
                &format!("      - {{empty: 40.000 g, filled: {filled:.3} g, volume: 10.00 mL}}\n");
        }
    }
    text + &weighings + "calibration: {against: mass percent}\n"
}

/// How reading and reducing grow with the number of solutions.
fn growth(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("solutions, each weighed three times");
    group.sample_size(10);
    for count in [12, 100, 500, 2000] {
        let text = many(count);
        let (run, problems) = runfile::read("many.yaml", text.as_bytes());
        let run = run.unwrap_or_else(|| panic!("the run has problems: {problems:?}"));
        group.bench_function(format!("read {count}"), |b| {
            b.iter(|| runfile::read("many.yaml", black_box(text.as_bytes())));
        });
        group.bench_function(format!("reduce {count}"), |b| {
            b.iter(|| reduce::reduce(black_box(&run)));
        });
    }
}

/// A solution weighed so many times, one digit misread in one weighing.
fn weighed(count: usize) -> String {
    let mut text = String::from(
        "title: Many\ndate: 2026-03-04\nanalysts: [R. Example]\nconditions: {liquid: 20.0 °C}\n\
         solute: sodium chloride\napparatus:\n  scale: {kind: balance, readability: 0.001 g, repeatability: 0.001 g}\n\
         \x20 ten: {kind: pipette, capacity: 10 mL, class: A, repeatability: 0.008 mL}\nsolutions:\n\
         \x20 A: {weighed: {mass: 5.000 g, balance: scale}, solvent: {mass: 95.000 g, balance: scale}}\n\
         density:\n  balance: scale\n  pipette: ten\n  weighings:\n    A:\n",
    );
    for index in 0..count {
        let filled = if index == 1 { "49.541" } else { "41.541" };
        text += &format!(
            "      - {{empty: 31.20{} g, filled: {filled} g, volume: 10.00 mL}}\n",
            index % 5
        );
    }
    text
}

/// How looking for a slip grows with the number of weighings of one solution.
fn slips(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("weighings of one solution, one with a slip");
    group.sample_size(10);
    for count in [10, 100, 1000, 2000] {
        let text = weighed(count);
        group.bench_function(format!("read, reduced and flagged {count}"), |b| {
            b.iter(|| pipeline::read("many.yaml", black_box(text.as_bytes())));
        });
    }
}

fn stages(criterion: &mut Criterion) {
    let (run, problems) = pipeline::read(NAME, SAMPLE);
    let run = run.unwrap_or_else(|| panic!("the sample has problems: {problems:?}"));
    let text = String::from_utf8_lossy(SAMPLE);
    let material = run.material(&text);
    let templates = Templates::default();
    let Ok(written) = manuscript(&material, &templates) else {
        panic!("the templates fail")
    };
    let typefaces = Typefaces::load();
    let style = layout::Style::default();
    let Ok(laid) = layout::set(&written, &typefaces, &style) else {
        panic!("the layout fails")
    };

    criterion.bench_function("read the run file", |b| {
        b.iter(|| runfile::read(NAME, black_box(SAMPLE)));
    });
    criterion.bench_function("reduce", |b| {
        b.iter(|| reduce::reduce(black_box(&run.file)));
    });
    criterion.bench_function("results and flags", |b| {
        b.iter(|| pipeline::read(NAME, black_box(SAMPLE)));
    });
    criterion.bench_function("manuscript", |b| {
        b.iter(|| manuscript(black_box(&material), &templates));
    });
    criterion.bench_function("layout, faces loaded", |b| {
        b.iter(|| layout::set(black_box(&written), &typefaces, &style));
    });
    criterion.bench_function("layout, faces to be loaded", |b| {
        b.iter(|| layout::set(black_box(&written), &Typefaces::load(), &style));
    });
    criterion.bench_function("pdf", |b| {
        b.iter(|| pdf::write(black_box(&laid.document), &typefaces));
    });
    criterion
        .benchmark_group("Monte Carlo")
        .sample_size(10)
        .bench_function("a million draws", |b| {
            b.iter(|| {
                MonteCarloStated::of(&run.file, &run.reduction, &run.results, 1_000_000, None)
            });
        });
    criterion.bench_function("one report, whole", |b| {
        b.iter(|| {
            let (run, _) = pipeline::read(NAME, black_box(SAMPLE));
            run.map(|run| run.report(SAMPLE, &templates))
        });
    });
}

criterion_group!(benches, stages, growth, slips);
criterion_main!(benches);
