//! Files as editors on Windows save them, with CR LF and a byte order mark, make the same report; what is attached is the
//! file as it was saved.

use crate::cli::{ended, fillmark, folder, put};
use crate::common::{files, path, read, reduced, sample_runs};
use fillmark::print::layout::{self, Style};
use fillmark::print::pdf;
use fillmark::print::typeface::Typefaces;
use fillmark::report::templates::Templates;
use std::path::Path;

/// A text in each way in which it may be saved, with LF alone first.
fn ways(text: &str) -> [String; 4] {
    let windows = text.replace('\n', "\r\n");
    assert!(windows != text && !text.contains('\r'), "LF alone");
    let mark = |text: &str| format!("\u{feff}{text}");
    [text.to_owned(), windows.clone(), mark(text), mark(&windows)]
}

#[test]
fn pages_do_not_depend_on_how_a_run_file_is_saved() {
    let faces = Typefaces::load();
    for file in sample_runs() {
        let pages = ways(&read(&file)).map(|text| {
            let run = reduced(&text);
            let made = fillmark::report::manuscript(&run.material(&text), &Templates::default());
            let laid = layout::set(made.expect("a manuscript"), &faces, &Style::default());
            pdf::write(laid.expect("it can be set").document, &faces).expect("a PDF file")
        });
        for (way, made) in pages.iter().enumerate().skip(1) {
            assert!(*made == pages[0], "{}, way {way}", file.display());
        }
    }
}

/// A page without the comment that says what it was made from.
fn page(folder: &Path, name: &str) -> String {
    let page = read(&folder.join(name));
    let (before, rest) = page.split_once("<!--").expect("a comment");
    let (comment, after) = rest.split_once("-->").expect("its end");
    assert!(comment.contains("Fillmark"), "{comment}");
    format!("{before}{after}")
}

#[test]
fn what_is_attached_is_the_file_as_it_was_saved() {
    let folder = folder("line_ends");
    let ways = ways(&read(&path("tests/runs/short.yaml")));
    for (way, text) in ways.iter().enumerate() {
        let within = folder.join(way.to_string());
        std::fs::create_dir(&within).expect("a folder");
        put(&within, "bath.yaml", text);
        ended(
            &fillmark(&within, &["report", "bath.yaml", "--also", "html"]),
            0,
        );
        ended(
            &fillmark(&within, &["extract", "bath.pdf", "--into", "again"]),
            0,
        );
        assert_eq!(&read(&within.join("again/bath.yaml")), text);
        assert_eq!(
            page(&within, "bath.html"),
            page(&folder.join("0"), "bath.html"),
            "way {way}"
        );
    }
}

#[test]
fn templates_style_and_plan_may_be_saved_so_too() {
    let folder = folder("line_ends-others");
    put(&folder, "bath.yaml", &read(&path("tests/runs/short.yaml")));
    let plan = ways(&read(&path("sample_runs/plans/teaching_bench.yaml")));
    let style = ways("paper: Letter\nhead:\n  left: Fellside creamery\n");
    let mut made = Vec::new();
    for (way, (plan, style)) in plan.iter().zip(&style).enumerate() {
        put(&folder, "plan.yaml", plan);
        put(&folder, "style.yaml", style);
        let templates = folder.join("templates");
        std::fs::create_dir_all(&templates).expect("a folder");
        for file in files("templates", "md") {
            let top = file.parent().is_some_and(|of| of.ends_with("templates"));
            if top && !file.ends_with("VALUES.md") {
                let name = file.file_name().expect("a name").to_string_lossy();
                put(&templates, &name, &ways(&read(&file))[way]);
            }
        }
        let (proposal, _) = ended(&fillmark(&folder, &["plan", "plan.yaml"]), 0);
        let mut arguments = vec!["report", "bath.yaml", "--also", "html", "--force"];
        arguments.extend(["--style", "style.yaml", "--template", "templates"]);
        ended(&fillmark(&folder, &arguments), 0);
        made.push((proposal, page(&folder, "bath.html")));
    }
    for (way, one) in made.iter().enumerate() {
        assert!(*one == made[0], "way {way}");
    }
}
