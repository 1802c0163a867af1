//! The flags of bench practice by their codes, which a run file names to acknowledge one.

use serde::{Serialize, Serializer};

/// A fault of bench practice, each looked for by its own part of [`crate::practice`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FlagCode {
    /// Ware took another liquid than its last with no rinsing recorded.
    NotConditioned,
    /// Ware was rinsed fewer times than is common.
    FewRinses,
    /// A vessel was filled over its mark.
    OverTheMark,
    /// No mixing is recorded.
    NotMixed,
    /// A density differs from the published one.
    DensityOffPublished,
    /// The density of water itself differs from the published one.
    WaterOffPublished,
    /// Replicates scatter more than is stated.
    SpreadUnexplained,
    /// One weighing lies far from the others.
    SuspectWeighing,
    /// Readings end too often in 0 or 5.
    LastDigitHabit,
    /// A reading has other digits than the balance shows.
    DigitsNotShown,
    /// More salt than dissolves.
    BeyondSaturation,
    /// An unknown lies outside the calibrated range.
    OutsideCalibration,
    /// The points depart from the line.
    LineDeparts,
    /// Ware is outside its tolerance.
    WareOutsideTolerance,
}

impl FlagCode {
    /// Every flag by the word for it.
    pub const WORDS: &[(&'static str, Self)] = &[
        ("not-conditioned", Self::NotConditioned),
        ("few-rinses", Self::FewRinses),
        ("over-the-mark", Self::OverTheMark),
        ("not-mixed", Self::NotMixed),
        ("density-off-published", Self::DensityOffPublished),
        ("water-off-published", Self::WaterOffPublished),
        ("spread-unexplained", Self::SpreadUnexplained),
        ("suspect-weighing", Self::SuspectWeighing),
        ("last-digit-habit", Self::LastDigitHabit),
        ("digits-not-shown", Self::DigitsNotShown),
        ("beyond-saturation", Self::BeyondSaturation),
        ("outside-calibration", Self::OutsideCalibration),
        ("line-departs", Self::LineDeparts),
        ("ware-outside-tolerance", Self::WareOutsideTolerance),
    ];

    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        let listed = Self::WORDS.iter().find(|(_, code)| *code == self);
        listed.map_or("", |(word, _)| word)
    }
}

/// By its word.
impl Serialize for FlagCode {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

#[cfg(test)]
mod tests {
    use super::FlagCode;

    #[test]
    fn every_flag_has_a_word() {
        for (index, (word, code)) in FlagCode::WORDS.iter().enumerate() {
            assert_eq!(*code as usize, index, "{word} does not stand in its place");
            assert_eq!(code.word(), *word);
        }
        let last = FlagCode::WareOutsideTolerance as usize;
        assert_eq!(FlagCode::WORDS.len(), last + 1, "one has no word");
    }
}
