//! What a report carries, given back; reports that are none, or hostile.

use crate::cli::{ended, fillmark, folder, good, good_with_table, names, put};
use crate::common::{Generator, good_runs, read, reduced};
use fillmark::cli::attachments;
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
        let files = attachments::read(&pdf, ROOM).unwrap_or_else(|why| panic!("{name} {why}"));
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
        attachments::read(&packed, ROOM).expect("files"),
        attachments::read(&pdf, ROOM).expect("files")
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
    assert_eq!(out.matches("identical").count(), 3, "{out}");
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
        ("nothing", Vec::new(), "is not a PDF file"),
        ("text", b"title: Brine\n".to_vec(), "is not a PDF file"),
        ("head alone", b"%PDF-1.7\n".to_vec(), "cannot be read"),
        ("half", cut[..cut.len() / 2].to_vec(), ""),
        ("no attachments", without(b"AF"), "carries no files"),
        ("no source", sourceless, "carries no run file"),
        ("a loop", looped, "circular"),
        ("too many", many, "more than 100 files"),
        ("a bomb", bomb, "cannot be read"),
        ("up", renamed("../run.yaml"), "not a plain file name"),
        ("top", renamed("/etc/run.yaml"), "not a plain file name"),
        (
            "backslash",
            renamed("..\\run.yaml"),
            "not a plain file name",
        ),
        ("drive", renamed("C:run.yaml"), "not a plain file name"),
        ("parent", renamed(".."), "not a plain file name"),
        ("tab", renamed("run\t.yaml"), ""),
        ("hidden", renamed(".bashrc"), "not a plain file name"),
        ("device", renamed("NUL.yaml"), "not a plain file name"),
        (
            "turned",
            renamed("run\u{202e}lmay"),
            "not a plain file name",
        ),
        (
            "unseen",
            renamed("run\u{200b}.yaml"),
            "not a plain file name",
        ),
        (
            "blank at the end",
            renamed("run.yaml "),
            "not a plain file name",
        ),
    ] {
        let folder = folder("extract_hostile");
        std::fs::write(folder.join("x.pdf"), &bytes).expect("a file");
        let why = attachments::read(&bytes, ROOM)
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
    let files = attachments::read(&run_file_leads_out, ROOM).expect("files");
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
        let _ = attachments::read(&bytes, ROOM);
    }
}

/// A PDF file of some objects, each with its number, and a cross-reference stream whose entries are `table` and whose rows
/// are `rows`; the catalogue is object 1.
fn crafted(objects: &[(u32, Vec<u8>)], table: &str, rows: &[u8]) -> Vec<u8> {
    let mut pdf = b"%PDF-1.7\n".to_vec();
    for (number, object) in objects {
        pdf.extend(format!("{number} 0 obj\n").bytes());
        pdf.extend(object);
        pdf.extend(b"\nendobj\n");
    }
    let start = pdf.len();
    let length = rows.len();
    pdf.extend(
        format!("99 0 obj\n<</Type/XRef/Root 1 0 R{table}/Length {length}>>stream\n").bytes(),
    );
    pdf.extend(rows);
    pdf.extend(format!("\nendstream\nendobj\nstartxref\n{start}\n%%EOF\n").bytes());
    pdf
}

/// Rows of widths 1, 4 and 2 for objects that follow each other from number 0.
fn rows(places: &[(u8, u32, u16)]) -> Vec<u8> {
    let mut rows = Vec::new();
    for (kind, place, index) in places {
        rows.push(*kind);
        rows.extend(place.to_be_bytes());
        rows.extend(index.to_be_bytes());
    }
    rows
}

/// An object stream of one object that begins at byte 16, filled up with blanks.
fn packed(content: &str, length: usize) -> Vec<u8> {
    let mut bytes = content.as_bytes().to_vec();
    bytes.resize(length, b' ');
    let mut stream = Stream::new(dictionary! {}, bytes);
    stream.compress().expect("it can be packed");
    let length = stream.content.len();
    let entries =
        format!("<</Type/ObjStm/N 1/First 16/Filter/FlateDecode/Length {length}>>stream\n");
    [
        entries.into_bytes(),
        stream.content,
        b"\nendstream".to_vec(),
    ]
    .concat()
}

