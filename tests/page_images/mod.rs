//! Every page of the samples looks as it was last accepted: each is painted and compared with the picture of it that is
//! stored in `tests/pages`, so that whoever changes the layout sees what else has changed.
//!
//! New pages are accepted, all at once, by `PAGES_UPDATE=always cargo test --locked --test all page_images`; but no page
//! except the last may end in its upper two thirds.

mod comparer;
mod doctored;
mod picture;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use fillmark::pipeline;
use fillmark::print::layout::Style;
use fillmark::report::templates::Templates;
use image::RgbImage;

use self::comparer::{difference, side_by_side};
use self::picture::{kept, painted, png};
use crate::common::{path, read, reduced, sample_runs};

const ACCEPTED: &str = "tests/pages";

/// What is made of a sample whose pages are held.
struct Held {
    /// The folder of its pages.
    name: String,
    make: Box<dyn Fn() -> Vec<u8> + Send>,
}

impl Held {
    fn new(name: impl Into<String>, make: impl Fn() -> Vec<u8> + Send + 'static) -> Self {
        Self {
            name: name.into(),
            make: Box::new(make),
        }
    }
}

#[track_caller]
fn made(text: &str, set: &str, style: &Style) -> Vec<u8> {
    let templates = Templates::shipped(set).expect("the set");
    let made = reduced(text).report_in(text.as_bytes(), &templates, style, "");
    made.unwrap_or_else(|problems| panic!("{problems:#?}")).0
}

/// The full report of every sample; of the shortest the other sets too; a summary on other paper with a logo; and
/// photographs, one turned and one that is small; a bench sheet, and the comparison of a class.
fn held() -> Vec<Held> {
    let mut all = Vec::new();
    for file in sample_runs() {
        let name = file.file_stem().expect("a name").to_string_lossy();
        let text = read(&file);
        all.push(Held::new(format!("{name}-report"), move || {
            made(&text, "report", &Style::default())
        }));
    }
    for set in ["summary", "worksheet"] {
        let sample = "potassium_chloride_by_mass";
        all.push(Held::new(format!("{sample}-{set}"), move || {
            let text = read(&path(&format!("sample_runs/{sample}.yaml")));
            made(&text, set, &Style::default())
        }));
    }
    all.push(Held::new("house_style-summary", || {
        let text = read(&path("sample_runs/creamery_brine_bath.yaml"));
        made(&text, "summary", &crate::house_style::house())
    }));
    all.push(Held::new("class-comparison", crate::comparing::printed));
    all.push(Held::new("bench_sheet", || {
        crate::sheet::printed(&read(&path("tests/browser/blank.yaml")))
    }));
    all.push(Held::new("photographs", || {
        let (text, beside) = crate::photos::good();
        let (run, problems, _) = pipeline::read_beside("run.yaml", text.as_bytes(), &beside);
        assert_eq!(problems, []);
        let only = ("report.md", "{% include \"photographs.md\" %}\n");
        let templates = Templates::with("own", [(only.0.to_owned(), only.1.to_owned())]);
        let run = run.expect("a run");
        let made = run.report(text.as_bytes(), &templates);
        made.unwrap_or_else(|problems| panic!("{problems:#?}")).0
    }));
    all
}

/// Whether new pages are to be stored in place of the old ones.
fn accepting() -> bool {
    std::env::var("PAGES_UPDATE").is_ok_and(|how| how == "always")
}

/// Where new pages that are not as the stored ones are put to be looked at.
fn evidence() -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join("pages")
}

fn write(file: &Path, bytes: &[u8]) {
    let folder = file.parent().expect("a folder");
    fs::create_dir_all(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    fs::write(file, bytes).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
}

/// What of a document's pages is not as stored in `stored`, each in a sentence; what shows it is put into `shown`.
fn unlike(stored: &Path, pages: &[RgbImage], shown: &Path) -> Vec<String> {
    let file = |number: usize, ending: &str| format!("{number:02}{ending}.png");
    let mut told = Vec::new();
    for (page, number) in pages.iter().zip(1..) {
        let old = picture::read(&stored.join(file(number, "")));
        let how = match &old {
            None => "is not stored".to_owned(),
            Some(old) => match difference(old, page) {
                None => continue,
                Some(difference) => difference.to_string(),
            },
        };
        told.push(format!("page {number} {how}"));
        write(&shown.join(file(number, "-new")), &png(&kept(page)));
        if let Some(old) = old {
            let panels = side_by_side(&old, page);
            write(&shown.join(file(number, "-difference")), &png(&panels));
        }
    }
    let surplus = |at: &usize| stored.join(file(*at, "")).exists();
    let surplus = (pages.len() + 1..=99).filter(surplus);
    told.extend(surplus.map(|number| {
        let last = pages.len();
        format!("page {number} is stored, but the last one is page {last}")
    }));
    told
}

/// The pages but the last that are not two thirds full.
fn voids(pages: &[RgbImage]) -> impl Iterator<Item = String> + '_ {
    let style = Style::default();
    let (top, bottom) = (style.top_margin, style.page.1 - style.bottom_margin);
    let row = |points: f32| (points * picture::DOTS as f32 / 72.0) as u32;
    let area = row(top + 2.0 / 3.0 * (bottom - top))..row(bottom);
    let is_void = move |page: &RgbImage| {
        let mut pixels = page.enumerate_pixels();
        pixels.all(|(_, y, pixel)| !area.contains(&y) || pixel.0 == [255; 3])
    };
    let but_last = pages.iter().zip(1..pages.len());
    let voids = but_last.filter(move |(page, _)| is_void(page));
    voids.map(|(_, number)| format!("page {number} is left with a void"))
}

