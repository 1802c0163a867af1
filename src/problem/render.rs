//! Problems as text for people.

use super::{Problem, Severity, Sources, Span, shortened};
use std::fmt::Write as _;

/// How problems are written out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rendering {
    /// Whether to colour with ANSI sequences.
    pub colour: bool,
}

/// No more of a source line is shown than this many characters.
const WIDEST: usize = 100;
/// Where a line is cut, so many characters before the span are kept.
const BEFORE: usize = 40;

/// Returns one problem as text of several lines, with the lines it speaks of shown from `sources`.
///
/// ```text
/// Error: The vessel is lighter filled than empty.
///   where  bench.yaml:31:35, entry weighings.A.1.filled
///      31  |     A: [{empty: 31.204 g, filled: 24.510 g, volume: 10.00 mL}]
///          |                                   ^^^^^^^^
///   read   24.510 g
///   right  more than 31.204 g
///   code   filled-not-heavier
/// ```
pub fn render(problem: &Problem, sources: &Sources<'_>, rendering: Rendering) -> String {
    let paint = Paint {
        on: rendering.colour,
    };
    let (word, tone) = match problem.severity {
        Severity::Error => ("Error", Tone::Error),
        Severity::Warning => ("Warning", Tone::Warning),
    };
    let mut out = String::new();
    line(
        &mut out,
        format_args!(
            "{} {}",
            paint.with(tone, &format!("{word}:")),
            paint.with(Tone::Strong, &safe(&problem.headline))
        ),
    );
    let entry = safe(&problem.entry);
    match &problem.span {
        Some(span) if entry.is_empty() => line(&mut out, format_args!("  where  {}", spot(span))),
        Some(span) => line(
            &mut out,
            format_args!("  where  {}, entry {entry}", spot(span)),
        ),
        None if entry.is_empty() => {}
        None => line(&mut out, format_args!("  where  entry {entry}")),
    }
    if let Some(span) = &problem.span {
        show(&mut out, sources, span, paint, tone);
    }
    if let Some(read) = &problem.read {
        line(&mut out, format_args!("  read   {}", safe(read)));
    }
    if let Some(right) = &problem.right {
        line(&mut out, format_args!("  right  {}", safe(right)));
    }
    for (span, why) in &problem.also {
        line(
            &mut out,
            format_args!("  see    {}, {}", spot(span), safe(why)),
        );
        show(&mut out, sources, span, paint, Tone::Quiet);
    }
    line(
        &mut out,
        format_args!(
            "{}",
            paint.with(Tone::Quiet, &format!("  code   {}", problem.code))
        ),
    );
    out
}

fn line(out: &mut String, text: std::fmt::Arguments<'_>) {
    // Writing into a String does not fail.
    let _ = writeln!(out, "{text}");
}

fn spot(span: &Span) -> String {
    format!("{}:{}:{}", safe(&span.file), span.line, span.column)
}

/// The source line of a span, with the span marked below it.
fn show(out: &mut String, sources: &Sources<'_>, span: &Span, paint: Paint, tone: Tone) {
    let source = sources.text(&span.file).unwrap_or_default();
    let Some(text) = source.lines().nth(span.line.saturating_sub(1)) else {
        return;
    };
    let column = span.column.max(1) - 1;
    let skipped = if column > WIDEST - BEFORE / 2 {
        column - BEFORE
    } else {
        0
    };
    let mut rest = text.chars().skip(skipped);
    let mut shown: String = rest.by_ref().take(WIDEST).map(safe_char).collect();
    let here = column - skipped;
    let left = shown.chars().count().saturating_sub(here);
    let mark = "^".repeat(span.length.min(left).max(1));
    let lead = if skipped > 0 { "…" } else { "" };
    if rest.next().is_some() {
        shown.push('…');
    }
    let gap = " ".repeat(here + lead.chars().count());
    line(
        out,
        format_args!("  {:>5}  | {lead}{}", span.line, shown.trim_end()),
    );
    line(
        out,
        format_args!("         | {gap}{}", paint.with(tone, &mark)),
    );
}

