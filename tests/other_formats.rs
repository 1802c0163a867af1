//! Other forms of a report: whole, the same in every number, without anything from elsewhere.

use crate::cli::{fillmark, folder, good, put};
use crate::common::{path, read, reduced, sample_runs};
use fillmark::cli::other_formats::Form;
use fillmark::pipeline::Run;
use fillmark::print::layout::Style;
use fillmark::print::manuscript::walk::{each_block, each_inline};
use fillmark::print::manuscript::{Block, Inline, Manuscript};
use fillmark::report::manuscript;
use fillmark::report::templates::Templates;
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use roxmltree::{Document, Node, ParsingOptions};
use std::collections::BTreeSet;

const BOTH: [Form; 2] = [Form::Markdown, Form::Html];

fn forms(run: &Run, text: &str) -> Vec<(String, String)> {
    let style = Style::default();
    let manuscript = run.manuscript_in(text.as_bytes(), &Templates::default(), &style);
    let manuscript = manuscript.expect("a manuscript");
    fillmark::cli::other_formats::forms(&manuscript, &style, "run".as_ref(), "", &BOTH)
        .expect("a report in all forms")
}

fn form<'a>(forms: &'a [(String, String)], name: &str) -> &'a str {
    let found = forms.iter().find(|(each, _)| each == name);
    &found.unwrap_or_else(|| panic!("no {name}")).1
}

/// The page is written to be XML as well, so that an XML reader, which forgives nothing, can judge it.
fn parsed(page: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(page, options).expect("well-formed")
}

/// Text of the page's main part, in formulas or out of them.
fn page_text(page: &Document, maths: bool) -> String {
    let main = page
        .descendants()
        .find(|node| node.tag_name().name() == "main")
        .expect("a main part");
    let texts = main.descendants().filter(|node| {
        let drawn = node.ancestors().any(|node| node.tag_name().name() == "svg");
        let in_maths = node
            .ancestors()
            .any(|node| node.tag_name().name() == "math");
        node.is_text() && !drawn && in_maths == maths
    });
    let is_group = |node: &Node| node.attribute("class") == Some("group");
    let mut all = String::new();
    for node in texts {
        all.push_str(node.text().unwrap_or_default());
        // Groups of digits are one number.
        let goes_on = node.parent().is_some_and(|parent| is_group(&parent))
            || node.next_sibling().is_some_and(|next| is_group(&next));
        if !maths && !goes_on {
            all.push(' ');
        }
    }
    all
}

fn options() -> Options {
    Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH | Options::ENABLE_MATH
}

/// Text of Markdown, in formulas or out of them.
fn markdown_text(markdown: &str, maths: bool) -> String {
    let mut text = String::new();
    for event in Parser::new_ext(markdown, options()) {
        match event {
            Event::Text(part) | Event::Code(part) if !maths => text.push_str(&part),
            Event::InlineMath(part) | Event::DisplayMath(part) if maths => text.push_str(&part),
            // Parts of one text arrive in pieces.
            Event::Start(_) | Event::End(_) | Event::SoftBreak | Event::HardBreak => text.push(' '),
            _ => {}
        }
    }
    text
}

/// Runs of digits with the points and signs within them.
fn numbers(text: &str) -> Vec<String> {
    let pieces = text.split(|c: char| !(c.is_ascii_digit() || c == '.'));
    let trimmed = pieces.map(|piece| piece.trim_matches('.').to_owned());
    trimmed.filter(|piece| !piece.is_empty()).collect()
}

#[derive(Default)]
struct Said {
    prose: String,
    maths: Vec<String>,
    formulas: usize,
}

impl Said {
    fn of(manuscript: &Manuscript) -> Self {
        let mut said = Self::default();
        each_block(&manuscript.blocks, &mut |block| {
            for text in block.texts() {
                said.inlines(text);
            }
            match block {
                Block::Formula(formula) => {
                    said.formulas += 1;
                    let sides = formula.rows.iter().flat_map(|(l, r)| [l, r]);
                    said.maths.extend(sides.map(|side| side.tex_unbroken()));
                }
                Block::Listing(text) => said.prose.push_str(text),
                _ => {}
            }
            said.prose.push(' ');
        });
        said
    }

