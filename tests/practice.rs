//! Flags of bench practice: raised for the fault they are named for and not without it, with the size of its effect.
//!
//! The run they are tried on is the creamery's, which is honest; each test spoils it in one place.

use crate::common::{close, path, read};
use fillmark::cli::pipeline;
use fillmark::practice::Flag;
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

#[test]
fn ware_that_changes_liquids_is_rinsed_three_times() {
    let none = spoilt("practice: {rinsed: 3, ", "practice: {");
    let found = flag(&none, "not-conditioned");
    assert_eq!(found.entry, "solutions.C.made_up.in");
    let pipette: Vec<Flag> = flags(&none)
        .into_iter()
        .filter(|f| f.entry == "weighings.A.1")
        .collect();
    assert!(
        pipette[0]
            .message
            .contains("ten pipette took A after water"),
        "{pipette:?}"
    );
    // A film of 0.4 % of water in the first of three: 0.004 (0.998 − 1.159)/3.
    close("film", effect(&pipette[0]), -0.000_21, 0.000_01, 0.0);
    let twice = spoilt("rinsed: 3", "rinsed: 2");
    let few = flag(&twice, "few-rinses");
    assert!(few.effect.is_some(), "{few:?}");
    assert!(flags(&twice).iter().all(|f| f.code.word() == "few-rinses"));
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
    let found = flag(&own, "not-conditioned");
    assert!(found.message.contains("took C after B"), "{found:?}");
    // A film of B's 199 g/L: 0.004 × 199.
    close("film", effect(&found), 0.80, 0.01, 0.0);
}

