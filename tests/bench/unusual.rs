//! Input of unusual kinds at any size: what a report is made from, in memory.

/// All that one report is made from.
pub(crate) struct Input {
    pub(crate) run: String,
    pub(crate) style: Option<String>,
    /// Names and texts of a template folder.
    pub(crate) templates: Vec<(String, String)>,
}

/// A kind of input: what it has many of, its smallest size, and what makes it.
pub(crate) type Kind = (&'static str, usize, fn(usize) -> Input);

const RUN: &str = include_str!("../runs/short.yaml");

fn plain() -> Input {
    Input {
        run: RUN.to_owned(),
        style: None,
        templates: Vec::new(),
    }
}

fn run_with(from: &str, to: &str) -> Input {
    assert!(RUN.contains(from), "no {from}");
    Input {
        run: RUN.replacen(from, to, 1),
        ..plain()
    }
}

fn weighings(count: usize) -> Input {
    let one = |index: usize| {
        let filled = 445 + index % 7;
        format!("{{empty: 31.203 g, filled: 41.{filled} g, volume: 10.00 mL}}")
    };
    let all: Vec<String> = (0..count).map(one).collect();
    let mut lines = RUN.lines();
    let old = lines.find(|line| line.starts_with("    B: ["));
    run_with(
        old.expect("a line"),
        &format!("    B: [{}]", all.join(", ")),
    )
}

fn dilutions(count: usize) -> Input {
    let mut text = String::new();
    for index in 0..count {
        let of = index
            .checked_sub(1)
            .map_or_else(|| "A".to_owned(), |last| format!("D{last}"));
        text += &format!(
            "  D{index}:\n    aliquot: {{of: {of}, volume: 10.00 mL, with: ten pipette}}\n    made_up: {{to: 100.0 mL, in: tall cylinder}}\n"
        );
    }
    run_with("  bath 3: {", &(text + "  bath 3: {"))
}

fn temperatures(count: usize) -> Input {
    let (mut solutions, mut weighings) = (String::new(), String::new());
    for index in 0..count {
        solutions += &format!(
            "  D{index}:\n    aliquot: {{of: A, volume: {} × 10.00 mL, with: ten pipette}}\n    made_up: {{to: 100.0 mL, in: tall cylinder}}\n",
            1 + index % 8
        );
        weighings += &format!(
            "    D{index}: [{{empty: 31.203 g, filled: 41.{} g, volume: 10.00 mL, liquid: {}.{:03} °C}}]\n",
            220 + 20 * (index % 8) + index % 7,
            18 + index / 1000,
            index % 1000
        );
    }
    let mut input = run_with("  bath 3: {", &(solutions + "  bath 3: {"));
    let line = "    B: [";
    input.run = input.run.replacen(line, &(weighings + line), 1);
    input
}

fn claims(count: usize) -> Input {
    let mut input = temperatures(count);
    input.run += "claimed: {slope: 0.0085, intercept: 0.98 g/mL, unknown: {bath 3: 17 %}}\n";
    input
}

fn templates(count: usize) -> Input {
    let all = (0..count).map(|index| format!("{{% include 't{index}.md' %}}\n"));
    let text = format!("{{% if false %}}{}{{% endif %}}", all.collect::<String>());
    let others = (0..count).map(|index| (format!("t{index}.md"), "Text.".to_owned()));
    let first = [("at_a_glance.md".to_owned(), text)];
    Input {
        templates: first.into_iter().chain(others).collect(),
        ..plain()
    }
}

pub(crate) const KINDS: [Kind; 13] = [
    ("words in a title", 500, |size| {
        run_with("Brine bath", &"brine bath ".repeat(size))
    }),
    ("characters in a word", 25_000, |size| {
        let notes = format!("R. Example\nnotes: [{}]", "x".repeat(size));
        run_with("R. Example", &notes)
    }),
    ("weighings of one solution", 250, weighings),
    (
        "solutions weighed at temperatures of their own",
        160,
        temperatures,
    ),
    ("solutions on a line that is claimed", 240, claims),
    ("dilutions in a row, up to the limit", 25, dilutions),
    ("dilutions in a row, beyond it", 2_500, dilutions),
    ("acknowledgements", 12_500, |size| {
        let all = "  - {flag: few-rinses, why: little was left}\n".repeat(size);
        run_with("solutions:", &format!("acknowledged:\n{all}solutions:"))
    }),
    ("templates in a folder", 2_500, templates),
    ("brackets in a style file", 125_000, |size| Input {
        style: Some(format!("paper: {}", "[".repeat(size))),
        ..plain()
    }),
    ("bytes that aliases stand for", 5_000, |size| {
        let notes = format!(
            "R. Example\naim: &t {}\nnotes: [{}x]",
            "x ".repeat(size),
            "*t , ".repeat(25)
        );
        run_with("R. Example", &notes)
    }),
    ("links in a chain of a template", 125, |size| {
        let chain = format!("{{{{ {} 1 }}}}", "not ".repeat(size));
        Input {
            templates: vec![("aim.md".to_owned(), chain)],
            ..plain()
        }
    }),
    ("mistakes in a run file", 2_500, |size| {
        let all = "  - {flag: few-rinsings}\n".repeat(size);
        run_with("solutions:", &format!("acknowledged:\n{all}solutions:"))
    }),
];