    fn inlines(&mut self, inlines: &[Inline]) {
        each_inline(inlines, &mut |inline| match inline {
            Inline::Text(text) | Inline::Code(text) | Inline::Share { text, .. } => {
                self.prose.push_str(text);
            }
            Inline::Math(math) => {
                self.maths.push(math.tex_unbroken());
                self.prose.push(' ');
            }
            _ => self.prose.push(' '),
        });
        self.prose.push(' ');
    }
}

/// Every number of a text stands in another in the same order, whatever that has besides.
#[track_caller]
fn all_there(what: &str, wanted: &str, found: &str) {
    let found = numbers(found);
    let mut rest = found.iter();
    for number in numbers(wanted) {
        assert!(
            rest.any(|each| *each == number),
            "{what} lacks the number {number}, or has it elsewhere"
        );
    }
}

#[test]
fn every_number_of_the_manuscript_is_in_every_form() {
    for file in sample_runs() {
        let text = read(&file);
        let run = reduced(&text);
        let said = Said::of(&manuscript(&run.material(&text), &Templates::default()).unwrap());
        assert!(numbers(&said.prose).len() > 200 && said.formulas > 10);
        let forms = forms(&run, &text);
        let page = parsed(form(&forms, "html"));
        let markdown = form(&forms, "md");
        all_there("the page", &said.prose, &page_text(&page, false));
        all_there("the Markdown", &said.prose, &markdown_text(markdown, false));
        let (page_maths, markdown_maths) = (page_text(&page, true), markdown_text(markdown, true));
        for tex in &said.maths {
            // In Markdown its TeX, in the page what is seen of it.
            assert!(markdown_maths.contains(tex.trim()), "{tex}");
            for number in numbers(&tex.replace("{,}", "")) {
                assert!(page_maths.contains(&number), "{number} of {tex}");
            }
        }
        let tables = page
            .descendants()
            .filter(|n| n.tag_name().name() == "mtable");
        assert!(tables.count() >= said.formulas);
    }
}

#[test]
fn shares_have_bars_of_their_size() {
    for file in sample_runs() {
        let text = read(&file);
        let html = forms(&reduced(&text), &text);
        let page = parsed(form(&html, "html"));
        let mut bars = 0;
        for cell in page.descendants().filter(|n| n.tag_name().name() == "td") {
            let style = cell.attribute("style").unwrap_or_default();
            let Some(length) = style.strip_prefix("--share:") else {
                continue;
            };
            let texts = cell.descendants().filter(roxmltree::Node::is_text);
            let number: String = texts.filter_map(|node| node.text()).collect();
            let shown = number.trim().replace("< 0.1", "0.0");
            assert_eq!(length, format!("{shown}%"));
            bars += 1;
        }
        assert!(bars > 1, "{bars} in {}", file.display());
    }
}

