//! What is written over and what is not: outputs are Fillmark's own, or absent, or refused; they belong together.

use std::path::Path;
use std::process::Command;

use crate::cli::{ended, fillmark, folder, good, good_with_table, names, put};
use crate::common::read;

fn bytes(path: &Path) -> Vec<u8> {
    std::fs::read(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// What the files of a folder are, by name.
fn state(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let file = |name: String| {
        let path = folder.join(&name);
        let is_file = path.symlink_metadata().is_ok_and(|data| data.is_file());
        let bytes = if is_file { bytes(&path) } else { Vec::new() };
        (name, bytes)
    };
    names(folder).into_iter().map(file).collect()
}

const ALL: [&str; 8] = [
    "report",
    "bath.yaml",
    "--also",
    "html",
    "--also",
    "markdown",
    "--results",
    "bath.json",
];

#[test]
fn no_output_goes_over_a_foreign_file() {
    for output in [
        "bath.pdf",
        "bath.html",
        "bath.md",
        "bath.calibration.svg",
        "bath.json",
    ] {
        let folder = folder("outputs_foreign");
        put(&folder, "bath.yaml", &good());
        for note in [
            "a note\n",
            "{\n  \"results\": 1\n}\n",
            "<!DOCTYPE html>\n<html></html>\n",
            "",
        ] {
            put(&folder, output, note);
            let before = state(&folder);
            let (out, err) = ended(&fillmark(&folder, &ALL), 2);
            assert!(
                out.is_empty() && err.contains(output) && err.contains("--force"),
                "{output}: {out}{err}"
            );
            assert_eq!(state(&folder), before, "{output}");
        }
        ended(&fillmark(&folder, &[&ALL[..], &["--force"]].concat()), 0);
        // What is Fillmark's is written over without more.
        let made = state(&folder);
        ended(&fillmark(&folder, &ALL), 0);
        assert_eq!(state(&folder), made, "the same again");
    }
}

#[test]
fn an_output_of_another_kind_is_foreign() {
    let folder = folder("outputs_kinds");
    put(&folder, "bath.yaml", &good());
    ended(&fillmark(&folder, &ALL), 0);
    let before = state(&folder);
    for (option, output) in [
        ("--results", "bath.html"),
        ("--results", "old.pdf"),
        ("--pdf", "bath.json"),
        ("--pdf", "bath.md"),
    ] {
        std::fs::copy(folder.join("bath.pdf"), folder.join("old.pdf")).expect("a copy");
        let (_, err) = ended(
            &fillmark(&folder, &["report", "bath.yaml", option, output]),
            2,
        );
        assert!(
            err.contains(output) && err.contains("not overwritten"),
            "{output}: {err}"
        );
        std::fs::remove_file(folder.join("old.pdf")).expect("the copy");
        assert_eq!(state(&folder), before, "{output}");
    }
}

#[test]
fn no_input_is_written_over_whatever_is_forced() {
    let folder = folder("outputs_inputs");
    let (run, table) = good_with_table();
    put(&folder, "bath.yaml", &run);
    put(&folder, "readings.csv", &table);
    put(&folder, "old.yaml", &good());
    std::fs::create_dir(folder.join("own")).expect("a folder");
    put(&folder, "own/report.md", "# {{ title }}\n");
    put(&folder, "own/bath.md", "Careful.\n");
    put(&folder, "style.yaml", "logo: logo.png\n");
    let mut logo = Vec::new();
    let encoder = image::codecs::png::PngEncoder::new(&mut logo);
    let colour = image::ExtendedColorType::Rgb8;
    image::ImageEncoder::write_image(encoder, &[9; 300], 10, 10, colour).expect("a picture");
    std::fs::write(folder.join("logo.png"), logo).expect("a file");
    let before = state(&folder);
    let usual = [
        "report",
        "bath.yaml",
        "--force",
        "--style",
        "style.yaml",
        "--template",
        "own",
        "--since",
        "old.yaml",
    ];
    for (more, what) in [
        (&["--results", "bath.yaml"][..], "a run file"),
        (&["--results", "readings.csv"], "readings"),
        (&["--results", "old.yaml"], "`--since`"),
        (&["--results", "own/report.md"], "a template"),
        (&["--results", "own/../style.yaml"], "the style file"),
        (&["--results", "logo.png"], "the logo"),
        (&["--pdf", "bath.yaml"], "a run file"),
        (&["--pdf", "logo.png"], "the logo"),
        (
            &["--pdf", "own/bath.pdf", "--also", "markdown"],
            "a template",
        ),
        (&["--pdf", "x.html", "--also", "html"], "x.html"),
        (&["--pdf", "x.pdf", "--results", "x.pdf"], "x.pdf"),
        (
            &["--pdf", "x.pdf", "--results", "x.md", "--also", "markdown"],
            "x.md",
        ),
    ] {
        let (out, err) = ended(&fillmark(&folder, &[&usual[..], more].concat()), 2);
        assert!(out.is_empty() && err.contains(what), "{more:?}: {out}{err}");
        assert!(err.contains("nothing is written"), "{more:?}: {err}");
        assert_eq!(state(&folder), before, "{more:?}");
    }
}

#[cfg(unix)]
#[test]
fn links_folders_pipes_and_devices_are_no_outputs() {
    use std::os::unix::fs::symlink;
    let folder = folder("outputs_irregular");
    put(&folder, "bath.yaml", &good());
    put(&folder, "target", "a note\n");
    symlink("target", folder.join("link")).expect("a link");
    symlink("nothing", folder.join("dangling")).expect("a link");
    symlink("/dev/null", folder.join("device")).expect("a link");
    std::fs::create_dir(folder.join("folder")).expect("a folder");
    let made = Command::new("mkfifo").arg(folder.join("pipe")).status();
    assert!(made.expect("mkfifo").success());
    let before = state(&folder);
    for output in ["link", "dangling", "device", "folder", "pipe"] {
        // Into a folder, results are written under the run's name.
        let options = ["--pdf", "--results"].into_iter();
        for option in options.filter(|option| (*option, output) != ("--results", "folder")) {
            let arguments = ["report", "bath.yaml", "--force", option, output];
            let (out, err) = ended(&fillmark(&folder, &arguments), 2);
            assert!(
                out.is_empty() && err.contains(output),
                "{option} {output}: {out}{err}"
            );
            assert_eq!(state(&folder), before, "{option} {output}");
        }
    }
    let (_, err) = ended(
        &fillmark(&folder, &["report", "bath.yaml", "--pdf", "/dev/null"]),
        2,
    );
    assert!(err.contains("not a regular file"), "{err}");
}

#[cfg(unix)]
#[test]
fn a_foreign_file_that_is_large_or_private_stays() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder("outputs_large");
    put(&folder, "bath.yaml", &good());
    let large = std::fs::File::create(folder.join("bath.pdf")).expect("a file");
    large.set_len(300_000_000).expect("room");
    let (_, err) = ended(&fillmark(&folder, &["report", "bath.yaml"]), 2);
    assert!(
        err.contains("larger than 256 MB") && err.contains("--force"),
        "{err}"
    );
    assert_eq!(large.metadata().expect("it").len(), 300_000_000);
    put(&folder, "bath.pdf", "a note\n");
    let private = PermissionsExt::from_mode(0o000);
    std::fs::set_permissions(folder.join("bath.pdf"), private).expect("its owner may");
    // Who may do everything reads it all the same, and finds a note.
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 2);
    let private = PermissionsExt::from_mode(0o600);
    std::fs::set_permissions(folder.join("bath.pdf"), private).expect("its owner may");
    assert_eq!(read(&folder.join("bath.pdf")), "a note\n");
    // What is written over keeps who may read it.
    ended(&fillmark(&folder, &["report", "bath.yaml", "--force"]), 0);
    let mode = std::fs::metadata(folder.join("bath.pdf"))
        .expect("it")
        .permissions()
        .mode();
    assert_eq!(mode & 0o777, 0o600);
}

