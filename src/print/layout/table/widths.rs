//! Widths of columns, and the size at which a table fits the measure.

/// What one column asks for at full size, points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Need {
    /// Its widest cell on one line.
    pub body: f32,
    /// Its widest unbreakable part; equals `body` for numbers.
    pub body_least: f32,
    /// Its head on one line.
    pub head: f32,
    /// The widest word of its head.
    pub head_least: f32,
    /// Its numbers, point under point: they are never divided.
    pub numbers: f32,
}

impl Need {
    fn natural(&self) -> f32 {
        self.body.max(self.head)
    }

    fn least(&self) -> f32 {
        self.body_least.max(self.head_least)
    }
}

/// A size, relative to the full one, and the width of each column at it, points.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plan {
    pub factor: f32,
    pub widths: Vec<f32>,
    pub gap: f32,
}

/// Between columns at least, points.
const GAP: f32 = 11.0;
/// And at most.
const WIDEST_GAP: f32 = 22.0;
/// Gaps take no more than this share of the measure.
const TIGHTEST: f32 = 0.3;
/// Sizes tried in turn before heads are wrapped, and then before text is.
const STEPS: [f32; 3] = [1.0, 0.95, 0.905];
const HEADS_WHOLE: usize = 2;
/// Sizes for a table that fits in none of these and has too few columns to be parted.
const SMALLER_STEPS: [f32; 4] = [0.835, 0.78, 0.7, 0.6];
/// A table is parted rather than set smaller than this, points.
const LEAST_SIZE: f32 = 8.5;
/// A column wider than this share of the measure is prose: it is wrapped, not made smaller.
const PROSE: f32 = 0.4;
/// Wrapped text needs about this much room to read well.
const COMFORT: f32 = 64.0;

/// Returns the sizes tried for a table whose full size is that many points.
fn steps(size: f32) -> impl Iterator<Item = f32> + Clone {
    let legible = move |factor: &f32| factor * size >= LEAST_SIZE;
    let smaller = STEPS.into_iter().skip(1).filter(legible);
    STEPS.into_iter().take(1).chain(smaller)
}

/// Chooses size and widths so that the table, whose full size is that many points, is no wider than `measure`.
pub(super) fn plan(needs: &[Need], measure: f32, size: f32) -> Plan {
    let between = needs.len().saturating_sub(1) as f32;
    // Many columns leave less between them.
    let gap = GAP.min(TIGHTEST * measure / between.max(1.0));
    let room = measure - gap * between;
    let finish = |factor: f32, widths: Vec<f32>| {
        let spare = measure - widths.iter().sum::<f32>();
        let gap = if between > 0.0 {
            (spare / between).clamp(0.0, WIDEST_GAP)
        } else {
            0.0
        };
        Plan {
            factor,
            widths,
            gap,
        }
    };
    for factor in steps(size).take(HEADS_WHOLE) {
        let natural = scaled(needs, factor, Need::natural);
        if total(&natural) <= room {
            return finish(factor, natural);
        }
    }
    if needs.iter().all(|need| need.body <= PROSE * measure) {
        for factor in steps(size) {
            let least = scaled(needs, factor, |need| need.body.max(need.head_least));
            if total(&least) <= room {
                let wanted = scaled(needs, factor, Need::natural);
                return finish(factor, shared(&least, &wanted, room));
            }
        }
    }
    for comfortable in [true, false] {
        let smaller = SMALLER_STEPS.into_iter().filter(|_| !comfortable);
        for factor in steps(size).chain(smaller) {
            let least = scaled(needs, factor, |need| {
                let comfort = if comfortable {
                    need.body.min(COMFORT)
                } else {
                    0.0
                };
                need.least().max(comfort)
            });
            if total(&least) <= room {
                let wanted = scaled(needs, factor, Need::natural);
                return finish(factor, shared(&least, &wanted, room));
            }
        }
    }
    // Nothing fits whole: words are divided where they must be, and numbers nowhere.
    let factor = SMALLER_STEPS[SMALLER_STEPS.len() - 1];
    let numbers = scaled(needs, factor, |need| need.numbers);
    let least = scaled(needs, factor, Need::least);
    if total(&numbers) <= room {
        return finish(factor, shared(&numbers, &least, room));
    }
    let share = room / total(&least).max(1.0);
    finish(factor, least.iter().map(|width| width * share).collect())
}

