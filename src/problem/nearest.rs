//! What a misspelt name may have meant.

/// Returns the candidate most like `name`, if one is like it at all. Of equals the first is taken.
///
/// Case, quotes around it, and the choice between space, hyphen and underscore do not count. Swapped neighbours count as one slip; a slip
/// for every three letters is allowed.
pub fn nearest<'c>(name: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    /// Longer ones are not names, and the comparison takes the product of both lengths.
    const LONGEST: usize = 100;
    if name.len() > LONGEST {
        return None;
    }
    let folded = fold(name);
    let allowed = folded.chars().count().div_ceil(3);
    candidates
        .into_iter()
        .filter(|candidate| candidate.len() <= LONGEST)
        .map(|candidate| (strsim::osa_distance(&folded, &fold(candidate)), candidate))
        .filter(|(slips, candidate)| *slips <= allowed && *slips < candidate.chars().count())
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, candidate)| candidate)
}

fn fold(name: &str) -> String {
    let quotes = |c: char| {
        matches!(
            c,
            '"' | '\'' | '`' | '\u{2018}'..='\u{201f}' | '\u{ab}' | '\u{bb}'
        )
    };
    name.trim_matches(quotes)
        .to_lowercase()
        .replace(['-', ' '], "_")
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn slips_are_seen_through() {
        let names = ["filled", "empty", "left_out", "bench balance", "A"];
        for (slip, meant) in [
            ("filed", Some("filled")),
            ("Empty", Some("empty")),
            ("left-out", Some("left_out")),
            ("bench_balnace", Some("bench balance")),
            ("a", Some("A")),
            ("\u{2018}A\u{2019}", Some("A")),
            ("B", None),
            ("temperature", None),
            ("", None),
        ] {
            assert_eq!(nearest(slip, names), meant, "{slip}");
        }
    }
}
