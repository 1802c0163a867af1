//! Runs of many solutions: each formula stands once, its uses in tables, and nothing is lost by that.

use crate::common::reduced;
use crate::reports::outline;
use crate::runs::run;
use fillmark::pipeline::Run;
use fillmark::print::manuscript::Block;
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
    let (short, long) = (run(4, 1), run(18, 1));
    let chains = |text: &str| appendix(text, &reduced(text)).matches(" & = ").count();
    assert_eq!(chains(&short), chains(&long), "each formula stands once");

    let run = reduced(&long);
    let appendix = appendix(&long, &run);
    // One of twenty is the unknown, one the stock; other numbers of deliveries make no other formula.
    let plain = appendix.replace('\u{a0}', " ");
    assert!(plain.contains("| 18 × 10.00 |"), "{plain}");
    let sheet = &run.reduction.worksheet;
    for solution in &run.reduction.solutions {
        for id in [
            solution.composition.mass_percent,
            solution.composition.molality,
        ] {
            let Some(id) = id else { continue };
            let (text, tex) = (sheet.printed(id), sheet.with_unit(id).tex());
            assert!(
                appendix.contains(&tex) || plain.contains(&format!(" {text} ±")),
                "{} is missing",
                sheet.node(id).name
            );
        }
    }
}
