//! Flags of bench practice: raised for the fault they are named for and not without it, with the size of its effect.
//!
//! The run they are tried on is the creamery's, which is honest; each test spoils it in one place.

use crate::common::{close, path, read};
use fillmark::bench::practice::{Flag, SlipKind};
use fillmark::pipeline;
use fillmark::problem::Severity;

fn sample() -> String {
    read(&path("sample_runs/creamery_brine_bath.yaml"))
}

/// The sample with one text in place of another.
#[track_caller]
fn spoilt(old: &str, new: &str) -> String {
    let text = sample();
    assert!(text.contains(old), "{old:?} is not in the sample");
    text.replacen(old, new, 1)
}

#[track_caller]
fn flags(text: &str) -> Vec<Flag> {
    let (run, problems) = pipeline::read("run.yaml", text.as_bytes());
    run.unwrap_or_else(|| panic!("{problems:#?}")).flags
}

#[track_caller]
fn flag(text: &str, code: &str) -> Flag {
    let flags = flags(text);
    let found = flags.iter().find(|flag| flag.code.word() == code);
    found
        .unwrap_or_else(|| panic!("{code} is not among {flags:#?}"))
        .clone()
}

/// The first number of an effect.
#[track_caller]
fn effect(flag: &Flag) -> f64 {
    let text = flag.effect.as_ref().expect("an effect").replace('−', "-");
    let number = text
        .split_whitespace()
        .find_map(|word| word.parse::<f64>().ok());
    number.unwrap_or_else(|| panic!("no number in {text}"))
}

#[test]
fn an_honest_run_has_no_flag() {
    assert_eq!(flags(&sample()), []);
}

/// The candidates of a flag, as kind, entry and what was meant.
fn candidates(flag: &Flag) -> Vec<(SlipKind, &str, &str)> {
    let each = flag.candidates.iter();
    each.map(|c| (c.kind, c.entry.as_str(), c.meant.as_str()))
        .collect()
}

/// That a flag names a slip: its kind, the entry, and the value meant.
#[track_caller]
fn assert_named(flag: &Flag, slip: (SlipKind, &str, &str)) {
    assert!(candidates(flag).contains(&slip), "{slip:?}: {flag:#?}");
}

#[test]
fn what_is_not_recorded_is_one_line_and_no_judgement() {
    let text = spoilt("practice: {rinsed: 3, mixed: inverted ten times}\n", "");
    let found = flags(&text);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_eq!(found[0].code.word(), "not-recorded");
    assert!(!found[0].code.judges());
    assert_eq!(
        found[0].message.to_string(),
        "Rinsing not recorded: dilution flask and ten pipette. Mixing not recorded: A, B, C and D."
    );
}

#[test]
fn few_rinses_are_told_where_they_matter() {
    let twice = spoilt("rinsed: 3", "rinsed: 2");
    assert_eq!(flags(&twice), [], "the film of two rinses is negligible");
    // What is written at an entry goes before what holds for all.
    let own = spoilt(
        "with: twenty pipette}\n    made_up: {to: 100 mL, in: dilution flask}\n  C:",
        "with: twenty pipette}\n    made_up: {to: 100 mL, in: dilution flask, rinsed: 0}\n  C:",
    );
    assert_eq!(flags(&own), [], "the first use of a flask");
    let own = spoilt(
        "volume: [20.00, 20.00, 20.00], with: twenty pipette}\n    made_up: {to: 100 mL, in: dilution flask}",
        "volume: [20.00, 20.00, 20.00], with: twenty pipette}\n    made_up: {to: 100 mL, in: dilution flask, rinsed: 0}",
    );
    let found = flag(&own, "few-rinses");
    assert!(
        found.message.to_string().contains("between B and C."),
        "{found:?}"
    );
    // A film of B's 199 g/L: 0.004 × 199.
    close("film", effect(&found), 0.80, 0.01, 0.0);
}

#[test]
fn a_flask_filled_over_the_mark_weakens() {
    let found = flag(
        &spoilt(
            "made_up: {to: 250 mL, in: stock flask}",
            "made_up: {to: 250 mL, in: stock flask, over_mark: 5 mL}",
        ),
        "over-the-mark",
    );
    assert_eq!(found.entry, "solutions.A.made_up.over_mark");
    // 249.0 g/L × 5/255, to two figures.
    close("effect", effect(&found), 4.9, 0.01, 0.0);
}

