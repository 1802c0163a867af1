//! How often the conclusions of the program are right, on simulated benches whose truth is known (`tests/simulation`).
//!
//! ```sh
//! cargo bench --bench coverage > tests/simulation/RATES.md   # all tables, in less than an hour
//! cargo bench --bench coverage -- --runs 2000 air pipette    # cells whose group or name holds these words
//! cargo bench --bench coverage -- --table slips --runs 200   # one table: coverage, readings, honest, slips, claims or classes
//! cargo bench --bench coverage -- --list                     # the names of all cells
//! cargo bench --bench coverage -- --show 17 "21 %, curve"    # run file 17 of a cell, and what is true of it
//! cargo bench --bench coverage -- --examples --table slips   # with a run of each kind in which a slip is named wrongly
//! ```
//!
//! Runs are numbered, and each is the same every time; `--first 100000` takes others. ± is the standard deviation that
//! the number of runs leaves. `--profile dev` spares building the program once more; the numbers are the same.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "its tables are what it is run for"
)]

#[path = "../simulation/mod.rs"]
mod simulation;

use std::collections::BTreeMap;

use simulation::cells::{self, Cell, Flagged};
use simulation::classes::{self, Asked, Unit, Where};
use simulation::judge::{self, Coverage, Share};
use simulation::rates::{self, Honest, Slipped};
use simulation::slips::Kind;
use simulation::{claims, earlier, trade};

/// Runs of each cell unless another number is asked for.
const RUNS: usize = 1000;
/// Coverage below this is a defect, %.
const LEAST: f64 = 93.5;
/// Honest runs with a flag that judges, %, at most.
const MOST_FLAGGED: f64 = 5.0;

/// What the file of all tables begins with.
const HEAD: &str = "\
# How often conclusions are right

`cargo bench --bench coverage > tests/simulation/RATES.md` writes this file in less than an hour. The head of \
`tests/simulation/mod.rs` describes the simulated benches and what is required of the rates.
";

struct Wanted {
    runs: usize,
    first: u64,
    show: Option<u64>,
    table: Option<String>,
    list: bool,
    examples: bool,
    words: Vec<String>,
}

fn wanted() -> Wanted {
    let mut wanted = Wanted {
        runs: RUNS,
        first: 0,
        show: None,
        table: None,
        list: false,
        examples: false,
        words: Vec::new(),
    };
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        let mut next = || arguments.next().unwrap_or_default();
        match argument.as_str() {
            "--runs" => wanted.runs = next().parse().unwrap_or(RUNS),
            "--first" => wanted.first = next().parse().unwrap_or(0),
            "--show" => wanted.show = next().parse().ok(),
            "--table" => wanted.table = Some(next()),
            "--list" => wanted.list = true,
            "--examples" => wanted.examples = true,
            // Cargo says that this is a benchmark.
            "--bench" => {}
            word => wanted.words.push(word.to_lowercase()),
        }
    }
    wanted
}

impl Wanted {
    fn table(&self, name: &str) -> bool {
        self.table.as_ref().is_none_or(|table| table == name)
    }

    fn holds(&self, name: &str) -> bool {
        let name = name.to_lowercase();
        self.words.iter().all(|word| name.contains(word))
    }
}

fn main() {
    let wanted = wanted();
    let cells = cells::all();
    let name = |cell: &Cell| format!("{}: {}", cell.group, cell.name);
    let meant: Vec<&Cell> = cells
        .iter()
        .filter(|cell| wanted.holds(&name(cell)))
        .collect();
    if wanted.list {
        for cell in meant {
            println!("{}", name(cell));
        }
        return;
    }
    if let Some(run) = wanted.show {
        for cell in meant {
            show(&name(cell), cell, run);
        }
        return;
    }
    if wanted.table.is_none() && wanted.words.is_empty() {
        println!("{HEAD}");
    }
    if wanted.table("coverage") {
        coverage(&wanted, &meant);
    }
    if wanted.table("readings") {
        readings(&wanted);
    }
    if wanted.table("honest") {
        honest(&wanted);
    }
    if wanted.table("slips") {
        slips(&wanted);
    }
    if wanted.table("claims") {
        claimed(&wanted);
    }
    if wanted.table("classes") {
        of_classes(&wanted);
    }
}

