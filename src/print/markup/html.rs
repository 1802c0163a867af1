//! One HTML page that stands alone: for a phone, a browser, a screen reader.
//!
//! It is written so that it is well-formed XML as well (every element closed, every attribute quoted, no entity by name
//! but XML's own), so that any reader of either can take it.

use std::collections::BTreeMap;
use std::fmt::Display;

use super::escape::{grouped, id};
use super::mark::{DOCTYPE, marked};
use super::{Look, MarkupError, mathml, svg, table};
use crate::maths::groups::MOST;
use crate::print::manuscript::said::{
    ManuscriptError, Reference, heading_number, long_date, plain_text, reference_text, references,
};
use crate::print::manuscript::write_in::WriteIn;
use crate::print::manuscript::{
    Align, Block, Figure, Heading, Inline, ListMarks, Manuscript, Table,
};
use crate::print::page::{Colour, xml};
use crate::print::typeface::Typefaces;

/// How it looks: one column that fits a phone, and what is too wide moves in a box of its own.
const CSS: &str = include_str!("page.css");
/// Headings below this level are not in the contents.
const CONTENTS_LEVEL: u8 = 2;

/// Writes a manuscript as one page, without script and without anything from elsewhere; it says near its beginning what it
/// was `made_from`, a word of letters and digits, if that is not empty.
///
/// # Errors
/// A formula that cannot be read, a reference without a target or a plot that cannot be drawn; the first one found.
pub fn html(
    manuscript: &Manuscript,
    typefaces: &Typefaces,
    look: &Look,
    made_from: &str,
) -> Result<String, MarkupError> {
    with_form(manuscript, typefaces, look, made_from, &Form::default())
}

/// What makes a page with cells one to fill in.
#[derive(Debug, Clone, Copy, Default)]
pub struct Form<'a> {
    /// Looks, beside those of every page.
    pub css: &'a str,
    /// What stands above and below the text, HTML.
    pub above: &'a str,
    /// The same below it.
    pub below: &'a str,
    /// What the script reads, JSON.
    pub data: &'a str,
    /// The script.
    pub script: &'a str,
}

impl Form<'_> {
    /// Data and script, as they stand in a page that is XML as well.
    fn scripts(&self) -> String {
        if self.script.is_empty() {
            return String::new();
        }
        let mut data = String::with_capacity(self.data.len());
        for c in self.data.chars() {
            // In JSON, these stand in texts alone.
            match c {
                '<' | '>' | '&' => data.push_str(&format!("\\u{:04x}", u32::from(c))),
                c => data.push(c),
            }
        }
        format!(
            "<script type=\"application/json\" id=\"data..\">{data}</script>\n\
             <script>//<![CDATA[\n{}//]]></script>\n",
            self.script
        )
    }
}

/// Writes a manuscript as one page to fill in, with a script and without anything from elsewhere.
///
/// # Errors
/// As [`html`].
pub fn with_form(
    manuscript: &Manuscript,
    typefaces: &Typefaces,
    look: &Look,
    made_from: &str,
    form: &Form,
) -> Result<String, MarkupError> {
    let mut page = Page {
        typefaces,
        accent: look.accent,
        references: references(&manuscript.blocks),
        made_ids: 0,
        uncaptioned: 0,
        last_heading: String::new(),
        contents: String::new(),
        contents_at: None,
        body: String::new(),
    };
    page.blocks(&manuscript.blocks)?;
    let Page {
        contents,
        contents_at,
        mut body,
        ..
    } = page;
    let mut nav = format!("<nav aria-label=\"Contents\">\n<ul>\n{contents}</ul>\n</nav>\n");
    // What is answered stands before the contents, on a phone above all.
    if let Some(at) = contents_at {
        body.insert_str(at, &std::mem::take(&mut nav));
    }
    let whole = format!(
        "<html xmlns=\"http://www.w3.org/1999/xhtml\" lang=\"{}\">\n<head>\n<meta charset=\"utf-8\" />\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\" />\n\
         <meta name=\"generator\" content=\"Fillmark {}\" />\n{}<title>{}</title>\n\
         <style>\n{CSS}:root{{--accent:{};--tint:{}}}\n{}</style>\n</head>\n<body>\n{}\
         {nav}<main>\n{}{body}{}</main>\n\
         <footer><p>{}</p></footer>\n{}</body>\n</html>\n",
        xml(&manuscript.language),
        env!("CARGO_PKG_VERSION"),
        about(manuscript),
        xml(&manuscript.title),
        svg::ink(look.accent),
        svg::ink(look.tint),
        form.css,
        header(manuscript, look)?,
        form.above,
        form.below,
        xml(&manuscript.running_foot),
        form.scripts(),
    );
    Ok(marked(DOCTYPE, &whole, made_from, &[]))
}

