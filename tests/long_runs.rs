//! Runs of many solutions: what is calculated again and again stands in tables, and nothing is lost by that.

use crate::common::reduced;
use crate::reports::outline;
use crate::runs::run;
use fillmark::cli::pipeline::Run;
use fillmark::manuscript::Block;
use fillmark::report::templates::Templates;

/// The appendix of calculations as plain text.
fn appendix(text: &str, run: &Run) -> String {
    let manuscript = fillmark::report::manuscript(&run.material(text), &Templates::default())
        .expect("a manuscript");
    let labelled = |block: &Block, wanted: &str| matches!(block, Block::Heading(heading) if heading.label.as_deref() == Some(wanted));
    let blocks = manuscript.blocks.iter();
    let appendix = blocks.skip_while(|block| !labelled(block, "calculations"));
    outline(appendix.take_while(|block| !labelled(block, "entries")))
}

#[test]
fn a_long_appendix_is_brief_and_whole() {
    let text = run(18, 1);
    let run = reduced(&text);
    let appendix = appendix(&text, &run);
    let parts: Vec<&str> = appendix.split("\n## ").collect();
    let titled = |words: &str| -> Vec<&str> {
        let all = parts.iter().copied();
        all.filter(|part| part.lines().next().unwrap_or_default().contains(words))
            .collect()
    };

    // Twelve written out, the other eight in two tables: a line for each density, and one for their spread and mean.
    let densities = titled(" Density of ");
    assert_eq!(densities.len(), 13);
    let more = densities[12];
    assert!(more.contains(" Density of 8 more solutions"), "{more}");
    assert!(!more.contains(" & "), "no chain of equations: {more}");
    let lines = more.lines().filter(|line| line.starts_with('|'));
    assert_eq!(
        lines
            .filter(|line| !line.starts_with("| Solution") && !line.starts_with("| Line"))
            .count(),
        8 * 3 + 8,
        "{more}"
    );
    // One of twenty is the unknown.
    let compositions = titled(" Composition of ");
    assert_eq!(compositions.len(), 12 + 1 + 1, "{compositions:#?}");
    let more = compositions[12];
    assert!(more.contains(" Composition of 7 more solutions"), "{more}");
    // Other numbers of deliveries make no other formula.
    assert!(!more.contains(" & "), "no chain of equations: {more}");
    let plain = more.replace('\u{a0}', " ");
    assert!(plain.contains("| 18 × 10.00 | 250 |"), "{more}");

    let readings: Vec<&str> = ["empty: ", "filled: "]
        .iter()
        .flat_map(|key| text.split(key).skip(1))
        .filter_map(|after| after.split(' ').next())
        .collect();
    assert_eq!(readings.len(), 20 * 3 * 2);
    for reading in readings {
        assert!(appendix.contains(reading), "{reading} is missing");
    }
    for solution in &run.reduction.solutions {
        let density = solution.density.as_ref().expect("a density").density;
        let sheet = &run.reduction.worksheet;
        let (plain, tex) = (sheet.printed(density), sheet.with_unit(density).tex());
        assert!(
            appendix.contains(&tex) || appendix.contains(&format!("| {plain}")),
            "the density of {} is missing",
            solution.name
        );
    }
}

#[test]
fn a_dozen_solutions_are_written_out_each() {
    let text = run(10, 1);
    let appendix = appendix(&text, &reduced(&text));
    let dilutions = (0..10).map(|index| format!("D{index}"));
    for name in dilutions.chain(["stock".to_owned(), "bath".to_owned()]) {
        assert!(
            appendix.contains(&format!(" Density of {name}\n")),
            "{name}"
        );
    }
}
