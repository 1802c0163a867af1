//! The two levels at which a test of ISO 5725-2 tells what stands out: 5 % and 1 %.

/// What a test says of what it tests (ISO 5725-2:1994, 7.3.2.1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Within the critical value at 5 %: accepted as correct.
    Correct,
    /// Beyond the critical value at 5 %, within that at 1 %.
    Straggler,
    /// Beyond the critical value at 1 %: a statistical outlier.
    Outlier,
}

/// Critical values of a statistic, a pure number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Critical {
    /// At a significance of 5 %.
    pub at_5: f64,
    /// At a significance of 1 %.
    pub at_1: f64,
}

impl Critical {
    /// Both, by a function of the significance.
    pub(super) fn by(at: impl Fn(f64) -> f64) -> Self {
        Self {
            at_5: at(0.05),
            at_1: at(0.01),
        }
    }

    /// What a statistic says that stands out where it is large.
    pub(super) fn of_large(self, statistic: f64) -> Standing {
        standing(statistic > self.at_5, statistic > self.at_1)
    }

    /// What a statistic says that stands out where it is small.
    pub(super) fn of_small(self, statistic: f64) -> Standing {
        standing(statistic < self.at_5, statistic < self.at_1)
    }
}

fn standing(beyond_5: bool, beyond_1: bool) -> Standing {
    match (beyond_5, beyond_1) {
        (_, true) => Standing::Outlier,
        (true, false) => Standing::Straggler,
        (false, false) => Standing::Correct,
    }
}
