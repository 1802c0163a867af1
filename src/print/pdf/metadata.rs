//! What the file says about itself: information dictionary, XMP packet, language, colours.

use lopdf::{Object, Stream, dictionary};

use time::Date;

use super::PdfError;
use crate::print::page::{About, Document, xml};

/// The program that makes and writes the file.
const MAKER: &str = concat!("Fillmark ", env!("CARGO_PKG_VERSION"));

/// Writes all of it.
pub(super) fn write(file: &mut lopdf::Document, document: &Document) -> Result<(), PdfError> {
    let about = &document.about;
    let mut information = dictionary! {
        "Title" => lopdf::text_string(&about.title),
        "Author" => lopdf::text_string(&about.authors.join(", ")),
        "Subject" => lopdf::text_string(&about.subject),
        "Creator" => lopdf::text_string(MAKER),
        "Producer" => lopdf::text_string(MAKER),
    };
    if let Some(date) = about.date.map(pdf_date) {
        information.set("CreationDate", Object::string_literal(date.clone()));
        information.set("ModDate", Object::string_literal(date));
    }
    let information_id = file.trailer.get(b"Info")?.as_reference()?;
    file.set_object(information_id, information);

    let packet = dictionary! { "Type" => "Metadata", "Subtype" => "XML" };
    let packet =
        file.add_object(Stream::new(packet, xmp(about).into_bytes()).with_compression(false));
    let profile = dictionary! { "N" => 3, "Alternate" => "DeviceRGB" };
    let profile = file.add_object(Stream::new(profile, typst_assets::icc::S_RGB_V4.to_vec()));
    let intent = dictionary! {
        "Type" => "OutputIntent",
        "S" => "GTS_PDFA1",
        "OutputConditionIdentifier" => Object::string_literal("sRGB IEC61966-2.1"),
        "RegistryName" => Object::string_literal("http://www.color.org"),
        "Info" => Object::string_literal("sRGB IEC61966-2.1"),
        "DestOutputProfile" => profile,
    };
    let catalogue = file.catalog_mut()?;
    catalogue.set("Metadata", packet);
    catalogue.set("OutputIntents", vec![intent.into()]);
    catalogue.set(
        "ViewerPreferences",
        dictionary! { "DisplayDocTitle" => true },
    );
    if !about.language.is_empty() {
        catalogue.set("Lang", lopdf::text_string(&about.language));
    }
    Ok(())
}

/// Returns a day as a PDF date at midnight (ISO 32000-1, 7.9.4).
pub(super) fn pdf_date(date: Date) -> String {
    format!("D:{}000000Z", date.to_string().replace('-', ""))
}

/// What the file conforms to: PDF/A-3a (ISO 19005-3:2012, 6.6.4) and PDF/UA-1 (ISO 14289-1:2014, clause 5).
const CONFORMS: &str = "<pdfaid:part>3</pdfaid:part><pdfaid:conformance>A</pdfaid:conformance>\
    <pdfuaid:part>1</pdfuaid:part>";

/// PDF/A wants properties that it does not know described (ISO 19005-3:2012, 6.6.2.3): the one of PDF/UA.
const EXTENSION: &str = "<rdf:Description rdf:about=\"\" \
    xmlns:pdfaExtension=\"http://www.aiim.org/pdfa/ns/extension/\" \
    xmlns:pdfaSchema=\"http://www.aiim.org/pdfa/ns/schema#\" \
    xmlns:pdfaProperty=\"http://www.aiim.org/pdfa/ns/property#\">\
    <pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType=\"Resource\">\
    <pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>\
    <pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>\
    <pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>\
    <pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType=\"Resource\">\
    <pdfaProperty:name>part</pdfaProperty:name>\
    <pdfaProperty:valueType>Integer</pdfaProperty:valueType>\
    <pdfaProperty:category>internal</pdfaProperty:category>\
    <pdfaProperty:description>Part of ISO 14289 that the file conforms to</pdfaProperty:description>\
    </rdf:li></rdf:Seq></pdfaSchema:property></rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>";

/// Returns the XMP packet (ISO 16684-1), saying what the information dictionary says, and what the file conforms to.
fn xmp(about: &About) -> String {
    let mut properties = format!(
        "<dc:format>application/pdf</dc:format>\
         <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{}</rdf:li></rdf:Alt></dc:title>\
         <dc:creator><rdf:Seq><rdf:li>{}</rdf:li></rdf:Seq></dc:creator>\
         <dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">{}</rdf:li></rdf:Alt></dc:description>\
         <xmp:CreatorTool>{MAKER}</xmp:CreatorTool><pdf:Producer>{MAKER}</pdf:Producer>",
        xml(&about.title),
        xml(&about.authors.join(", ")),
        xml(&about.subject),
    );
    if !about.language.is_empty() {
        properties.extend([
            "<dc:language><rdf:Bag><rdf:li>",
            &xml(&about.language),
            "</rdf:li></rdf:Bag></dc:language>",
        ]);
    }
    if let Some(date) = about.date {
        properties.extend(
            ["CreateDate", "ModifyDate", "MetadataDate"]
                .map(|property| format!("<xmp:{property}>{date}T00:00:00Z</xmp:{property}>")),
        );
    }
    format!(
        "<?xpacket begin=\"\u{FEFF}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
         <x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\
         <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\
         <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" \
         xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" \
         xmlns:pdfaid=\"http://www.aiim.org/pdfa/ns/id/\" xmlns:pdfuaid=\"http://www.aiim.org/pdfua/ns/id/\">\
         {properties}{CONFORMS}</rdf:Description>{EXTENSION}</rdf:RDF></x:xmpmeta>\n\
         <?xpacket end=\"r\"?>"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_midnight_of_it() {
        let day = Date::from_ordinal_date(2026, 63).unwrap();
        assert_eq!(pdf_date(day), "D:20260304000000Z");
    }

    #[test]
    fn the_packet_is_well_formed_whatever_the_title() {
        let about = About {
            title: "a < b & c\u{1}".to_owned(),
            ..About::default()
        };
        let packet = xmp(&about);
        assert!(packet.contains(">a &lt; b &amp; c\u{fffd}<"));
        assert!(!packet.contains("CreateDate"));
    }
}