/// Returns the columns of a table in as many groups as are needed for none to be wider than `measure`, with about as
/// many columns in each. Every group begins with the first column, which names the rows; of a table that fits there is
/// one.
pub(super) fn parted(needs: &[Need], measure: f32, size: f32) -> Vec<Vec<usize>> {
    let smallest = steps(size).fold(1.0, f32::min);
    let between = needs.len().saturating_sub(1) as f32;
    let gaps = (GAP * between).min(TIGHTEST * measure);
    let fits = total(&scaled(needs, smallest, Need::least)) <= measure - gaps;
    if fits || needs.len() < 3 {
        return vec![(0..needs.len()).collect()];
    }
    let widths = scaled(needs, smallest, |need| {
        need.least().max(need.body.min(COMFORT)) + GAP / smallest
    });
    let names = widths[0].min(PROSE * measure);
    // From the left, as many columns in each as there is room for, or no more than so many groups call for.
    let groups = |into: usize| {
        let mut groups: Vec<Vec<usize>> = Vec::new();
        let (mut filled, mut most) = (f32::MAX, 0);
        for (column, width) in widths.iter().enumerate().skip(1) {
            match groups.last_mut() {
                Some(group) if filled + width <= measure && group.len() <= most => {
                    group.push(column);
                    filled += width;
                }
                _ => {
                    let left = into.saturating_sub(groups.len()).max(1);
                    most = (widths.len() - column).div_ceil(left);
                    filled = names + width;
                    groups.push(vec![0, column]);
                }
            }
        }
        groups
    };
    let fewest = groups(1);
    let even = groups(fewest.len());
    if even.len() == fewest.len() {
        even
    } else {
        fewest
    }
}

fn scaled(needs: &[Need], factor: f32, width: impl Fn(&Need) -> f32) -> Vec<f32> {
    needs.iter().map(|need| width(need) * factor).collect()
}

fn total(widths: &[f32]) -> f32 {
    widths.iter().sum()
}

/// Returns the least widths, with what room is left shared out by what each still wants.
fn shared(least: &[f32], wanted: &[f32], room: f32) -> Vec<f32> {
    let spare = (room - total(least)).max(0.0);
    let wants: Vec<f32> = least
        .iter()
        .zip(wanted)
        .map(|(least, wanted)| (wanted - least).max(0.0))
        .collect();
    let share = (spare / total(&wants).max(f32::MIN_POSITIVE)).min(1.0);
    least
        .iter()
        .zip(&wants)
        .map(|(least, want)| least + want * share)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{Need, parted, plan};

    #[test]
    fn no_table_is_wider_than_the_measure() {
        let mut state = 7_u32;
        let mut next = |most: f32| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            most * (state >> 8) as f32 / 16_777_216.0
        };
        for _ in 0..500 {
            let columns = 1 + next(60.0) as usize;
            let needs: Vec<Need> = (0..columns)
                .map(|_| {
                    let (body, head) = (next(300.0), next(120.0));
                    Need {
                        body,
                        body_least: body * next(1.0),
                        head,
                        head_least: head * next(1.0),
                        numbers: 0.0,
                    }
                })
                .collect();
            let plan = plan(&needs, 440.0, 9.4);
            let width = plan.widths.iter().sum::<f32>() + plan.gap * (columns - 1) as f32;
            assert!(width <= 440.01, "{width} for {needs:?}");
            assert!(
                plan.widths.iter().all(|w| *w >= 0.0) && plan.gap >= 0.0,
                "{plan:?}"
            );
            for group in parted(&needs, 440.0, 9.4) {
                let some: Vec<Need> = group.iter().map(|column| needs[*column]).collect();
                let plan = super::plan(&some, 440.0, 9.4);
                let legible = plan.factor * 9.4 >= super::LEAST_SIZE;
                // Names wider than prose may be leave no room for two columns.
                let wide = needs[0].least() > super::PROSE * 440.0;
                assert!(legible || wide || group.len() < 3, "{plan:?}");
            }
        }
    }

    #[test]
    fn a_narrow_table_keeps_its_size() {
        let need = Need {
            body: 60.0,
            body_least: 60.0,
            head: 40.0,
            head_least: 40.0,
            numbers: 60.0,
        };
        assert_eq!(plan(&[need; 3], 440.0, 9.4).widths, [60.0; 3]);
        assert_eq!(parted(&[need; 3], 440.0, 9.4), [[0, 1, 2]]);
    }

    #[test]
    fn numbers_are_left_whole_where_words_are_divided() {
        let need = |body_least: f32, numbers| Need {
            body: body_least,
            body_least,
            head: 10.0,
            head_least: 10.0,
            numbers,
        };
        let plan = plan(&[need(4_000.0, 0.0), need(100.0, 100.0)], 440.0, 9.4);
        assert!(plan.widths[1] >= 100.0 * plan.factor, "{plan:?}");
        assert!(plan.widths[0] > 300.0, "{plan:?}");
    }

    #[test]
    fn columns_that_fit_in_no_size_are_parted_evenly_behind_the_names() {
        let need = Need {
            body: 80.0,
            body_least: 80.0,
            head: 40.0,
            head_least: 40.0,
            numbers: 80.0,
        };
        let groups = parted(&[need; 14], 440.0, 9.4);
        let counts: Vec<usize> = groups.iter().map(Vec::len).collect();
        assert_eq!(counts, [5, 4, 4, 4]);
        for group in &groups {
            assert_eq!(group[0], 0);
            let plan = plan(&vec![need; group.len()], 440.0, 9.4);
            assert!(plan.factor > 0.8, "{plan:?}");
        }
        let columns: Vec<usize> = groups
            .iter()
            .flat_map(|group| &group[1..])
            .copied()
            .collect();
        assert_eq!(columns, (1..14).collect::<Vec<_>>());
    }
}
