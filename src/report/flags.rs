//! Flags, as templates see them.

use serde::Serialize;

use crate::practice::Flag;

#[derive(Debug, Serialize)]
pub(super) struct FlagShown {
    code: &'static str,
    entry: String,
    message: String,
    reason: &'static str,
    /// What it may have done to a result; empty where that cannot be told.
    effect: String,
    /// Why it may stand; none where nobody says so.
    acknowledged: Option<AcknowledgedShown>,
}

#[derive(Debug, Serialize)]
struct AcknowledgedShown {
    why: String,
    /// Who says so and when, e.g. `T. Sample, 2026-03-05`; may be empty.
    by: String,
}

impl FlagShown {
    pub(super) fn of(flag: &Flag) -> Self {
        Self {
            code: flag.code.word(),
            entry: flag.entry.clone(),
            message: flag.message.clone(),
            reason: flag.reason,
            effect: flag.effect.clone().unwrap_or_default(),
            acknowledged: flag.acknowledged.as_ref().map(|known| AcknowledgedShown {
                why: known.why.clone(),
                by: [&known.by, &known.on]
                    .into_iter()
                    .flatten()
                    .map(String::as_str)
                    .collect::<Vec<_>>()
                    .join(", "),
            }),
        }
    }
}
