//! Who may import whom, that no files do so in a circle, who may print, and how long a file may be: read from the sources.

use crate::common::{files, path, read};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Lines of the longest file that is still one thing.
const LONGEST: usize = 600;

/// What each floor may import of ours: the table of DEVELOPERS.md. `cli` imports everything.
fn table() -> BTreeMap<String, BTreeSet<String>> {
    let guide = read(&path("DEVELOPERS.md"));
    let rows = guide.lines().filter_map(|line| {
        let row = line.strip_prefix("| `")?.strip_suffix(" |")?;
        let (floor, allowed) = row.split_once("` | ")?;
        (floor != "cli").then_some((floor, allowed))
    });
    let rows: BTreeMap<&str, &str> = rows.collect();
    let floors = rows.keys().map(|floor| (*floor).to_owned());
    floors
        .map(|floor| (floor.clone(), listed(&floor, &rows)))
        .collect()
}

/// The floors that a row of the table lists: none, or names, each perhaps with those of its own row.
fn listed(floor: &str, rows: &BTreeMap<&str, &str>) -> BTreeSet<String> {
    let row = rows[floor];
    if row.starts_with("nothing") {
        return BTreeSet::new();
    }
    let each = row.split(", ").flat_map(|item| {
        let name = item.strip_suffix(" and what it may import");
        let below = name.map(|name| listed(name.trim_matches('`'), rows));
        let name = name.unwrap_or(item).strip_prefix('`');
        let name = name.and_then(|name| name.strip_suffix('`'));
        let name = name.unwrap_or_else(|| panic!("{floor}: {item} is no floor"));
        below.into_iter().flatten().chain([name.to_owned()])
    });
    each.collect()
}

/// The source without comments, tests set apart by their own file or module included: they obey the table too.
fn code(source: &str) -> String {
    source
        .lines()
        .map(|line| line.split("//").next().unwrap_or_default())
        .collect::<Vec<_>>()
        .join("\n")
}

/// Whose modules are floors: those of the first two are all of them floors, of the last only these.
const ROOMS: [(&str, &[&str]); 3] = [
    ("bench", &[]),
    ("print", &[]),
    ("report", &["compare", "sheet"]),
];

/// The floor of a module by the first two names of its path.
fn floor_of<'p>(first: &'p str, second: Option<&'p str>) -> &'p str {
    let room = ROOMS.iter().find(|(room, _)| *room == first);
    match (room, second) {
        (Some((_, [])), Some(second)) => second,
        (Some((_, some)), Some(second)) if some.contains(&second) => second,
        _ => first,
    }
}

/// The floor a source file belongs to, and how deep in the crate its module lies: `src/bench/fit/line.rs` is 3 deep.
fn floor(file: &Path) -> (String, usize) {
    let within = file.strip_prefix(path("src")).expect("a source");
    let mut parts: Vec<String> = within
        .with_extension("")
        .iter()
        .map(|part| part.to_string_lossy().into_owned())
        .collect();
    if parts.last().is_some_and(|last| last == "mod") {
        parts.pop();
    }
    let second = parts.get(1).map(String::as_str);
    (floor_of(&parts[0], second).to_owned(), parts.len())
}

/// The sources of the program. Those of the build script, which runs before, are not among them.
fn sources() -> Vec<PathBuf> {
    let mut all = files("src", "rs");
    all.retain(|file| !file.starts_with(path("src/build")));
    assert!(all.len() > 100, "sources are missing");
    all
}

/// The floors that paths in a text lead to, from a module of a room some way down: `crate::…`, or `super::…` as far up as
/// the crate or the room.
fn floors_named(code: &str, room: &str, depth: usize) -> BTreeSet<String> {
    let mut named = BTreeSet::new();
    let [to_crate, to_room] = [depth, depth.saturating_sub(1)].map(|up| "super::".repeat(up));
    for (start, within) in [("crate::", ""), (&*to_crate, ""), (&*to_room, room)] {
        if start.is_empty() {
            continue;
        }
        for (at, _) in code.match_indices(start) {
            let before = code[..at].chars().next_back();
            if before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == ':' || c == '$') {
                continue;
            }
            for path in paths(&code[at + start.len()..]) {
                let path = [within, &path].join("::");
                let mut names = path.split("::").filter(|name| !name.is_empty());
                // What leads farther up is found from there.
                if path.split("::").any(|name| name == "super") {
                    continue;
                }
                if let Some(first) = names.next() {
                    named.insert(floor_of(first, names.next()).to_owned());
                }
            }
        }
    }
    named
}

