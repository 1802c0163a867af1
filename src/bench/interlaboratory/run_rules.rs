//! Patterns in a series that chance seldom makes (Nelson, Journal of Quality Technology 16 (1984) 237; ISO 7870-2:2013):
//! single points far out, and runs of points that are each near enough.
//!
//! Of sets of as many points as a rule looks at, chance alone lets one in 180 to one in 370 meet it, the last rule one in
//! 10 000. All rules together raise more false alarms than any of them, so that who asks names the rules.

/// A pattern of values, each as its distance from the centre line in standard deviations.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rule {
    /// One point beyond three standard deviations.
    Beyond,
    /// Nine in a row on one side of the centre line; a point on it is on neither.
    OneSide,
    /// Six in a row, each above the one before, or each below.
    Steadily,
    /// Fourteen in a row, by turns above and below the one before.
    Alternating,
    /// Two of three in a row beyond two standard deviations on one side.
    TwoOfThree,
    /// Four of five in a row beyond one standard deviation on one side.
    FourOfFive,
    /// Fifteen in a row within one standard deviation.
    Near,
    /// Eight in a row beyond one standard deviation, on whichever side.
    Far,
}

impl Rule {
    /// All of them, in the order of Nelson's tests.
    pub const ALL: [Self; 8] = [
        Self::Beyond,
        Self::OneSide,
        Self::Steadily,
        Self::Alternating,
        Self::TwoOfThree,
        Self::FourOfFive,
        Self::Near,
        Self::Far,
    ];

    /// The pattern in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Beyond => "one beyond three standard deviations from the centre line",
            Self::OneSide => "nine in a row on one side of the centre line",
            Self::Steadily => "six in a row steadily rising or falling",
            Self::Alternating => "fourteen in a row alternately rising and falling",
            Self::TwoOfThree => "two of three in a row beyond two standard deviations on one side",
            Self::FourOfFive => "four of five in a row beyond one standard deviation on one side",
            Self::Near => "fifteen in a row within one standard deviation of the centre line",
            Self::Far => "eight in a row beyond one standard deviation from the centre line",
        }
    }

    /// Whether the last of some points completes the pattern.
    fn is_met(self, points: &[f64]) -> bool {
        let all = |count: usize, are: fn(&f64) -> bool| {
            last(points, count).is_some_and(|run| run.iter().all(are))
        };
        match self {
            Self::Beyond => all(1, |z| z.abs() > 3.0),
            Self::OneSide => all(9, |z| *z > 0.0) || all(9, |z| *z < 0.0),
            Self::Steadily => last(points, 6).is_some_and(|run| {
                run.is_sorted_by(|a, b| a < b) || run.is_sorted_by(|a, b| a > b)
            }),
            Self::Alternating => last(points, 14).is_some_and(|run| {
                run.windows(3)
                    .all(|w| (w[0] < w[1] && w[1] > w[2]) || (w[0] > w[1] && w[1] < w[2]))
            }),
            Self::TwoOfThree => most_beyond(points, 2, 3, 2.0),
            Self::FourOfFive => most_beyond(points, 4, 5, 1.0),
            Self::Near => all(15, |z| z.abs() < 1.0),
            Self::Far => all(8, |z| z.abs() > 1.0),
        }
    }
}

/// The last of some points, so many.
fn last(points: &[f64], count: usize) -> Option<&[f64]> {
    points.len().checked_sub(count).map(|from| &points[from..])
}

/// Whether so many of the last few points lie beyond a limit on one side, the last one among them. At the start of a series
/// there may be fewer points to look at.
fn most_beyond(points: &[f64], needed: usize, of: usize, limit: f64) -> bool {
    let run = &points[points.len().saturating_sub(of)..];
    [1.0, -1.0].into_iter().any(|side| {
        let beyond = |z: &f64| side * z > limit;
        run.last().is_some_and(beyond) && run.iter().filter(|z| beyond(z)).count() >= needed
    })
}

/// A rule met at one point, or at several in a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signal {
    /// Which.
    pub rule: Rule,
    /// Index of the point that completes the pattern.
    pub first: usize,
    /// Index of the last point up to which each completes it again; `first` where none does.
    pub last: usize,
}

/// Where a series meets some rules, in the order of the points, then of Nelson's tests. `points` are distances from the
/// centre line over the standard deviation, pure numbers, in the order of their dates.
///
/// ```
/// use fillmark::bench::interlaboratory::{Rule, signals};
/// let found = signals(&[0.2, 2.4, -0.3, 2.2], &[Rule::TwoOfThree]);
/// assert_eq!((found.len(), found[0].first), (1, 3));
/// ```
#[must_use]
pub fn signals(points: &[f64], rules: &[Rule]) -> Vec<Signal> {
    let mut found: Vec<Signal> = Vec::new();
    for &rule in rules {
        let mut open: Option<Signal> = None;
        for at in 0..points.len() {
            if rule.is_met(&points[..=at]) {
                let first = open.map_or(at, |signal| signal.first);
                open = Some(Signal {
                    rule,
                    first,
                    last: at,
                });
            } else {
                found.extend(open.take());
            }
        }
        found.extend(open);
    }
    found.sort_by_key(|signal| (signal.first, signal.rule));
    found.dedup();
    found
}