/// Authors and subject as metadata.
fn about(manuscript: &Manuscript) -> String {
    let authors = manuscript.authors.iter().map(|author| ("author", author));
    let subject = Some(("description", &manuscript.subject)).filter(|(_, text)| !text.is_empty());
    let mut about = String::new();
    for (name, content) in authors.chain(subject) {
        about.push_str(&format!(
            "<meta name=\"{name}\" content=\"{}\" />\n",
            xml(content)
        ));
    }
    about
}

/// Head texts, logo, title, subject, authors and date.
fn header(manuscript: &Manuscript, look: &Look) -> Result<String, MarkupError> {
    let mut header = String::new();
    if look.head.iter().any(Option::is_some) {
        let [left, right] = look
            .head
            .each_ref()
            .map(|text| xml(text.as_deref().unwrap_or_default()));
        header.push_str(&format!(
            "<div class=\"head\"><span>{left}</span><span>{right}</span></div>\n"
        ));
    }
    header.push_str("<header>\n");
    if let Some(logo) = &look.logo {
        let address = svg::data_address(logo)?;
        header.push_str(&format!("<img src=\"{address}\" alt=\"\" />\n"));
    }
    if !manuscript.mark.is_empty() {
        header.push_str(&format!(
            "<p class=\"mark\">{}</p>\n",
            xml(&manuscript.mark)
        ));
    }
    header.push_str(&format!("<h1>{}</h1>\n", xml(&manuscript.title)));
    if !manuscript.subject.is_empty() {
        header.push_str(&format!("<p><em>{}</em></p>\n", xml(&manuscript.subject)));
    }
    let byline = [manuscript.authors.join(", "), long_date(manuscript.date)];
    let byline: Vec<String> = byline
        .iter()
        .filter(|part| !part.is_empty())
        .map(|part| xml(part))
        .collect();
    header.push_str(&format!("<p>{}</p>\n</header>\n", byline.join(" · ")));
    Ok(header)
}

/// Returns a cell as a field to type in, with room for what is wrong with what is typed.
fn field(cell: &WriteIn) -> String {
    let id = format!("in..{}", id(&cell.name));
    let mode = if cell.is_number() {
        " inputmode=\"decimal\""
    } else {
        ""
    };
    let part = |class: &str, text: &str| format!("<span class=\"{class}\">{}</span>", xml(text));
    let behind = |class: &str, before: &str, text: &str| match text {
        "" => String::new(),
        text => format!(" {}", part(class, &format!("{before}{text}"))),
    };
    format!(
        "<span class=\"cell\"><label for=\"{id}\">{}</label> <span class=\"line\"><input id=\"{id}\" \
         data-entry=\"{}\" type=\"text\" autocomplete=\"off\" spellcheck=\"false\"{mode} \
         aria-describedby=\"{id}..told\" />{}{}</span><span class=\"told\" id=\"{id}..told\" aria-live=\"polite\"></span></span>",
        xml(&cell.said),
        xml(&cell.name),
        behind("unit", "", &cell.unit),
        behind("expected", "≈\u{a0}", &cell.expected),
    )
}

struct Page<'a> {
    typefaces: &'a Typefaces,
    accent: Colour,
    /// What references to each label say.
    references: BTreeMap<String, Reference>,
    /// Ids made for what has no label.
    made_ids: usize,
    /// Tables without captions so far, and the heading that they stand below: nothing else tells them apart.
    uncaptioned: usize,
    last_heading: String,
    contents: String,
    /// Where in the body the contents stand, where they do.
    contents_at: Option<usize>,
    body: String,
}