/// Text on one line that cannot move a terminal's cursor, change its state or turn the order of what is read.
pub fn on_a_terminal(text: &str) -> String {
    safe(text)
}

fn safe(text: &str) -> String {
    text.chars().map(safe_char).collect()
}

fn safe_char(c: char) -> char {
    match c {
        '\t' | '\n' | '\r' => ' ',
        c if is_unseen(c) => '\u{fffd}',
        c => c,
    }
}

/// JSON as it may reach a terminal: the same values, with characters that are not seen written by their numbers.
pub fn json_on_a_terminal(json: &str) -> String {
    let mut safe = String::with_capacity(json.len());
    for c in json.chars() {
        // The layout of JSON has no character of these but line ends; all others are within its texts.
        if c != '\n' && is_unseen(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                safe.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            safe.push(c);
        }
    }
    safe
}

/// Returns whether a character is a control, ends a line, turns the order of the text around it, or is there without
/// being seen (general categories Cc, Zl, Zp and Cf of Unicode 16, without those of Cf that are signs of their own and
/// the two that join letters or keep them apart).
pub fn is_unseen(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{13430}'..='\u{1343f}'
            | '\u{1bca0}'..='\u{1bca3}' | '\u{1d173}'..='\u{1d17a}' | '\u{e0001}' | '\u{e0020}'..='\u{e007f}')
}

#[derive(Clone, Copy)]
enum Tone {
    Error,
    Warning,
    Strong,
    Quiet,
}

#[derive(Clone, Copy)]
struct Paint {
    on: bool,
}

impl Paint {
    fn with(self, tone: Tone, text: &str) -> String {
        if !self.on {
            return text.to_owned();
        }
        let sequence = match tone {
            Tone::Error => "1;31",
            Tone::Warning => "1;33",
            Tone::Strong => "1",
            Tone::Quiet => "2",
        };
        format!("\u{1b}[{sequence}m{text}\u{1b}[0m")
    }
}

/// Returns a word that asks for attention.
pub fn warned(word: &str, rendering: Rendering) -> String {
    let paint = Paint {
        on: rendering.colour,
    };
    paint.with(Tone::Warning, word)
}