#[test]
fn digits_are_those_of_the_balance() {
    let found = flag(
        &spoilt("filled: 38.295 g", "filled: 38.3 g"),
        "digits-not-shown",
    );
    assert_eq!(found.entry, "weighings.water.1.filled");
    close("effect", effect(&found), 0.1, 1e-9, 0.0);
    let more = spoilt("filled: 38.295 g", "filled: 38.2951 g");
    assert_eq!(
        flag(&more, "digits-not-shown").entry,
        "weighings.water.1.filled"
    );
    let milligrams = spoilt("filled: 38.295 g", "filled: 38295 mg");
    assert_eq!(flags(&milligrams), [], "the same in another unit");
}

#[test]
fn readings_that_end_in_0_or_5_are_a_habit() {
    let text = sample();
    let rounded: Vec<String> = text
        .split(' ')
        .map(|word| {
            let mass = word.len() == 6 && word.as_bytes()[2] == b'.' && word.is_ascii();
            match (mass, word.as_bytes().last()) {
                (true, Some(last)) if last.is_ascii_digit() => {
                    format!("{}{}", &word[..5], if *last < b'5' { '0' } else { '5' })
                }
                _ => word.to_owned(),
            }
        })
        .collect();
    let found = flag(&rounded.join(" "), "last-digit-habit");
    assert!(
        found
            .message
            .to_string()
            .contains("bench balance end in 0 or 5"),
        "{found:?}"
    );
}

#[test]
fn more_salt_than_dissolves_is_told() {
    let found = flag(
        &spoilt("before: 82.417 g", "before: 99.917 g"),
        "beyond-saturation",
    );
    assert_eq!(found.entry, "solutions.A");
    // CRC Handbook: 6.136 mol/kg at 20 °C, 26.395 %; other tables to 26.45 %.
    assert!(
        found.message.to_string().contains("at 26.41 %"),
        "{found:?}"
    );
}

/// A solution of some salt and water (g), at a temperature (°C).
fn saturated(solute: &str, salt: &str, water: &str, celsius: &str) -> Vec<Flag> {
    let text = format!(
        "title: Saturation\ndate: 2026-03-04\nanalysts: [R. Example]\nconditions: {{liquid: {celsius} °C}}\n\
         solute: {solute}\nsolutions: {{A: {{weighed: {{mass: {salt} ± 0.01 g}}, solvent: {{mass: {water} ± 0.01 g}}}}}}\n"
    );
    let mut found = flags(&text);
    found.retain(|flag| flag.code.word() == "beyond-saturation");
    found
}

#[test]
fn saturation_is_known_from_0_to_100_degrees_and_left_open_near_the_curve() {
    let found = saturated("sodium chloride", "35.00", "65.00", "5.0");
    assert!(found[0].effect.is_some(), "{found:?}");
    assert!(
        found[0].message.to_string().contains("at 26.29 %"),
        "{found:?}"
    );
    // 28.12 % saturate it at 100 °C by the salt trade's table, 27.99 % by Sparrow.
    let found = saturated("sodium chloride", "28.05", "71.95", "100.0");
    assert_eq!(found[0].effect, None, "{found:?}");
    assert!(
        found[0].message.to_string().contains("up to 0.14 %"),
        "{found:?}"
    );
    assert_eq!(saturated("sodium chloride", "27.80", "72.20", "100.0"), []);
    // 33.9 % at 80 °C by the CRC Handbook.
    assert_eq!(
        saturated("potassium chloride", "33.00", "67.00", "80.0"),
        []
    );
    assert_eq!(
        saturated("potassium chloride", "33.90", "66.10", "80.0")[0].effect,
        None
    );
    let found = saturated("potassium chloride", "34.40", "65.60", "80.0");
    assert!(found[0].effect.is_some(), "{found:?}");
}

#[test]
fn water_off_its_published_density_accuses_the_bench() {
    let heavy = sample()
        .replacen("filled: 38.295 g", "filled: 38.345 g", 1)
        .replacen("filled: 38.301 g", "filled: 38.351 g", 1)
        .replacen("filled: 38.288 g", "filled: 38.338 g", 1);
    let found = flag(&heavy, "water-off-published");
    assert_eq!(found.entry, "weighings.water");
    // 0.05 g in 10 mL; the air makes up for what is weighed too light.
    close("effect", effect(&found), 0.0056, 0.0002, 0.0);
}

