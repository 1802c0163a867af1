//! `fillmark start`: a run file to fill in.

use std::io::{self, BufRead, IsTerminal, Write};
use std::ops::RangeInclusive;
use std::path::PathBuf;

use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};

use super::command_error::CommandError;
use super::questions::Questions;
use super::stdout::document;
use super::terminal::Terminal;
use super::{Ending, write_new};
use crate::bench::runfile::blank_run::{Bench, BlankRun, MOST_DILUTIONS, Ware};
use crate::bench::runfile::model::DensityMethod;

/// Write a run file to fill in. On a terminal, what is not given is asked for.
#[derive(Debug, Args)]
pub(super) struct Start {
    /// Where to write it; an existing file is not overwritten. [default: stdout]
    #[arg(value_name = "RUN.yaml")]
    file: Option<PathBuf>,
    /// Dilutions of the stock. [default: 3]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(..=i64::from(MOST_DILUTIONS)))]
    dilutions: Option<u8>,
    /// Solutions of unknown strength. [default: 1]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(..=i64::from(MOST)))]
    unknowns: Option<u8>,
    /// Weighings, deliveries, fillings or readings of each solution. [default: 3]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=i64::from(MOST)))]
    replicates: Option<u8>,
    /// The method for the densities. [default: weighings]
    #[arg(long, value_name = "WAY", value_parser = way())]
    density: Option<DensityMethod>,
    /// Step of the balance's display, such as "0.001 g".
    #[arg(long, value_name = "MASS", value_parser = |text: &str| Ware::Balance.read(text))]
    balance: Option<String>,
    /// Capacity of the pipettes, such as "10 mL".
    #[arg(long, value_name = "VOLUME", value_parser = |text: &str| Ware::Capacity.read(text))]
    pipette: Option<String>,
    /// Capacity of the flasks, such as "100 mL".
    #[arg(long, value_name = "VOLUME", value_parser = |text: &str| Ware::Capacity.read(text))]
    flask: Option<String>,
}

/// The most unknowns, and the most readings of a solution.
const MOST: u8 = 20;

// What is usual.
const DILUTIONS: u8 = 3;
const UNKNOWNS: u8 = 1;
const REPLICATES: u8 = 3;
const WAY: DensityMethod = DensityMethod::Weighings;

/// Returns the ways to a density by their keys in a run file.
fn way() -> impl TypedValueParser<Value = DensityMethod> {
    let values = DensityMethod::ALL.map(|way| PossibleValue::new(way.name()).help(way.about()));
    PossibleValuesParser::new(values).try_map(|name| {
        let way = DensityMethod::ALL
            .into_iter()
            .find(|way| way.name() == name);
        way.ok_or("not a method for density")
    })
}

impl Start {
    pub(super) fn run(self, terminal: &mut Terminal) -> Result<Ending, CommandError> {
        let asks = !terminal.is_quiet() && io::stdin().is_terminal() && io::stderr().is_terminal();
        let file = self.file.clone();
        let run = if asks {
            let questions = Questions {
                answers: io::stdin().lock(),
                questions: io::stderr(),
            };
            self.asked(questions)
                .map_err(|_| CommandError::usage("\nthe answers ended; nothing is written"))?
        } else {
            self.with_usual()
        };
        if run.replicates < run.way.least_replicates() {
            return Err(CommandError::usage(
                "a slope needs at least two deliveries: `--replicates 2` or more with `--density cumulative`",
            ));
        }
        let text = run.text();
        let Some(path) = &file else {
            return document(text);
        };
        write_new(path, text.as_bytes())?;
        terminal.say(&format!(
            "{}: ready to fill in; `fillmark check` lists blank entries",
            path.display()
        ));
        Ok(Ending::Done)
    }

