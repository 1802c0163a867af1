//! The run file described as a JSON Schema (draft 2020-12), from the words that read it.
//!
//! It is as strict as the reader about keys, shapes, words and units, and never stricter: what the reader takes, the
//! schema takes. What hangs together between entries is the reader's alone to judge.
//!
//! Editors offer what the schema lists, and say its messages. Three of their habits decide how it is written: they offer
//! `true`, `false` and `null` wherever such a type is named; they know that a section's keys go on lines of their own only
//! from a type that stands beside its title; and they show a pattern itself unless `patternErrorMessage` says it in words.
//! That keyword, `errorMessage` and `doNotSuggest` are theirs; validators pass over them. `tests/editor` holds all this.

use super::model::ApparatusKind;
use super::vocabulary::{Explanation, Form, KeyInfo, Measure, Section};
use super::words;
use crate::bench::quantity::{Dimension, Unit};
use serde_json::{Map, Value, json};

/// The days of a year, `MM-DD`, as the inside of a regular expression; which years are leap years the reader knows.
const DAYS: &str = "(?:0[13578]|1[02])-(?:0[1-9]|[12][0-9]|3[01])|(?:0[469]|11)-(?:0[1-9]|[12][0-9]|30)|02-(?:0[1-9]|[12][0-9])";

/// Returns the schema of a run file.
pub fn schema() -> Value {
    let about = "The readings of a bench run, from which `fillmark report` makes its report.";
    describe_file(&words::RUN, "Fillmark run file", about)
}

/// Returns the schema of a plan file.
pub fn plan_schema() -> Value {
    let about = "The targets of a series, from which `fillmark plan` proposes how to make it.";
    describe_file(&words::PLAN_FILE, "Fillmark plan file", about)
}

fn describe_file(file: &'static Section, title: &str, about: &str) -> Value {
    let mut definitions = Definitions::default();
    let mut root = object(file, &mut definitions);
    let head = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
        "type": "object",
        "description": about,
    });
    if let (Value::Object(root), Value::Object(head)) = (&mut root, head) {
        root.extend(head);
        root.insert("$defs".to_owned(), Value::Object(definitions.0));
    }
    root
}

/// Sections that have been described, by name, so that each is described once.
#[derive(Default)]
struct Definitions(Map<String, Value>);

impl Definitions {
    /// Returns a reference to the description of a section.
    fn section(&mut self, section: &'static Section) -> Value {
        let reference = self.reference(section);
        if section.short.is_some() {
            json!({
                "type": ["object", "string", "number"],
                "if": { "type": "object" },
                "then": reference,
            })
        } else {
            json!({ "type": ["object"], "allOf": [reference] })
        }
    }

    fn reference(&mut self, section: &'static Section) -> Value {
        let name = name_of(section);
        if !self.0.contains_key(&name) {
            // Taken before it is filled, lest a section that holds itself go round for ever.
            self.0.insert(name.clone(), Value::Bool(true));
            let described = object(section, self);
            self.0.insert(name.clone(), described);
        }
        json!({ "$ref": format!("#/$defs/{name}") })
    }
}

/// `a weighing of a volume` as `weighing_of_a_volume`.
pub(super) fn name_of(section: &Section) -> String {
    let name = section.what;
    let article = ["a ", "an ", "the "]
        .iter()
        .find_map(|article| name.strip_prefix(article));
    article.unwrap_or(name).replace(' ', "_")
}

/// `made_up` as `Made up`.
pub(super) fn titled(name: &str) -> String {
    let mut letters = name.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect::<String>().replace('_', " ")
}

/// Returns the keys of a section. That it is one is said where it stands, so that what may stand there instead needs no
/// branch of its own, and whoever checks a file can tell the very key that is wrong.
fn object(section: &'static Section, definitions: &mut Definitions) -> Value {
    let mut properties = Map::new();
    for key in section.keys {
        properties.insert(key.name().to_owned(), property(*key, definitions));
    }
    let required: Vec<&str> = section
        .keys
        .iter()
        .filter(|key| key.is_required())
        .map(|key| key.name())
        .collect();
    let mut object = json!({
        "title": titled(&name_of(section)),
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    });
    if !section.ways.is_empty() {
        // A blank optional key is one that is not there.
        let way = |way: &&[&'static dyn KeyInfo]| {
            let names: Vec<&str> = way.iter().map(|key| key.name()).collect();
            let written = json!({ "not": { "type": "null" }, "doNotSuggest": true });
            let mut keys: Map<String, Value> = names
                .iter()
                .map(|name| ((*name).to_owned(), written.clone()))
                .collect();
            let others = section.ways.iter().copied().flatten().map(|key| key.name());
            for other in others.filter(|name| section.one_way && !names.contains(name)) {
                let message = format!(
                    "`{other}` cannot be combined with `{}`.",
                    names.join("` and `")
                );
                let blank =
                    json!({ "type": ["null"], "errorMessage": message, "doNotSuggest": true });
                keys.insert(other.to_owned(), blank);
            }
            json!({ "required": names, "properties": keys })
        };
        object["anyOf"] = section.ways.iter().map(way).collect();
    }
    object
}