fn show(name: &str, cell: &Cell, run: u64) {
    let run = cell.scene.simulate(run);
    println!("# {name}\n{}", run.notebook.text());
    for truth in run.truth {
        println!(
            "# {}: {:.6} g/mL, {:.4} %, {:.3} g/L",
            truth.name,
            truth.density,
            100.0 * truth.fraction,
            truth.concentration()
        );
    }
}

fn readings(wanted: &Wanted) {
    println!(
        "\nIntervals that hold the truth, % of {} readings: brines read by the calibration of an earlier bench, and on scales of the trade by published densities.\n",
        wanted.runs
    );
    println!("| read by | unknown |\n|:--|--:|");
    for bench in earlier::all()
        .iter()
        .filter(|bench| wanted.holds(bench.name))
    {
        held(wanted, &format!("calibration: {}", bench.name), |run| {
            bench.holds(run)
        });
    }
    for spindle in trade::all()
        .iter()
        .filter(|spindle| wanted.holds(spindle.name))
    {
        held(wanted, &format!("hydrometer: {}", spindle.name), |run| {
            Some(spindle.holds(run))
        });
    }
}

/// A row: the share of runs whose interval holds the truth.
fn held(wanted: &Wanted, name: &str, holds: impl Fn(u64) -> Option<bool> + Sync) {
    let held = judge::each(wanted.first, wanted.runs, holds);
    let held: Vec<bool> = held.into_iter().flatten().collect();
    let count = held.len().max(1) as f64;
    let share = held.iter().filter(|held| **held).count() as f64 / count;
    let deviation = (share * (1.0 - share) / count).sqrt();
    println!(
        "| {name} | {:.1} ± {:.1} |",
        100.0 * share,
        100.0 * deviation
    );
}

fn coverage(wanted: &Wanted, cells: &[&Cell]) {
    if cells.is_empty() {
        return;
    }
    println!(
        "Intervals that hold the truth, % of {} runs a cell, and the median of U of the unknown, in % by mass. Bold: below \
         {LEAST} % by more than twice the standard deviation that the simulation leaves.",
        wanted.runs
    );
    let mut group = "";
    for cell in cells {
        if cell.group != group {
            group = cell.group;
            println!(
                "\n| {group} | density | mass percent | g/L | unknown | its U |\n|:--|--:|--:|--:|--:|--:|"
            );
        }
        let found = judge::coverage(&cell.scene, wanted.first, wanted.runs);
        println!("{}", row(&cell.name, &found));
        if let Some(complaint) = &found.complaint {
            eprintln!("{} runs refused: {complaint:.300}", found.refused);
        }
    }
    println!();
}

fn row(name: &str, found: &Coverage) -> String {
    let shown = |share: Option<Share>| {
        share.map_or("–".to_owned(), |share| {
            let [percent, deviation] = [share.share, share.deviation].map(|part| 100.0 * part);
            let text = format!("{percent:.1} ± {deviation:.1}");
            if percent + 2.0 * deviation < LEAST {
                format!("**{text}**")
            } else {
                text
            }
        })
    };
    let expanded = found.expanded.map_or("–".to_owned(), |u| format!("{u:.3}"));
    let refused = match found.refused {
        0 => String::new(),
        refused => format!(" ({refused} refused)"),
    };
    format!(
        "| {name}{refused} | {} | {} | {} | {} | {expanded} |",
        shown(found.density),
        shown(found.percent),
        shown(found.concentration),
        shown(found.unknown),
    )
}

fn percent(part: usize, of: usize) -> f64 {
    100.0 * part as f64 / of.max(1) as f64
}