#[cfg(unix)]
#[test]
fn names_that_differ_in_bytes_only_have_files_of_their_own() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let folder = folder("outputs_bytes");
    let run_files = [&b"ba\xfeth.yaml"[..], b"ba\xffth.yaml"].map(OsStr::from_bytes);
    for name in run_files {
        std::fs::write(folder.join(name), good()).expect("a file");
    }
    let mut command = Command::new(env!("CARGO_BIN_EXE_fillmark"));
    command.current_dir(&folder).arg("report").args(run_files);
    command.args(["--also", "html", "--also", "markdown"]);
    ended(&command.output().expect("the program"), 0);
    let of = |ending: &[u8]| {
        let entries = std::fs::read_dir(&folder).expect("the folder");
        let names = entries.map(|entry| entry.expect("an entry").file_name());
        names
            .filter(|name| name.as_bytes().ends_with(ending))
            .count()
    };
    for ending in [&b".pdf"[..], b".html", b".md", b".calibration.svg"] {
        assert_eq!(of(ending), 2);
    }
}

/// "Left alone" is said only of a set that is whole, of Fillmark's, and of one issue.
#[test]
fn a_set_is_one_issue_or_made_again() {
    let folder = folder("outputs_set");
    put(&folder, "a.yaml", &good());
    put(&folder, "b.yaml", &good());
    let all = [
        "report", "a.yaml", "b.yaml", "--also", "html", "--also", "markdown",
    ];
    let made = |wanted: &str| {
        let (out, _) = ended(&fillmark(&folder, &all), 0);
        assert!(out.contains(wanted), "{wanted}: {out}");
    };
    made("2 made, 0 unchanged");
    made("0 made, 2 unchanged");
    let first = state(&folder);
    put(&folder, "a.yaml", &good().replace("41.176 g", "41.177 g"));
    made("1 made, 1 unchanged");
    let second = state(&folder);
    assert_eq!(first.len(), second.len());
    for (name, old) in first.iter().filter(|(name, _)| name.starts_with("a.")) {
        let now = bytes(&folder.join(name));
        if name == "a.yaml" || now == *old {
            continue;
        }
        // Of the issue before.
        std::fs::write(folder.join(name), old).expect("a file");
        made("1 made, 1 unchanged");
        // Cut short, changed, gone.
        for other in [
            Some(&now[..now.len() - 30]),
            Some(&[&now[..], b"more"].concat()[..]),
            None,
        ] {
            if name == "a.pdf" && other.is_some() {
                continue;
            }
            match other {
                Some(other) => std::fs::write(folder.join(name), other),
                None => std::fs::remove_file(folder.join(name)),
            }
            .expect("a file");
            if name == "a.pdf" {
                // Without the report, nothing is known of issues before.
                std::fs::write(folder.join(name), &now).expect("a file");
            }
            let (out, _) = ended(&fillmark(&folder, &all), 0);
            let wanted = if name == "a.pdf" { "0 made" } else { "1 made" };
            assert!(out.contains(wanted), "{name}: {out}");
        }
        assert_eq!(state(&folder), second, "{name}");
    }
    // A form that was not asked for before is made.
    put(&folder, "c.yaml", &good());
    let (out, _) = ended(&fillmark(&folder, &["report", "c.yaml", "b.yaml"]), 0);
    assert!(out.contains("1 made, 1 unchanged"), "{out}");
    let (out, _) = ended(
        &fillmark(&folder, &["report", "c.yaml", "b.yaml", "--also", "html"]),
        0,
    );
    assert!(out.contains("1 made, 1 unchanged"), "{out}");
    // A record of other issues is another issue, of the same inputs.
    let html = bytes(&folder.join("b.html"));
    let since = ["report", "b.yaml", "--also", "html", "--since", "a.yaml"];
    ended(&fillmark(&folder, &since), 0);
    std::fs::write(folder.join("b.html"), html).expect("a file");
    made("1 made, 1 unchanged");
}

