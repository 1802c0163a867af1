//! The texts of the files that spans are in.

use std::borrow::Cow;

/// Texts by the names their files are known by, for showing the line of a [`Span`](super::Span).
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sources<'t> {
    texts: Vec<(String, Cow<'t, str>)>,
}

impl<'t> Sources<'t> {
    /// Of no file: spans are named, but no line is shown.
    pub fn none() -> Self {
        Self::default()
    }

    /// Of one file.
    pub fn new(file: impl Into<String>, text: impl Into<Cow<'t, str>>) -> Self {
        Self::none().with(file, text)
    }

    /// Returns the same, with one more file.
    #[must_use]
    pub fn with(mut self, file: impl Into<String>, text: impl Into<Cow<'t, str>>) -> Self {
        self.texts.push((file.into(), text.into()));
        self
    }

    /// Returns the same, borrowing nothing.
    pub fn into_owned(self) -> Sources<'static> {
        let owned = |(file, text): (String, Cow<'t, str>)| (file, Cow::Owned(text.into_owned()));
        Sources {
            texts: self.texts.into_iter().map(owned).collect(),
        }
    }

    /// Returns the text of a file, without a byte order mark; nothing if it is not known.
    pub fn text(&self, file: &str) -> Option<&str> {
        let (_, text) = self.texts.iter().find(|(name, _)| name == file)?;
        Some(text.strip_prefix('\u{feff}').unwrap_or(text))
    }
}
