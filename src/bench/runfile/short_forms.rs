//! Short forms of sections: `made_up: 100 mL`, `aliquot: 2 × 5 mL of stock`. They are replaced by the full sections.

use super::tree::{Content, Key, Node};
use super::vocabulary::{Form, KeyInfo, Section, Short};
use crate::bench::quantity::{Dimension, Unit};

/// Replaces the short forms in a file by full sections.
pub(super) fn write_out(node: &mut Node, section: &'static Section) {
    let Content::Map(pairs) = &mut node.content else {
        return;
    };
    for (key, value) in pairs {
        match section.key(&key.text).map(KeyInfo::form) {
            Some(
                Form::Section(inner)
                | Form::TextOrSection(_, inner)
                | Form::WordOrSection(_, inner)
                | Form::List(inner),
            ) => one_or_more(value, inner),
            Some(
                Form::Named(inner) | Form::NamedLists(inner) | Form::NamedListsOrSection(inner, _),
            ) => {
                if let Content::Map(named) = &mut value.content {
                    let each = named.iter_mut().map(|(_, value)| value);
                    each.for_each(|value| one_or_more(value, inner));
                }
            }
            _ => {}
        }
    }
}

fn one_or_more(node: &mut Node, section: &'static Section) {
    match &mut node.content {
        Content::List(items) => items.iter_mut().for_each(|item| expand(item, section)),
        _ => expand(node, section),
    }
}

fn expand(node: &mut Node, section: &'static Section) {
    if let (Some(short), Content::Scalar { text, .. }) = (section.short, &node.content)
        && text.contains(|c: char| c.is_ascii_digit())
        && !node.is_empty()
    {
        let pairs = match short {
            Short::Of(key) => vec![(key, text.clone())],
            Short::Amount { mass, volume } => {
                let symbol = text.trim_start_matches(|c: char| !c.is_alphabetic()).trim();
                let unit = Unit::from_symbol(symbol, Dimension::Volume);
                let is_volume = unit.is_some_and(|unit| unit.dimension == Dimension::Volume);
                vec![(if is_volume { volume } else { mass }, text.clone())]
            }
            Short::TakenOf { volume, of } => match text.split_once(" of ") {
                Some((taken, from)) => vec![(volume, taken.to_owned()), (of, from.to_owned())],
                None => vec![(volume, text.clone())],
            },
        };
        let span = &node.span;
        let pair = |(key, text): (&str, String)| {
            let key = Key::new(key, span.clone());
            let text = text.trim().to_owned();
            let content = Content::Scalar { text, plain: true };
            let span = span.clone();
            (key, Node::new(content, span))
        };
        node.content = Content::Map(pairs.into_iter().map(pair).collect());
        return;
    }
    write_out(node, section);
}
