//! What a report says to one who goes by its structure is what its manuscript says: every heading, paragraph, list, table,
//! caption, formula and line of a listing, whole and in this order, with divided words joined again and ligatures as
//! letters.

use fillmark::pipeline::{self, Run};
use fillmark::print::layout::Style;
use fillmark::print::manuscript::plot::{Axis, Plot, SeriesShape, Vertical};
use fillmark::print::manuscript::said::{
    Reference, contents, heading_number, long_date, plain_text, references,
};
use fillmark::print::manuscript::walk::each_block;
use fillmark::print::manuscript::{Block, Figure, Inline, Manuscript, Shown, Table};
use fillmark::print::page::SOFT_HYPHEN;
use fillmark::report::templates::{SHIPPED, Templates};
use std::collections::{BTreeMap, VecDeque};

use crate::common::{good_runs, reduced};
use crate::screen_reader::{Element, Part, Reading};

/// What is meant to be said, a line for each element, indented by its depth.
struct Meant<'m> {
    blocks: &'m [Block],
    /// How many pages there are, and on which each section begins, from 0.
    pages: usize,
    sections: Vec<usize>,
    references: BTreeMap<String, Reference>,
    lines: Vec<String>,
}

impl<'m> Meant<'m> {
    fn of(manuscript: &'m Manuscript, reading: &Reading) -> Vec<String> {
        let mut sections = Vec::new();
        sections_begin(&reading.root, &mut sections);
        let mut meant = Self {
            blocks: &manuscript.blocks,
            pages: reading.furniture.len(),
            sections,
            references: references(&manuscript.blocks),
            lines: vec!["Document".to_owned()],
        };
        let byline = [manuscript.authors.join(", "), long_date(manuscript.date)];
        let byline: Vec<String> = byline.into_iter().filter(|part| !part.is_empty()).collect();
        let byline = byline.join(" · ");
        let lines = [
            ("H1", &manuscript.title),
            ("P", &manuscript.subject),
            ("P", &byline),
        ];
        for (kind, text) in lines.into_iter().filter(|(_, text)| !text.is_empty()) {
            meant.say(1, kind, text);
        }
        meant.all(1, &manuscript.blocks);
        meant.lines
    }

    fn say(&mut self, depth: usize, kind: &str, text: &str) {
        self.lines.push(line(depth, kind, &squeezed(text)));
    }

    fn all(&mut self, depth: usize, blocks: &[Block]) {
        for block in blocks {
            self.block(depth, block);
        }
    }

    fn block(&mut self, depth: usize, block: &Block) {
        match block {
            Block::Heading(heading) => {
                let number = heading_number(heading).unwrap_or_default();
                let text = format!("{number} {}", self.text(&heading.text));
                self.say(depth, &format!("H{}", heading.level + 1), &text);
            }
            Block::Paragraph(text) | Block::Answer(text) => self.say(depth, "P", &self.text(text)),
            Block::List { marks, items } => {
                self.say(depth, "L", "");
                for (number, item) in (1..).zip(items) {
                    self.say(depth + 1, "LI", "");
                    self.say(depth + 2, "Lbl", &marks.mark(number));
                    self.say(depth + 2, "LBody", "");
                    self.all(depth + 3, item);
                }
            }
            Block::Panel(inside) => {
                self.say(depth, "Div", "");
                self.all(depth + 1, inside);
            }
            Block::Table(table) => self.table(depth, table),
            Block::Figure(figure) => {
                let alternative = match &figure.shows {
                    Shown::Plot(plot) => &plot.alternative,
                    Shown::Photo(photo) => &photo.alternative,
                };
                self.say(depth, "Figure", &format!("({alternative})"));
                if let Some(number) = figure.number {
                    let caption = self.text(&figure.caption);
                    self.say(depth + 1, "Caption", &format!("Figure {number}. {caption}"));
                }
            }
            Block::Formula(formula) => {
                self.say(depth, "Formula", &format!("({})", formula.words()));
                if let Some(number) = formula.number {
                    self.say(depth, "P", &format!("({number})"));
                }
            }
            Block::Listing(text) => {
                self.say(depth, "P", "");
                let lines = text.split('\n');
                self.lines
                    .extend(lines.map(|text| line(depth + 1, "Code", &spaced(text))));
            }
            Block::Contents => self.contents(depth),
            Block::Label(_) | Block::NewPage => {}
        }
    }

    /// A list of contents stands in a report of more than twelve pages.
    fn contents(&mut self, depth: usize) {
        if self.pages <= 12 {
            return;
        }
        self.say(depth, "P", "Contents");
        self.say(depth, "TOC", "");
        for (number, heading) in contents(self.blocks) {
            let page = self.sections[number - 1] + 1;
            let section = heading.number.as_ref().map_or("", |number| &number.text);
            let title = self.text(&heading.text);
            self.say(depth + 1, "TOCI", "");
            let entry = format!("{section} {title} {page}");
            self.say(depth + 2, "Reference", &format!("[{}]", entry.trim()));
        }
    }