/// The path that a text begins with, or each path in the braces that it begins or goes on with, two names at most.
fn paths(text: &str) -> Vec<String> {
    let end = text.find(|c: char| !(c.is_alphanumeric() || c == '_'));
    let (name, rest) = text.split_at(end.unwrap_or(text.len()));
    let below = rest.strip_prefix("::").map(str::trim_start);
    match (name, below) {
        ("", _) => text.strip_prefix('{').map_or_else(Vec::new, in_braces),
        (name, None) => vec![name.to_owned()],
        (name, Some(below)) => paths(below)
            .into_iter()
            .map(|path| format!("{name}::{path}"))
            .chain([name.to_owned()].into_iter().filter(|_| {
                !below.starts_with(|c: char| c == '{' || c.is_alphanumeric() || c == '_')
            }))
            .collect(),
    }
}

fn in_braces(inside: &str) -> Vec<String> {
    let mut all = paths(inside.trim_start());
    let mut depth = 0;
    for (at, c) in inside.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            ',' if depth == 0 => all.extend(paths(inside[at + 1..].trim_start())),
            _ => {}
        }
    }
    all
}

#[test]
fn paths_are_understood() {
    let code = "use crate::print::page::{self, Face};\nuse crate::{bench::fit, print::{layout::{a, b}, pdf}};\n\
                let x = super::super::super::files::read(); super::super::runfile::y(); super::other(); \
                mycrate::report::x(); pub(in crate::print::figure) fn f() {} crate::report::sheet::x(); crate::maths::superscript::raised();";
    let found: Vec<String> = floors_named(code, "bench", 3).into_iter().collect();
    let floors = [
        "figure", "files", "fit", "layout", "maths", "page", "pdf", "runfile", "sheet",
    ];
    assert_eq!(found, floors);
}