fn honest(wanted: &Wanted) {
    let meant: Vec<Flagged> = cells::honest();
    let meant: Vec<&Flagged> = meant
        .iter()
        .filter(|bench| wanted.holds(&bench.name))
        .collect();
    if meant.is_empty() {
        return;
    }
    println!(
        "Honest runs with a flag that judges, % of {} runs a bench; bold: above {MOST_FLAGGED} % by more than twice the \
         standard deviation that the simulation leaves.\n\n\
         | honest runs | any | naming a slip | which |\n|:--|--:|--:|:--|",
        wanted.runs
    );
    for bench in meant {
        let found = rates::honest(&bench.scene, wanted.first, wanted.runs);
        println!("{}", honest_row(&bench.name, &found));
    }
    println!();
}

fn honest_row(name: &str, found: &Honest) -> String {
    let share = percent(found.flagged, found.runs);
    let deviation = (MOST_FLAGGED * (100.0 - MOST_FLAGGED) / found.runs.max(1) as f64).sqrt();
    let any = format!("{share:.1}");
    let any = if share > MOST_FLAGGED + 2.0 * deviation {
        format!("**{any}**")
    } else {
        any
    };
    let mut codes: Vec<(&String, &usize)> = found.codes.iter().collect();
    codes.sort_by(|a, b| b.1.cmp(a.1));
    let codes: Vec<String> = codes
        .iter()
        .map(|(code, count)| format!("{code} {:.1}", percent(**count, found.runs)))
        .collect();
    let named = percent(found.named, found.runs);
    format!("| {name} | {any} | {named:.1} | {} |", codes.join(", "))
}

fn slips(wanted: &Wanted) {
    println!(
        "Slips, % of the runs in which one can be seen: in which densities and their differences from the published ones move \
         by five standard deviations (`tests/simulation/evidence.rs`). {} runs a row. Refused: an error names the entry (a vessel lighter \
         filled than empty). Candidates: how many slips are named where the right one is.\n\n\
         | slip | bench | can be seen | named | wrongly only | flagged, not named | silent | candidates | refused |\n\
         |:--|:--|--:|--:|--:|--:|--:|--:|--:|",
        wanted.runs
    );
    for (slip, kind) in Kind::ALL {
        for bench in cells::of_slips(kind.of_series()) {
            if !wanted.holds(&format!("{slip}, {}", bench.name)) {
                continue;
            }
            let found = rates::slipped(kind, &bench.scene, wanted.first, wanted.runs);
            if found.runs > 0 {
                println!("{}", slip_row(slip, &bench, &found));
            }
            if let (true, Some(example)) = (wanted.examples, &found.example) {
                eprintln!("{example}");
            }
        }
    }
}

fn slip_row(slip: &str, bench: &Flagged, found: &Slipped) -> String {
    let of = |part| format!("{:.1}", percent(part, found.seen));
    let bold = |text: String, wrong: bool| if wrong { format!("**{text}**") } else { text };
    // 80 % named and 2 % wrongly, on an analytic bench, but for what the number of runs leaves.
    let room = |share: f64| 2.0 * 100.0 * (share * (1.0 - share) / found.seen.max(1) as f64).sqrt();
    let few = !bench.coarse && percent(found.right, found.seen) < 80.0 - room(0.8);
    let many = percent(found.wrong, found.seen) > 2.0 + room(0.02);
    format!(
        "| {slip} | {} | {:.0} | {} | {} | {} | {} | {:.1} | {:.0} |",
        bench.name,
        percent(found.seen, found.runs),
        bold(of(found.right), few),
        bold(of(found.wrong), many),
        of(found.unnamed),
        of(found.silent),
        found.candidates as f64 / found.right.max(1) as f64,
        percent(found.refused, found.runs),
    )
}

/// A tenth of the runs for each mistake at each step.
const CLAIMING: usize = 10;