#[test]
fn mixing_is_recorded() {
    let found = flag(&spoilt(", mixed: inverted ten times", ""), "not-mixed");
    assert!(found.message.contains("of A, B, C and D."), "{found:?}");
    assert_eq!(found.entry, "solutions");
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
fn temperatures_matter_where_they_reach_the_uncertainty() {
    let warm = spoilt("liquid: 19.4 °C", "liquid: 34.0 °C").replacen(
        "ten pipette: {kind: pipette,",
        "ten pipette: {kind: pipette, glass: soda lime,",
        1,
    );
    let found = flag(&warm, "ware-not-at-reference");
    // ISO 4787: 27 × 10⁻⁶ per °C, 14 °C, of a density near 1.1 g/mL.
    close("effect", effect(&found).abs(), 0.000_42, 0.000_03, 0.0);
    let asked = warm.clone() + "allow_for: {ware_temperature: true}\n";
    let asked = flags(&asked);
    assert!(
        !asked
            .iter()
            .any(|f| f.code.word() == "ware-not-at-reference")
    );

    let drift = spoilt(
        "filled: 39.664 g, volume: 10.00 mL}",
        "filled: 39.664 g, volume: 10.00 mL, liquid: 27.5 °C}",
    )
    .replacen(
        "filled: 39.657 g, volume: 10.00 mL}",
        "filled: 39.657 g, volume: 10.00 mL, liquid: 27.5 °C}",
        1,
    )
    .replacen(
        "filled: 39.658 g, volume: 10.00 mL}",
        "filled: 39.658 g, volume: 10.00 mL, liquid: 27.5 °C}",
        1,
    );
    let found = flag(&drift, "liquid-drifts");
    assert!(found.message.contains("bath 3 at 27.5 °C"), "{found:?}");
    // Handbook brines of 18 % lose about 0.45 kg/m³ for each °C here (CRC Handbook, 20 °C to 30 °C, from memory).
    close("effect", effect(&found), -0.003_0, 0.000_4, 0.0);
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
        found.message.contains("bench balance end in 0 or 5"),
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
    // CRC Handbook: 6.136 mol/kg at 20 °C, 26.4 %.
    assert!(found.message.contains("26.39 % saturate it"), "{found:?}");
}

#[test]
fn water_off_its_published_density_accuses_the_bench() {
    let heavy = sample()
        .replacen("filled: 38.295 g", "filled: 38.345 g", 1)
        .replacen("filled: 38.301 g", "filled: 38.351 g", 1)
        .replacen("filled: 38.288 g", "filled: 38.338 g", 1);
    let found = flag(&heavy, "water-off-published");
    assert_eq!(found.entry, "weighings.water");
    close("effect", effect(&found), 0.0046, 0.0002, 0.0);
}

/// Each slip is undone by the sentence that the flag gives.
#[test]
fn the_likeliest_slip_is_named() {
    for (old, new, entry, told) in [
        (
            "volume: 4 × 20.00 mL",
            "volume: 3 × 20.00 mL",
            "weighings.B",
            "as if 4 deliveries of A had gone into B, and not 3",
        ),
        (
            "volume: [20.00, 20.00, 20.00]",
            "volume: [20.00, 20.00]",
            "weighings.C",
            "as if 3 deliveries of A had gone into C, and not 2",
        ),
        (
            "volume: 2 × 20.00 mL, with: twenty pipette}\n    made_up: {to: 100 mL, in: dilution flask}",
            "volume: 2 × 20.00 mL, with: twenty pipette}\n    made_up: {to: 250 mL, in: stock flask}",
            "weighings.D",
            "as if D had been made up to 100 mL, and not 250 mL",
        ),
        (
            "before: 82.417 g",
            "before: 84.217 g",
            "weighings.A",
            "as if two digits were transposed at solutions.A.weighed.before: 84.217 for 82.417",
        ),
    ] {
        let flags = flags(&spoilt(old, new));
        let found = flags
            .iter()
            .find(|f| f.code.word() == "density-off-published" && f.entry == entry);
        let found = found.unwrap_or_else(|| panic!("{entry} is not flagged: {flags:#?}"));
        assert!(found.message.contains(told), "{found:?}");
    }
    let text = sample();
    let swapped = text
        .replacen("    B:\n      - {empty", "    X:\n      - {empty", 1)
        .replacen("    D:\n      - {empty", "    B:\n      - {empty", 1)
        .replacen("    X:\n      - {empty", "    D:\n      - {empty", 1);
    assert_ne!(text, swapped);
    let named: Vec<Flag> = flags(&swapped)
        .into_iter()
        .filter(|f| f.code.word() == "density-off-published")
        .collect();
    assert_eq!(named.len(), 2, "{named:#?}");
    for flag in &named {
        assert!(
            flag.message
                .contains("taken for each other when they were weighed"),
            "{flag:?}"
        );
    }
}

/// One of three weighings with two digits transposed: its own spread hides it from the comparison, but not from the spread.
#[test]
fn a_transposition_among_replicates_is_named() {
    let found = flag(
        &spoilt("filled: 39.603 g", "filled: 36.903 g"),
        "spread-unexplained",
    );
    assert_eq!(found.entry, "weighings.B");
    assert!(
        found.message.contains(
            "They would not as if two digits were transposed at weighings.B.1.filled: 36.903 for 39.603."
        ),
        "{found:?}"
    );
    // (11.289 + 11.301 + 11.296) g / 30 mL, by hand.
    let effect = found.effect.as_deref().unwrap_or_default();
    assert!(effect.contains("would then be 1.12953 g/mL"), "{effect}");
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
        assert!(
            flag.message
                .contains("as if A had been made up to 250 mL, and not 100 mL"),
            "{flag:?}"
        );
    }
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
    assert!(found.message.contains("Either it is not what"), "{found:?}");
}

#[test]
fn a_flag_can_be_acknowledged_with_a_reason() {
    let few = spoilt("rinsed: 3", "rinsed: 2");
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
        (problems[0].code, problems[0].severity),
        ("nothing-to-acknowledge", Severity::Warning)
    );
    assert_eq!(
        problems[0].place.as_ref().unwrap().line,
        vain.lines().count()
    );
}
