//! Files carried inside the document (ISO 32000-1, 7.11.4; the relationship is that of ISO 19005-3, annex E).

use lopdf::{Dictionary, Object, Stream, StringFormat, dictionary};

use super::write_object::integer_object;
use super::{PdfError, metadata};
use crate::print::page::{Carried, Document};

/// Writes the attachments.
pub(super) fn write(file: &mut lopdf::Document, document: &mut Document) -> Result<(), PdfError> {
    if document.attachments.is_empty() {
        return Ok(());
    }
    let mut by_name = std::collections::BTreeMap::new();
    let mut in_order: Vec<Object> = Vec::new();
    for attachment in std::mem::take(&mut document.attachments) {
        // The run file is what the report was made from; anything else goes with it.
        let (mime, relationship) = match attachment.kind {
            Carried::RunFile => ("application/yaml", "Source"),
            Carried::Table => ("text/csv", "Data"),
            Carried::Data => ("application/json", "Data"),
        };
        let mut parameters = dictionary! {
            "Size" => integer_object(attachment.content.length),
            "CheckSum" => Object::String(attachment.content.digest.to_vec(), StringFormat::Hexadecimal),
        };
        if let Some(date) = document.about.date.map(metadata::pdf_date) {
            parameters.set("ModDate", Object::string_literal(date));
        }
        let stream = dictionary! {
            "Type" => "EmbeddedFile",
            "Subtype" => Object::Name(mime.into()),
            "Filter" => "FlateDecode",
            "Params" => parameters,
        };
        let stream = file.add_object(Stream::new(stream, attachment.content.bytes));
        let name = lopdf::text_string(&attachment.name);
        let specification = file.add_object(dictionary! {
            "Type" => "Filespec",
            "F" => name.clone(),
            "UF" => name.clone(),
            "Desc" => lopdf::text_string(&attachment.description),
            "AFRelationship" => relationship,
            "EF" => dictionary! { "F" => stream, "UF" => stream },
        });
        in_order.push(specification.into());
        // A name tree is sorted by the bytes of its keys.
        by_name.insert(name.as_str()?.to_vec(), (name, specification));
    }
    let names: Vec<Object> = by_name
        .into_values()
        .flat_map(|(name, file)| [name, file.into()])
        .collect();
    let catalogue: &mut Dictionary = file.catalog_mut()?;
    catalogue.set(
        "Names",
        dictionary! { "EmbeddedFiles" => dictionary! { "Names" => names } },
    );
    catalogue.set("AF", in_order);
    Ok(())
}
