//! Walks through a manuscript: every block, and every piece of a line.

use super::{Block, Inline};

/// Calls `with` for every block in reading order; lists and panels come before what stands in them.
pub fn each_block<'m>(blocks: &'m [Block], with: &mut impl FnMut(&'m Block)) {
    for block in blocks {
        with(block);
        match block {
            Block::List { items, .. } => items.iter().for_each(|item| each_block(item, with)),
            Block::Panel(inside) => each_block(inside, with),
            _ => {}
        }
    }
}

/// Calls `with` for every piece of some lines in reading order; emphasis and links come before what stands in them.
pub fn each_inline<'m>(inlines: &'m [Inline], with: &mut impl FnMut(&'m Inline)) {
    for inline in inlines {
        with(inline);
        match inline {
            Inline::Emphasis(inside)
            | Inline::Strong(inside)
            | Inline::Struck(inside)
            | Inline::Linked { text: inside, .. } => each_inline(inside, with),
            _ => {}
        }
    }
}

impl Block {
    /// Returns the texts of a block in reading order: captions, and cells of tables row by row; none of the blocks that
    /// stand in it, and nothing of formulas, listings and what plots show.
    pub fn texts(&self) -> Vec<&[Inline]> {
        match self {
            Self::Heading(heading) => vec![&heading.text],
            Self::Paragraph(text) | Self::Answer(text) => vec![text],
            Self::Table(table) => {
                let cells = table.head.iter().chain(table.rows.iter().flatten());
                let caption = std::iter::once(&table.caption);
                caption.chain(cells).map(Vec::as_slice).collect()
            }
            Self::Figure(figure) => vec![&figure.caption],
            Self::List { .. }
            | Self::Panel(_)
            | Self::Formula(_)
            | Self::Listing(_)
            | Self::Contents
            | Self::Label(_)
            | Self::NewPage => Vec::new(),
        }
    }
}