/// Each slip is among those that the flag names.
#[test]
fn the_slip_that_happened_is_named() {
    for (old, new, at, slip) in [
        (
            "volume: 4 × 20.00 mL",
            "volume: 3 × 20.00 mL",
            "weighings.B",
            (
                SlipKind::DeliveryCount,
                "solutions.B.aliquot.volume",
                "4 deliveries",
            ),
        ),
        (
            "volume: [20.00, 20.00, 20.00]",
            "volume: [20.00, 20.00]",
            "weighings.C",
            (
                SlipKind::DeliveryCount,
                "solutions.C.aliquot.volume",
                "3 deliveries",
            ),
        ),
        (
            "volume: 2 × 20.00 mL, with: twenty pipette}\n    made_up: {to: 100 mL, in: dilution flask}",
            "volume: 2 × 20.00 mL, with: twenty pipette}\n    made_up: {to: 250 mL, in: stock flask}",
            "weighings.D",
            (SlipKind::OtherMark, "solutions.D.made_up.to", "100 mL"),
        ),
        (
            "before: 82.417 g",
            "before: 84.217 g",
            "weighings.A",
            (
                SlipKind::DigitsTransposed,
                "solutions.A.weighed.before",
                "82.417 g",
            ),
        ),
        (
            "before: 82.417 g",
            "before: 89.417 g",
            "weighings.A",
            (
                SlipKind::DigitMisread,
                "solutions.A.weighed.before",
                "82.417 g",
            ),
        ),
    ] {
        let flags = flags(&spoilt(old, new));
        let found = flags
            .iter()
            .find(|f| f.code.word() == "density-off-published" && f.entry == at);
        let found = found.unwrap_or_else(|| panic!("{at} is not flagged: {flags:#?}"));
        assert!(candidates(found).contains(&slip), "{found:#?}");
        assert!(found.message.to_string().contains(slip.2), "{found:#?}");
    }
}

#[test]
fn solutions_taken_for_each_other_are_named() {
    let exchanged = |a: &str, b: &str| {
        let text = sample();
        let swapped = text
            .replacen(
                &format!("    {a}:\n      - {{empty"),
                "    X:\n      - {empty",
                1,
            )
            .replacen(
                &format!("    {b}:\n      - {{empty"),
                &format!("    {a}:\n      - {{empty"),
                1,
            )
            .replacen(
                "    X:\n      - {empty",
                &format!("    {b}:\n      - {{empty"),
                1,
            );
        assert_ne!(text, swapped);
        flags(&swapped)
    };
    let found = exchanged("B", "D");
    for at in ["weighings.B", "weighings.D"] {
        let flag = found.iter().find(|f| f.entry == at).expect("a flag");
        let slip = &flag.candidates[0];
        assert_eq!(slip.kind, SlipKind::Exchanged, "{flag:#?}");
    }
    let found = exchanged("C", "bath 3");
    let flag = found
        .iter()
        .find(|f| f.entry == "weighings.C")
        .expect("a flag");
    assert!(
        candidates(flag).contains(&(SlipKind::Exchanged, "weighings.C", "bath 3")),
        "{flag:#?}"
    );
}

/// One of three weighings with two digits transposed: its own spread hides it from the comparison, but not from the spread.
#[test]
fn a_transposition_among_replicates_is_named() {
    let text = spoilt("filled: 39.603 g", "filled: 36.903 g");
    let found = flag(&text, "spread-unexplained");
    assert_eq!(found.entry, "weighings.B");
    let slip = (
        SlipKind::DigitsTransposed,
        "weighings.B.1.filled",
        "39.603 g",
    );
    assert_named(&found, slip);
    // The others are not made suspect by it.
    let others = flags(&text);
    assert!(
        others.iter().all(|f| f.entry.starts_with("weighings.B")
            || !f.code.judges()
            || f.entry == "calibration"),
        "{others:#?}"
    );
}

/// A stock made up to another mark than was written: what it was taken from explains what is off further down.
#[test]
fn what_happened_to_a_stock_is_told_of_what_was_taken_from_it() {
    let flags = flags(&spoilt(
        "to: 250 mL, in: stock flask",
        "to: 100 mL, in: dilution flask",
    ));
    let off: Vec<&Flag> = flags
        .iter()
        .filter(|f| f.code.word() == "density-off-published")
        .collect();
    assert!(!off.is_empty(), "{flags:#?}");
    for flag in off {
        let slip = (SlipKind::OtherMark, "solutions.A.made_up.to", "250 mL");
        assert!(candidates(flag).contains(&slip), "{flag:#?}");
    }
}

