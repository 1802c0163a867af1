//! How far templates may go: in steps, which the engine counts, and in text, of which pages are made.

use super::Material;

/// Steps that a template may take whatever the run. The engine counts 64 bytes made as one step.
const STEPS: u64 = 1_000_000;
/// And for each quantity of the run: several times what the built-in templates take.
const STEPS_FOR_EACH: u64 = 150;
/// Text that templates may make whatever the run, bytes.
const TEXT: usize = 1_000_000;
/// And for each quantity of the run, and for each byte of its entries, which are a part of the report.
const TEXT_FOR_EACH: usize = 300;
const TEXT_FOR_ENTRIES: usize = 8;

/// What the engine is told when there is no more room for text.
pub(super) const FULL: &str = "the text has no end";

/// How far templates may go with one run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Limits {
    /// Steps of the engine.
    pub(super) steps: u64,
    /// Bytes of text.
    pub(super) text: usize,
}

impl Limits {
    /// In proportion to what there is to report.
    pub(super) fn new(material: &Material) -> Self {
        let quantities = material.reduction.worksheet.nodes().count();
        let beside = material.run.beside.iter().map(|file| file.bytes.len());
        let record = material.record.json().map_or(0, |json| json.len());
        Self::for_so_much(
            quantities,
            material.text.len() + beside.sum::<usize>() + record,
        )
    }

    /// For so many quantities, and so many bytes of entries.
    pub(super) fn for_so_much(quantities: usize, entries: usize) -> Self {
        let text = TEXT + TEXT_FOR_EACH * quantities + TEXT_FOR_ENTRIES * entries;
        let steps = STEPS + STEPS_FOR_EACH * quantities as u64 + (text / 64) as u64;
        Self { steps, text }
    }
}