    fn table(&mut self, depth: usize, table: &Table) {
        self.say(depth, "Table", "");
        if let Some(number) = &table.number {
            let caption = self.text(&table.caption);
            self.say(depth + 1, "Caption", &format!("Table {number}. {caption}"));
        }
        let head = std::iter::once(("TH", &table.head));
        for (kind, row) in head.chain(table.rows.iter().map(|row| ("TD", row))) {
            self.say(depth + 1, "TR", "");
            for (column, cell) in row.iter().enumerate() {
                let names = column == 0 && table.names_its_rows() && !cell.is_empty();
                let kind = if names { "TH" } else { kind };
                self.say(depth + 2, kind, &self.text(cell));
            }
        }
    }

    /// Inlines in the form of [`heard`].
    fn text(&self, inlines: &[Inline]) -> String {
        let one = |inline: &Inline| match inline {
            Inline::Text(text) | Inline::Code(text) | Inline::Share { text, .. } => text.clone(),
            Inline::Emphasis(inside) | Inline::Strong(inside) => self.text(inside),
            Inline::Struck(inside) => format!("~{}~", self.text(inside)),
            Inline::Linked { text, .. } => format!("[{}]", self.text(text)),
            Inline::Math(math) => format!("{{{}}}", math.words()),
            Inline::Reference(label) => format!("[{}]", self.references[label].text),
            Inline::Number(label) => format!("[{}]", self.references[label].alone),
            Inline::LineEnd => " ".to_owned(),
            Inline::Tick => "box to tick".to_owned(),
            Inline::WriteIn(cell) => cell.said.clone(),
        };
        inlines.iter().map(one).collect()
    }
}

/// The pages on which sections begin.
fn sections_begin(element: &Element, pages: &mut Vec<usize>) {
    if element.kind == "H2" {
        pages.extend(element.pieces().first().map(|(page, _)| *page));
    }
    for part in &element.parts {
        if let Part::Element(inner) = part {
            sections_begin(inner, pages);
        }
    }
}

/// What is said, in the form of [`Meant`]: links in brackets, what is said in place of formulas in braces, what is
/// struck through between tildes.
fn heard(depth: usize, element: &Element, lines: &mut Vec<String>) {
    let kind = element.kind.as_str();
    if let Some(said) = &element.alternative {
        lines.push(line(depth, kind, &squeezed(&format!("({said})"))));
        for part in &element.parts {
            if let Part::Element(caption) = part {
                heard(depth + 1, caption, lines);
            }
        }
        return;
    }
    let (mut text, mut inner) = (String::new(), Vec::new());
    for part in &element.parts {
        match part {
            Part::Text(said, _) => text += said,
            Part::Element(link) if link.kind == "Link" => text += &format!("[{}]", link.shown()),
            Part::Element(struck) if struck.kind == "Span" => {
                text += &format!("~{}~", struck.shown());
            }
            Part::Element(formula) if formula.kind == "Formula" && runs_on(kind) => {
                let said = formula.alternative.as_deref().unwrap_or_default();
                text += &format!("{{{said}}}");
            }
            Part::Element(other) => heard(depth + 1, other, &mut inner),
        }
    }
    // What is struck on two lines is struck on each.
    let text = text.replace(&*SOFT_HYPHEN, "").replace("~~", "");
    let text = if kind == "Code" {
        spaced(&text)
    } else {
        squeezed(&text)
    };
    lines.push(line(depth, kind, &text));
    lines.extend(inner);
}

/// Whether an element holds running text, in which a formula is part of a line.
fn runs_on(kind: &str) -> bool {
    let heading = kind
        .strip_prefix('H')
        .is_some_and(|level| level.parse::<u8>().is_ok());
    heading || ["P", "TH", "TD", "Caption"].contains(&kind)
}

fn line(depth: usize, kind: &str, text: &str) -> String {
    let line = format!("{}{kind} {text}", "  ".repeat(depth));
    line.trim_end().to_owned()
}

/// Spaces of all kinds are one to a reader, and many are one.
fn squeezed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Spaces of all kinds are one to a reader, and those at the end of a line none.
fn spaced(text: &str) -> String {
    let text: String = text
        .chars()
        .map(|c| if c.is_whitespace() { ' ' } else { c })
        .collect();
    text.trim_end().to_owned()
}

/// The parts of a document, each with the lines of what it holds.
fn parts(lines: &[String]) -> impl Iterator<Item = &[String]> {
    lines.chunk_by(|_, below| below.starts_with("    "))
}