/// A brine and water on a bench that states no repeatability; `weighings` is the part of that name for B.
fn plain_bench(density: &str) -> String {
    format!(
        "title: Plain\ndate: 2026-03-04\nanalysts: [R. Example]\nconditions: {{liquid: 20.0 °C}}\n\
         solute: sodium chloride\npractice: {{rinsed: 3, mixed: well}}\napparatus:\n\
         \x20 balance: {{kind: balance, readability: 0.01 g}}\n  ten: {{kind: pipette, capacity: 10 mL, class: A}}\n\
         \x20 five: {{kind: pipette, capacity: 5 mL, class: A}}\nsolutions:\n\
         \x20 B: {{weighed: {{mass: 9.00 g, balance: balance}}, solvent: {{mass: 91.00 g, balance: balance}}}}\n\
         density:\n  balance: balance\n{density}"
    )
}

#[test]
fn equal_candidates_are_all_named() {
    // 10.56 g of a brine of 8 % in a vessel of 31.86 g: 42.42 g typed as 42.24 g, or 31.68 g as 31.86 g.
    let text = plain_bench("  pipette: ten\n  weighings:\n    B: [{empty: 31.86 g, filled: 42.24 g, volume: 10.00 mL}]\n")
        .replacen("9.00 g", "8.00 g", 1)
        .replacen("91.00 g", "92.00 g", 1);
    let found = flag(&text, "density-off-published");
    let named = candidates(&found);
    for slip in [
        (
            SlipKind::DigitsTransposed,
            "weighings.B.1.filled",
            "42.42 g",
        ),
        (SlipKind::DigitsTransposed, "weighings.B.1.empty", "31.68 g"),
    ] {
        assert!(named.contains(&slip), "{found:#?}");
    }
    assert!(
        found.message.to_string().contains("Any of these slips"),
        "{found:#?}"
    );
}

/// Of two weighings the one that is right is not accused: undone there, a brine of 9 % would be lighter than water.
#[test]
fn the_right_weighing_is_not_accused() {
    let text = plain_bench(
        "  pipette: ten\n  weighings:\n    B:\n      - {empty: 31.47 g, filled: 42.08 g, volume: 10.00 mL}\n\
         \x20     - {empty: 31.48 g, filled: 41.21 g, volume: 10.00 mL}\n",
    );
    let found = flag(&text, "spread-unexplained");
    assert!(
        found.message.to_string().contains("common practice"),
        "{found:#?}"
    );
    assert_named(
        &found,
        (
            SlipKind::DigitsTransposed,
            "weighings.B.2.filled",
            "42.11 g",
        ),
    );
    let named = candidates(&found);
    assert!(
        named
            .iter()
            .all(|(_, entry, _)| entry.starts_with("weighings.B.2")),
        "{found:#?}"
    );
}

#[test]
fn a_cumulative_series_shows_what_was_left_out_or_transposed() {
    let series = |masses: &[&str]| {
        let each = masses
            .iter()
            .map(|m| format!("{{volume: 5.00 mL, mass: {m} g}}"));
        let each: Vec<String> = each.collect();
        plain_bench(&format!(
            "  pipette: five\n  cumulative:\n    B: {{empty: 31.20 g, deliveries: [{}]}}\n",
            each.join(", ")
        ))
    };
    // 5.315 g each.
    let honest = ["36.52", "41.83", "47.14", "52.46", "57.78", "63.09"];
    assert_eq!(flags(&series(&honest)), []);
    let skipped = flag(
        &series(&["36.52", "41.83", "52.46", "57.78", "63.09"]),
        "spread-unexplained",
    );
    assert!(
        candidates(&skipped).iter().any(|(kind, entry, _)| {
            *kind == SlipKind::DeliveryOmitted && entry.contains("deliveries.3")
        }),
        "{skipped:#?}"
    );
    let transposed = flag(
        &series(&["36.52", "41.83", "47.41", "52.46", "57.78", "63.09"]),
        "spread-unexplained",
    );
    assert!(
        candidates(&transposed)
            .iter()
            .any(|(kind, _, meant)| *kind == SlipKind::DigitsTransposed && *meant == "47.14 g"),
        "{transposed:#?}"
    );
}

