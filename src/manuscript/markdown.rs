//! Markdown with maths into a manuscript.