/// What is meant, but figures and tables that text has passed as they are heard: further below, in their order, and
/// before the next section. Returns their number too.
fn passed(meant: &[String], heard: &[String]) -> (Vec<String>, usize) {
    let heard: Vec<&[String]> = parts(heard).collect();
    let (mut ordered, mut waiting, mut count) = (Vec::new(), VecDeque::new(), 0);
    for part in parts(meant) {
        let [kind, ..] = part else { continue };
        while waiting
            .front()
            .is_some_and(|figure| heard.get(ordered.len()) == Some(figure))
        {
            ordered.extend(waiting.pop_front());
        }
        let figure = ["  Figure", "  Table"]
            .iter()
            .any(|of| kind.starts_with(of));
        if figure && heard.get(ordered.len()) != Some(&part) {
            waiting.push_back(part);
            count += 1;
        } else {
            if kind.starts_with("  H2") {
                ordered.extend(waiting.drain(..));
            }
            ordered.push(part);
        }
    }
    ordered.extend(waiting);
    (ordered.concat(), count)
}

/// The first place at which two lists part, with what stands before it.
fn parting(meant: &[String], heard: &[String]) -> Option<String> {
    let longest = meant.len().max(heard.len());
    let at = (0..longest).find(|at| meant.get(*at) != heard.get(*at))?;
    let before = meant[at.saturating_sub(3)..at.min(meant.len())].join("\n");
    let end = "(nothing more)".to_owned();
    let [meant, heard] = [meant, heard].map(|lines| lines.get(at).unwrap_or(&end).clone());
    Some(format!(
        "after\n{before}\nis meant\n{meant}\nand said\n{heard}"
    ))
}

/// A report that was made, as it was meant and as it is read.
struct Made {
    what: String,
    manuscript: Manuscript,
    reading: Reading,
}

impl Made {
    #[track_caller]
    fn new(name: &str, run: &Run, text: &str, set: &str, style: &Style) -> Self {
        let what = format!("{name}, {set}");
        let templates = Templates::shipped(set).expect("the set");
        let manuscript = run.manuscript_in(text.as_bytes(), &templates, style);
        let manuscript = manuscript.unwrap_or_else(|p| panic!("{what}: {p:#?}"));
        let attachments = run.attachments(text.as_bytes(), "").expect("attachments");
        let pdf = pipeline::set(manuscript.clone(), attachments, style, "");
        let (pdf, warnings) = pdf.unwrap_or_else(|p| panic!("{what}: {p:#?}"));
        assert!(warnings.is_empty(), "{what}: {warnings:#?}");
        Self {
            what,
            manuscript,
            reading: crate::screen_reader::read(&pdf),
        }
    }
}

/// Every good run by every set of templates, those of the full report also in a house style; and one with photographs.
fn all() -> Vec<Made> {
    let mut all = Vec::new();
    for (name, text) in good_runs() {
        let run = reduced(&text);
        for set in SHIPPED {
            all.push(Made::new(&name, &run, &text, set.name, &Style::default()));
        }
        let house = crate::house_style::house();
        all.push(Made::new(&name, &run, &text, "report", &house));
    }
    let (text, beside) = crate::photos::good();
    let (run, problems, _) = pipeline::read_beside("run.yaml", text.as_bytes(), &beside);
    assert_eq!(problems, []);
    let run = run.expect("a run");
    all.push(Made::new(
        "photographs",
        &run,
        &text,
        "report",
        &Style::default(),
    ));
    all
}

#[test]
fn a_report_says_all_that_is_meant_in_its_order() {
    let (mut divided, mut late) = (0, 0);
    for made in all() {
        let what = &made.what;
        let meant = Meant::of(&made.manuscript, &made.reading);
        let mut said = Vec::new();
        heard(0, &made.reading.root, &mut said);
        let (meant, count) = passed(&meant, &said);
        late += count;
        if let Some(parting) = parting(&meant, &said) {
            panic!("{what}: {parting}");
        }
        assert!(said.len() > 20, "{what}: little is said: {said:#?}");
        // Who reads the pages without their structure meets all in the same order.
        let pieces = made.reading.root.pieces();
        let mut painted = pieces.clone();
        painted.sort_unstable();
        assert!(pieces == painted, "{what}: painted in another order");
        divided += made.reading.root.shown().matches(&*SOFT_HYPHEN).count();
        furniture(&made);
        plots(what, &made.manuscript.blocks, &made.reading.root);
    }
    assert!(divided > 20, "only {divided} words are divided");
    assert!(late > 20, "text passes only {late} figures");
}

