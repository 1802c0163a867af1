//! How long a report takes, whole and stage by stage: `cargo bench --bench stages`. Figures for people; nothing depends on
//! them.
//!
//! Of the instructions of a report of the creamery sample, 18 % go into compression; 13 % into page contents, structure tree and
//! objects; 5 % into subsetting of fonts; 4 % into shaping of words; 10 % into setting of formulas; 15 % into other layout,
//! plots among it; 15 % into template values, plans of plots and reading of Markdown; 7 % into compiling and rendering of
//! templates; 8 % into run file, reduction and flags; 2 % into results as JSON. Memory taken and given back is a tenth of it,
//! across all of these.

#![allow(clippy::print_stdout, reason = "its figures are what it is run for")]

use fillmark::bench::reduce;
use fillmark::bench::reduce::monte_carlo::MonteCarloStated;
use fillmark::bench::runfile;
use fillmark::pipeline;
use fillmark::print::layout;
use fillmark::print::pdf;
use fillmark::print::typeface::Typefaces;
use fillmark::report::{manuscript, templates::Templates};
use std::hint::black_box;
use std::time::{Duration, Instant};

/// How long each of them is repeated, at least three times.
const LONG_ENOUGH: Duration = Duration::from_secs(2);

/// Prints the shortest time of many, and the one in the middle.
fn time<T>(what: &str, work: impl Fn() -> T) {
    let begun = Instant::now();
    let mut times = Vec::new();
    while times.len() < 3 || begun.elapsed() < LONG_ENOUGH {
        let begun = Instant::now();
        black_box(work());
        times.push(begun.elapsed());
    }
    times.sort_unstable();
    let [least, median] = [0, times.len() / 2].map(|at| 1e3 * times[at].as_secs_f64());
    println!(
        "{what:<60} {least:>10.3} ms {median:>10.3} ms  {} times",
        times.len()
    );
}

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

/// How reading and reducing grow with the number of solutions, each weighed three times.
fn growth() {
    for count in [12, 100, 500, 2000] {
        let text = many(count);
        let (run, problems) = runfile::read("many.yaml", text.as_bytes());
        let run = run.unwrap_or_else(|| panic!("the run has problems: {problems:?}"));
        time(&format!("read {count} solutions"), || {
            runfile::read("many.yaml", black_box(text.as_bytes()))
        });
        time(&format!("reduce {count} solutions"), || {
            reduce::reduce(black_box(&run))
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
fn slips() {
    for count in [10, 100, 1000, 2000] {
        let text = weighed(count);
        time(
            &format!("read, reduce and flag {count} weighings with a slip"),
            || pipeline::read("many.yaml", black_box(text.as_bytes())),
        );
    }
}

fn stages() {
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
    let Ok(laid) = layout::set(written.clone(), &typefaces, &style) else {
        panic!("the layout fails")
    };

    time("read the run file", || {
        runfile::read(NAME, black_box(SAMPLE))
    });
    time("reduce", || reduce::reduce(black_box(&run.file)));
    time("results and flags", || {
        pipeline::read(NAME, black_box(SAMPLE))
    });
    time("manuscript", || {
        manuscript(black_box(&material), &templates)
    });
    time("layout, faces loaded", || {
        layout::set(black_box(&written).clone(), &typefaces, &style)
    });
    time("layout, faces to be loaded", || {
        layout::set(black_box(&written).clone(), &Typefaces::load(), &style)
    });
    time("pdf, with a copy of the pages", || {
        pdf::write(black_box(&laid.document).clone(), &typefaces)
    });
    time("Monte Carlo, a million draws", || {
        MonteCarloStated::check(&run.file, &run.reduction, &run.results, 1_000_000, None)
    });
    time("one report, whole", || {
        let (run, _) = pipeline::read(NAME, black_box(SAMPLE));
        run.map(|run| run.report(SAMPLE, &templates))
    });
}

fn main() {
    // `cargo test --benches` asks for a list, which is empty.
    if std::env::args().any(|argument| argument == "--list") {
        return;
    }
    stages();
    growth();
    slips();
}
