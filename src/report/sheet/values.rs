//! What the templates of a bench sheet can use. The documentation of the fields is for those who write templates:
//! `templates/VALUES.md` is made from it.

use serde::Serialize;

/// Values that the templates of a bench sheet may use.
#[derive(Debug, Serialize)]
pub(super) struct SheetValues {
    /// The title, as written in the run file; empty if it is blank.
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
    /// The preparations, each after those of the solutions it is made from.
    pub(super) preparations: Vec<SheetWork>,
    /// The measurements of densities, and calibrations of ware.
    pub(super) measurements: Vec<SheetWork>,
    /// Blank entries that belong to none of these.
    pub(super) others: Vec<SheetCell>,
}

/// An entry: its written value, or a cell to write it in.
#[derive(Debug, Clone, Serialize)]
pub(super) struct SheetCell {
    /// The entry's name; empty if a row has no such entry.
    pub(super) entry: String,
    /// Its key.
    pub(super) key: String,
    /// Its meaning, in a sentence.
    pub(super) about: String,
    /// The value written there, if any.
    pub(super) written: Option<String>,
    /// Boxes, unit and expected value, as they stand between the brackets of a cell.
    pub(super) boxes: String,
    /// The text that a screen reader reads for the cell.
    pub(super) said: String,
    /// Whether a report needs the entry.
    pub(super) required: bool,
}

impl SheetCell {
    /// Returns the cell of an entry that this row lacks, but another row of its table has.
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
    /// Its written values, in a line.
    pub(super) written: String,
    /// Its blank entries.
    pub(super) cells: Vec<SheetCell>,
}

/// Work on one solution, or with one piece of ware.
#[derive(Debug, Serialize)]
pub(super) struct SheetWork {
    /// Its subject: a solution, or ware.
    pub(super) of: String,
    /// The method for the density: `weighings`, `cumulative`, `pycnometer`, `readings`, `ware_calibration`; absent in
    /// preparations.
    pub(super) way: Option<&'static str>,
    /// The steps, in order.
    pub(super) steps: Vec<SheetStep>,
    /// Headings of the columns of readings.
    pub(super) columns: Vec<String>,
    /// Readings taken several times, a row each.
    pub(super) rows: Vec<SheetRow>,
}

/// A step, with a box to tick.
#[derive(Debug, Serialize)]
pub(super) struct SheetStep {
    /// The action, in a sentence.
    pub(super) text: String,
    /// The readings taken in it.
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