    /// Returns what is given, and for the rest what is usual.
    fn with_usual(self) -> BlankRun {
        BlankRun {
            dilutions: self.dilutions.unwrap_or(DILUTIONS),
            unknowns: self.unknowns.unwrap_or(UNKNOWNS),
            replicates: self.replicates.unwrap_or(REPLICATES),
            way: self.density.unwrap_or(WAY),
            bench: Bench {
                balance: self.balance,
                pipette: self.pipette,
                flask: self.flask,
            },
        }
    }

    /// Returns what is given, and for the rest what is answered.
    ///
    /// # Errors
    /// Where the answers end.
    fn asked<R: BufRead, W: Write>(self, mut ask: Questions<R, W>) -> io::Result<BlankRun> {
        let dilutions = "Dilutions of the stock";
        let dilutions = count(
            &mut ask,
            self.dilutions,
            dilutions,
            DILUTIONS,
            0..=MOST_DILUTIONS,
        )?;
        let unknowns = "Solutions of unknown strength";
        let unknowns = count(&mut ask, self.unknowns, unknowns, UNKNOWNS, 0..=MOST)?;
        let ways = DensityMethod::ALL.map(DensityMethod::name).join(", ");
        let way = if let Some(way) = self.density {
            way
        } else {
            let question = format!("Method for the densities ({ways})");
            ask.answer(&question, WAY.name(), |text| {
                let way = DensityMethod::ALL
                    .into_iter()
                    .find(|way| way.name() == text);
                way.ok_or_else(|| format!("one of {ways} is needed"))
            })?
        };
        let replicates = "Weighings or readings of each solution";
        let least = way.least_replicates();
        let replicates = count(
            &mut ask,
            self.replicates,
            replicates,
            REPLICATES,
            least..=MOST,
        )?;
        let mut ware = |given: Option<String>, question: &str, ware: Ware| {
            let read = |text: &str| match text {
                "" => Ok(None),
                text => ware.read(text).map(Some),
            };
            given.map_or_else(|| ask.answer(question, "", read), |given| Ok(Some(given)))
        };
        let balance = "Step of the balance's display, such as 0.001 g";
        let bench = Bench {
            balance: ware(self.balance, balance, Ware::Balance)?,
            pipette: ware(
                self.pipette,
                "Capacity of the pipettes, such as 10 mL",
                Ware::Capacity,
            )?,
            flask: ware(
                self.flask,
                "Capacity of the flasks, such as 100 mL",
                Ware::Capacity,
            )?,
        };
        Ok(BlankRun {
            dilutions,
            unknowns,
            replicates,
            way,
            bench,
        })
    }
}

/// Returns a number that is given, or asked for.
fn count<R: BufRead, W: Write>(
    ask: &mut Questions<R, W>,
    given: Option<u8>,
    question: &str,
    usual: u8,
    range: RangeInclusive<u8>,
) -> io::Result<u8> {
    let read = |text: &str| {
        let count = text.parse().ok().filter(|count| range.contains(count));
        let (least, most) = (range.start(), range.end());
        count.ok_or_else(|| format!("a whole number from {least} to {most} is needed"))
    };
    given.map_or_else(|| ask.answer(question, &usual.to_string(), read), Ok)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_make_the_run_file_that_fits_the_bench() {
        let start = Start {
            file: None,
            dilutions: Some(1),
            unknowns: None,
            replicates: None,
            density: None,
            balance: None,
            pipette: None,
            flask: None,
        };
        let mut said = Vec::new();
        let questions = Questions {
            answers: &b"2\ncumulative\n1\n4\n0.01\n5 mL\n\n"[..],
            questions: &mut said,
        };
        let run = start
            .asked(questions)
            .expect("as many answers as questions");
        let text = run.text();
        for line in ["readability: 0.01 g", "capacity: 5 mL", "cumulative:"] {
            assert!(text.contains(line), "{line} is not in\n{text}");
        }
        assert_eq!(text.matches("- {volume: , mass: }").count(), 4 * 5);
        let said = String::from_utf8_lossy(&said);
        assert!(
            !said.contains("Dilutions"),
            "asked for what was given: {said}"
        );
        assert!(said.contains("a whole number from 2 to 20"), "{said}");
    }
}
