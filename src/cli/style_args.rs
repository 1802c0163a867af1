//! What `--template` and `--style` name: a set of templates or a folder of them, and a style file.

use std::cell::RefCell;
use std::path::Path;

use super::Ending;
use super::command_error::CommandError;
use super::outputs::Inputs;
use super::terminal::Terminal;
use crate::files;
use crate::print::house_style;
use crate::print::layout::Style;
use crate::problem::{Code, Problem, Sources, nearest};
use crate::report::templates::{SHIPPED, Templates};

/// The largest template read, bytes.
const LARGEST_TEMPLATE: u64 = 1_000_000;

/// What explains the built-in templates and is none: it may have been copied with them.
const VALUES: &str = "VALUES.md";

/// The largest style file and the largest logo read, bytes.
const LARGEST_STYLE: u64 = 1_000_000;
const LARGEST_LOGO: u64 = 8_000_000;

/// Returns the style of a style file, the usual one where none is named; enters what is read among the inputs.
///
/// # Errors
/// What is wrong with them.
pub(super) fn styled(style: Option<&Path>, inputs: &mut Inputs) -> Result<Style, CommandError> {
    let Some(path) = style else {
        return Ok(Style::default());
    };
    let name = path.display().to_string();
    let bytes = files::read(path, LARGEST_STYLE)
        .map_err(|error| CommandError::not_read(&format!("`{name}`"), &error))?;
    inputs.add(path, "the style file");
    let inputs = RefCell::new(inputs);
    let beside = |logo: &str| {
        inputs
            .borrow_mut()
            .add(&path.with_file_name(logo), "the logo");
        files::read_beside(path, Path::new(logo), LARGEST_LOGO).map_err(|error| error.to_string())
    };
    house_style::read(&name, &bytes, &beside).map_err(|problem| {
        let sources = Sources::new(&*name, String::from_utf8_lossy(&bytes));
        CommandError::told(Ending::Problems).with(vec![problem], sources)
    })
}

/// Returns the templates chosen; those of the full report where none are. A set's own name comes before a folder of
/// that name, which `./NAME` still names. Enters what is read among the inputs.
///
/// # Errors
/// What is wrong with them.
pub(super) fn chosen(
    template: Option<&Path>,
    inputs: &mut Inputs,
    terminal: &mut Terminal,
) -> Result<Templates, CommandError> {
    let Some(named) = template else {
        return Ok(Templates::default());
    };
    if let Some(templates) = named.to_str().and_then(Templates::shipped) {
        return Ok(templates);
    }
    if !named.is_dir() {
        let problem = unknown(&named.display().to_string());
        return Err(CommandError::of_problem(Ending::Usage, problem));
    }
    own(Templates::default(), named, inputs, terminal)
}

/// Templates with those of a folder in place of some of them. Enters what is read among the inputs.
///
/// # Errors
/// What is wrong with them.
pub(super) fn own(
    templates: Templates,
    named: &Path,
    inputs: &mut Inputs,
    terminal: &mut Terminal,
) -> Result<Templates, CommandError> {
    let folder = named.display().to_string();
    let read = files::read_folder(named, "md", LARGEST_TEMPLATE)
        .map_err(|error| CommandError::not_read(&format!("the templates of `{folder}`"), &error))?;
    if read.is_empty() {
        let line = format!("the folder `{folder}` contains no templates (*.md)");
        return Err(CommandError::usage(line));
    }
    let mut own = Vec::new();
    for (name, bytes) in read.into_iter().filter(|(name, _)| name != VALUES) {
        inputs.add(&named.join(&name), "a template");
        let text = String::from_utf8(bytes).map_err(|_| {
            let line = format!("the template `{folder}/{name}` is not UTF-8");
            CommandError::new(Ending::Problems, line)
        })?;
        own.push((name, text));
    }
    let templates = templates.and(&folder, own);
    terminal.problems(&templates.unused_templates(), &Sources::none());
    Ok(templates)
}

fn unknown(named: &str) -> Problem {
    let sets: Vec<String> = SHIPPED
        .iter()
        .map(|set| format!("{} ({})", set.name, set.about))
        .collect();
    let known = format!("{}, or the path of a folder", sets.join(", "));
    Code::UnknownTemplate
        .error(format!("`{named}` is neither a template set nor a folder"))
        .read(named)
        .perhaps(nearest(named, SHIPPED.iter().map(|set| set.name)), &known)
}
