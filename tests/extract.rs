//! What a report carries, given back; reports that are none, or hostile.

use crate::cli::{ended, fillmark, folder, good, good_with_table, names, put};
use crate::common::{Generator, good_runs, read, reduced};
use fillmark::cli::carried;
use fillmark::report::templates::Templates;
use lopdf::{Document, Object, Stream, dictionary};

const ROOM: usize = 10_000_000;

fn report() -> Vec<u8> {
    let text = good();
    let made = reduced(&text).report(text.as_bytes(), &Templates::default());
    made.expect("a report").0
}

#[test]
fn every_run_comes_back_byte_for_byte() {
    for (name, text) in good_runs() {
        let run = reduced(&text);
        let (pdf, _) = run
            .report(text.as_bytes(), &Templates::default())
            .expect("a report");
        let files = carried::read(&pdf, ROOM).unwrap_or_else(|why| panic!("{name} {why}"));
        let found: Vec<(&str, &[u8])> = files.iter().map(|f| (&*f.path, &*f.bytes)).collect();
        let json = run.results_json().expect("results");
        assert_eq!(
            found,
            [
                ("run.yaml", text.as_bytes()),
                ("run.results.json", json.as_bytes())
            ],
            "{name}"
        );
    }
}

#[test]
fn a_report_that_another_program_has_packed_gives_back_its_files() {
    let pdf = report();
    let mut file = Document::load_mem(&pdf).expect("a PDF file");
    let mut packed = Vec::new();
    file.save_modern(&mut packed).expect("written");
    let lies_open = |pdf: &[u8]| pdf.windows(9).any(|window| window == b"/Filespec");
    assert!(lies_open(&pdf) && !lies_open(&packed));
    assert_eq!(
        carried::read(&packed, ROOM).expect("files"),
        carried::read(&pdf, ROOM).expect("files")
    );
}

#[test]
fn a_report_can_be_made_again_from_itself() {
    let folder = folder("extract");
    std::fs::create_dir_all(folder.join("bench/data")).expect("a folder");
    let (run, table) = good_with_table();
    let run = run.replace("readings.csv", "data/readings.csv");
    put(&folder, "bench/bath.yaml", &run);
    put(&folder, "bench/data/readings.csv", &table);
    ended(
        &fillmark(
            &folder,
            &[
                "report",
                "bench/bath.yaml",
                "--pdf",
                "first.pdf",
                "--results",
                "first.json",
            ],
        ),
        0,
    );
    let again = ["extract", "first.pdf", "--into", "again/here"];
    let (out, err) = ended(&fillmark(&folder, &again), 0);
    assert!(
        err.is_empty() && out.contains("again/here/data/readings.csv"),
        "{out}{err}"
    );
    let here = folder.join("again/here");
    assert_eq!(names(&here), ["bath.results.json", "bath.yaml", "data"]);
    assert_eq!(read(&here.join("bath.yaml")), run);
    assert_eq!(read(&here.join("data/readings.csv")), table);
    assert_eq!(
        read(&here.join("bath.results.json")),
        read(&folder.join("first.json"))
    );
    ended(
        &fillmark(
            &folder,
            &["report", "again/here/bath.yaml", "--pdf", "second.pdf"],
        ),
        0,
    );
    let bytes = |name: &str| std::fs::read(folder.join(name)).expect("a report");
    assert!(
        bytes("first.pdf") == bytes("second.pdf"),
        "the reports differ"
    );

    let (out, _) = ended(&fillmark(&folder, &again), 0);
    assert_eq!(out.matches("the same").count(), 3, "{out}");
    put(&folder, "again/here/bath.results.json", "{}");
    std::fs::remove_file(here.join("bath.yaml")).expect("the run file");
    let (out, err) = ended(&fillmark(&folder, &again), 2);
    assert!(
        out.is_empty() && err.contains("bath.results.json` exists already"),
        "{out}{err}"
    );
    assert_eq!(read(&here.join("bath.results.json")), "{}", "left as it is");
    assert!(!here.join("bath.yaml").exists(), "nothing is written");
}

#[test]
fn a_link_does_not_lead_out_of_the_folder() {
    #[cfg(unix)]
    {
        let folder = folder("extract_link");
        std::fs::create_dir_all(folder.join("bench/data")).expect("a folder");
        std::fs::create_dir_all(folder.join("into")).expect("a folder");
        std::fs::create_dir_all(folder.join("elsewhere")).expect("a folder");
        let (run, table) = good_with_table();
        put(
            &folder,
            "bench/bath.yaml",
            &run.replace("readings.csv", "data/readings.csv"),
        );
        put(&folder, "bench/data/readings.csv", &table);
        ended(
            &fillmark(&folder, &["report", "bench/bath.yaml", "--pdf", "x.pdf"]),
            0,
        );
        std::os::unix::fs::symlink("../elsewhere", folder.join("into/data")).expect("a link");
        let (_, err) = ended(
            &fillmark(&folder, &["extract", "x.pdf", "--into", "into"]),
            3,
        );
        assert!(err.contains("leads out of the folder"), "{err}");
        assert_eq!(names(&folder.join("elsewhere")), [""; 0]);
    }
}