fn property(key: &'static dyn KeyInfo, definitions: &mut Definitions) -> Value {
    let form = key.form();
    let mut schema = value(&form, key.is_required(), definitions);
    let must_say = matches!(form, Form::Account(account) if !account.may_be_blank);
    if !key.is_required() && !must_say {
        schema = or_blank(schema);
    }
    let mut description = key.about().to_owned();
    if let Form::Measure(measure) | Form::Deliveries(measure) = form {
        description += &format!(" Must be {}{}.", measure.limits, measure.unless_written());
    }
    schema["title"] = titled(key.name()).into();
    schema["description"] = description.into();
    schema
}

/// Returns the same, or nothing written.
fn or_blank(mut schema: Value) -> Value {
    if let Some(Value::Array(types)) = schema.get_mut("type")
        && types.contains(&"object".into())
    {
        types.push("null".into());
        return schema;
    }
    let blank = none_of("Blank", &["string", "number", "boolean", "array", "object"]);
    if let Some(Value::Array(any)) = schema.get_mut("anyOf") {
        any.push(blank);
        return schema;
    }
    json!({ "anyOf": [schema, blank] })
}

/// Returns the types that are left; they are not named, so that editors do not offer their words. Branches without
/// titles of their own would be told as the same thing twice.
fn none_of(title: &str, types: &[&str]) -> Value {
    json!({ "title": title, "not": { "type": types } })
}

fn value(form: &Form, required: bool, definitions: &mut Definitions) -> Value {
    match form {
        Form::Text | Form::ApparatusName | Form::SolutionName if required => {
            text_like("\\S", "Must not be blank.")
        }
        Form::Text | Form::ApparatusName | Form::SolutionName => text(),
        Form::Account(account) => explained(account),
        Form::Texts | Form::SolutionNames => {
            // A list without items says as little as a blank.
            let least = usize::from(required);
            let list = json!({ "type": "array", "items": text(), "minItems": least });
            json!({ "anyOf": [text(), list] })
        }
        Form::Day => json!({
            "type": ["string"],
            "pattern": format!("^\\s*[0-9]{{4}}-(?:{DAYS})\\s*$"),
            "patternErrorMessage": "Must be a day, written as in 2026-03-04.",
            "examples": ["2026-03-04"],
        }),
        Form::Mark => json!({ "anyOf": [{ "enum": [true] }, quoted_true()] }),
        Form::Count(most) => json!({ "anyOf": [
            { "type": "integer", "minimum": 0, "maximum": most },
            {
                "type": "string",
                "pattern": "^[0-9]+$",
                "patternErrorMessage": "Must be a whole number.",
            },
        ] }),
        Form::Measure(measure) => quantity(measure, ""),
        Form::Scaled(measures) => {
            json!({ "anyOf": measures.iter().enumerate().map(|(i, measure)| match i {
            0 => quantity(measure, ""),
            _ => on_scale(measure),
        }).collect::<Vec<_>>() })
        }
        Form::Deliveries(measure) => deliveries(measure),
        Form::Strength(measures) => in_one_of(measures, Before::Nothing),
        Form::Range(measures) => in_one_of(measures, Before::Lower),
        Form::Interval(measure) => in_one_of(std::slice::from_ref(measure), Before::Limits),
        Form::Choice(words) => choice(words),
        Form::Choices(words) => {
            let one = choice(words);
            json!({ "anyOf": [one, { "type": "array", "items": one }] })
        }
        Form::Section(section) => definitions.section(section),
        Form::Named(section) => describe_named(&definitions.section(section)),
        Form::NamedByKind(sections) => describe_named(&by_kind(sections, definitions)),
        Form::NamedLists(section) => describe_named(&one_or_more(section, definitions)),
        Form::NamedListsOrSection(lists, section) => {
            let lists = describe_named(&one_or_more(lists, definitions));
            let first = section.keys[0].name();
            json!({
                "type": ["object"],
                "if": { "type": "object", "required": [first], "properties": { first: text() } },
                "then": definitions.section(section),
                "else": { "if": { "type": "object" }, "then": lists },
            })
        }
        Form::NamedValues(word) => describe_named(&property(*word, definitions)),
        Form::List(section) => one_or_more(section, definitions),
        Form::WordOrSection(words, section) => {
            let plain = |word: &&str| match *word {
                "true" => Value::Bool(true),
                word => word.into(),
            };
            let mut any = vec![json!({ "enum": words.iter().map(plain).collect::<Vec<_>>() })];
            if words.contains(&"true") {
                any.push(quoted_true());
            }
            any.push(definitions.section(section));
            json!({ "anyOf": any })
        }
        Form::TextOrSection(known, section) => {
            let word = choice(&known());
            json!({ "anyOf": [word, definitions.section(section)] })
        }
    }
}

