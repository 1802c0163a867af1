//! What the templates of a bench sheet can use. The documentation of the fields is for those who write templates:
//! `templates/VALUES.md` is made from it.

use serde::Serialize;

/// What the templates of a bench sheet may use.
#[derive(Debug, Serialize)]
pub(super) struct SheetValues {
    /// The title, as written in the run file; empty where it is blank.
    pub(super) title: String,
    /// The run file's name without folders.
    pub(super) file: String,
    /// Whether it is the page to fill in, not the sheet to print.
    pub(super) page: bool,
    /// Title, date, analysts and the like.
    pub(super) heading: Vec<SheetCell>,
    /// The conditions.
    pub(super) conditions: Vec<SheetCell>,
    /// The salt.
    pub(super) solute: Vec<SheetCell>,
    /// Vessels and instruments.
    pub(super) apparatus: Vec<SheetItem>,
    /// The preparations, each after those that it is made of.
    pub(super) preparations: Vec<SheetWork>,
    /// The measurements of densities, and calibrations of ware.
    pub(super) measurements: Vec<SheetWork>,
    /// Blank entries that belong to none of these.
    pub(super) others: Vec<SheetCell>,
}

/// An entry: what is written at it, or a cell to write it in.
#[derive(Debug, Clone, Serialize)]
pub(super) struct SheetCell {
    /// The entry's name; empty where a row has no such entry.
    pub(super) entry: String,
    /// Its key.
    pub(super) key: String,
    /// What belongs there, in a sentence.
    pub(super) about: String,
    /// What is written there, if anything.
    pub(super) written: Option<String>,
    /// Boxes, unit and what is expected, as they stand between the brackets of a cell.
    pub(super) boxes: String,
    /// What a screen reader says of the cell.
    pub(super) said: String,
    /// Whether a report needs the entry.
    pub(super) required: bool,
}

impl SheetCell {
    /// What a row has not, and another of its table has.
    pub(super) fn lacking(key: &str) -> Self {
        Self {
            entry: String::new(),
            key: key.to_owned(),
            about: String::new(),
            written: Some("–".to_owned()),
            boxes: String::new(),
            said: String::new(),
            required: false,
        }
    }
}

/// A vessel or an instrument.
#[derive(Debug, Serialize)]
pub(super) struct SheetItem {
    /// Its name.
    pub(super) name: String,
    /// What is written of it, in a line.
    pub(super) written: String,
    /// Its blank entries.
    pub(super) cells: Vec<SheetCell>,
}

/// Work on one solution, or with one piece of ware.
#[derive(Debug, Serialize)]
pub(super) struct SheetWork {
    /// What it is about: a solution, or ware.
    pub(super) of: String,
    /// The way to a density: `weighings`, `cumulative`, `pycnometer`, `readings`, `ware_calibration`; absent in
    /// preparations.
    pub(super) way: Option<String>,
    /// What is done, in order.
    pub(super) steps: Vec<SheetStep>,
    /// Heads of the columns of readings.
    pub(super) columns: Vec<String>,
    /// Readings taken several times, a row each.
    pub(super) rows: Vec<SheetRow>,
}

/// A step, with a box to tick.
#[derive(Debug, Serialize)]
pub(super) struct SheetStep {
    /// What is done, in a sentence.
    pub(super) text: String,
    /// What is read then.
    pub(super) cells: Vec<SheetCell>,
}

/// A row of readings.
#[derive(Debug, Serialize)]
pub(super) struct SheetRow {
    /// Its number.
    pub(super) number: String,
    /// A cell for each column.
    pub(super) cells: Vec<SheetCell>,
}
