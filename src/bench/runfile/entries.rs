//! Every single value of a file, by name, in the order of the file.

use smol_str::SmolStr;

use super::csv_import::{TabledWeighings, names_a_file};
use super::fields::Value;
use super::model::{At, DensityMethod};
use super::tree::{Content, Key, Node};
use super::vocabulary::Section;
use super::words;

/// Returns whether a section lists single measurements by solution, where one alone has its number too.
pub(super) fn lists_singles(section: &str) -> bool {
    let methods = DensityMethod::ALL.into_iter();
    let mut methods = methods.filter(|method| *method != DensityMethod::Cumulative);
    methods.any(|method| method.section() == section)
}

/// Returns every single value below `root`, as written, and after them those of the table beside it.
pub(super) fn all(root: &Value<'_>, tabled: Option<&TabledWeighings>) -> Vec<At<SmolStr>> {
    let mut entries = Vec::new();
    walk(root, &mut entries);
    if let Some(weighings) = tabled.and_then(|tabled| tabled.value(root.found)) {
        let mut below = Vec::new();
        walk(&weighings, &mut below);
        // A table may name its solutions in any order.
        below.sort_by(|a, b| a.entry.span.cmp(&b.entry.span));
        entries.append(&mut below);
    }
    entries.shrink_to_fit();
    entries
}

/// Returns whether an entry of this name would be found if the file had it: what should hold it could be read.
pub(super) fn entry_exists(root: &Node, tabled: Option<&TabledWeighings>, name: &str) -> bool {
    // A key that is not recognised may be the section by another name.
    let holds = |node: &Node, section: &'static Section, key: &str| match &node.content {
        Content::Map(pairs) => {
            let known = |(key, _): &(Key, _)| section.key(&key.text).is_some();
            node.get(key).is_some() || pairs.iter().all(known)
        }
        _ => true,
    };
    let first = name.split('.').next().unwrap_or_default();
    if first != words::WEIGHINGS.name {
        return root.is_whole() && holds(root, &words::RUN, first);
    }
    let density = root.get(words::DENSITY.name).map(|(_, node)| node);
    root.is_whole()
        && holds(root, &words::RUN, words::DENSITY.name)
        && density.is_none_or(|node| holds(node, &words::DENSITY_KEYS, first))
        && tabled.is_none_or(|tabled| tabled.weighings.is_some() && tabled.complete)
}

fn walk(value: &Value<'_>, entries: &mut Vec<At<SmolStr>>) {
    match &value.node.content {
        Content::Scalar { text, .. } => {
            entries.push(value.at(text.trim().into()));
        }
        Content::Unread => {}
        Content::List(_) => {
            for item in value.items() {
                walk(&item, entries);
            }
        }
        Content::Map(pairs) => {
            let by_solution = lists_singles(&value.name) && !names_a_file(value.node);
            for (key, node) in pairs {
                let name = name_of(value, key.text.trim());
                let child = Value::at_key(value.found, (key, node), name);
                if by_solution {
                    for replicate in child.numbered() {
                        walk(&replicate, entries);
                    }
                } else {
                    walk(&child, entries);
                }
            }
        }
    }
}

/// Returns the weighings, the most often named of all, go without their section's name.
pub(super) fn name_of(parent: &Value<'_>, key: &str) -> String {
    if parent.name == words::DENSITY.name && key == words::WEIGHINGS.name {
        key.to_owned()
    } else {
        parent.child(key)
    }
}
