//! A copy of a run file without one of its sections.

use std::sync::Arc;

use super::tree::Content;
use super::words;
use crate::problem::{Code, Problem};

/// Returns the text of a run file with empty lines in place of its section `known`; lines keep their numbers.
///
/// # Errors
/// A problem, where the section stands on a line with other entries.
pub fn without_known(file: &str, bytes: &[u8]) -> Result<Vec<u8>, Problem> {
    without(file, bytes, words::KNOWN.name)
}

/// Returns the same without a section at a key of the run file.
///
/// # Errors
/// As [`without_known`].
pub(super) fn without(file: &str, bytes: &[u8], left_out: &str) -> Result<Vec<u8>, Problem> {
    let file: Arc<str> = file.into();
    // A file that cannot be read is reported by its next reader.
    let (Ok((root, _)), Ok(text)) = (super::root(&file, bytes), std::str::from_utf8(bytes)) else {
        return Ok(bytes.to_vec());
    };
    let Content::Map(pairs) = &root.content else {
        return Ok(bytes.to_vec());
    };
    let named = |(key, _): &(super::tree::Key, _)| key.text == left_out;
    let Some(at) = pairs.iter().position(named) else {
        return Ok(bytes.to_vec());
    };
    let begin = &pairs[at].0.span;
    let end = pairs.get(at + 1).map(|(key, _)| &key.span);
    let braces = text
        .trim_start_matches('\u{feff}')
        .trim_start()
        .starts_with('{');
    if braces || begin.column != 1 || end.is_some_and(|end| end.line == begin.line) {
        let headline = format!("The section {left_out} shares a line with other entries.");
        let problem = Code::SectionNotApart.error(headline);
        return Err(problem
            .at(left_out, Some(begin.clone()))
            .right("the section on lines of its own, so that it can be left out"));
    }
    let end = end.map_or(usize::MAX, |end| end.line);
    let lines = text.split_inclusive('\n').enumerate();
    let kept = lines.map(|(at, line)| {
        let within = (begin.line..end).contains(&(at + 1));
        let ending = line.len() - line.trim_end_matches(['\r', '\n']).len();
        if within {
            &line[line.len() - ending..]
        } else {
            line
        }
    });
    Ok(kept.collect::<String>().into_bytes())
}