#[test]
fn a_temperature_in_fahrenheit_is_asked_about() {
    let found = flag(
        &spoilt("liquid: 19.4 °C", "liquid: 70.7 °C"),
        "temperature-unlikely",
    );
    assert_eq!(
        candidates(&found),
        [(SlipKind::OtherScale, "conditions.liquid", "70.7 °F")]
    );
    // 66.9 °F are 19.4 °C: the densities say so, too.
    let found = flags(&spoilt("liquid: 19.4 °C", "liquid: 66.9 °C"));
    let off: Vec<&Flag> = found
        .iter()
        .filter(|flag| flag.code.word().ends_with("off-published"))
        .collect();
    assert!(!off.is_empty(), "{found:#?}");
    for flag in off {
        let slip = (SlipKind::OtherScale, "conditions.liquid", "66.9 °F");
        assert!(candidates(flag).contains(&slip), "{flag:#?}");
    }
}

/// A count halved and a mark halved make the same solution.
#[test]
fn deliveries_and_mark_that_make_the_same_are_both_named() {
    let found = flags(&spoilt(
        "aliquot: {of: A, volume: 2 × 20.00 mL, with: twenty pipette}",
        "aliquot: {of: A, volume: 1 × 20.00 mL, with: twenty pipette}",
    ));
    let found = found
        .iter()
        .find(|flag| flag.entry == "weighings.D")
        .unwrap_or_else(|| panic!("{found:#?}"));
    let named = candidates(found);
    for slip in [
        (
            SlipKind::DeliveryCount,
            "solutions.D.aliquot.volume",
            "2 deliveries",
        ),
        (SlipKind::OtherMark, "solutions.D.made_up.to", "50 mL"),
    ] {
        assert!(named.contains(&slip), "{found:#?}");
    }
}

/// Two weighings 0.9 g apart are flagged without a stated repeatability. No volume is named that a one-mark pipette cannot
/// deliver.
#[test]
fn replicates_far_apart_are_flagged_without_a_stated_repeatability() {
    let text = plain_bench(
        "  pipette: ten\n  weighings:\n    B:\n      - {empty: 31.20 g, filled: 41.80 g, volume: 10.00 mL}\n\
         \x20     - {empty: 31.20 g, filled: 42.70 g, volume: 10.00 mL}\n",
    );
    let found = flag(&text, "spread-unexplained");
    assert!(
        found.message.to_string().contains("common practice"),
        "{found:#?}"
    );
    assert_eq!(candidates(&found), []);
    // A graduated pipette may have delivered more.
    let graduated = text.replacen(
        "ten: {kind: pipette, capacity: 10 mL, class: A}",
        "ten: {kind: graduated pipette, capacity: 25 mL, class: A}",
        1,
    );
    let found = flag(&graduated, "spread-unexplained");
    assert_named(
        &found,
        (SlipKind::DigitMisread, "weighings.B.2.volume", "10.80 mL"),
    );
}

#[test]
fn a_delivery_too_many_in_a_weighing_is_named() {
    let text = plain_bench(
        "  pipette: five\n  weighings:\n    B: [{empty: 31.20 g, filled: 41.80 g, volume: 3 × 5.00 mL}]\n",
    );
    let found = flag(&text, "density-off-published");
    assert_named(
        &found,
        (
            SlipKind::DeliveryCount,
            "weighings.B.1.volume",
            "2 deliveries",
        ),
    );
}

#[test]
fn a_solution_without_a_density_is_told() {
    let text = sample();
    let from = text.find("    D:\n      - {empty").expect("weighings of D");
    let to = text
        .find("    bath 3:\n      - {empty")
        .expect("weighings of the bath");
    let without = format!("{}{}", &text[..from], &text[to..]);
    let found = flag(&without, "no-density");
    assert_eq!(found.entry, "solutions.D");
}

/// Equal readings scatter by less than rounding does: no measure of how far the line may miss their means.
#[test]
fn equal_replicates_do_not_refuse_a_line() {
    let mut first = String::new();
    let mut text = String::new();
    for line in sample().lines() {
        let weighing = line.trim_start().starts_with("- {empty") && !line.contains("left_out");
        if weighing && first.is_empty() {
            line.clone_into(&mut first);
        } else if !weighing {
            first.clear();
        }
        text += if weighing { &first } else { line };
        text.push('\n');
    }
    // A correction that the sample records is no longer as recorded.
    let (run, _) = pipeline::read("run.yaml", text.as_bytes());
    let run = run.expect("a run");
    assert!(
        run.flags.iter().all(|f| f.code.word() != "line-departs"),
        "{:#?}",
        run.flags
    );
}

