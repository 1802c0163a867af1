//! The codes of all problems and flags, each with its meaning and an example of the mistake and its correction.
//!
//! The table is the only list there is: a problem cannot be made with another code.

use std::fmt;

use super::nearest;

/// Where an example stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// In a run file, or in the table of weighings beside it.
    RunFile,
    /// In a run file whose report was made before, when `before` stood there.
    ChangedRunFile {
        /// What stood there.
        before: &'static str,
    },
    /// In a plan file.
    PlanFile,
    /// In a style file.
    StyleFile,
    /// In a template.
    Template,
    /// On the command line or on the disk: told in words.
    Elsewhere,
}

/// An example of a mistake. A line of `…` stands for lines that matter to neither text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Example {
    /// Where it stands.
    pub span: Place,
    /// The mistake, as it is typed.
    pub typed: &'static str,
    /// The same, mended.
    pub mended: &'static str,
}

/// What is known of a code.
struct Entry {
    name: &'static str,
    meaning: &'static str,
    example: Example,
}

const fn example(place: Place, typed: &'static str, mended: &'static str) -> Example {
    Example {
        span: place,
        typed,
        mended,
    }
}

const fn run(typed: &'static str, mended: &'static str) -> Example {
    example(Place::RunFile, typed, mended)
}

const fn since(before: &'static str, typed: &'static str, mended: &'static str) -> Example {
    example(Place::ChangedRunFile { before }, typed, mended)
}

const fn plan(typed: &'static str, mended: &'static str) -> Example {
    example(Place::PlanFile, typed, mended)
}

const fn style(typed: &'static str, mended: &'static str) -> Example {
    example(Place::StyleFile, typed, mended)
}

const fn template(typed: &'static str, mended: &'static str) -> Example {
    example(Place::Template, typed, mended)
}

const fn words(typed: &'static str, mended: &'static str) -> Example {
    example(Place::Elsewhere, typed, mended)
}

/// Makes the type of the codes and the table of what is known of each.
macro_rules! codes {
    ($($code:ident $name:literal $meaning:literal $example:expr;)+) => {
        /// A code, in the alphabetical order of the names.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code {
            $(#[doc = $meaning] $code,)+
        }

        impl Code {
            /// Every code.
            pub const ALL: &'static [Self] = &[$(Self::$code),+];
        }

        /// In the order of the codes.
        pub(super) const ENTRIES: &[Entry] = &[$(Entry { name: $name, meaning: $meaning, example: $example }),+];
    };
}

mod table;

pub use table::Code;

impl Code {
    /// Returns the code as it is printed: stable, in kebab case, named for the fault and not for its cure.
    pub const fn name(self) -> &'static str {
        table::ENTRIES[self as usize].name
    }

    /// Returns what it means, in a sentence or two.
    pub fn meaning(self) -> &'static str {
        table::ENTRIES[self as usize].meaning
    }

    /// Returns an example of the mistake.
    pub fn example(self) -> &'static Example {
        &table::ENTRIES[self as usize].example
    }

    /// Returns the code of a name, whatever its case and however its words are joined.
    ///
    /// # Errors
    /// The codes similar to it, the nearest first, if there is no such code.
    pub fn of_name(name: &str) -> Result<Self, Vec<Self>> {
        let plain = name.trim().to_lowercase().replace([' ', '_'], "-");
        let found = Self::ALL.iter().copied().find(|code| code.name() == plain);
        found.ok_or_else(|| {
            let like = nearest(name, Self::ALL.iter().map(|code| code.name()));
            let shares = |code: &Self| {
                let mut words = plain.split('-').filter(|word| word.len() > 3);
                words.any(|word| code.name().split('-').any(|other| other == word))
            };
            let all = Self::ALL.iter().copied();
            let mut all: Vec<Self> = all
                .filter(|code| Some(code.name()) == like || shares(code))
                .collect();
            all.sort_by_key(|code| Some(code.name()) != like);
            all
        })
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}