fn claimed(wanted: &Wanted) {
    let right = judge::each(wanted.first, wanted.runs, |run| {
        claims::marked(run, None).departing
    });
    let accused = right.iter().filter(|departing| **departing > 0).count();
    println!(
        "\nResults calculated by hand. Of {} students without a mistake, {accused} have a result judged incorrect. {} students with \
         each mistake at each step where it can be made: named, and counted once, in % of those whose claimed digits it changes.\n\n\
         | mistake | students | digits changed | named | counted once |\n|:--|--:|--:|--:|--:|",
        right.len(),
        wanted.runs / CLAIMING
    );
    let mut kinds: BTreeMap<String, [usize; 4]> = BTreeMap::new();
    for (number, mistake) in claims::Mistake::all().into_iter().enumerate() {
        let first = wanted.first + (number * wanted.runs) as u64;
        let runs = judge::each(first, wanted.runs / CLAIMING, |run| {
            claims::marked(run, Some(mistake))
        });
        let [students, changed, told, once] = kinds.entry(mistake.word()).or_default();
        *students += runs.len();
        for marked in runs.iter().filter(|marked| marked.changed) {
            *changed += 1;
            *told += usize::from(marked.told);
            *once += usize::from(marked.departing <= 1);
            if wanted.examples && (!marked.told || marked.departing > 1) {
                eprintln!("{mistake:?}\n{}{:#?}", marked.text, marked.judged);
            }
        }
    }
    for (kind, [students, changed, told, once]) in kinds {
        println!(
            "| {} | {students} | {changed} | {:.1} | {:.1} |",
            kind.replace('-', " "),
            percent(told, changed),
            percent(once, changed)
        );
    }
}
/// Sizes of slips in standard deviations.
const SIZES: [f64; 4] = [3.0, 4.0, 5.0, 6.0];

/// Slips that are asked for, and how they are named in the table.
fn asked() -> Vec<(&'static str, Asked)> {
    let rows = [
        ("a weighing, of what is left", Where::Weighing, Unit::Left),
        ("a weighing, plainly", Where::Weighing, Unit::Plainly),
        ("making, of what is left", Where::Making, Unit::Left),
        ("making, plainly", Where::Making, Unit::Plainly),
    ];
    let each = rows.into_iter();
    let each = each.flat_map(|(name, at, unit)| SIZES.map(|size| (name, Asked { at, unit, size })));
    each.collect()
}

fn of_classes(wanted: &Wanted) {
    let classes = classes::all();
    let meant = classes.iter().filter(|class| wanted.holds(&class.name));
    let meant: Vec<_> = meant.collect();
    if meant.is_empty() {
        return;
    }
    let runs = wanted.runs.max(1);
    println!(
        "Classes of 30 benches, of which one slips so that no flag of its own run judges: how often it is found against the \
         class and its slip named, and how often another bench, which is honest, is accused, % of the classes tried, {runs} at \
         most. Sizes in standard deviations, and the best test: `tests/simulation/classes.rs`.\n\n\
         | class | slip | size at least | on average | classes | best test | found | named | wrongly only | candidates | another accused |\n\
         |:--|:--|--:|--:|--:|--:|--:|--:|--:|--:|--:|"
    );
    for class in meant {
        let found = classes::honest(class, wanted.first, runs);
        let accused = percent(found.innocent, found.classes);
        println!(
            "| {} | none | – | – | {} | – | – | – | – | – | {accused:.1} |",
            class.name, found.classes
        );
        let (names, asked): (Vec<_>, Vec<_>) = asked().into_iter().unzip();
        let all = classes::slipped(class, &asked, wanted.first, runs);
        for ((name, asked), found) in names.iter().zip(&asked).zip(all) {
            // Of that size, hardly any is invisible by itself.
            if 4 * found.classes < runs {
                continue;
            }
            let of = |part| format!("{:.1}", percent(part, found.classes));
            println!(
                "| {} | {name} | {} | {:.1} | {} | {} | {} | {} | {} | {:.1} | {} |",
                class.name,
                asked.size,
                found.size / found.classes as f64,
                found.classes,
                of(found.best),
                of(found.seen),
                of(found.named),
                of(found.wrong),
                found.candidates as f64 / found.named.max(1) as f64,
                of(found.innocent),
            );
            if let (true, Some(example)) = (wanted.examples, &found.example) {
                eprintln!("{example}");
            }
        }
    }
    println!();
}