#[test]
fn what_no_slip_explains_is_not_explained() {
    // B is stronger by two thirds of a delivery: a fifth one would come nearer, but not near enough.
    let text = sample()
        .replacen("filled: 39.603 g", "filled: 39.803 g", 1)
        .replacen("filled: 39.620 g", "filled: 39.820 g", 1)
        .replacen("filled: 39.611 g", "filled: 39.811 g", 1);
    let found = flag(&text, "density-off-published");
    assert!(
        found
            .message
            .to_string()
            .contains("Either it was not prepared"),
        "{found:?}"
    );
}

#[test]
fn a_flag_can_be_acknowledged_with_a_reason() {
    let few = spoilt("rinsed: 3", "rinsed: 0");
    let known = few.clone()
        + "acknowledged:\n  - {flag: few-rinses, at: weighings.A.1, why: little was left, by: T. Sample, on: 2026-03-05}\n";
    let (known, others): (Vec<Flag>, Vec<Flag>) = flags(&known)
        .into_iter()
        .partition(|f| f.acknowledged.is_some());
    assert_eq!(known.len(), 1, "{known:?}");
    assert!(!others.is_empty(), "other entries are not acknowledged");
    let reason = known[0].acknowledged.as_ref().unwrap();
    assert_eq!(
        (reason.why.as_str(), reason.by.as_deref()),
        ("little was left", Some("T. Sample"))
    );

    let vain = few + "acknowledged:\n  - {flag: few-rinses, at: weighings.B.1, why: none}\n";
    let (run, problems) = pipeline::read("run.yaml", vain.as_bytes());
    assert!(run.is_some(), "{problems:#?}");
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(
        (problems[0].code.name(), problems[0].severity),
        ("nothing-to-acknowledge", Severity::Warning)
    );
    assert_eq!(
        problems[0].span.as_ref().unwrap().line,
        vain.lines().count()
    );
}

/// An unknown without a place on a curve stops the report; the slip that bent the curve is told beside the error.
#[test]
fn the_slip_behind_a_refusal_is_told() {
    // B was weighed with 41.489 g.
    let text = read(&path("tests/bad_runs/unknown_off_the_curve.yaml"));
    let (run, problems) = pipeline::read("run.yaml", text.as_bytes());
    assert!(run.is_none() && problems.iter().any(|p| p.code.name() == "not-on-the-curve"));
    let told = problems
        .iter()
        .find(|p| p.code.name() == "density-off-published")
        .unwrap_or_else(|| panic!("{problems:#?}"));
    assert_eq!(told.severity, Severity::Warning);
    assert!(told.span.is_some(), "{told:#?}");
    let slip = "weighings.B.1.filled was 41.489 g, not 41.849 g";
    assert!(told.headline.contains(slip), "{told:#?}");
}

/// An impossible density stops the report; the error names possible corrections.
#[test]
fn what_was_meant_by_an_impossible_reading_is_told() {
    for (typed, code, right) in [
        // One digit misread; the vessel may have been lighter as well.
        (
            "29.603 g",
            "density-far-off",
            "; perhaps filled: 39.603 g, or empty: 18.314 g",
        ),
        // Two digits transposed.
        (
            "93.603 g",
            "density-far-off",
            "; perhaps filled: 39.603 g, or empty: 82.314 g",
        ),
        // The point: never a number that the balance cannot show, such as 2.8314 g.
        (
            "3.9603 g",
            "filled-not-heavier",
            "; perhaps filled: 39.603 g",
        ),
        ("39603 g", "density-far-off", "; perhaps filled: 39.603 g"),
    ] {
        let text = spoilt("filled: 39.603 g", &format!("filled: {typed}"));
        let (run, problems) = pipeline::read("run.yaml", text.as_bytes());
        assert!(run.is_none());
        let told = problems.iter().find(|p| p.code.name() == code);
        let told = told.unwrap_or_else(|| panic!("{problems:#?}"));
        assert!(
            told.right
                .as_ref()
                .is_some_and(|told| told.ends_with(right)),
            "{told:#?}"
        );
    }
}
