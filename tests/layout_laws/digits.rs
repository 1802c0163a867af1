//! Digits in groups.

use fillmark::print::layout::Laid;

use super::{laid, runs, text_of};

/// The digits of a number behind which there is a gap.
fn gaps_in(laid: &Laid, number: &str) -> Vec<usize> {
    let runs = laid
        .document
        .pages
        .iter()
        .flat_map(|page| runs(&page.items));
    let run = runs
        .filter(|run| text_of(run).contains(number))
        .min_by_key(|run| run.glyphs.len());
    let run = run.unwrap_or_else(|| panic!("no {number}, all of it without a space"));
    // A glyph may be several characters.
    let steps = run.glyphs.iter().flat_map(|glyph| {
        let advance = glyph.advance;
        glyph.text.bytes().map(move |_| advance)
    });
    let steps: Vec<f32> = steps.collect();
    let at = text_of(run).find(number).expect("its place");
    let own = |at: usize| number.as_bytes()[at].is_ascii_digit();
    let least = (0..number.len())
        .filter(|digit| own(*digit))
        .map(|digit| steps[at + digit])
        .fold(f32::MAX, f32::min);
    let wider = (0..number.len()).filter(|digit| {
        let more = steps[at + digit] - least;
        // What reads the text of a page takes a gap of 0.10 em for a space.
        assert!(!own(*digit) || more < 95.0, "{number}: {more}");
        own(*digit) && more > 50.0
    });
    wider.collect()
}

#[test]
fn long_numbers_are_in_groups_and_read_as_they_are_typed() {
    const NONE: [usize; 0] = [];
    let laid = laid(
        "| a | b |\n|--:|--:|\n| 0.000018 ± 0.25 | 0.9979 |\n| 1.1234 ± 0.5 | 2.5 |\n\n\
         Density 0.12345 g by ISO 28037:2010, `0.23456`, and $m = 0.34567$.",
    );
    assert_eq!(gaps_in(&laid, ".000018"), [3]);
    assert_eq!(gaps_in(&laid, ".1234"), [3], "as in the number above it");
    assert_eq!(gaps_in(&laid, ".9979"), NONE);
    assert_eq!(gaps_in(&laid, "0.12345"), [4]);
    assert_eq!(gaps_in(&laid, "28037"), NONE, "no quantity");
    assert_eq!(gaps_in(&laid, "0.23456"), NONE, "as it was written");
    assert_eq!(gaps_in(&laid, "0.34567"), [4]);
}
