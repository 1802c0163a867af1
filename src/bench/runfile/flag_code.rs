//! The flags of bench practice by their codes, which a run file names to acknowledge one.

use serde::{Serialize, Serializer};

use crate::problem::Code;

/// Makes the type of the flags, each with whether it judges.
macro_rules! flags {
    ($($flag:ident $judges:literal),+ $(,)?) => {
        /// A fault of bench practice, each looked for by its own part of [`crate::bench::practice`]; what it means stands in the
        /// table of [`Code`].
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum FlagCode {
            $(#[doc = concat!("See [`Code::", stringify!($flag), "`].")] $flag,)+
        }

        impl FlagCode {
            /// Every flag by the word for it.
            pub const WORDS: &[(&'static str, Self)] = &[$((Code::$flag.name(), Self::$flag)),+];

            /// Returns its entry in the table of codes.
            pub fn code(self) -> Code {
                match self {
                    $(Self::$flag => Code::$flag,)+
                }
            }

            /// Returns whether it judges: whether it says that chance does not explain what was found. At most one
            /// honest run in twenty carries such a flag. The others say what was written down, or what follows from it.
            pub fn judges(self) -> bool {
                match self {
                    $(Self::$flag => $judges,)+
                }
            }
        }
    };
}

flags! {
    NotRecorded false,
    FewRinses false,
    OverTheMark false,
    NoDensity false,
    TemperatureUnlikely false,
    DensityOffPublished true,
    WaterOffPublished true,
    SpreadUnexplained true,
    SuspectWeighing true,
    LastDigitHabit true,
    DigitsNotShown false,
    BeyondSaturation true,
    OutsideCalibration false,
    LineDeparts true,
    WareOutsideTolerance true,
}

impl FlagCode {
    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        self.code().name()
    }
}

/// By its word.
impl Serialize for FlagCode {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}