/// The report with its attachments changed.
fn changed(change: impl Fn(&mut Document)) -> Vec<u8> {
    let mut file = Document::load_mem(&report()).expect("a PDF file");
    change(&mut file);
    let mut bytes = Vec::new();
    file.save_to(&mut bytes).expect("it can be written");
    bytes
}

fn renamed(name: &str) -> Vec<u8> {
    changed(|file| {
        for object in file.objects.values_mut() {
            if let Ok(dictionary) = object.as_dict_mut()
                && dictionary.has(b"AFRelationship")
            {
                dictionary.set("UF", lopdf::text_string(name));
            }
        }
    })
}

#[test]
fn what_carries_nothing_or_is_hostile_is_one_clear_problem() {
    let bomb = changed(|file| {
        let mut stream = Stream::new(dictionary! {}, vec![b'x'; 50_000_000]);
        stream.compress().expect("it can be packed");
        for object in file.objects.values_mut() {
            if let Object::Stream(old) = object
                && old
                    .dict
                    .get(b"Type")
                    .and_then(Object::as_name)
                    .is_ok_and(|t| t == b"EmbeddedFile")
            {
                *old = stream.clone();
            }
        }
    });
    let without = |key: &'static [u8]| {
        changed(move |file| {
            let catalogue = file.catalog_mut().expect("a catalogue");
            catalogue.remove(key);
        })
    };
    let sourceless = changed(|file| {
        for object in file.objects.values_mut() {
            if let Ok(dictionary) = object.as_dict_mut() {
                dictionary.remove(b"AFRelationship");
            }
        }
    });
    let looped = changed(|file| {
        let id = file.new_object_id();
        file.objects.insert(id, Object::Reference(id));
        file.catalog_mut()
            .expect("a catalogue")
            .set("AF", vec![Object::Reference(id)]);
    });
    let many = changed(|file| {
        let catalogue = file.catalog_mut().expect("a catalogue");
        let first = catalogue
            .get(b"AF")
            .and_then(Object::as_array)
            .expect("files")[0]
            .clone();
        catalogue.set("AF", vec![first; 200]);
    });
    let run_file_leads_out = changed(|file| {
        let run = good_with_table().0.replace("readings.csv", "../../x.csv");
        for object in file.objects.values_mut() {
            if let Object::Stream(old) = object
                && old
                    .dict
                    .get(b"Subtype")
                    .and_then(Object::as_name)
                    .is_ok_and(|t| t.ends_with(b"yaml"))
            {
                *old = Stream::new(old.dict.clone(), run.clone().into_bytes());
                old.dict.remove(b"Filter");
            }
        }
    });
    let cut = report();
    for (what, bytes, said) in [
        ("nothing", Vec::new(), "is no PDF file"),
        ("text", b"title: Brine\n".to_vec(), "is no PDF file"),
        ("head alone", b"%PDF-1.7\n".to_vec(), "cannot be read"),
        ("half", cut[..cut.len() / 2].to_vec(), ""),
        ("no attachments", without(b"AF"), "carries no files"),
        ("no source", sourceless, "carries no run file"),
        ("a loop", looped, "carries no files"),
        ("too many", many, "more than 100 files"),
        ("a bomb", bomb, "cannot be read"),
        ("up", renamed("../run.yaml"), "no plain file name"),
        ("top", renamed("/etc/run.yaml"), "no plain file name"),
        ("backslash", renamed("..\\run.yaml"), "no plain file name"),
        ("drive", renamed("C:run.yaml"), "no plain file name"),
        ("parent", renamed(".."), "no plain file name"),
        ("tab", renamed("run\t.yaml"), ""),
    ] {
        let folder = folder("extract_hostile");
        std::fs::write(folder.join("x.pdf"), &bytes).expect("a file");
        let why = carried::read(&bytes, ROOM)
            .err()
            .unwrap_or_else(|| panic!("{what} is taken"));
        assert!(why.contains(said), "{what}: {why}");
        if what == "a bomb" {
            // The command leaves more room than this test has patience for.
            continue;
        }
        let (out, err) = ended(
            &fillmark(&folder, &["extract", "x.pdf", "--into", "out"]),
            1,
        );
        assert!(
            out.is_empty() && err.matches("Error").count() == 1,
            "{what}: {out}{err}"
        );
        assert!(err.contains("nothing-to-extract"), "{what}: {err}");
        assert_eq!(names(&folder), ["x.pdf"], "{what}: nothing is written");
    }
    let files = carried::read(&run_file_leads_out, ROOM).expect("files");
    assert!(
        files.iter().all(|file| !file.path.contains('/')),
        "{files:?}"
    );
    let folder = folder("extract_none");
    ended(&fillmark(&folder, &["extract", "none.pdf"]), 3);
}

#[test]
fn damaged_reports_never_panic() {
    let whole = report();
    let mut random = Generator(7);
    for _ in 0..60 {
        let mut bytes = whole.clone();
        for _ in 0..=random.below(40) {
            let at = random.below(bytes.len());
            bytes[at] = random.below(256) as u8;
        }
        bytes.truncate(bytes.len() - random.below(2) * random.below(bytes.len()));
        let _ = carried::read(&bytes, ROOM);
    }
}