/// Two processes that write one report: each writes all of it, one after the other.
#[test]
fn of_two_writers_one_comes_after_the_other() {
    let folder = folder("outputs_two");
    let text = |index: u32| good().replace("41.176 g", &format!("41.{} g", 180 + index));
    for index in 0..4 {
        std::fs::create_dir(folder.join(index.to_string())).expect("a folder");
        put(&folder, &format!("{index}/bath.yaml"), &text(index));
    }
    let begun = |index: u32| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fillmark"));
        command.current_dir(&folder).args([
            "report",
            &format!("{index}/bath.yaml"),
            "--pdf",
            "bath.pdf",
            "--also",
            "html",
        ]);
        command.spawn().expect("the program")
    };
    let running: Vec<_> = (0..4).map(begun).collect();
    for mut each in running {
        assert!(each.wait().expect("it ends").success());
    }
    let files = fillmark::cli::attachments::read(&bytes(&folder.join("bath.pdf")), 10_000_000)
        .expect("a report");
    let record = files
        .iter()
        .find(|file| file.path == "record_of_issues.json")
        .expect("a record");
    let record: serde_json::Value = serde_json::from_slice(&record.bytes).expect("JSON");
    assert_eq!(
        record["issues"].as_array().map(Vec::len),
        Some(3),
        "none is lost"
    );
    assert_eq!(
        names(&folder),
        ["0", "1", "2", "3", "bath.html", "bath.pdf"],
        "nothing else is left"
    );
    let pdf = String::from_utf8_lossy(&bytes(&folder.join("bath.pdf"))[..200]).into_owned();
    let (_, said) = pdf
        .split_once("%Made from ")
        .expect("what it was made from");
    let said = said.split('\n').next().expect("a line");
    assert!(read(&folder.join("bath.html")).contains(said), "one set");
}

