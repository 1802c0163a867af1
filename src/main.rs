//! The `fillmark` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    fillmark::cli::run()
}