/// Any single value: a title may be a number.
fn text() -> Value {
    let written = json!({ "type": ["string", "number"] });
    let types = ["string", "number", "array", "object", "null"];
    json!({ "anyOf": [written, none_of("True or false", &types)] })
}

/// Returns the same, of a form; what to say of text that has another.
fn text_like(pattern: &str, message: &str) -> Value {
    let mut text = text();
    text["anyOf"][0]["pattern"] = pattern.into();
    text["anyOf"][0]["patternErrorMessage"] = message.into();
    text
}

/// `true` in quotation marks, which is not offered beside the bare word.
fn quoted_true() -> Value {
    json!({ "type": "string", "pattern": "^true$" })
}

/// Text that says how or why: none of the words that do not.
fn explained(account: &Explanation) -> Value {
    let words: Vec<String> = account.not.iter().map(|word| any_spelling(word)).collect();
    let booleans: Vec<bool> = account.not.iter().filter_map(|w| w.parse().ok()).collect();
    // A blank text is no text.
    let blank = if account.may_be_blank { "" } else { "?" };
    let pattern = format!("^(?!\\s*(?:{}){blank}\\s*$)", words.join("|"));
    let message = format!("Must say {}: {}.", account.asks, account.right);
    let mut schema = text_like(&pattern, &message);
    if !booleans.is_empty() {
        schema["not"] = json!({ "enum": booleans });
    }
    schema
}

/// Returns a section of names.
fn describe_named(each: &Value) -> Value {
    json!({
        "type": ["object"],
        "propertyNames": { "pattern": "\\S" },
        "additionalProperties": each,
    })
}

/// Returns a list of such sections, or one alone.
fn one_or_more(section: &'static Section, definitions: &mut Definitions) -> Value {
    let one = definitions.section(section);
    let mut schema = one.clone();
    if let Some(types) = schema["type"].as_array_mut() {
        types.insert(0, "array".into());
    }
    schema["items"] = one;
    schema["minItems"] = 1.into();
    schema
}

/// Returns a section whose kind tells which it is.
fn by_kind(
    sections: &'static [(&'static Section, &'static [ApparatusKind])],
    definitions: &mut Definitions,
) -> Value {
    let kind = words::KIND.name;
    let branches: Vec<Value> = sections
        .iter()
        .map(|(section, kinds)| {
            let words: Vec<&str> = words::KIND
                .form
                .0
                .iter()
                .filter(|(_, kind)| kinds.contains(kind))
                .map(|(word, _)| *word)
                .collect();
            json!({
                "if": { "required": [kind], "properties": { kind: choice(&words) } },
                "then": definitions.section(section),
            })
        })
        .collect();
    json!({
        "type": "object",
        "required": [kind],
        "properties": { kind: property(&words::KIND, definitions) },
        "allOf": branches,
    })
}

/// Returns one of some words, in capitals or not, with spaces, hyphens or underscores.
fn choice(words: &[&str]) -> Value {
    let mut folded = Vec::new();
    for word in words {
        folded.push(any_spelling(word));
        folded.extend(words::others_for(word).map(any_spelling));
    }
    json!({ "anyOf": [
        { "enum": words },
        { "type": "string", "pattern": format!("^\\s*(?:{})\\s*$", folded.join("|")) },
    ] })
}

fn any_spelling(word: &str) -> String {
    word.chars()
        .map(|c| match c {
            ' ' => "[ _-]".to_owned(),
            c if c.is_alphabetic() => format!("[{}{}]", c.to_lowercase(), c.to_uppercase()),
            c => c.to_string(),
        })
        .collect()
}

/// Returns a quantity: a bare number in the field's own unit, or a text that may begin with `before`.
fn quantity(measure: &'static Measure, before: &str) -> Value {
    let low = if measure.low_allowed {
        "minimum"
    } else {
        "exclusiveMinimum"
    };
    // Below zero of another scale may be above zero of this.
    let scale = measure.unit.dimension == Dimension::Temperature;
    let positive = measure.low >= 0.0 && !measure.low_allowed && !scale;
    json!({
        "type": ["number", "string"],
        low: measure.unit.from_base(measure.low),
        "maximum": measure.unit.from_base(measure.high),
        "pattern": format!("^\\s*{before}{}\\s*$", measure.unit.pattern(positive)),
        "patternErrorMessage": message(measure.limits, &examples(measure)),
        "examples": examples(measure),
    })
}

