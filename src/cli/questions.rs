//! Questions at a terminal, one line each, with a usual answer for who only presses Enter.

use std::io::{self, BufRead, Read, Write};

/// The longest answer read, bytes.
const LONGEST: u64 = 1_000;

/// Where questions are asked and answers are read.
pub(super) struct Questions<R, W> {
    pub(super) answers: R,
    pub(super) questions: W,
}

impl<R: BufRead, W: Write> Questions<R, W> {
    /// Returns the answer to a question, which is asked again as long as `read` refuses the answer and says why.
    ///
    /// # Errors
    /// What the system says; `UnexpectedEof` where the answers end.
    pub(super) fn answer<T>(
        &mut self,
        question: &str,
        usual: &str,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> io::Result<T> {
        loop {
            let hint = if usual.is_empty() {
                "leave blank"
            } else {
                usual
            };
            write!(self.questions, "{question} [{hint}]: ")?;
            self.questions.flush()?;
            let mut line = String::new();
            if self.answers.by_ref().take(LONGEST).read_line(&mut line)? == 0 {
                return Err(io::ErrorKind::UnexpectedEof.into());
            }
            let given = line.trim();
            match read(if given.is_empty() { usual } else { given }) {
                Ok(answer) => return Ok(answer),
                Err(why) => writeln!(self.questions, "  {why}")?,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(text: &str) -> Result<u8, String> {
        text.parse().map_err(|_| format!("`{text}` is no number"))
    }

    #[test]
    fn a_blank_answer_is_the_usual_one_and_a_wrong_one_is_asked_again() {
        let mut said = Vec::new();
        let mut questions = Questions {
            answers: &b"\nmany\n 4 \n"[..],
            questions: &mut said,
        };
        assert_eq!(questions.answer("Dilutions", "3", count).ok(), Some(3));
        assert_eq!(questions.answer("Unknowns", "1", count).ok(), Some(4));
        let end = questions.answer("Weighings", "3", count);
        assert_eq!(
            end.map_err(|error| error.kind()),
            Err(io::ErrorKind::UnexpectedEof)
        );
        let said = String::from_utf8_lossy(&said);
        assert_eq!(
            said,
            "Dilutions [3]: Unknowns [1]:   `many` is no number\nUnknowns [1]: Weighings [3]: "
        );
    }
}
