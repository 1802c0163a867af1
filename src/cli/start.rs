//! `fillmark start`: a run file to fill in.

use std::path::PathBuf;

use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};

use super::terminal::Terminal;
use super::{Ending, write_new};
use crate::runfile::blank_run::{BlankRun, MOST_DILUTIONS, Way};

/// Write a run file to fill in.
#[derive(Debug, Args)]
pub(super) struct Start {
    /// Where to write it; an existing file is left as it is. [default: stdout]
    #[arg(value_name = "RUN.yaml")]
    file: Option<PathBuf>,
    /// Dilutions of the stock.
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u8).range(..=i64::from(MOST_DILUTIONS)))]
    dilutions: u8,
    /// Solutions of unknown strength.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u8).range(..=20))]
    unknowns: u8,
    /// Weighings, deliveries, fillings or readings of each solution.
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u8).range(1..=20))]
    replicates: u8,
    /// How densities are found.
    #[arg(long, value_name = "WAY", default_value = Way::Weighings.name(), value_parser = way())]
    density: Way,
}

/// The ways to a density by their keys in a run file.
fn way() -> impl TypedValueParser<Value = Way> {
    let values = Way::ALL.map(|way| PossibleValue::new(way.name()).help(way.about()));
    PossibleValuesParser::new(values).try_map(|name| {
        let way = Way::ALL.into_iter().find(|way| way.name() == name);
        way.ok_or("not a way to a density")
    })
}

impl Start {
    pub(super) fn run(&self, terminal: &mut Terminal) -> Ending {
        if self.density == Way::Cumulative && self.replicates < 2 {
            terminal.complain(
                "a slope needs two deliveries at least: `--replicates 2` or more with `--density cumulative`",
            );
            return Ending::Usage;
        }
        let text = BlankRun {
            dilutions: self.dilutions,
            unknowns: self.unknowns,
            replicates: self.replicates,
            way: self.density,
        }
        .text();
        let Some(path) = &self.file else {
            return terminal.document(&text);
        };
        let written = write_new(path, text.as_bytes(), terminal);
        if written == Ending::Done {
            terminal.say(&format!(
                "{}: to be filled in; `fillmark check` lists what is still blank",
                path.display()
            ));
        }
        written
    }
}
