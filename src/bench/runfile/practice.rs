//! What was done besides reading, and the flags that the writer knows of.

use super::fields::Fields;
use super::model::{Acknowledged, Practice, Reason};
use super::words;

pub(super) fn read(run: &Fields<'_>) -> Practice {
    run.value(&words::PRACTICE)
        .and_then(|value| value.fields(&words::PRACTICE_KEYS))
        .map(|fields| Practice {
            rinsed: fields.count(&words::RINSED),
            mixed: fields.explanation(&words::MIXED),
        })
        .unwrap_or_default()
}

pub(super) fn acknowledged(run: &Fields<'_>) -> Vec<Acknowledged> {
    let Some(value) = run.value(&words::ACKNOWLEDGED) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for item in value.numbered() {
        let Some(fields) = item.fields(&words::ACKNOWLEDGED_KEYS) else {
            continue;
        };
        let flag = fields.choice(&words::FLAG);
        let at = fields.text(&words::FLAGGED_AT);
        let why = fields.text(&words::WHY);
        let by = fields.text(&words::BY).map(|text| text.value);
        let on = fields.day(&words::ON).map(|day| day.value.to_string());
        if let (Some(flag), Some(why)) = (flag, why) {
            let why = why.value;
            let reason = Reason { why, by, on };
            all.push(Acknowledged { flag, at, reason });
        }
    }
    all
}
