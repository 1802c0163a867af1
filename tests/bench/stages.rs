//! How long a report takes, whole and stage by stage: `cargo bench`.

use criterion::{Criterion, criterion_group, criterion_main};
use fillmark::cli::pipeline;
use fillmark::reduce::monte_carlo::MonteCarloStated;
use fillmark::report::{manuscript, templates::Templates};
use fillmark::typeface::Typefaces;
use fillmark::{layout, pdf, reduce, runfile};
use std::hint::black_box;

const NAME: &str = "creamery_brine_bath.yaml";
const SAMPLE: &[u8] = include_bytes!("../../sample_runs/creamery_brine_bath.yaml");

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
    let Ok(laid) = layout::set(&written, Vec::new(), &typefaces, &style) else {
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
        b.iter(|| layout::set(black_box(&written), Vec::new(), &typefaces, &style));
    });
    criterion.bench_function("layout, faces to be loaded", |b| {
        b.iter(|| layout::set(black_box(&written), Vec::new(), &Typefaces::load(), &style));
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

criterion_group!(benches, stages);
criterion_main!(benches);