/// Returns a quantity with its unit, or with the name of its scale before it.
fn on_scale(measure: &'static Measure) -> Value {
    let prefix = measure.prefix().map(|prefix| format!("{prefix} "));
    let examples = examples(measure).into_iter();
    let examples: Vec<String> = examples
        .map(|text| prefix.clone().unwrap_or_default() + &text)
        .collect();
    let message = message(measure.limits, &examples);
    let positive = measure.low >= 0.0 && !measure.low_allowed;
    let pattern = measure.unit.pattern(positive);
    let mut schema = json!({
        "type": ["string"],
        "patternErrorMessage": message,
        "examples": examples,
    });
    if let Some(prefix) = measure.prefix() {
        schema["pattern"] = format!("^\\s*{}\\s+{pattern}\\s*$", any_spelling(prefix)).into();
    } else {
        let units = Unit::all_spellings(measure.unit.dimension).join("|");
        schema["pattern"] = format!("^\\s*{pattern}\\s*$").into();
        schema["allOf"] =
            json!([{ "pattern": format!("(?:{units})"), "patternErrorMessage": message }]);
    }
    schema
}

/// Returns what to say of a quantity that is written in another way than these examples.
fn message(limits: &str, examples: &[String]) -> String {
    format!("Must be {limits}, {}.", as_in(examples))
}

/// In words, how something is written.
fn as_in(examples: &[String]) -> String {
    match examples.split_last() {
        None => "a number".to_owned(),
        Some((only, [])) => format!("written as in {only}"),
        Some((last, others)) => format!("written as in {} or {last}", others.join(", ")),
    }
}

/// What may stand before a quantity that has its unit.
#[derive(Clone, Copy)]
enum Before {
    /// Nothing.
    Nothing,
    /// A lower one, whose unit may be left out.
    Lower,
    /// A lower one, or `at least` or `at most`.
    Limits,
}

/// Returns a quantity with its unit in one of some measures, with what stands before it.
fn in_one_of(measures: &'static [Measure], before: Before) -> Value {
    let number = "[0-9]+(?:[.][0-9]+)?";
    let one = |measure: &Measure| {
        let unit = regular(measure.unit.symbol);
        let lower = format!("{number}\\s*(?:{unit})?\\s+to\\s+");
        let before = match before {
            Before::Nothing => String::new(),
            Before::Lower => lower,
            Before::Limits => format!("(?:at (?:least|most)\\s+|{lower})"),
        };
        format!("{before}{number}\\s*{unit}")
    };
    let each: Vec<String> = measures.iter().map(one).collect();
    let examples = measures.iter().flat_map(|measure| {
        let befores: &[&str] = match before {
            Before::Nothing => &[""],
            Before::Lower => &["3 to "],
            Before::Limits => &["3 to ", "at least ", "at most "],
        };
        let unit = measure.unit.symbol;
        befores
            .iter()
            .map(move |before| format!("{before}8 {unit}"))
    });
    let examples: Vec<String> = examples.collect();
    json!({
        "type": ["string"],
        "pattern": format!("^\\s*(?:{})\\s*$", each.join("|")),
        "patternErrorMessage": format!("Must be {}.", as_in(&examples)),
        "examples": examples,
    })
}

/// Returns a unit in a regular expression, whatever the case of its litre.
fn regular(symbol: &str) -> String {
    symbol.replace("/L", "/[Ll]")
}

fn deliveries(measure: &'static Measure) -> Value {
    // One comes first: editors put a list there otherwise.
    let one = quantity(measure, "(?:0*[1-9][0-9]*\\s*[×xX*]\\s*)?");
    let list = json!({
        "title": "Several",
        "type": "array",
        "items": quantity(measure, ""),
        "minItems": 1,
    });
    json!({ "anyOf": [one, list] })
}

/// Returns a quantity in each of the ways it may be written.
fn examples(measure: &'static Measure) -> Vec<String> {
    const NUMBERS: [(&str, &str, &str); 5] = [
        ("12.34", "(2)", "0.02"),
        ("0.98", "(1)", "0.01"),
        ("1.0712", "(3)", "0.0003"),
        ("1012", "(1)", "1"),
        ("2170", "(20)", "20"),
    ];
    let fits = |number: &str| {
        let value = number.parse().ok().map(|value| measure.unit.to_base(value));
        value.is_some_and(|value| measure.allows(value))
    };
    let unit = measure.unit.symbol;
    let Some((number, digits, spread)) = NUMBERS.iter().find(|(number, ..)| fits(number)) else {
        return Vec::new();
    };
    [
        format!("{number} {unit}"),
        format!("{number}{digits} {unit}"),
        format!("{number} ± {spread} {unit}"),
    ]
    .map(|text| text.trim_end().to_owned())
    .to_vec()
}