#[test]
fn a_page_stands_alone_and_its_links_lead_somewhere() {
    for file in sample_runs() {
        let text = read(&file);
        let forms = forms(&reduced(&text), &text);
        let html = form(&forms, "html");
        let page = parsed(html);
        let mut ids = BTreeSet::new();
        for id in page.descendants().filter_map(|node| node.attribute("id")) {
            assert!(ids.insert(id), "{id} stands there twice");
        }
        let mut links = 0;
        for node in page.descendants() {
            let name = node.tag_name().name();
            let outside = [
                "script", "link", "iframe", "object", "embed", "base", "form",
            ];
            assert!(!outside.contains(&name), "{name}");
            for attribute in node.attributes() {
                let value = attribute.value();
                match attribute.name() {
                    "href" => {
                        let target = value.strip_prefix('#').expect("a link within the page");
                        assert!(ids.contains(target), "{value} leads nowhere");
                        links += 1;
                    }
                    "aria-labelledby" => {
                        assert!(value.split(' ').all(|id| ids.contains(id)), "{value}");
                    }
                    "src" => assert!(value.starts_with("data:"), "{value}"),
                    other => assert!(!other.starts_with("on"), "{other}"),
                }
            }
        }
        assert!(links > 30, "{links}");
        assert!(!html.contains("url(") && !html.contains("@import"));
        let count = |name: &str| {
            let all = page.descendants();
            all.filter(|node| node.tag_name().name() == name).count()
        };
        let titles = 1 + count("svg");
        assert_eq!((count("h1"), count("nav"), count("title")), (1, 1, titles));
        assert_eq!(count("svg"), count("desc"));
        for head in page.descendants().filter(|n| n.tag_name().name() == "th") {
            let group = head.ancestors().nth(2).expect("a part of a table");
            let scope = if group.tag_name().name() == "thead" {
                "col"
            } else {
                "row"
            };
            assert_eq!(head.attribute("scope"), Some(scope));
        }
        assert!(html.contains("<th scope=\"row\">"));
        // Every plot of the Markdown is there, and nothing else.
        let named: BTreeSet<String> = Parser::new_ext(form(&forms, "md"), options())
            .filter_map(|event| match event {
                Event::Start(pulldown_cmark::Tag::Image { dest_url, .. }) => {
                    Some(dest_url.to_string())
                }
                _ => None,
            })
            .collect();
        let plots = forms
            .iter()
            .filter(|(name, _)| name != "html" && name != "md");
        let plots: Vec<&(String, String)> = plots.collect();
        assert_eq!(
            named,
            plots
                .iter()
                .map(|(name, _)| format!("run.{name}"))
                .collect::<BTreeSet<_>>()
        );
        for (_, plot) in plots {
            assert!(
                parsed(plot)
                    .descendants()
                    .any(|n| n.tag_name().name() == "use")
            );
        }
    }
}

#[test]
fn letters_lead_to_observations_on_the_page() {
    let text = read(&path("sample_runs/creamery_brine_bath.yaml"));
    let text = text.replacen("rinsed: 3", "rinsed: 0", 1);
    let forms = forms(&reduced(&text), &text);
    let html = form(&forms, "html");
    assert!(html.contains("(<a href=\"#observation-1\">a</a>)"));
    assert!(html.contains("<li id=\"observation-1\">"));
    let markdown = form(&forms, "md");
    assert!(markdown.contains(" ([a](#9-observations)) ") && markdown.contains("\n- a. "));
    assert!(html.contains("<ol type=\"a\">") && !markdown.contains("observation-1"));
}

#[test]
fn references_in_markdown_lead_to_headings() {
    for file in sample_runs() {
        let text = read(&file);
        let forms = forms(&reduced(&text), &text);
        let (mut headings, mut links) = (Vec::new(), Vec::new());
        let mut title: Option<String> = None;
        for event in Parser::new_ext(form(&forms, "md"), options()) {
            match event {
                Event::Start(Tag::Heading { .. }) => title = Some(String::new()),
                Event::End(TagEnd::Heading(_)) => headings.extend(title.take()),
                Event::Start(Tag::Link { dest_url, .. }) => links.push(dest_url.to_string()),
                Event::Text(part) => {
                    if let Some(title) = &mut title {
                        title.push_str(&part);
                    }
                }
                _ => {}
            }
        }
        // As GitHub and GitLab name them.
        let name = |title: &String| -> String {
            let small = title.to_lowercase();
            let kept = small
                .chars()
                .filter(|c| c.is_alphanumeric() || " -_".contains(*c));
            kept.map(|c| if c == ' ' { '-' } else { c }).collect()
        };
        let names: BTreeSet<String> = headings.iter().map(name).collect();
        assert_eq!(names.len(), headings.len(), "headings are different");
        assert!(links.len() > 15, "{links:?}");
        for link in links {
            let target = link.strip_prefix('#').expect("a link within the text");
            assert!(names.contains(target), "{target} is none of {names:?}");
        }
    }
}