#[test]
fn what_is_typed_with_ordinary_spaces_and_powers_is_found() {
    let text = crate::common::read(&crate::common::path("sample_runs/creamery_brine_bath.yaml"));
    let run = reduced(&text);
    let (name, stated) = &run.results.unknowns[0];
    let answer = stated.composition.mass_percent.as_ref().expect("an answer");
    let made = Made::new("sample", &run, &text, "report", &Style::default());
    let said = made.reading.root.shown();
    let wanted = format!("{name}: {} %", answer.shown.replace('\u{a0}', " "));
    assert!(
        said.contains(&wanted),
        "no {wanted:?} in {:?}",
        said.split("bath 3").nth(1)
    );
    let odd = |sign: &char| sign.is_whitespace() && !matches!(sign, ' ' | '\n');
    assert_eq!(said.chars().find(odd), None, "a space that nobody types");
    // Powers of ten, and none whose digits stand on the line.
    assert!(said.contains("× 10⁻"), "no power");
    assert!(!said.contains("10−"), "a power that reads as a difference");
}

/// Head and foot stand on every page, outside the structure.
fn furniture(made: &Made) {
    let pages = &made.reading.furniture;
    let house = crate::house_style::house().head;
    let mut begins = Vec::new();
    sections_begin(&made.reading.root, &mut begins);
    let sections = made
        .manuscript
        .blocks
        .iter()
        .filter_map(|block| match block {
            Block::Heading(heading) if heading.level == 1 => {
                let number = heading.number.as_ref().map_or("", |number| &number.text);
                Some(squeezed(&format!("{number} {}", plain_text(&heading.text))))
            }
            _ => None,
        });
    let titles: Vec<String> = sections.collect();
    for (at, furniture) in (1..).zip(pages) {
        let said = squeezed(furniture);
        let number = format!("page {at} of {}", pages.len());
        assert!(
            said.contains(&number),
            "{}: no {number} in {said}",
            made.what
        );
        let foot = squeezed(&made.manuscript.running_foot);
        assert!(said.contains(&foot), "{}: no {foot:?} in {said}", made.what);
        let own = house
            .iter()
            .flatten()
            .any(|text| said.contains(&squeezed(text)));
        // The section at the top of the page: the last one begun before, or the first that begins there.
        let top = begins.iter().rposition(|page| page + 1 < at);
        let there = begins.iter().position(|page| page + 1 == at);
        let section = |of: Option<usize>| of.is_some_and(|of| said.contains(&titles[of]));
        assert!(
            at == 1 || own || section(top) || section(there),
            "{}: {said}, not {top:?} or {there:?} of {titles:?}",
            made.what
        );
    }
}

/// What a plot's axes, rows, legend and bars are called can be read in the figure.
fn plots(what: &str, blocks: &[Block], root: &Element) {
    let mut meant: Vec<&Figure> = Vec::new();
    each_block(blocks, &mut |block| {
        if let Block::Figure(figure) = block {
            meant.push(figure);
        }
    });
    let mut shown = Vec::new();
    painted_figures(root, &mut shown);
    assert_eq!(meant.len(), shown.len(), "{what}: figures");
    for (figure, element) in meant.into_iter().zip(shown) {
        let Shown::Plot(plot) = &figure.shows else {
            continue;
        };
        let shown: String = element.shown().split_whitespace().collect();
        for words in words(plot) {
            assert!(named(&shown, words), "{what}: no {words:?} in {shown}");
        }
    }
}

/// Whether a figure has a name, or the beginning of a long one for which it has no room.
fn named(shown: &str, name: &str) -> bool {
    const LEAST: usize = 20;
    let wanted: String = name.split_whitespace().collect();
    let cut = |(at, _)| {
        let beginnings = wanted.char_indices().skip(LEAST);
        let mut beginnings = beginnings.map(|(end, _)| &wanted[..end]);
        beginnings.any(|beginning| shown[..at].ends_with(beginning))
    };
    shown.contains(&wanted) || shown.match_indices('…').any(cut)
}

fn painted_figures<'a>(element: &'a Element, found: &mut Vec<&'a Element>) {
    for part in &element.parts {
        match part {
            Part::Element(figure) if figure.kind == "Figure" => found.push(figure),
            Part::Element(inner) => painted_figures(inner, found),
            Part::Text(..) => {}
        }
    }
}

fn of_axis(axis: &Axis) -> [&str; 3] {
    [&axis.name, &axis.symbol, &axis.unit]
}

fn words(plot: &Plot) -> Vec<&str> {
    let mut words = of_axis(&plot.x).to_vec();
    match &plot.y {
        Vertical::Scale { axis, .. } => words.extend(of_axis(axis)),
        Vertical::Rows(rows) => words.extend(rows.iter().map(String::as_str)),
    }
    if let Some(below) = &plot.below {
        words.extend(of_axis(&below.y));
    }
    for series in &plot.series {
        words.push(&series.name);
        if let SeriesShape::Points(points) = &series.shape {
            words.extend(points.iter().map(|p| p.label.as_str()));
        }
    }
    words
}
