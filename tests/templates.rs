//! Template sets, templates of the user's own, and their mistakes.

use crate::common::{good_runs, path, read, reduced};
use fillmark::problem::{Problem, Rendering, render};
use fillmark::report::templates::{SHIPPED, Templates};

fn own(name: &str, text: &str) -> Templates {
    Templates::with("own/", [(name.to_owned(), text.to_owned())])
}

/// The problems of a report of the short run with these templates.
#[track_caller]
fn refused(templates: &Templates) -> Vec<Problem> {
    let text = read(&path("tests/runs/short.yaml"));
    let made = reduced(&text).report(text.as_bytes(), templates);
    made.expect_err("the templates are taken for good")
}

fn pages(pdf: &[u8]) -> usize {
    let file = lopdf::Document::load_mem(pdf).expect("a PDF file");
    file.get_pages().len()
}

#[test]
fn a_summary_fits_one_page_and_tells_the_results() {
    for (name, text) in good_runs() {
        let run = reduced(&text);
        let templates = Templates::shipped("summary").expect("the set");
        let (pdf, warnings) = run
            .report(text.as_bytes(), &templates)
            .unwrap_or_else(|p| panic!("{name}: {p:#?}"));
        assert!(warnings.is_empty(), "{name}: {warnings:#?}");
        let words = crate::reports::words(&pdf);
        for (unknown, stated) in &run.results.unknowns {
            let shown: String = stated.density.as_ref().map_or_else(String::new, |density| {
                density.shown.split_whitespace().collect()
            });
            let named: String = unknown.split_whitespace().collect();
            assert!(words.contains(&named) && words.contains(&shown), "{name}");
        }
        for flag in &run.flags {
            assert!(words.contains(flag.code.word()), "{name}: {:?}", flag.code);
        }
        assert!(words.contains("Salinemadeatthebench"), "{name}");
        if path("sample_runs").join(&name).is_file() {
            assert_eq!(pages(&pdf), 1, "{name}");
        }
    }
}

#[test]
fn a_worksheet_is_calculations_what_they_go_by_and_entries_alone() {
    for (name, text) in good_runs() {
        let run = reduced(&text);
        let sheet = Templates::shipped("worksheet").expect("the set");
        let labels = |templates: &Templates| -> Vec<String> {
            let manuscript = fillmark::report::manuscript(&run.material(&text), templates)
                .unwrap_or_else(|p| panic!("{name}: {p:#?}"));
            let headings = manuscript
                .blocks
                .into_iter()
                .filter_map(|block| match block {
                    fillmark::print::manuscript::Block::Heading(heading) => heading.label,
                    _ => None,
                });
            headings.collect()
        };
        let own = labels(&sheet);
        assert!(own.ends_with(&["calculations".into(), "entries".into()]));
        assert!(own.contains(&"densities".to_owned()), "{name}");
        // In the order of the full report, and much less of it.
        let full = labels(&Templates::default());
        assert!(full.len() > own.len() + 5, "{full:?}");
        let kept: Vec<&String> = full.iter().filter(|label| own.contains(label)).collect();
        assert_eq!(kept, own.iter().collect::<Vec<_>>(), "{name}");
        let (pdf, _) = run.report(text.as_bytes(), &sheet).expect("a worksheet");
        assert!(pages(&pdf) >= 2, "{name}");
    }
}

#[test]
fn a_mistake_is_told_with_file_and_line() {
    for (name, text, code, line, said) in [
        (
            "report.md",
            "# One { #one }\n\n{{ titel }}\n",
            "template-fails",
            3,
            "`titel` is undefined",
        ),
        (
            "report.md",
            "a\n{% if title %}\nb\n",
            "template-fails",
            3,
            "unexpected end",
        ),
        (
            "report.md",
            "\n{% include \"nothing.md\" %}\n",
            "template-fails",
            2,
            "nothing.md",
        ),
        (
            "aim.md",
            "one\n\n{{ solute.nmae }}\n",
            "template-fails",
            3,
            "`solute.nmae` is undefined",
        ),
        (
            "report.md",
            "a\n\n\n{{ title }} of [](#tab-one)\n",
            "unknown-label",
            4,
            "#tab-one",
        ),
        (
            "cautions.md",
            "Read [](#calculation).\n",
            "unknown-label",
            1,
            "#calculation",
        ),
        (
            "report.md",
            "{{ title }}\n\nFigure: It.\n\n![](plot:{{ date }})\n",
            "unknown-plot",
            5,
            "",
        ),
    ] {
        let templates = own(name, text);
        let problems = refused(&templates);
        assert_eq!(problems.len(), 1, "{text:?}: {problems:#?}");
        let (problem, span) = (&problems[0], problems[0].span.clone());
        let span = span.unwrap_or_else(|| panic!("{text:?}: {problem:#?}"));
        assert_eq!(
            (problem.code.name(), &*span.file, span.line),
            (code, format!("own/{name}").as_str(), line),
            "{text:?}: {problem:#?}"
        );
        assert!(problem.headline.contains(said), "{text:?}: {problem:#?}");
        let shown = render(problem, &templates.sources(), Rendering { colour: false });
        let wrong = text.lines().nth(line - 1).expect("the line");
        assert!(shown.contains(wrong), "{shown}");
    }
    let problem = &refused(&own("cautions.md", "Read [](#calculation).\n"))[0];
    assert_eq!(problem.nearest.as_deref(), Some("calculations"));
}

