//! Text as it must be written so that nothing in it is taken for markup.

use crate::maths::groups::gaps;
use crate::print::page::xml;

/// Returns a label as an id and as a fragment: letters, digits and hyphens stay; any other character is a point and its
/// number. No two labels share one, and none has two points side by side.
pub(super) fn id(label: &str) -> String {
    let mut id = String::with_capacity(label.len());
    for c in label.chars() {
        if c.is_ascii_alphanumeric() || c == '-' {
            id.push(c);
        } else {
            id.push_str(&format!(".{:x}_", u32::from(c)));
        }
    }
    id
}

/// Returns text for HTML, with a gap behind each group of digits but the last in numbers with more than `most` on a side
/// of their point. A gap is no character, so that a number is copied and found as it is typed.
pub(super) fn grouped(text: &str, most: usize) -> String {
    let mut written = String::new();
    let mut done = 0;
    for gap in gaps(text, most) {
        let digits = text[done..gap].bytes().rev();
        let digits = digits.take(3).take_while(u8::is_ascii_digit).count();
        let (before, group) = text[done..gap].split_at(gap - done - digits);
        written.push_str(&xml(before));
        written.push_str(&format!("<span class=\"group\">{group}</span>"));
        done = gap;
    }
    written.push_str(&xml(&text[done..]));
    written
}

/// Text for Markdown, anywhere in a line.
pub(super) fn markdown(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' | '\r' => escaped.push(' '),
            '\\' | '*' | '_' | '`' | '[' | ']' | '<' | '|' | '$' | '~' | '&' => {
                escaped.push('\\');
                escaped.push(c);
            }
            c => escaped.push(c),
        }
    }
    escaped
}

/// Returns a line of Markdown that begins a block, so that it is not taken for a heading, a list, a quotation or a
/// rule.
pub(super) fn line_start(line: &str) -> String {
    let digits = line.bytes().take_while(u8::is_ascii_digit).count();
    if digits > 0 && line[digits..].starts_with(['.', ')']) {
        return format!("{}\\{}", &line[..digits], &line[digits..]);
    }
    if line.starts_with(['#', '>', '+', '-', '=', ':']) {
        return format!("\\{line}");
    }
    line.to_owned()
}

#[cfg(test)]
mod tests {
    use super::{grouped, id, line_start, markdown};
    use crate::print::page::xml;

    #[test]
    fn groups_of_digits_are_apart_without_a_character() {
        assert_eq!(
            grouped("A2 is 0.000018134 g & more", 4),
            "A2 is 0.<span class=\"group\">000</span><span class=\"group\">018</span>134 g &amp; more"
        );
        assert_eq!(
            grouped("12345.6", 4),
            "<span class=\"group\">12</span>345.6"
        );
        assert_eq!(grouped("0.9979 < 1", 4), "0.9979 &lt; 1");
    }

    #[test]
    fn nothing_in_a_text_is_taken_for_markup() {
        assert_eq!(
            xml("<b a=\"1\" c='2'>&\u{1}"),
            "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;\u{fffd}"
        );
        assert_eq!(markdown("a*b|<i>$x$"), "a\\*b\\|\\<i>\\$x\\$");
        assert_eq!(line_start("1. one"), "1\\. one");
        assert_eq!(line_start("1.5 g"), "1\\.5 g");
        assert_eq!(line_start("- one"), "\\- one");
    }

    #[test]
    fn labels_stay_apart() {
        assert_eq!(id("tab-a"), "tab-a");
        assert_ne!(id("a b"), id("a_b"));
        assert!(!id("..").contains(".."));
    }
}