/// Cross-reference tables, object streams and lists that would take all memory or all time are refused in a moment, with
/// one message, wherever an old report is read; what stands there is untouched.
#[test]
fn what_would_outgrow_the_machine_is_refused() {
    let catalogue = |af: &str| vec![(1, format!("<</AF {af}>>").into_bytes())];
    let at = |place: u32| rows(&[(0, 0, 0), (1, place, 0)]);
    let plain = "/Size 2/W[1 4 2]";
    let ten_million = format!("[{}]", "5 0 R ".repeat(10_000_000));
    // Specifications of files in object streams that are each within the limit, and together beyond it.
    let mut objects = catalogue("[10 0 R 11 0 R]");
    objects.push((4, b"<</Length 1>>stream\nx\nendstream".to_vec()));
    for number in 2..4 {
        let object = format!("<</UF(file {number})/EF<</F 4 0 R>>>>");
        objects.push((
            number,
            packed(
                &format!("{:<16}{object}", format!("{} 0", number + 8)),
                40_000_000,
            ),
        ));
    }
    objects.sort_by_key(|(number, _)| *number);
    let mut places = vec![(0, 0, 0)];
    let mut start = 9;
    for (number, object) in &objects {
        places.push((1, start, 0));
        start += (format!("{number} 0 obj\n").len() + object.len() + "\nendobj\n".len()) as u32;
    }
    places.extend([(2, 2, 0), (2, 3, 0)]);
    let together = crafted(
        &objects,
        "/Size 12/W[1 4 2]/Index[0 5 10 2]",
        &rows(&places),
    );
    let deep = format!("{}{}", "[".repeat(100_000), "]".repeat(100_000));
    for (what, bytes) in [
        (
            "widths",
            crafted(&catalogue("[]"), "/Size 2/W[1 9999999999 2]", &at(9)),
        ),
        (
            "no widths",
            crafted(
                &catalogue("[]"),
                "/Size 9223372036854775807/W[0 0 0]",
                &at(9),
            ),
        ),
        (
            "size",
            crafted(
                &catalogue("[]"),
                "/Size 9223372036854775807/W[1 4 2]",
                &at(9),
            ),
        ),
        (
            "index",
            crafted(
                &catalogue("[]"),
                "/Size 2/W[1 4 2]/Index[0 4294967295 7 4294967295]",
                &at(9),
            ),
        ),
        (
            "ten million files",
            crafted(&catalogue(&ten_million), plain, &at(9)),
        ),
        ("streams together", together),
        ("depth", crafted(&catalogue(&deep), plain, &at(9))),
        (
            "itself",
            crafted(&catalogue("1 0 R"), "/Size 2/W[1 4 2]/Prev 9", &at(9)),
        ),
        ("a table before itself", {
            let pdf = crafted(&catalogue("[]"), plain, &at(9));
            let start = pdf.len();
            let again =
                format!("99 0 obj\n<</Root 1 0 R/Prev {start}/Size 2/W[1 4 2]/Length 14>>stream\n");
            [
                pdf,
                again.into_bytes(),
                at(9),
                format!("\nendstream\nendobj\nstartxref\n{start}\n%%EOF").into_bytes(),
            ]
            .concat()
        }),
    ] {
        let why = attachments::read(&bytes, 64_000_000).expect_err(what);
        assert!(
            why.contains("cannot be read as a PDF file") || why.contains("carries"),
            "{what}: {why}"
        );
        let folder = folder("outgrown");
        put(&folder, "bath.yaml", &good());
        std::fs::write(folder.join("bath.pdf"), &bytes).expect("a file");
        for (arguments, code) in [
            (&["report", "bath.yaml"][..], 2),
            (
                &[
                    "report",
                    "bath.yaml",
                    "--pdf",
                    "new.pdf",
                    "--since",
                    "bath.pdf",
                ],
                1,
            ),
            (&["changes", "bath.pdf", "bath.yaml"], 1),
            (&["extract", "bath.pdf", "--into", "out"], 1),
        ] {
            let (_, err) = ended(&fillmark(&folder, arguments), code);
            assert!(
                err.contains("`bath.pdf` ") && err.len() < 1_000,
                "{what}: {arguments:?}: {err}"
            );
        }
        assert_eq!(names(&folder), ["bath.pdf", "bath.yaml"], "{what}");
        assert!(
            std::fs::read(folder.join("bath.pdf")).expect("it") == bytes,
            "{what}"
        );
    }
}