impl Page<'_> {
    /// Returns the id of what bears a label, or one that no label has.
    fn id(&mut self, label: Option<&String>) -> String {
        label.map_or_else(
            || {
                self.made_ids += 1;
                format!("at..{}", self.made_ids)
            },
            |label| id(label),
        )
    }

    fn blocks(&mut self, blocks: &[Block]) -> Result<(), MarkupError> {
        for block in blocks {
            self.block(block)?;
        }
        Ok(())
    }

    fn block(&mut self, block: &Block) -> Result<(), MarkupError> {
        match block {
            Block::Heading(heading) => self.heading(heading)?,
            Block::Paragraph(text) => {
                let text = self.inlines(text)?;
                self.body.push_str(&format!("<p>{text}</p>\n"));
            }
            Block::Answer(text) => {
                let text = self.inlines(text)?;
                self.body
                    .push_str(&format!("<p class=\"answer\">{text}</p>\n"));
            }
            Block::List { marks, items } => {
                let (kind, letters) = match marks {
                    ListMarks::Points => ("ul", ""),
                    ListMarks::Numbers => ("ol", ""),
                    ListMarks::Letters => ("ol", " type=\"a\""),
                };
                self.body.push_str(&format!("<{kind}{letters}>\n"));
                for item in items {
                    let (label, item) = match item.split_first() {
                        Some((Block::Label(label), rest)) => (Some(label), rest),
                        _ => (None, item.as_slice()),
                    };
                    let named = label.map_or_else(String::new, |l| format!(" id=\"{}\"", id(l)));
                    self.body.push_str(&format!("<li{named}>"));
                    if let [Block::Paragraph(text)] = item {
                        let text = self.inlines(text)?;
                        self.body.push_str(&text);
                    } else {
                        self.blocks(item)?;
                    }
                    self.body.push_str("</li>\n");
                }
                self.body.push_str(&format!("</{kind}>\n"));
            }
            Block::Panel(blocks) => {
                self.body.push_str("<blockquote>\n");
                self.blocks(blocks)?;
                self.body.push_str("</blockquote>\n");
            }
            Block::Table(table) => self.table(table)?,
            Block::Figure(figure) => self.figure(figure)?,
            Block::Formula(formula) => {
                let set = mathml::displayed(formula);
                let label = formula.label.as_ref();
                let id = label.map_or_else(String::new, |label| format!(" id=\"{}\"", id(label)));
                let number = formula.number.map_or_else(String::new, |number| {
                    format!("<span class=\"equation\">({number})</span>")
                });
                // What moves is reached by keyboard, and has a name.
                let moves = if mathml::is_wide(formula) {
                    let name = formula.number.map_or_else(
                        || "Formula".to_owned(),
                        |number| format!("Formula ({number})"),
                    );
                    format!(" role=\"region\" tabindex=\"0\" aria-label=\"{name}\"")
                } else {
                    String::new()
                };
                self.body.push_str(&format!(
                    "<div class=\"formula\"{id}{moves}>{set}{number}</div>\n"
                ));
            }
            Block::Listing(text) => {
                let lines: Vec<String> = text
                    .lines()
                    .map(|line| format!("<span>{}</span>", xml(line)))
                    .collect();
                self.body.push_str(&format!(
                    "<pre role=\"region\" tabindex=\"0\" aria-label=\"{}\"><code>{}</code></pre>\n",
                    xml(&self.last_heading),
                    lines.join("\n")
                ));
            }
            // The page has its own list of contents, with more in it.
            Block::Contents => self.contents_at = Some(self.body.len()),
            // Only items of lists have labels of their own.
            Block::Label(_) => {}
            Block::NewPage => self.body.push_str("<div class=\"new-page\"></div>\n"),
        }
        Ok(())
    }

    fn heading(&mut self, heading: &Heading) -> Result<(), MarkupError> {
        let id = self.id(heading.label.as_ref());
        let text = self.inlines(&heading.text)?;
        let number = heading_number(heading).map_or_else(String::new, |number| {
            format!("<span class=\"number\">{}</span> ", xml(&number))
        });
        self.last_heading = plain_text(&heading.text);
        let level = (heading.level + 1).min(6);
        self.body.push_str(&format!(
            "<h{level} id=\"{id}\">{number}{text}</h{level}>\n"
        ));
        if heading.level <= CONTENTS_LEVEL {
            let part = if heading.level > 1 {
                " class=\"part\""
            } else {
                ""
            };
            self.contents.push_str(&format!(
                "<li{part}><a href=\"#{id}\">{number}{}</a></li>\n",
                xml(&plain_text(&heading.text))
            ));
        }
        Ok(())
    }

    /// Returns a caption behind its number, with an id of its own.
    fn caption(
        &mut self,
        what: &str,
        number: Option<impl Display>,
        text: &[Inline],
        id: &str,
    ) -> Result<String, MarkupError> {
        let Some(number) = number else {
            return Ok(String::new());
        };
        let text = self.inlines(text)?;
        Ok(format!(
            "<figcaption id=\"{id}..caption\"><strong>{what}\u{a0}{number}.</strong> {text}</figcaption>\n"
        ))
    }

    fn table(&mut self, table: &Table) -> Result<(), MarkupError> {
        let id = self.id(table.label.as_ref());
        let caption = self.caption("Table", table.number.as_ref(), &table.caption, &id)?;
        let named = if caption.is_empty() {
            self.uncaptioned += 1;
            let below = self.last_heading.as_str();
            let name = format!("Table {} without caption, {below}", self.uncaptioned);
            format!("aria-label=\"{}\"", xml(name.trim_end_matches(", ")))
        } else {
            format!("aria-labelledby=\"{id}..caption\"")
        };
        let class = |column: usize| match table.columns.get(column) {
            Some(Align::Decimal) => " class=\"decimal\"",
            Some(Align::Centre) => " class=\"centre\"",
            Some(Align::Left) | None => "",
        };
        let mut cells = String::new();
        for (column, cell) in table.head.iter().enumerate() {
            let text = self.head(cell)?;
            cells.push_str(&format!("<th scope=\"col\"{}>{text}</th>", class(column)));
        }
        let mut rows = String::new();
        let named_rows = table.names_its_rows();
        for (row, moved) in table.rows.iter().zip(table::moved(table)) {
            rows.push_str("<tr>");
            for ((column, cell), moved) in row.iter().enumerate().zip(moved) {
                let heads = named_rows && column == 0 && !cell.is_empty();
                let text = if heads {
                    self.head(cell)?
                } else {
                    self.grouped(cell, table::most_ungrouped(moved.grouped))?
                };
                let text = moved.set(text);
                rows.push_str(&if heads {
                    format!("<th scope=\"row\">{text}</th>")
                } else {
                    let bar = Table::bar(cell).map_or_else(String::new, |share| {
                        format!(" style=\"--share:{:.1}%\"", 100.0 * share)
                    });
                    format!("<td{}{bar}>{text}</td>", class(column))
                });
            }
            rows.push_str("</tr>\n");
        }
        self.body.push_str(&format!(
            "<figure id=\"{id}\">\n{caption}<div class=\"wide\" role=\"region\" tabindex=\"0\" {named}><table {named}>\n\
             <thead><tr>{cells}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table></div>\n</figure>\n"
        ));
        Ok(())
    }

    /// Returns a figure.
    fn figure(&mut self, figure: &Figure) -> Result<(), MarkupError> {
        let id = self.id(figure.label.as_ref());
        let shown = svg::svg(figure, &format!("{id}.."), self.accent, self.typefaces)?;
        let caption = self.caption("Figure", figure.number, &figure.caption, &id)?;
        let named = if caption.is_empty() {
            format!("aria-label=\"Plot, {}\"", xml(&self.last_heading))
        } else {
            format!("aria-labelledby=\"{id}..caption\"")
        };
        self.body.push_str(&format!(
            "<figure class=\"plot\" id=\"{id}\">\n<div class=\"wide\" role=\"region\" tabindex=\"0\" {named}>{shown}</div>{caption}</figure>\n"
        ));
        Ok(())
    }

    /// Returns the head of a row or column.
    fn head(&self, cell: &[Inline]) -> Result<String, MarkupError> {
        match cell {
            [Inline::Math(math)] => Ok(mathml::as_head(math)),
            cell => self.inlines(cell),
        }
    }

    fn inlines(&self, inlines: &[Inline]) -> Result<String, MarkupError> {
        self.grouped(inlines, MOST)
    }

    /// Returns inlines, with digits in groups in numbers that have more than `most` on a side of their point.
    fn grouped(&self, inlines: &[Inline], most: usize) -> Result<String, MarkupError> {
        let mut text = String::new();
        // A box to tick is for the text behind it, up to the first cell.
        let mut ticked = false;
        for inline in inlines {
            if ticked && matches!(inline, Inline::WriteIn(_) | Inline::Tick) {
                text.push_str("</label>");
                ticked = false;
            }
            match inline {
                Inline::Text(part) | Inline::Share { text: part, .. } => {
                    text.push_str(&grouped(part, most));
                }
                Inline::Emphasis(inside) => {
                    text.push_str(&format!("<em>{}</em>", self.grouped(inside, most)?));
                }
                Inline::Strong(inside) => {
                    text.push_str(&format!("<strong>{}</strong>", self.grouped(inside, most)?));
                }
                Inline::Struck(inside) => {
                    text.push_str(&format!("<s>{}</s>", self.grouped(inside, most)?));
                }
                Inline::Code(part) => text.push_str(&format!("<code>{}</code>", xml(part))),
                Inline::Math(math) => text.push_str(&mathml::in_line(math)),
                Inline::Reference(label) | Inline::Number(label) => {
                    let number_only = matches!(inline, Inline::Number(_));
                    let said = reference_text(&self.references, label, number_only)?;
                    text.push_str(&format!("<a href=\"#{}\">{}</a>", id(label), xml(&said)));
                }
                Inline::Linked {
                    label,
                    text: inside,
                } => {
                    if !self.references.contains_key(label) {
                        return Err(ManuscriptError::UnknownLabel(label.clone()).into());
                    }
                    let inside = self.grouped(inside, most)?;
                    text.push_str(&format!("<a href=\"#{}\">{inside}</a>", id(label)));
                }
                Inline::LineEnd => text.push_str("<br />"),
                Inline::Tick => {
                    text.push_str("<label class=\"tick\"><input type=\"checkbox\" /> ");
                    ticked = true;
                }
                Inline::WriteIn(cell) => text.push_str(&field(cell)),
            }
        }
        if ticked {
            text.push_str("</label>");
        }
        Ok(text)
    }
}
