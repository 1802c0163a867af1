//! Runs of many solutions: what is calculated again and again stands in tables, and nothing is lost by that.

use crate::common::reduced;
use crate::reports::outline;
use fillmark::manuscript::Block;
use fillmark::report::templates::Templates;
use std::fmt::Write as _;

/// A stock, so many dilutions and an unknown, each weighed three times; no two readings are alike.
fn run(dilutions: usize) -> (String, Vec<String>) {
    let mut text = "title: A season of brines\ndate: 2026-03-04\nanalysts: [R. Example]\n\
        conditions: {liquid: 20.4 °C}\nsolute: sodium chloride\napparatus:\n  \
        balance: {kind: balance, readability: 0.001 g, repeatability: 0.001 g}\n  \
        flask: {kind: flask, capacity: 250 mL, class: A}\n  pipette: {kind: pipette, capacity: 10 mL, class: A}\n\
        solutions:\n  stock:\n    weighed: {before: 61.262 g, after: 11.262 g}\n    made_up: {to: 250 mL, in: flask}\n"
        .to_owned();
    let deliveries = |index: usize| 1 + index % 6;
    for index in 0..dilutions {
        let _ = writeln!(
            text,
            "  D{index}:\n    aliquot: {{of: stock, volume: {} × 10.00 mL, with: pipette}}\n    made_up: {{to: 250 mL, in: flask}}",
            deliveries(index)
        );
    }
    text += "  bath: {unknown: true}\ndensity:\n  pipette: pipette\n  weighings:\n";
    let mut readings = Vec::new();
    let mut weigh = |name: &str, gamma: f64| {
        let _ = writeln!(text, "    {name}:");
        let density = 0.9981 + gamma * (0.692e-3 - gamma * 1.0e-7);
        for replicate in 0..3 {
            let empty = 31.0 + readings.len() as f64 * 0.001;
            let filled = empty + 10.0 * density + f64::from(replicate) * 0.002;
            readings.extend([format!("{empty:.3}"), format!("{filled:.3}")]);
            let _ = writeln!(
                text,
                "      - {{empty: {empty:.3} g, filled: {filled:.3} g, volume: 10.00 mL}}"
            );
        }
    };
    weigh("stock", 200.0);
    for index in 0..dilutions {
        weigh(&format!("D{index}"), 8.0 * deliveries(index) as f64);
    }
    weigh("bath", 90.0);
    (text, readings)
}

#[test]
fn a_long_appendix_is_brief_and_whole() {
    let (text, readings) = run(18);
    let run = reduced(&text);
    let manuscript = fillmark::report::manuscript(&run.material(&text), &Templates::default())
        .expect("a manuscript");
    let labelled = |block: &Block, wanted: &str| matches!(block, Block::Heading(heading) if heading.label.as_deref() == Some(wanted));
    let blocks = manuscript.blocks.iter();
    let appendix = blocks.skip_while(|block| !labelled(block, "calculations"));
    let appendix = outline(appendix.take_while(|block| !labelled(block, "entries")));
    let parts: Vec<&str> = appendix.split("\n## ").collect();
    let titled = |words: &str| -> Vec<&str> {
        let all = parts.iter().copied();
        all.filter(|part| part.lines().next().unwrap_or_default().contains(words))
            .collect()
    };

    // Twelve written out, the other eight in one table: the three densities, their spread and their mean.
    let densities = titled(" Density of ");
    assert_eq!(densities.len(), 13);
    let more = densities[12];
    assert!(more.contains(" Density of 8 more solutions"), "{more}");
    assert!(!more.contains(" & "), "no chain of equations: {more}");
    let lines = more.lines().filter(|line| line.starts_with('|'));
    assert_eq!(
        lines.filter(|line| !line.starts_with("| Result")).count(),
        8 * 5,
        "{more}"
    );
    // Of the compositions, one is the stock's, and one is of the unknown.
    assert_eq!(titled(" Composition of 7 more solutions").len(), 1);

    for reading in &readings {
        assert!(appendix.contains(reading), "{reading} is missing");
    }
    for solution in &run.reduction.solutions {
        let density = solution.density.as_ref().expect("a density").density;
        let sheet = &run.reduction.worksheet;
        let (plain, tex) = (sheet.printed(density), sheet.with_unit(density));
        assert!(
            appendix.contains(&tex) || appendix.contains(&format!("| {plain}")),
            "the density of {} is missing",
            solution.name
        );
    }
}

#[test]
fn a_dozen_solutions_are_written_out_each() {
    let (text, _) = run(10);
    let run = reduced(&text);
    let manuscript = fillmark::report::manuscript(&run.material(&text), &Templates::default())
        .expect("a manuscript");
    let all = outline(manuscript.blocks.iter());
    let dilutions = (0..10).map(|index| format!("D{index}"));
    for name in dilutions.chain(["stock".to_owned(), "bath".to_owned()]) {
        assert!(all.contains(&format!(" Density of {name}\n")), "{name}");
    }
}