#[test]
fn every_import_is_in_the_table() {
    let table = table();
    let (mut wrong, mut edges) = (Vec::new(), BTreeSet::new());
    for file in &sources() {
        let (floor, depth) = floor(file);
        if ["lib", "main", "cli", "bench", "print"].contains(&floor.as_str()) {
            continue;
        }
        let within = file.strip_prefix(path("src")).expect("a source");
        let room = within.iter().next().unwrap_or_default().to_string_lossy();
        let Some(allowed) = table.get(floor.as_str()) else {
            wrong.push(format!("{floor} stands on no floor of the table"));
            continue;
        };
        for named in floors_named(&code(&read(file)), &room, depth) {
            let known = named == "cli" || table.contains_key(&named);
            if !known || named == floor {
                continue;
            }
            edges.insert((floor.clone(), named.clone()));
            if !allowed.contains(named.as_str()) {
                wrong.push(format!("{} imports {named}", file.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(
        edges.len() > 25,
        "the sources name too few floors: {edges:?}"
    );
}

#[test]
fn the_map_names_every_floor() {
    let map = read(&path("src/lib.rs"));
    for floor in table().into_keys() {
        let named = |start: &str| map.contains(&format!("{start}{floor}`]"));
        assert!(
            named("[`") || named("::"),
            "the map in src/lib.rs does not name {floor}"
        );
    }
}

#[test]
fn only_the_commands_print_and_only_they_reach_the_disk_and_the_clock() {
    let printing = [
        "println!",
        "print!",
        "eprintln!",
        "eprint!",
        "dbg!",
        "io::stdout",
        "io::stderr",
    ];
    let outside = [
        "std::fs",
        "std::env::",
        "std::process",
        "SystemTime",
        "Instant::now",
        "File::open",
    ];
    for file in sources() {
        let (floor, _) = floor(&file);
        let code = code(&read(&file));
        for word in printing {
            assert!(
                floor == "cli" || !code.contains(word),
                "{} has {word}",
                file.display()
            );
        }
        for word in outside {
            let may = ["cli", "files", "main"].contains(&floor.as_str());
            assert!(may || !code.contains(word), "{} has {word}", file.display());
        }
    }
}

#[test]
fn no_source_is_too_long() {
    for file in files("src", "rs") {
        let lines = read(&file).lines().count();
        assert!(
            lines <= LONGEST,
            "{} has {lines} lines, more than {LONGEST}",
            file.display()
        );
    }
}

/// The modules of all sources, by their paths in the crate, with their texts.
fn modules() -> BTreeMap<String, String> {
    let sources = files("src", "rs").into_iter().filter_map(|file| {
        let within = file.strip_prefix(path("src")).expect("a source");
        let name = within
            .with_extension("")
            .to_string_lossy()
            .replace('/', "::");
        let name = name.strip_suffix("::mod").unwrap_or(&name).to_owned();
        let is_test = name.contains("tests") || ["lib", "main"].contains(&name.as_str());
        let text = code(&read(&file));
        let text = text.split("#[cfg(test)]").next().unwrap_or_default();
        (!is_test).then(|| (name, text.to_owned()))
    });
    sources.collect()
}

/// The module that a path leads to from another one, if it is one of these.
fn module_of<'m>(path: &str, from: &str, modules: &'m BTreeMap<String, String>) -> Option<&'m str> {
    let mut at: Vec<&str> = from.split("::").collect();
    let mut names = path.split("::").peekable();
    match names.peek() {
        Some(&"crate") => {
            at.clear();
            names.next();
        }
        Some(&"super") => {
            while names.next_if_eq(&"super").is_some() {
                at.pop();
            }
        }
        _ => return None,
    }
    for name in names {
        let below = [&at[..], &[name]].concat();
        if !modules.contains_key(&below.join("::")) {
            break;
        }
        at = below;
    }
    let (name, _) = modules.get_key_value(&at.join("::"))?;
    Some(name)
}

/// A module may use what its own folder's `mod.rs` declares for the files in it, and that file hands on to them; beside
/// this, what a file uses stands below it.
#[test]
fn no_files_import_each_other_in_a_circle() {
    let modules = modules();
    let mut below: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for (name, text) in &modules {
        for start in ["crate::", "super::"] {
            for (at, _) in text.match_indices(start) {
                if text[..at].ends_with([':', '_']) {
                    continue;
                }
                // Three names lead to a file of a room, and one more to one of a folder in it.
                for path in long_paths(&text[at..]) {
                    let Some(other) = module_of(&path, name, &modules) else {
                        continue;
                    };
                    if other != name && !other.starts_with(&format!("{name}::")) {
                        below.entry(name).or_default().insert(other);
                    }
                }
            }
        }
    }
    assert!(below.len() > 200, "imports are not seen");
    let reached = |from: &str| {
        let mut seen = BTreeSet::new();
        let mut open = vec![from.to_owned()];
        while let Some(one) = open.pop() {
            for other in below.get(one.as_str()).into_iter().flatten() {
                if seen.insert(*other) {
                    open.push((*other).to_owned());
                }
            }
        }
        seen
    };
    let in_circles: Vec<&String> = modules
        .keys()
        .filter(|name| reached(name).contains(name.as_str()))
        .collect();
    assert!(in_circles.is_empty(), "{in_circles:#?}");
}

/// The paths that a text begins with, each of the names in braces by itself, in full.
fn long_paths(text: &str) -> Vec<String> {
    let end = text.find(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':'));
    let (path, rest) = text.split_at(end.unwrap_or(text.len()));
    let Some(start) = path.strip_suffix("::") else {
        return vec![path.to_owned()];
    };
    let Some(inside) = rest.strip_prefix('{') else {
        return vec![start.to_owned()];
    };
    let mut all = Vec::new();
    let mut depth = 0;
    let mut begins = 0;
    for (at, c) in inside.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth > 0 => depth -= 1,
            '}' | ',' if depth == 0 => {
                all.push(inside[begins..at].trim().to_owned());
                begins = at + 1;
                if c == '}' {
                    break;
                }
            }
            _ => {}
        }
    }
    all.iter()
        .filter(|one| !one.is_empty())
        .flat_map(|one| long_paths(&format!("{start}::{one}")))
        .collect()
}