/// Stores the pages that are unlike the stored ones, and takes away those that are no more.
fn accept(stored: &Path, pages: &[RgbImage]) {
    for number in 1..=99 {
        let file = stored.join(format!("{number:02}.png"));
        match pages.get(number - 1) {
            None if file.exists() => fs::remove_file(&file).expect("a file to be taken away"),
            None => {}
            Some(page) => {
                let old = picture::read(&file);
                if old.is_none_or(|old| difference(&old, page).is_some()) {
                    write(&file, &png(&kept(page)));
                }
            }
        }
    }
}

/// Folders of stored pages that belong to no document.
fn strangers(accepted: &Path, names: &BTreeSet<String>) -> Vec<PathBuf> {
    let entries = fs::read_dir(accepted).into_iter().flatten();
    let mut all: Vec<PathBuf> = entries
        .map(|entry| entry.expect("a folder can be listed").path())
        .filter(|entry| !names.contains(&*entry.file_name().unwrap_or_default().to_string_lossy()))
        .collect();
    all.sort();
    all
}

#[test]
fn every_page_looks_as_it_was_accepted() {
    let (accepted, shown) = (path(ACCEPTED), evidence());
    let _ = fs::remove_dir_all(&shown);
    let waiting = held();
    let names: BTreeSet<String> = waiting.iter().map(|held| held.name.clone()).collect();
    assert_eq!(names.len(), waiting.len(), "two documents of one name");
    let (waiting, told) = (Mutex::new(waiting.into_iter()), Mutex::new(Vec::new()));
    let next = || waiting.lock().expect("documents").next();
    let work = || {
        while let Some(held) = next() {
            let (stored, shown) = (accepted.join(&held.name), shown.join(&held.name));
            let pdf = (held.make)();
            // As much as a mail or a form takes without a thought; photographs have their own size.
            let room = if held.name == "photographs" {
                usize::MAX
            } else {
                200_000
            };
            assert!(pdf.len() < room, "{}: {} bytes", held.name, pdf.len());
            let pages = painted(&pdf);
            assert!(!pages.is_empty(), "{}: no page", held.name);
            if accepting() {
                accept(&stored, &pages);
            }
            let mut unlike = unlike(&stored, &pages, &shown);
            // A tall photograph may leave one.
            if held.name != "photographs" {
                unlike.extend(voids(&pages));
            }
            if !unlike.is_empty() {
                write(&shown.join("report.pdf"), &pdf);
            }
            told.lock().expect("a list").push((held.name, unlike));
        }
    };
    std::thread::scope(|scope| {
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        for _ in 0..cores {
            scope.spawn(work);
        }
    });
    let mut told = told.into_inner().expect("a list");
    told.sort();
    let of = |(name, unlike): (String, Vec<String>)| {
        let all = unlike.into_iter();
        all.map(move |what| format!("{name}, {what}"))
    };
    let mut told: Vec<String> = told.into_iter().flat_map(of).collect();
    for stranger in strangers(&accepted, &names) {
        if accepting() {
            fs::remove_dir_all(&stranger).expect("a folder to be taken away");
        } else {
            told.push(format!(
                "{} is stored, but there is no such document",
                stranger.display()
            ));
        }
    }
    assert!(
        told.is_empty(),
        "pages do not look as they were accepted:\n  {}\nThe new ones are in {}, each beside the old one with what differs \
         in red. If they are what you meant: PAGES_UPDATE=always cargo test --locked --test all page_images",
        told.join("\n  "),
        shown.display()
    );
}
