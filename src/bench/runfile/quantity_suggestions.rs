//! Quantities written otherwise than they are read: what their writer seems to have meant.

use super::vocabulary::Measure;
use crate::bench::quantity::Quantity;

/// Names of units that are read by their symbols only.
const UNIT_NAMES: &[(&str, &str)] = &[
    ("gram", "g"),
    ("grams", "g"),
    ("gramme", "g"),
    ("grammes", "g"),
    ("gm", "g"),
    ("gr", "g"),
    ("milligram", "mg"),
    ("milligrams", "mg"),
    ("kilogram", "kg"),
    ("kilograms", "kg"),
    ("millilitre", "mL"),
    ("millilitres", "mL"),
    ("milliliter", "mL"),
    ("milliliters", "mL"),
    ("litre", "L"),
    ("litres", "L"),
    ("liter", "L"),
    ("liters", "L"),
    ("celsius", "°C"),
    ("c", "°C"),
    ("f", "°F"),
    ("fahrenheit", "°F"),
    ("deg", "°C"),
    ("degrees", "°C"),
    ("°", "°C"),
    ("percent", "%"),
    ("torr", "mmHg"),
];

/// Returns the symbol of a unit written out.
pub(super) fn unit_named(name: &str) -> Option<&'static str> {
    let folded = name.to_lowercase();
    let mut names = UNIT_NAMES.iter();
    names
        .find(|(name, _)| *name == folded)
        .map(|(_, symbol)| *symbol)
}

/// Returns what is amiss with a quantity that cannot be read, to follow its name, and what would be right.
pub(super) fn suggest(text: &str, measure: &'static Measure) -> Option<(String, String)> {
    let fits = |text: &str| {
        Quantity::parse(text, &measure.unit).is_ok_and(|read| measure.allows(read.value))
    };
    let number = |text: &str| text.trim().parse::<f64>().is_ok();
    if let Some((one, other)) = text.split_once('-')
        && number(one)
        && number(other)
    {
        let right =
            "both readings as they were shown: `before` and `after`, or `empty` and `filled`";
        return Some(("is a difference".to_owned(), right.to_owned()));
    }
    let word = text.split_whitespace().next().unwrap_or_default();
    let rest = &text[text.find(word).unwrap_or(0) + word.len()..];
    if let Some((letter, digits)) = digits_meant(word) {
        let whole = format!("{digits}{rest}");
        if fits(&whole) {
            return Some((format!("has the letter {letter} among its digits"), whole));
        }
    }
    let bare = text
        .trim_end_matches([';', ',', ':', '.', '?', '!'])
        .trim_end();
    if let Some(sign) = text[bare.len()..].trim_start().chars().next()
        && fits(bare)
    {
        return Some((format!("has a {sign} at its end"), bare.to_owned()));
    }
    let bare = text.trim_start_matches(['~', '≈', '=']).trim_start();
    if let Some(sign) = text[..text.len() - bare.len()].chars().next()
        && fits(bare)
    {
        let right = format!("{bare}, with its standard uncertainty after ±");
        return Some((format!("begins with {sign}"), right));
    }
    let (_, each) = times(text)?;
    fits(each).then(|| {
        (
            "is a single quantity, without a count".to_owned(),
            each.to_owned(),
        )
    })
}

/// Returns a number in which letters stand for digits like them: the first of these, and the number.
fn digits_meant(word: &str) -> Option<(char, String)> {
    let digit = |c: char| match c {
        'O' | 'o' => Some('0'),
        'l' | 'I' | '|' => Some('1'),
        'Z' => Some('2'),
        'S' => Some('5'),
        'B' => Some('8'),
        _ => None,
    };
    let letter = word.chars().find(|c| digit(*c).is_some())?;
    let of_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-');
    let is_number = word.chars().all(|c| of_number(c) || digit(c).is_some());
    let has_digit = word.contains(|c: char| c.is_ascii_digit());
    (is_number && has_digit).then(|| {
        (
            letter,
            word.chars().map(|c| digit(c).unwrap_or(c)).collect(),
        )
    })
}

/// Returns what is amiss with deliveries that are written otherwise than as a count and a volume, or as a list, to
/// follow their name, and what would be right.
pub(super) fn suggest_deliveries(
    text: &str,
    measure: &'static Measure,
) -> Option<(&'static str, String)> {
    let fits = |text: &str| {
        Quantity::parse(text, &measure.unit).is_ok_and(|read| measure.allows(read.value))
    };
    if times(text).is_some() {
        return None;
    }
    let signs = ['×', 'x', 'X', '*'];
    let is_count = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
    let turned = "has the volume before the number of deliveries";
    if let Some((each, count)) = text.rsplit_once(signs) {
        let (each, count) = (each.trim(), count.trim());
        if is_count(count) && fits(each) {
            return Some((turned, format!("{count} × {each}")));
        }
        if fits(count) && each.is_empty() {
            let lacks = "has no number of deliveries before the ×";
            return Some((lacks, format!("4 × {count} for four")));
        }
        if fits(count) && each.parse::<f64>().is_ok() {
            let broken = "does not begin with a whole number of deliveries";
            return Some((broken, format!("4 × {count} for four")));
        }
    }
    for word in [" times ", " of ", " at "] {
        if let Some((count, each)) = text.split_once(word)
            && is_count(count.trim())
            && fits(each.trim())
        {
            let right = format!("{} × {}", count.trim(), each.trim());
            return Some(("gives the number of deliveries in words", right));
        }
    }
    for sign in [" and ", "+", " & "] {
        let parts: Vec<&str> = text.split(sign).map(str::trim).collect();
        if parts.len() > 1 && parts.iter().all(|part| fits(part)) {
            let right = format!("a list: [{}]", parts.join(", "));
            return Some(("gives deliveries as a sum", right));
        }
    }
    None
}

/// `4 × 5.00 mL` into count and volume.
pub(super) fn times(text: &str) -> Option<(&str, &str)> {
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .filter(|end| *end > 0)?;
    let each = text[end..]
        .trim_start()
        .strip_prefix(['×', 'x', 'X', '*'])?;
    // `0x10` is a misspelt number, not no deliveries.
    (&text[..end] != "0").then_some((&text[..end], each.trim()))
}
