//! The bench sheet: a run file with blanks as a sheet to print and write on, and as a page to fill in.
//!
//! Both are one manuscript, made by templates from the run file's entries ([`mod@values`]). [`steps`] lists what is done,
//! [`cells`] what is read and with how many digits, and [`expected`] the readings to expect. The page also has the text
//! around each blank and all limits as data ([`mod@data`]). Its script joins these texts and the entries typed and saves
//! them as the run file, which stays unchanged everywhere else.

mod cells;
mod data;
mod expected;
mod facts;
mod steps;
mod values;

use crate::bench::runfile::unfinished::{Part, Unfinished};
use crate::bench::runfile::vocabulary::KeyInfo;
use crate::bench::runfile::words;
use crate::print::manuscript::Manuscript;
use crate::problem::Problem;
use crate::report;
use crate::report::templates::Templates;
use cells::Cells;
use data::Data;
use facts::AllFacts;
use steps::Steps;
use values::{SheetCell, SheetItem, SheetValues};

/// What the page adds to the looks of a report's page.
pub const CSS: &str = include_str!("page.css");
/// What stands on the page above the sheet: what it is for.
pub const ABOVE: &str = include_str!("above.html");
/// What stands below it: where it is saved.
pub const BELOW: &str = include_str!("below.html");
/// The script of the page.
pub const SCRIPT: &str = include_str!("page.js");

/// What is wanted.
#[derive(Debug, Clone, Copy)]
pub struct Request {
    /// Whether to say what is expected.
    pub expected: bool,
    /// Whether it is to be a page to fill in.
    pub page: bool,
}

/// The keys of the run file before its sections.
const HEADING: [&dyn KeyInfo; 3] = [&words::TITLE, &words::DATE, &words::ANALYSTS];

/// Returns the values that the templates of a sheet may use, by the names listed in `templates/VALUES.md`; `file` is
/// the run file's name without folders.
pub fn values(run: &Unfinished, file: &str, wish: Request) -> impl serde::Serialize + use<> {
    build_values(run, file, wish)
}

/// Writes the manuscript of a sheet.
///
/// # Errors
/// Every problem of the templates.
pub fn manuscript(
    run: &Unfinished,
    file: &str,
    wish: Request,
    templates: &Templates,
) -> Result<Manuscript, Vec<Problem>> {
    let entries = run.root.entries().len();
    let values = build_values(run, file, wish);
    let blocks = report::blocks(&values, templates, entries, run.text.len())?;
    let title = match values.title.as_str() {
        "" => "Bench sheet".to_owned(),
        title => title.to_owned(),
    };
    Ok(Manuscript {
        running_head: format!("{title}: bench sheet"),
        title,
        subject: format!("Bench sheet for {file}"),
        running_foot: format!("Fillmark {}", env!("CARGO_PKG_VERSION")),
        language: "en-GB".into(),
        blocks,
        ..Manuscript::default()
    })
}

/// Returns the data of the page, as JSON; `key` identifies the run file.
///
/// # Errors
/// A number that JSON has no form for.
pub fn data(run: &Unfinished, file: &str, key: String) -> Result<String, serde_json::Error> {
    let facts = AllFacts::new(run);
    serde_json::to_string(&Data::new(run, file, key, &facts))
}

/// Returns how many entries are blank, and how many of these a report needs.
pub fn blanks(run: &Unfinished) -> (usize, usize) {
    let entries = run.root.entries();
    let blanks = entries.iter().filter_map(|part| part.blank());
    let required = blanks.clone().filter(|blank| blank.required);
    (blanks.clone().count(), required.count())
}

fn build_values(run: &Unfinished, file: &str, wish: Request) -> SheetValues {
    let facts = AllFacts::new(run);
    let expected = if wish.expected {
        expected::expected(run, &facts)
    } else {
        std::collections::BTreeMap::new()
    };
    let mut cells = Cells::new(&facts, expected);
    let root = &run.root;
    let heading = root
        .parts()
        .iter()
        .filter(|part| HEADING.iter().any(|key| part.is_at(*key)));
    let heading: Vec<SheetCell> = heading.map(|part| cells.cell(part)).collect();
    let mut section = |key: &dyn KeyInfo| -> Vec<SheetCell> {
        let entries = root.get(key).map(Part::entries).unwrap_or_default();
        entries.into_iter().map(|part| cells.cell(part)).collect()
    };
    let (conditions, solute) = (section(&words::CONDITIONS), section(&words::SOLUTE));
    let apparatus = root.parts_at(&words::APPARATUS).iter();
    let apparatus = apparatus.map(|item| item_shown(item, &mut cells)).collect();
    let mut steps = Steps::new(root, &mut cells);
    let (preparations, measurements) = (steps.preparations(), steps.measurements());
    let mut others = root.entries();
    others.retain(|part| part.blank().is_some() && !part.is_at(&words::DRAFT));
    others.retain(|part| !cells.has(&part.entry));
    let others = others.into_iter().map(|part| cells.cell(part)).collect();
    SheetValues {
        title: root
            .written_at(&words::TITLE)
            .unwrap_or_default()
            .to_owned(),
        file: file.to_owned(),
        page: wish.page,
        heading,
        conditions,
        solute,
        apparatus,
        preparations,
        measurements,
        others,
    }
}

fn item_shown(item: &Part, cells: &mut Cells) -> SheetItem {
    let written = item.parts().iter().filter_map(|part| {
        let written = part.written()?;
        Some(if part.is_at(&words::KIND) {
            written.to_owned()
        } else {
            format!("{} {written}", part.key.replace('_', " "))
        })
    });
    SheetItem {
        name: item.key.clone(),
        written: written.collect::<Vec<_>>().join(", "),
        cells: cells.blank(item.parts().iter().map(Some)),
    }
}
