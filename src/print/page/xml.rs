//! Text as it must be written so that XML and HTML take nothing in it for markup.

/// Returns a character that XML 1.0 (section 2.2) and HTML can hold; others are replaced.
fn allowed(c: char) -> char {
    match c {
        '\t' | '\n' | ' '.. if !matches!(c, '\u{7f}'..='\u{9f}' | '\u{fffe}' | '\u{ffff}') => c,
        _ => '\u{fffd}',
    }
}

/// Text for HTML and XML, in elements and in double quotes.
pub fn xml(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars().map(allowed) {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            c => escaped.push(c),
        }
    }
    escaped
}
