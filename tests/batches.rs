//! Many reports at once, reports kept up to date, and accidents: nothing is lost, whatever happens in between.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use crate::cli::{ended, fillmark, folder, good, names, put};

/// Long enough for the slowest machine; nothing waits as long where all is well.
const PATIENCE: Duration = Duration::from_mins(1);

fn bytes(path: &Path) -> Vec<u8> {
    std::fs::read(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Whether a whole report stands there: it can be read, and carries its run file.
fn whole(path: &Path) -> bool {
    fillmark::cli::attachments::read(&bytes(path), 10_000_000).is_ok()
}

#[test]
fn what_has_not_changed_is_left_alone() {
    let folder = folder("left_alone");
    for name in ["a.yaml", "b.yaml", "c.yaml"] {
        put(&folder, name, &good());
    }
    put(&folder, "bad.yaml", "title: [\n");
    let all = [
        "report", "a.yaml", "bad.yaml", "b.yaml", "c.yaml", "--into", "out",
    ];
    let (out, _) = ended(&fillmark(&folder, &all), 1);
    assert!(out.contains("3 made, 0 unchanged"), "{out}");
    assert!(out.contains("1 failed"), "{out}");
    assert!(out.contains("bad.yaml  has problems"), "{out}");
    let made: Vec<Vec<u8>> = ["a", "b", "c"]
        .map(|name| bytes(&folder.join(format!("out/{name}.pdf"))))
        .to_vec();

    put(
        &folder,
        "b.yaml",
        &good().replace("filled: 41.176 g", "filled: 41.177 g"),
    );
    let (out, _) = ended(&fillmark(&folder, &all), 1);
    assert!(out.contains("1 made, 2 unchanged"), "{out}");
    assert_eq!(bytes(&folder.join("out/a.pdf")), made[0]);
    assert_ne!(
        bytes(&folder.join("out/b.pdf")),
        made[1],
        "it has another entry"
    );

    // Whatever else they are made from counts as well.
    for more in [
        &["--template", "summary"][..],
        &["--monte-carlo", "10000"],
        &["--also", "markdown"],
        &["--style", "style.yaml"],
    ] {
        put(&folder, "style.yaml", "text_size: 9 pt\n");
        let (out, _) = ended(&fillmark(&folder, &[&all[..], more].concat()), 1);
        assert!(out.contains("3 made, 0 unchanged"), "{more:?}: {out}");
        let (out, _) = ended(&fillmark(&folder, &[&all[..], more].concat()), 1);
        assert!(out.contains("0 made, 3 unchanged"), "{more:?}: {out}");
    }
    let styled = [&all[..], &["--style", "style.yaml"]].concat();
    put(&folder, "style.yaml", "text_size: 11 pt\n");
    let (out, _) = ended(&fillmark(&folder, &styled), 1);
    assert!(out.contains("3 made"), "the style is another: {out}");

    // A report that was cut short is made again, and so is any when it is asked for.
    let cut = bytes(&folder.join("out/c.pdf"));
    std::fs::write(folder.join("out/c.pdf"), &cut[..cut.len() / 2]).unwrap();
    let (out, err) = ended(&fillmark(&folder, &styled), 2);
    assert!(
        out.contains("2 unchanged") && err.contains("--force"),
        "{out}{err}"
    );
    let (out, _) = ended(&fillmark(&folder, &[&styled[..], &["--force"]].concat()), 1);
    assert!(out.contains("3 made"), "{out}");
    assert_eq!(bytes(&folder.join("out/c.pdf")), cut, "the same again");
}

#[test]
fn making_again_by_force_keeps_the_record() {
    let folder = folder("forced_record");
    put(&folder, "a.yaml", &good());
    ended(&fillmark(&folder, &["report", "a.yaml"]), 0);
    put(
        &folder,
        "a.yaml",
        &good().replace("filled: 41.176 g", "filled: 41.177 g"),
    );
    ended(&fillmark(&folder, &["report", "a.yaml"]), 0);
    let second = bytes(&folder.join("a.pdf"));
    ended(&fillmark(&folder, &["report", "a.yaml", "--force"]), 0);
    assert_eq!(
        bytes(&folder.join("a.pdf")),
        second,
        "still the second issue"
    );
}

#[test]
fn what_one_run_says_does_not_depend_on_the_others() {
    let folder = folder("apart");
    let mut all = vec!["report".to_owned()];
    for index in 0..6 {
        let name = format!("run{index}.yaml");
        let mut text = good().replace("filled: 41.176 g", &format!("filled: 41.17{index} g"));
        if index >= 4 {
            // No face has it, and no report is to pass over it because another one has told.
            text = text.replace("bath 3", "漢");
        }
        put(&folder, &name, &text);
        all.push(name);
    }
    let alone = folder.join("alone");
    for name in &all[1..] {
        let into = alone.to_string_lossy();
        ended(&fillmark(&folder, &["report", name, "--into", &into]), 0);
    }
    all.extend(["--into".to_owned(), "together".to_owned()]);
    let all: Vec<&str> = all.iter().map(String::as_str).collect();
    let (out, err) = ended(&fillmark(&folder, &all), 0);
    assert_eq!(err.matches('漢').count(), 2, "{err}");
    let lines: Vec<&str> = out.lines().collect();
    for (index, line) in lines[..6].iter().enumerate() {
        assert!(
            line.starts_with(&format!("run{index}.yaml")),
            "in their order: {out}"
        );
    }
    for name in names(&alone) {
        let together = bytes(&folder.join("together").join(&name));
        assert_eq!(bytes(&alone.join(&name)), together, "{name}");
    }
}

/// A child that is ended with the test.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn begun(folder: &Path, arguments: &[&str]) -> Running {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fillmark"));
    command
        .current_dir(folder)
        .args(arguments)
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    Running(command.spawn().expect("the program can be run"))
}

fn lines(running: &mut Running) -> Receiver<String> {
    let out = BufReader::new(running.0.stdout.take().expect("its stdout"));
    let (sender, receiver) = channel();
    std::thread::spawn(move || {
        for line in out.lines().map_while(Result::ok) {
            if sender.send(line).is_err() {
                break;
            }
        }
    });
    receiver
}

#[track_caller]
fn heard(lines: &Receiver<String>, part: &str) -> String {
    let until = Instant::now() + PATIENCE;
    let mut all = Vec::new();
    while let Ok(line) = lines.recv_timeout(until.saturating_duration_since(Instant::now())) {
        if line.contains(part) {
            return line;
        }
        all.push(line);
    }
    panic!("never heard {part:?}, but {all:#?}");
}

#[test]
fn a_watched_report_follows_its_run_file() {
    let folder = folder("watched");
    put(&folder, "bath.yaml", &good());
    let mut running = begun(&folder, &["report", "bath.yaml", "--watch"]);
    let said = lines(&mut running);
    heard(&said, "watching");
    heard(&said, "bath.pdf: ");
    let first = bytes(&folder.join("bath.pdf"));

    // Saved by writing another file and renaming it over the first, as many editors do.
    let other = good().replace("filled: 41.176 g", "filled: 41.196 g");
    put(&folder, "bath.yaml~", &other);
    std::fs::rename(folder.join("bath.yaml~"), folder.join("bath.yaml")).unwrap();
    heard(&said, " → ");
    let second = bytes(&folder.join("bath.pdf"));
    assert_ne!(first, second);

    // A mistake leaves the last good report.
    put(&folder, "bath.yaml", "title: [\n");
    heard(&said, "is unchanged");
    assert_eq!(bytes(&folder.join("bath.pdf")), second);

    // Gone, and back.
    std::fs::remove_file(folder.join("bath.yaml")).unwrap();
    heard(&said, "no longer exists");
    assert_eq!(bytes(&folder.join("bath.pdf")), second);
    put(&folder, "bath.yaml", &good());
    heard(&said, " → ");
    assert_eq!(
        bytes(&folder.join("bath.pdf")),
        first,
        "as it was at the beginning"
    );
}

/// Where there is no unknown, what became of every other result is told.
#[test]
fn a_watched_report_tells_every_change_of_a_result() {
    let folder = folder("watched_results");
    let known = good()
        .replace("  bath 3: {unknown: true}\n", "")
        .lines()
        .filter(|line| !line.trim_start().starts_with("bath 3:"))
        .map(|line| line.to_owned() + "\n")
        .collect::<String>();
    put(&folder, "bath.yaml", &known);
    let mut running = begun(&folder, &["report", "bath.yaml", "--watch"]);
    let said = lines(&mut running);
    heard(&said, "A: density ");
    put(&folder, "bath.yaml", &known.replace("11.262 g", "36.262 g"));
    heard(&said, "mass percent of A: ");
    let aim = known
        .replace("11.262 g", "36.262 g")
        .replace("title:", "aim: To know.\ntitle:");
    put(&folder, "bath.yaml", &aim);
    heard(&said, "no result changed");
}

/// However often a file is saved, the report at the start is what it is compared with.
#[test]
fn a_watched_report_is_one_issue() {
    let folder = folder("watched_issue");
    put(&folder, "bath.yaml", &good());
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    let mut running = begun(&folder, &["report", "bath.yaml", "--watch"]);
    let said = lines(&mut running);
    heard(&said, "bath.pdf: ");
    for filled in ["41.186 g", "41.196 g"] {
        let text = good().replace("filled: 41.176 g", &format!("filled: {filled}"));
        put(&folder, "bath.yaml", &text);
        heard(&said, " → ");
    }
    drop(running);
    let carried = fillmark::cli::attachments::read(&bytes(&folder.join("bath.pdf")), 10_000_000);
    let record = carried.expect("a report").into_iter();
    let record = record.filter(|file| file.path == "record_of_issues.json");
    let record: Vec<serde_json::Value> = record
        .map(|file| serde_json::from_slice(&file.bytes).expect("JSON"))
        .collect();
    let issues = record[0]["issues"].as_array().expect("issues");
    assert_eq!(issues.len(), 1, "{issues:#?}");
    assert_eq!(issues[0]["number"], 2);
}

/// A file that is not Fillmark's stays, however often the run file is saved.
#[test]
fn a_watched_report_does_not_write_over_a_foreign_file() {
    let folder = folder("watched_foreign");
    put(&folder, "bath.yaml", &good());
    put(&folder, "bath.pdf", "a letter");
    let mut running = begun(&folder, &["report", "bath.yaml", "--watch"]);
    let said = lines(&mut running);
    heard(&said, "is unchanged");
    let text = good().replace("filled: 41.176 g", "filled: 41.196 g");
    put(&folder, "bath.yaml", &text);
    heard(&said, "is unchanged");
    assert_eq!(bytes(&folder.join("bath.pdf")), b"a letter");
}

#[test]
fn what_is_compared_with_something_else_does_not_write_over_a_foreign_file() {
    let folder = folder("since_foreign");
    put(&folder, "bath.yaml", &good());
    put(&folder, "old.yaml", &good());
    put(&folder, "bath.pdf", "a letter");
    let (_, err) = ended(
        &fillmark(&folder, &["report", "bath.yaml", "--since", "old.yaml"]),
        2,
    );
    assert!(err.contains("--force"), "{err}");
    assert_eq!(bytes(&folder.join("bath.pdf")), b"a letter");
}

/// Ctrl-C: what is begun comes to its end, the rest is not begun, and that is said.
#[cfg(unix)]
#[test]
fn many_reports_stop_when_asked() {
    const RUNS: usize = 400;
    let folder = folder("stopped");
    let names_of: Vec<String> = (0..RUNS).map(|index| format!("run{index}.yaml")).collect();
    for name in &names_of {
        put(&folder, name, &good());
    }
    let mut arguments = vec!["report", "--into", "out"];
    arguments.extend(names_of.iter().map(String::as_str));
    let mut running = begun(&folder, &arguments);
    let until = Instant::now() + PATIENCE;
    while !folder.join("out").exists() || names(&folder.join("out")).len() < 4 {
        assert!(Instant::now() < until, "nothing is made");
        std::thread::sleep(Duration::from_millis(5));
    }
    let id = running.0.id().to_string();
    let asked = Command::new("kill")
        .args(["-INT", &id])
        .status()
        .expect("kill");
    assert!(asked.success());
    let status = running.0.wait().expect("it ends");
    assert_eq!(status.code(), Some(1));
    let made = names(&folder.join("out"));
    assert!(made.len() < RUNS, "all of them were made");
    for name in made {
        let path = folder.join("out").join(&name);
        let finished = path.extension().is_some_and(|ending| ending == "pdf");
        assert!(finished && whole(&path), "{name}");
    }
}

/// Killed at moments all over the time that a report takes: a whole report stands there, the old or the new one, and
/// nothing is left after the next run.
#[test]
fn a_killed_process_costs_no_report() {
    const KILLED: u32 = 200;
    let folder = folder("killed");
    put(&folder, "bath.yaml", &good());
    let begin = Instant::now();
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    let whole_time = begin.elapsed();
    let output = folder.join("bath.pdf");
    let mut interrupted = 0;
    for index in 0..KILLED {
        let text = good().replace(
            "filled: 41.176 g",
            &format!("filled: 41.{:03} g", 100 + index),
        );
        put(&folder, "bath.yaml", &text);
        let mut running = begun(&folder, &["report", "bath.yaml"]);
        std::thread::sleep(whole_time * index / KILLED);
        running.0.kill().expect("it can be killed");
        let status = running.0.wait().expect("it ends");
        interrupted += u32::from(!status.success());
        assert!(
            whole(&output),
            "killed after {index} of {KILLED} of its time"
        );
    }
    assert!(
        interrupted >= KILLED / 4,
        "only {interrupted} were caught at work"
    );
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    assert_eq!(
        names(&folder),
        ["bath.pdf", "bath.yaml"],
        "nothing else is left"
    );
}

#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_keeps_its_report() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder("read_only");
    put(&folder, "bath.yaml", &good());
    ended(
        &fillmark(&folder, &["report", "bath.yaml", "--into", "out"]),
        0,
    );
    let out = folder.join("out");
    let old = bytes(&out.join("bath.pdf"));
    put(
        &folder,
        "bath.yaml",
        &good().replace("filled: 41.176 g", "filled: 41.177 g"),
    );
    let set = |mode| std::fs::set_permissions(&out, PermissionsExt::from_mode(mode)).unwrap();
    set(0o555);
    // Who may do everything is not kept out by permissions.
    let kept_out = std::fs::write(out.join("probe"), "x").is_err();
    let output = fillmark(&folder, &["report", "bath.yaml", "--into", "out"]);
    set(0o755);
    if kept_out {
        let (_, err) = ended(&output, 3);
        assert!(err.contains("cannot be written"), "{err}");
        assert_eq!(bytes(&out.join("bath.pdf")), old);
        assert_eq!(names(&out), ["bath.pdf"]);
    }
}

/// A full disk, as the limit on the size of a file that `ulimit` sets makes one.
#[cfg(unix)]
#[test]
fn a_disk_that_fills_up_keeps_the_report() {
    let folder = folder("full");
    put(&folder, "bath.yaml", &good());
    ended(&fillmark(&folder, &["report", "bath.yaml"]), 0);
    let output: PathBuf = folder.join("bath.pdf");
    let old = bytes(&output);
    put(
        &folder,
        "bath.yaml",
        &good().replace("filled: 41.176 g", "filled: 41.177 g"),
    );
    // Without the signal that goes with it, writing beyond the limit is an error.
    let script = "trap '' XFSZ; ulimit -f 8; exec \"$0\" report bath.yaml";
    let status = Command::new("sh")
        .current_dir(&folder)
        .args(["-c", script, env!("CARGO_BIN_EXE_fillmark")])
        .output()
        .expect("a shell");
    let (_, err) = ended(&status, 3);
    assert!(err.contains("cannot be written"), "{err}");
    assert_eq!(bytes(&output), old);
    assert_eq!(names(&folder), ["bath.pdf", "bath.yaml"]);
}
