//! Slips inside braces after which the text is still YAML, but with other keys than were meant.

use super::at::child_name;
use super::commas;
use super::tree::{Content, Key, Node};
use super::vocabulary::{Form, KeyInfo, Section};
use crate::problem::{Code, Problem, Span, nearest};
use std::ops::Range;

/// A slip that made a key of what is none.
pub(super) struct Slip {
    pub(super) problem: Problem,
    /// The key that was meant.
    pub(super) key: &'static str,
    /// The pairs that are a part of what was written there.
    pub(super) strays: Range<usize>,
}

/// Returns the slip that made the key of a pair, if it was one of these.
pub(super) fn find(
    section_name: &str,
    pairs: &[(Key, Node)],
    index: usize,
    section: &'static Section,
) -> Option<Slip> {
    parted_by_comma(section_name, pairs, index, section)
        .or_else(|| unspaced(section_name, &pairs[index], index, section))
}

/// Inside braces a comma parts a number or a text: what follows looks like keys without values.
fn parted_by_comma(
    section_name: &str,
    pairs: &[(Key, Node)],
    index: usize,
    section: &'static Section,
) -> Option<Slip> {
    let (key, value) = &pairs[index.checked_sub(1)?];
    let known = section.key(&key.text)?;
    let Content::Scalar { text, .. } = &value.content else {
        return None;
    };
    if value.is_empty() {
        return None;
    }
    let mut whole = text.clone();
    let mut span = value.span.clone();
    let mut end = index;
    for (stray, nothing) in &pairs[index..] {
        let is_key = section.key(&stray.text).is_some();
        if is_key || !nothing.is_empty() || stray.span.line != span.line {
            break;
        }
        let gap = stray.span.column.checked_sub(span.column + span.length)?;
        whole.push_str(if gap > 1 { ", " } else { "," });
        whole.push_str(&stray.text);
        span.length = stray.span.column + stray.span.length - span.column;
        end += 1;
    }
    if end == index {
        return None;
    }
    let name = child_name(section_name, &key.text);
    let form = match known.form() {
        Form::Scaled([first, ..]) => Form::Measure(first),
        other => other,
    };
    let problem = match &form {
        Form::Measure(measure) | Form::Deliveries(measure)
            if text.ends_with(|c: char| c.is_ascii_digit())
                && pairs[index]
                    .0
                    .text
                    .starts_with(|c: char| c.is_ascii_digit()) =>
        {
            commas::refuse(&name, &whole, measure)
        }
        Form::Text | Form::Texts | Form::Account(_) | Form::TextOrSection(..) => {
            let headline = "ends at the comma; inside braces, a comma separates entries.";
            let right = format!("a text with a comma in quotes: {}: \"{whole}\"", key.text);
            Code::TextPartedByComma
                .error(format!("{name} {headline}"))
                .right(right)
        }
        _ => return None,
    };
    Some(Slip {
        problem: problem.at(name, Some(span)).read(whole),
        key: known.name(),
        strays: index..end,
    })
}

/// Returns a key with its value behind it where no blank follows the colon, or where the colon is missing.
fn unspaced(
    section_name: &str,
    (key, node): &(Key, Node),
    index: usize,
    section: &'static Section,
) -> Option<Slip> {
    let text = key.text.as_str();
    let end = text.find([':', '{', '['])?;
    let (before, after) = text.split_at(end);
    let sign = after.chars().next()?;
    let value = after[sign.len_utf8()..].trim();
    let known = section.key(before.trim()).map(KeyInfo::name);
    let meant = known.or_else(|| nearest(before.trim(), section.names()))?;
    let bracketed = matches!(sign, '{' | '[');
    if bracketed == node.is_empty() {
        return None;
    }
    let (what, right) = match sign {
        ':' => ("needs a space after the colon", format!("{meant}: {value}")),
        _ => ("needs a colon after it", format!("{meant}: {sign}\u{2026}")),
    };
    let name = child_name(section_name, meant);
    let problem = Code::KeyWithoutColon
        .error(format!("{name} {what}."))
        .at(name, Some(key.span.clone()))
        .read(text)
        .right(right);
    Some(Slip {
        problem,
        key: meant,
        strays: index..index + 1,
    })
}

/// Returns where the volumes of a list are parted by decimal commas, what they may mean. Commas of the list are
/// followed by a blank, those inside numbers are not; `[5,5]` without a blank anywhere is a list of fives.
pub(super) fn parted_in_list(items: &[&Node]) -> Option<(Span, String, String)> {
    let text = |node: &Node| match &node.content {
        Content::Scalar { text, plain: true } => Some(text.clone()),
        _ => None,
    };
    let first = items.first()?;
    let mut written = text(first)?;
    let mut meant = written.clone();
    let (mut parted, mut listed, mut zeros) = (false, false, false);
    for pair in items.windows(2) {
        let (before, after) = (&pair[0].span, &pair[1].span);
        let (left, right) = (text(pair[0])?, text(pair[1])?);
        let touches =
            before.line == after.line && before.column + before.length + 1 == after.column;
        written.push_str(if touches { "," } else { ", " });
        written.push_str(&right);
        if touches {
            let halves = left.chars().all(|c| c.is_ascii_digit())
                && right.starts_with(|c: char| c.is_ascii_digit())
                && !right.contains('.');
            // A number of three halves is none.
            if !halves {
                return None;
            }
            zeros |= right.starts_with('0');
            parted = true;
            meant.push('.');
        } else {
            listed = true;
            meant.push_str(", ");
        }
        meant.push_str(&right);
    }
    // Without blanks, and with decimals that no volume begins with, every second comma is a decimal one.
    if parted && !listed && zeros && items.len().is_multiple_of(2) {
        let texts: Vec<String> = items.iter().filter_map(|node| text(node)).collect();
        let numbers: Vec<String> = texts.chunks(2).map(|halves| halves.join(".")).collect();
        return Some((across(items)?, written, numbers.join(", ")));
    }
    (parted && listed).then_some((across(items)?, written, meant))
}

/// Returns the span from the first of some values to the last, or of the first alone where they stand on several
/// lines.
fn across(items: &[&Node]) -> Option<Span> {
    let (first, last) = (&items.first()?.span, &items.last()?.span);
    let mut span = first.clone();
    if first.line == last.line {
        span.length = (last.column + last.length).checked_sub(first.column)?;
    }
    Some(span)
}