#[test]
fn what_a_run_file_says_is_text_and_never_markup() {
    let evil = r#"<script>alert("1")</script> & 'a' *b* [c](d) $e$ | `f` # ~~g~~"#;
    let quoted = serde_json::to_string(evil).unwrap();
    let text = read(&path("tests/runs/short.yaml"));
    let title = text.lines().find(|line| line.starts_with("title:"));
    let text = text.replace(
        title.expect("a title"),
        &format!("title: {quoted}\nnotes: [{quoted}]"),
    );
    let run = reduced(&text);
    let forms = forms(&run, &text);
    let html = form(&forms, "html");
    assert!(!html.contains("<script"));
    let page = parsed(html);
    let title = page.descendants().find(|n| n.tag_name().name() == "title");
    assert_eq!(title.and_then(|n| n.text()), Some(evil));
    assert!(
        page.descendants()
            .filter(|n| n.text() == Some(evil))
            .count()
            >= 3
    );
    let mut shown = String::new();
    for (at, event) in Parser::new_ext(form(&forms, "md"), options()).enumerate() {
        match event {
            Event::Text(part) | Event::Code(part) => shown.push_str(&part),
            Event::Html(part) => assert!(at < 3 && part.starts_with("<!-- Written"), "{part}"),
            Event::InlineHtml(part) => panic!("{part}"),
            _ => {}
        }
    }
    // Quotation marks are set as a printer does.
    let typed = shown.replace(['“', '”'], "\"").replace(['‘', '’'], "'");
    assert!(typed.matches(evil).count() >= 2, "{shown:.600}");
}

#[test]
fn the_same_run_gives_the_same_bytes() {
    let text = good();
    assert_eq!(forms(&reduced(&text), &text), forms(&reduced(&text), &text));
}

#[test]
fn forms_stand_beside_the_report_and_nothing_foreign_is_written_over() {
    let folder = folder("also");
    put(&folder, "run.yaml", &good());
    put(&folder, "run.md", "my own notes\n");
    let both = ["report", "run.yaml", "--also", "html", "--also", "markdown"];
    let refused = fillmark(&folder, &both);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("not made by Fillmark"));
    assert_eq!(read(&folder.join("run.md")), "my own notes\n");
    assert!(!folder.join("run.pdf").exists() && !folder.join("run.html").exists());
    std::fs::remove_file(folder.join("run.md")).unwrap();
    for _ in 0..2 {
        assert_eq!(fillmark(&folder, &both).status.code(), Some(0));
    }
    assert!(
        read(&folder.join("run.html")).starts_with("<!DOCTYPE html>\n<!-- Written by Fillmark ")
    );
    assert!(
        folder.join("run.calibration.svg").exists()
            || !read(&folder.join("run.md")).contains(".svg")
    );
    put(&folder, "run.md", "my own notes\n");
    let forced = [&both[..], &["--force"]].concat();
    assert_eq!(fillmark(&folder, &forced).status.code(), Some(0));
    assert!(read(&folder.join("run.md")).starts_with("<!-- Written by Fillmark "));
    let onto_itself = ["report", "run.yaml", "--pdf", "new.html", "--also", "html"];
    assert_eq!(fillmark(&folder, &onto_itself).status.code(), Some(2));
    assert!(!folder.join("new.html").exists());
}

/// A wiki that knows no formulas takes what stands in them for text like any other.
#[test]
fn names_are_no_links_and_no_code_where_formulas_are_unknown() {
    let text = read(&path("tests/runs/short.yaml"));
    let text = text.replace("  B:", "  \"[x](//y)\":");
    let text = text
        .replace("  A:", "  \"a`b\":")
        .replace("of: A", "of: \"a`b\"");
    let text = text.replace("bath 3:", "\"`[c]: //d\":");
    let forms = forms(&reduced(&text), &text);
    let simple = Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH;
    for event in Parser::new_ext(form(&forms, "md"), simple) {
        match event {
            Event::Start(Tag::Link { dest_url, .. }) => {
                assert!(dest_url.starts_with('#'), "a link to {dest_url}");
            }
            Event::Code(typed) => {
                assert!(!typed.contains(". ") && typed.len() < 40, "code: {typed}");
            }
            _ => {}
        }
    }
    let names = markdown_text(form(&forms, "md"), false);
    for name in ["[x](//y)", "a`b", "`[c]: //d"] {
        assert!(names.matches(name).count() > 3, "{name}");
    }
}
