//! The comment at the top of every file of these forms, by which the file is known to be ours and whole.

use std::fmt::Write as _;

use md5::{Digest, Md5};

/// The first line of a page, before the comment.
pub(super) const DOCTYPE: &str = "<!DOCTYPE html>\n";
/// Begins the comment.
const MARK: &str = "<!-- Written by Fillmark ";
/// Before what the file was made from, the digest of what follows the comment, and the plots that stand beside it.
const FROM: &str = " from ";
const AS: &str = " as ";
const PLOTS: &str = " with ";
/// Ends it.
const END: &str = " -->\n";

/// The comment is looked for in so many bytes, after the document type that a page begins with.
const LONGEST: usize = 100_000;

/// What a whole file written here says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// What it was made from, as it was handed in.
    pub made_from: String,
    /// Files of plots that stand beside it: what their names have after its own stem.
    pub plots: Vec<String>,
}

/// Returns a file with its comment: `head` stands before it, `body` after it. Without `made_from`, a word of letters
/// and digits, the comment says only who wrote it.
pub(super) fn marked(head: &str, body: &str, made_from: &str, plots: &[String]) -> String {
    let version = env!("CARGO_PKG_VERSION");
    if made_from.is_empty() {
        return format!("{head}{MARK}{version}{END}{body}");
    }
    let digest = digest(body.as_bytes());
    let mut with = String::new();
    if !plots.is_empty() {
        with = format!("{PLOTS}{}", plots.join(" "));
    }
    format!("{head}{MARK}{version}{FROM}{made_from}{AS}{digest}{with}{END}{body}")
}

fn digest(bytes: &[u8]) -> String {
    let mut digits = String::new();
    for byte in Md5::digest(bytes) {
        let _ = write!(digits, "{byte:02x}");
    }
    digits
}

fn after_head(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(DOCTYPE.as_bytes()).unwrap_or(bytes)
}

/// Returns whether a file's beginning is that of a file written here.
pub fn is_ours(bytes: &[u8]) -> bool {
    after_head(bytes).starts_with(MARK.as_bytes())
}

/// Returns what a file says of itself, if it is one written here, whole and as it was written.
pub fn written(bytes: &[u8]) -> Option<Written> {
    let comment = after_head(bytes).strip_prefix(MARK.as_bytes())?;
    let mut places = comment[..comment.len().min(LONGEST)].windows(END.len());
    let end = places.position(|part| part == END.as_bytes())?;
    let body = &comment[end + END.len()..];
    let said = std::str::from_utf8(&comment[..end]).ok()?;
    let (_, said) = said.split_once(FROM)?;
    let (made_from, said) = said.split_once(AS)?;
    let (digested, plots) = said.split_once(PLOTS).unwrap_or((said, ""));
    (digested == digest(body)).then(|| Written {
        made_from: made_from.to_owned(),
        plots: plots.split_whitespace().map(str::to_owned).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_says_what_it_was_made_from_while_it_is_whole() {
        let plots = ["calibration.svg".to_owned(), "a--b.svg".to_owned()];
        for head in ["", DOCTYPE] {
            let text = marked(head, "<html>as -->\n</html>\n", "a1b2", &plots);
            let said = written(text.as_bytes()).unwrap();
            assert_eq!(
                (said.made_from.as_str(), said.plots.as_slice()),
                ("a1b2", &plots[..])
            );
            for cut in 0..text.len() {
                assert_eq!(written(&text.as_bytes()[..cut]), None, "cut at {cut}");
            }
            assert_eq!(written(text.replace("html>a", "html>b").as_bytes()), None);
            assert!(is_ours(text.as_bytes()));
        }
        assert!(is_ours(marked("", "x", "", &[]).as_bytes()));
        assert!(!is_ours(b"a note"));
    }
}