/// Lists blank entries by section, one line each: line number, entry, and what belongs there.
///
/// ```text
/// Still blank in bath.yaml:
///     5  title: Title of the report.
///   apparatus
///    20  balance.readability: Step of the display. In g where no unit is written.
/// ```
pub fn render_blanks(blanks: &[&Problem], rendering: Rendering) -> String {
    let paint = Paint {
        on: rendering.colour,
    };
    let file = |blank: &Problem| blank.span.as_ref().map(|span| span.file.to_string());
    let mut out = String::new();
    let (mut in_file, mut in_section) = (None, "");
    for blank in blanks {
        let named = file(blank);
        if in_file != named {
            let name = named.as_deref().unwrap_or_default();
            let head = format!("Still blank in {}:", safe(name));
            line(
                &mut out,
                format_args!("{}", paint.with(Tone::Strong, &head)),
            );
            (in_file, in_section) = (named, "");
        }
        let (section, entry) = match blank.entry.split_once('.') {
            Some((section, entry)) => (section, entry),
            None => ("", blank.entry.as_str()),
        };
        if section != in_section && !section.is_empty() {
            line(&mut out, format_args!("  {}", safe(section)));
        }
        in_section = section;
        let key = entry.rsplit('.').next().unwrap_or_default();
        let right = blank.right.as_deref().unwrap_or_default();
        let about = right.strip_prefix(key).unwrap_or(right);
        let about = about.trim_start_matches([':', ' ']);
        let at = blank.span.as_ref().map_or(0, |span| span.line);
        let text = format!("{}: {}", safe(entry), safe(about));
        line(
            &mut out,
            format_args!("{at:>6}  {}", shortened(&text, WIDEST)),
        );
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Code;

    fn source(text: &str) -> Sources<'_> {
        Sources::new("bench.yaml", text)
    }

    fn problem(line: usize, column: usize, length: usize) -> Problem {
        let span = Span::new("bench.yaml", line, column, length);
        Code::FilledNotHeavier
            .error("The vessel is lighter filled than empty.")
            .at("weighings.A.1.filled", Some(span.clone()))
            .read("24.510 g")
            .right("more than 31.204 g")
            .also(
                Span {
                    column: 8,
                    length: 8,
                    ..span
                },
                "the vessel empty",
            )
    }

    #[test]
    fn all_parts_are_shown() {
        let text = render(
            &problem(2, 27, 8),
            &source("x\n{empty: 31.204 g, filled: 24.510 g}\n"),
            Rendering { colour: false },
        );
        let expected = "\
Error: The vessel is lighter filled than empty.
  where  bench.yaml:2:27, entry weighings.A.1.filled
      2  | {empty: 31.204 g, filled: 24.510 g}
         |                           ^^^^^^^^
  read   24.510 g
  right  more than 31.204 g
  see    bench.yaml:2:8, the vessel empty
      2  | {empty: 31.204 g, filled: 24.510 g}
         |        ^^^^^^^^
  code   filled-not-heavier
";
        assert_eq!(text, expected, "rendering");
    }

    #[test]
    fn long_lines_are_cut_around_the_place() {
        let long = format!("{}24.510 g{}", "a".repeat(10_000), "b".repeat(10_000));
        let text = render(
            &problem(1, 10_001, 8),
            &source(&long),
            Rendering { colour: false },
        );
        let shown = text.lines().nth(2).unwrap();
        let marked = text.lines().nth(3).unwrap();
        assert!(shown.chars().count() < 120, "cut: {shown}");
        let at = marked.chars().position(|c| c == '^').unwrap();
        assert_eq!(
            shown.chars().skip(at).take(8).collect::<String>(),
            "24.510 g",
            "the mark fits"
        );
    }

    #[test]
    fn no_control_reaches_the_terminal() {
        let text = render(
            &problem(1, 1, 1).read("\u{1b}[2J"),
            &source("\u{1b}[31m\u{202e}"),
            Rendering { colour: false },
        );
        assert!(!text.contains(['\u{1b}', '\u{202e}']), "escape passed on");
        for unseen in [
            '\u{7}',
            '\u{9b}',
            '\u{61c}',
            '\u{2028}',
            '\u{2029}',
            '\u{2069}',
            '\u{e0041}',
        ] {
            assert_eq!(on_a_terminal(&format!("a{unseen}b")), "a\u{fffd}b");
            let json = serde_json::to_string_pretty(&[unseen]).unwrap();
            let safe = json_on_a_terminal(&json);
            assert!(!safe.contains(unseen), "{safe}");
            let read: Vec<char> = serde_json::from_str(&safe).unwrap();
            assert_eq!(read, [unseen], "the same value");
        }
        assert_eq!(on_a_terminal("é\u{200d}漢\u{a0}"), "é\u{200d}漢\u{a0}");
        assert!(
            render(
                &problem(1, 1, 1),
                &Sources::none(),
                Rendering { colour: true }
            )
            .contains("\u{1b}[1;31mError:"),
            "colour"
        );
    }

    #[test]
    fn places_beyond_the_source_do_no_harm() {
        for (line, column, length) in [
            (0, 0, 0),
            (9, 9, 9),
            (1, 500, usize::MAX),
            (1, usize::MAX, 1),
        ] {
            let text = render(
                &problem(line, column, length),
                &source("one line"),
                Rendering { colour: false },
            );
            assert!(text.starts_with("Error:"), "{line}:{column}");
        }
    }

    #[test]
    fn lines_come_from_the_file_of_their_place() {
        let mut problem = problem(1, 1, 5);
        problem.also[0].0.file = "beside.csv".into();
        problem.also[0].0.line = 1;
        let sources = source("first").with("beside.csv", "\u{feff}other");
        let text = render(&problem, &sources, Rendering { colour: false });
        for shown in ["      1  | first", "      1  | other"] {
            assert!(text.contains(shown), "no `{shown}` in {text}");
        }
    }
}