#[test]
fn what_is_misspelt_is_named_with_what_was_meant() {
    for (text, read, nearest, column) in [
        ("{{ titel }}", "titel", "title", 4),
        (
            "{% for s in solutions %}{{ s.nmae }}{% endfor %}",
            "s.nmae",
            "name",
            28,
        ),
        (
            "{% for s in solution %}x{% endfor %}",
            "solution",
            "solutions",
            13,
        ),
        (
            "{% for step in procedure %}{{ setp }}{% endfor %}",
            "setp",
            "step",
            31,
        ),
        ("{% include \"aims.md\" %}", "aims.md", "aim.md", 1),
    ] {
        // The short run has no list of steps.
        let text = text.replace("in procedure", "in [1]");
        let problem = &refused(&own("report.md", &text))[0];
        assert_eq!(problem.read.as_deref(), Some(read), "{problem:#?}");
        assert_eq!(problem.nearest.as_deref(), Some(nearest), "{problem:#?}");
        let span = problem.span.as_ref().expect("a place");
        let moved = text.find("[1]").map_or(0, |_| 6);
        if column > 1 {
            assert_eq!(span.column, column - moved, "{text}: {problem:#?}");
        }
    }
}

#[test]
fn what_the_reader_refuses_is_told_where_it_was_written() {
    let row = "| {{ title }} |";
    let deep = "\\frac{1}{1+".repeat(60) + "x" + &"}".repeat(60);
    for (name, text, line, column, code) in [
        // The same characters stand in templates that come with the program.
        (
            "report.md",
            format!("# F\n\n$$\n{deep}\n$$\n"),
            3,
            1,
            "malformed-formula",
        ),
        (
            "report.md",
            format!("a\n\n| a | b |\n|:--|--:|\n{row}\n"),
            5,
            1,
            "cells-differ",
        ),
        (
            "cautions.md",
            "{{ title }} and $\\nosuch$\n".to_owned(),
            1,
            17,
            "malformed-formula",
        ),
        (
            "aim.md",
            "{% for a in [1, 2] %}\n> [](#{{ a }})\n{% endfor %}\n".to_owned(),
            2,
            3,
            "unknown-label",
        ),
    ] {
        let problems = refused(&own(name, &text));
        let problem = &problems[0];
        let span = problem.span.as_ref().expect("a place");
        let found = (problem.code.name(), &*span.file, span.line, span.column);
        let wanted = format!("own/{name}");
        assert_eq!(found, (code, wanted.as_str(), line, column), "{problem:#?}");
    }
    let texts = [
        (
            "report.md",
            "{% include \"aim.md\" %}\n\n{% include \"mine.md\" %}\n",
        ),
        ("mine.md", "Text.\n\n# Mine { #aim }\n"),
    ];
    let own = Templates::with("own", texts.map(|(n, t)| (n.to_owned(), t.to_owned())));
    let problem = &refused(&own)[0];
    assert_eq!(problem.code.name(), "label-twice");
    let (first, _) = &problem.also[0];
    assert_eq!((&*first.file, first.line), ("templates/aim.md", 1));
}

#[test]
fn a_runaway_template_is_stopped() {
    let long = "a line of text that goes on and on. ".repeat(2_000);
    let grows = |start: &str, step: &str| {
        format!(
            "{{% set x = {start} %}}\n{}{{{{ x|length }}}}",
            step.repeat(60)
        )
    };
    for (what, text, code, line) in [
        ("steps", "{% for i in range(9999) %}{% for j in range(9999) %}{{ j }}{% endfor %}{% endfor %}".to_owned(), "template-endless", 1),
        ("text", format!("{{% for i in range(9999) %}}{long}{{% endfor %}}"), "template-endless", 1),
        ("sentences", "\n{% for i in range(90000) %}{{ 'lorem ipsum ' * 30 }} {% endfor %}".to_owned(), "template-endless", 2),
        ("values", "{% for i in range(9999) %}{{ entries }}{{ entries|listing }}{{ 'x' * 90000 }}{% endfor %}".to_owned(), "template-endless", 1),
        ("a variable", grows("'0123456789abcdef'", "{% set y %}{{ x }}{{ x }}{% endset %}{% set x = y %}"), "template-endless", 2),
        ("texts doubled", grows("'abcdefgh'", "{% set x = x ~ x %}"), "template-endless", 2),
        ("letters doubled", grows("'a'", "{% set x = x|replace('a', 'aa') %}"), "template-endless", 2),
        ("wide numbers", "{{ '%1000000000d'|format(1) }}".to_owned(), "template-endless", 1),
        ("wide texts", "{{ 'x'|indent(4000000000) }}".to_owned(), "template-endless", 1),
        ("repeated", "{{ 'abcdefgh' * 10000000000 }}".to_owned(), "template-endless", 1),
        ("itself", "{% include 'report.md' %}".to_owned(), "template-endless", 1),
        ("a macro", "{% macro f(x) %}{{ f(x) }}{{ f(x) }}{% endmacro %}\n{{ f(1) }}".to_owned(), "template-endless", 1),
    ] {
        let problems = refused(&own("report.md", &text));
        assert_eq!(problems[0].code.name(), code, "{what}: {problems:#?}");
        let span = problems[0].span.as_ref();
        assert_eq!(span.map(|span| span.line), Some(line), "{what}");
    }
}

#[test]
fn a_template_that_nothing_includes_is_told() {
    let warnings = own("apendix_entries.md", "x").unused_templates();
    assert_eq!(warnings.len(), 1, "{warnings:#?}");
    assert_eq!(warnings[0].nearest.as_deref(), Some("appendix_entries.md"));
    for set in SHIPPED {
        let templates = Templates::shipped(set.name).expect("the set");
        assert!(templates.unused_templates().is_empty(), "{}", set.name);
    }
    let texts = [("report.md", "{% include 'mine.md' %}"), ("mine.md", "x")];
    let both = texts.map(|(name, text)| (name.to_owned(), text.to_owned()));
    assert!(Templates::with("own", both).unused_templates().is_empty());
}
