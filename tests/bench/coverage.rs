//! How often the intervals of the program hold the truth, on simulated benches.
//!
//! `cargo bench --bench coverage` prints the table of all cells; `-- --runs 2000` chooses the runs of each cell, a word
//! beyond that the cells whose group or name holds it, and `-- --list` lists them. Runs are numbered, and each is the same
//! every time; `-- --first 100000` takes others. `-- --show N` prints the run file of that number of the cells chosen, and
//! what is true of it.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "its table is what it is run for"
)]

#[path = "../simulation/mod.rs"]
mod simulation;

use simulation::cells::{self, Cell};
use simulation::judge::{self, Coverage, Share};

/// Runs of each cell unless another number is asked for.
const RUNS: usize = 1000;

struct Wanted {
    runs: usize,
    first: u64,
    show: Option<u64>,
    list: bool,
    words: Vec<String>,
}

fn wanted() -> Wanted {
    let mut wanted = Wanted {
        runs: RUNS,
        first: 0,
        show: None,
        list: false,
        words: Vec::new(),
    };
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        let mut number = || -> Option<u64> { arguments.next()?.parse().ok() };
        match argument.as_str() {
            "--runs" => wanted.runs = number().map_or(RUNS, |n| n as usize),
            "--first" => wanted.first = number().unwrap_or(0),
            "--show" => wanted.show = number(),
            "--list" => wanted.list = true,
            // Cargo says that this is a benchmark.
            "--bench" => {}
            word => wanted.words.push(word.to_lowercase()),
        }
    }
    wanted
}

fn main() {
    let wanted = wanted();
    let all = cells::all();
    let meant = |cell: &&Cell| {
        let name = format!("{}: {}", cell.group, cell.name).to_lowercase();
        wanted.words.iter().all(|word| name.contains(word))
    };
    let mut group = "";
    for cell in all.iter().filter(meant) {
        if wanted.list {
            println!("{}: {}", cell.group, cell.name);
            continue;
        }
        if let Some(run) = wanted.show {
            let run = cell.scene.simulate(run);
            println!("# {}: {}\n{}", cell.group, cell.name, run.notebook.text());
            for truth in run.truth {
                println!(
                    "# {}: {:.6} g/mL, {:.4} %, {:.3} g/L",
                    truth.name,
                    truth.density,
                    100.0 * truth.fraction,
                    truth.concentration()
                );
            }
            continue;
        }
        if cell.group != group {
            group = cell.group;
            heading(group);
        }
        let found = judge::coverage(&cell.scene, wanted.first, wanted.runs);
        println!("{}", row(&cell.name, wanted.runs, &found));
        if let Some(complaint) = &found.complaint {
            eprintln!("{} runs refused: {complaint:.300}", found.refused);
        }
    }
}

fn heading(group: &str) {
    println!(
        "\n**{group}**\n\n\
         | cell | runs | density, % | mass percent, % | g/L, % | unknown, % | its median U, % |\n\
         |:--|--:|--:|--:|--:|--:|--:|"
    );
}

fn row(name: &str, runs: usize, found: &Coverage) -> String {
    let shown = |share: Option<Share>| {
        share.map_or("–".to_owned(), |share| {
            let [percent, deviation] = [share.share, share.deviation].map(|part| 100.0 * part);
            let text = format!("{percent:.1} ± {deviation:.1}");
            // Below what is promised by more than the simulation leaves open.
            if percent + 2.0 * deviation < 93.5 {
                format!("**{text}**")
            } else {
                text
            }
        })
    };
    let expanded = found.expanded.map_or("–".to_owned(), |u| format!("{u:.3}"));
    format!(
        "| {name} | {} | {} | {} | {} | {} | {expanded} |",
        runs - found.refused,
        shown(found.density),
        shown(found.percent),
        shown(found.concentration),
        shown(found.unknown),
    )
}