/// A machine that gives no thread makes all reports all the same.
#[test]
fn without_threads_a_batch_is_only_slower() {
    let folder = folder("outputs_threads");
    put(&folder, "a.yaml", &good());
    put(&folder, "b.yaml", &good());
    let mut command = Command::new(env!("CARGO_BIN_EXE_fillmark"));
    command
        .current_dir(&folder)
        .args(["report", "a.yaml", "b.yaml"]);
    // No machine has room for such a stack.
    command.env("RUST_MIN_STACK", "1000000000000000");
    let (out, _) = ended(&command.output().expect("the program"), 0);
    assert!(out.contains("2 made"), "{out}");
}

#[test]
fn messages_end_and_hold_nothing_that_moves_a_terminal() {
    let folder = folder("outputs_messages");
    let odd = "a\u{1b}[2J\u{61c}\u{2028}\u{202e}b";
    let long = "x".repeat(1_000_000);
    let run = good().replace("kind: flask", &format!("kind: \"{long}\""));
    put(&folder, "long.yaml", &run);
    let (_, err) = ended(&fillmark(&folder, &["check", "long.yaml"]), 1);
    assert!(err.len() < 20_000, "{} bytes", err.len());
    let (out, _) = ended(
        &fillmark(&folder, &["check", "long.yaml", "--format", "json"]),
        1,
    );
    assert!(out.len() < 20_000, "{} bytes", out.len());
    for arguments in [
        &["report", odd][..],
        &["check", odd],
        &["check", odd, "--format", "json"],
        &[odd],
        &["report", "x.yaml", "--also", odd],
        &["report", "x.yaml", odd, "--watched"],
        &["extract", odd],
    ] {
        let output = fillmark(&folder, arguments);
        let all = [output.stdout, output.stderr].concat();
        let said = String::from_utf8(all).expect("it speaks UTF-8");
        let moves = said.contains(|c: char| "\u{1b}\u{61c}\u{2028}\u{202e}".contains(c));
        assert!(!said.is_empty() && !moves, "{arguments:?}: {said:?}");
        assert_ne!(output.status.code(), Some(0), "{arguments:?}");
    }
    // Of very many problems that no reader counts, the first are listed.
    std::fs::create_dir(folder.join("own")).expect("a folder");
    put(&folder, "own/report.md", "# {{ title }}\n");
    for index in 0..300 {
        put(&folder, &format!("own/other{index}.md"), "more\n");
    }
    put(&folder, "good.yaml", &good());
    let (_, err) = ended(
        &fillmark(&folder, &["report", "good.yaml", "--template", "own"]),
        0,
    );
    assert_eq!(err.matches("template-not-included").count(), 200);
    assert!(err.contains("and 100 more problems"), "{err:.300}");
}

/// What is damaged, and who may read it, when the run is killed is for `tests/fuzz/accidents.sh`; here, what a killed
/// process leaves is cleared away by the next run, and only that.
#[cfg(unix)]
#[test]
fn what_a_killed_process_left_goes_with_the_next_run() {
    let folder = folder("outputs_left");
    put(&folder, "bath.yaml", &good());
    for left in [
        "bath.pdf.fillmark-part",
        "bath.html.3.fillmark-part",
        "gone.md.1.fillmark-part",
    ] {
        put(&folder, left, "half a fi");
    }
    std::os::unix::fs::symlink("bath.yaml", folder.join("bath.pdf.1.fillmark-part"))
        .expect("a link");
    let made = Command::new("mkfifo")
        .arg(folder.join("bath.pdf.2.fillmark-part"))
        .status();
    assert!(made.expect("mkfifo").success());
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    assert_eq!(
        names(&folder),
        [
            "bath.pdf",
            "bath.pdf.1.fillmark-part",
            "bath.pdf.2.fillmark-part",
            "bath.yaml"
        ]
    );
    assert_eq!(read(&folder.join("bath.yaml")), good());
    put(&folder, "new.yaml.1.fillmark-part", "half a fi");
    ended(
        &fillmark(&folder, &["extract", "bath.pdf", "--into", "out"]),
        0,
    );
    ended(&fillmark(&folder, &["start", "out/new.yaml"]), 0);
    assert_eq!(
        names(&folder.join("out")),
        ["bath.results.json", "bath.yaml", "new.yaml"]
    );
}
