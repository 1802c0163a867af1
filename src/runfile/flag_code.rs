//! The flags of bench practice by their codes, which a run file names to acknowledge one.

use serde::{Serialize, Serializer};

/// A fault of bench practice, each looked for by its own part of [`crate::practice`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FlagCode {
    /// Rinsing or mixing is not recorded.
    NotRecorded,
    /// Ware was rinsed fewer times than is common.
    FewRinses,
    /// A vessel was filled over its mark.
    OverTheMark,
    /// A solution has no density.
    NoDensity,
    /// A temperature is unlikely at a bench.
    TemperatureUnlikely,
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
        ("not-recorded", Self::NotRecorded),
        ("few-rinses", Self::FewRinses),
        ("over-the-mark", Self::OverTheMark),
        ("no-density", Self::NoDensity),
        ("temperature-unlikely", Self::TemperatureUnlikely),
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

    /// Whether it judges: whether it says that chance does not explain what was found. At most one honest run in twenty
    /// carries such a flag. The others say what was written down, or what follows from it.
    #[must_use]
    pub fn judges(self) -> bool {
        match self {
            Self::DensityOffPublished
            | Self::WaterOffPublished
            | Self::SpreadUnexplained
            | Self::SuspectWeighing
            | Self::LastDigitHabit
            | Self::BeyondSaturation
            | Self::LineDeparts
            | Self::WareOutsideTolerance => true,
            Self::NotRecorded
            | Self::FewRinses
            | Self::OverTheMark
            | Self::NoDensity
            | Self::TemperatureUnlikely
            | Self::DigitsNotShown
            | Self::OutsideCalibration => false,
        }
    }

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