/// The report with another record of issues.
fn with_record(record: &str) -> Vec<u8> {
    let folder = folder("record");
    put(&folder, "bath.yaml", &good());
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    put(
        &folder,
        "bath.yaml",
        &good().replace("41.176 g", "41.177 g"),
    );
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    let pdf = std::fs::read(folder.join("bath.pdf")).expect("a report");
    let mut file = Document::load_mem(&pdf).expect("a PDF file");
    let mut found = 0;
    for object in file.objects.values_mut() {
        if let Object::Stream(old) = object
            && old.dict.has_type(b"EmbeddedFile")
            && old
                .decompressed_content()
                .is_ok_and(|bytes| bytes.starts_with(b"{\n  \"issues\""))
        {
            *old = Stream::new(old.dict.clone(), record.as_bytes().to_vec());
            old.dict.remove(b"Filter");
            found += 1;
        }
    }
    assert_eq!(found, 1, "a record");
    let mut bytes = Vec::new();
    file.save_to(&mut bytes).expect("it can be written");
    bytes
}

fn issue(number: u32, entries: &str) -> String {
    format!(
        "{{\"number\":{number},\"changes\":{{\"entries\":[{entries}],\"results\":[],\"flags_gone\":[],\"flags_new\":[]}}}}"
    )
}

/// A record that is too long for its report does not keep the next one from being made: its oldest issues are no longer
/// listed. One that is no record is refused, and the report stays.
#[test]
fn a_long_record_does_not_block_the_next_report() {
    let entry = "{\"entry\":\"weighings.A.1.filled\",\"was\":\"1\",\"now\":\"2\"}";
    let many: Vec<String> = (2..5_002).map(|number| issue(number, entry)).collect();
    let wide = vec![entry; 20_000].join(",");
    let long = format!(
        "{{\"entry\":\"a\",\"was\":\"{}\",\"now\":\"2\"}}",
        "x\\u0007 ".repeat(400_000)
    );
    for (what, issues, number) in [
        ("5,000 issues", many.join(","), 5_002),
        ("one of 20,000 entries", issue(2, &wide), 3),
        ("one long text", issue(2, &long), 3),
    ] {
        let pdf = with_record(&format!("{{\"issues\":[{issues}]}}"));
        let folder = folder("long_record");
        std::fs::write(folder.join("bath.pdf"), &pdf).expect("a file");
        put(&folder, "bath.yaml", &good());
        let (out, err) = ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
        assert!(
            out.contains(&format!("issue {number}: ")),
            "{what}: {out}{err}"
        );
        let first = std::fs::read(folder.join("bath.pdf")).expect("a report");
        let record = attachments::read(&first, ROOM).expect("files").into_iter();
        let record = record.filter(|file| file.path == "record_of_issues.json");
        let record: Vec<_> = record.map(|file| file.bytes.len()).collect();
        assert!(
            record.len() == 1 && record[0] < 500_000,
            "{what}: {record:?}"
        );
        ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
        assert!(
            std::fs::read(folder.join("bath.pdf")).expect("it") == first,
            "{what}: the same again"
        );
    }
    let large = format!("{{\"issues\":[]}}{}", " ".repeat(45_000_000));
    for (record, why) in [
        (large.as_str(), "more than 40 MB"),
        ("[]", "cannot be read"),
    ] {
        let pdf = with_record(record);
        let folder = folder("no_record");
        std::fs::write(folder.join("bath.pdf"), &pdf).expect("a file");
        put(&folder, "bath.yaml", &good());
        let (_, err) = ended(&fillmark(&folder, &["report", "bath.yaml"]), 2);
        assert!(
            err.contains("record of issues") && err.contains(why) && err.contains("--force"),
            "{err}"
        );
        assert!(
            std::fs::read(folder.join("bath.pdf")).expect("it") == pdf,
            "untouched"
        );
        ended(&fillmark(&folder, &["report", "bath.yaml", "--force"]), 0);
    }
}

/// A run file of any name can be carried and given back, under a name that every system gives to files.
#[test]
fn what_a_report_carries_can_be_given_back() {
    for (name, back) in [
        (".bath.yaml", "bath.yaml"),
        ("aux.yaml", "run_aux.yaml"),
        ("ba\u{202e}th.yaml", "ba_th.yaml"),
        ("bath 1.yaml", "bath 1.yaml"),
    ] {
        let folder = folder("odd_run_file");
        put(&folder, name, &good());
        ended(&fillmark(&folder, &["report", name, "--pdf", "x.pdf"]), 0);
        ended(
            &fillmark(&folder, &["extract", "x.pdf", "--into", "out"]),
            0,
        );
        assert_eq!(read(&folder.join("out").join(back)), good(), "{name}");
    }
}
