//! What belongs to the file as a whole: attachments, metadata, the same bytes again, and what is refused.

use fillmark::print::page::{Colour, Face, Glyph, GlyphRun, Mark, Shape, Step};
use fillmark::print::pdf::{self, PdfError};

use super::{RUN_FILE, Sample, dictionary, read, rule, sample, written};

#[test]
fn attachments_come_out_as_they_went_in() {
    let file = read(&written(&sample()));
    let catalogue = file.catalog().unwrap();
    let names = dictionary(&file, catalogue.get(b"Names").unwrap());
    let names = dictionary(&file, names.get(b"EmbeddedFiles").unwrap())
        .get(b"Names")
        .unwrap()
        .as_array()
        .unwrap();
    let listed: Vec<String> = names
        .iter()
        .step_by(2)
        .map(|name| lopdf::decode_text_string(name).unwrap())
        .collect();
    assert_eq!(listed, ["results.json", "run.yaml"]);
    let specification = dictionary(&file, &names[3]);
    assert_eq!(
        specification
            .get(b"AFRelationship")
            .unwrap()
            .as_name()
            .unwrap(),
        b"Source"
    );
    let stream = specification
        .get(b"EF")
        .unwrap()
        .as_dict()
        .unwrap()
        .get(b"F")
        .unwrap();
    let stream = file.dereference(stream).unwrap().1.as_stream().unwrap();
    assert_eq!(stream.get_plain_content().unwrap(), RUN_FILE);
    assert_eq!(catalogue.get(b"AF").unwrap().as_array().unwrap().len(), 2);
}

#[test]
fn the_file_names_itself_twice_alike() {
    let file = read(&written(&sample()));
    let information = dictionary(&file, file.trailer.get(b"Info").unwrap());
    assert_eq!(
        lopdf::decode_text_string(information.get(b"Title").unwrap()).unwrap(),
        "Brine, 5 % ± 0.1 %"
    );
    assert_eq!(
        information.get(b"ModDate").unwrap().as_str().unwrap(),
        b"D:20260304000000Z"
    );
    let packet = file
        .dereference(file.catalog().unwrap().get(b"Metadata").unwrap())
        .unwrap()
        .1
        .as_stream()
        .unwrap();
    let packet = String::from_utf8(packet.content.clone()).unwrap();
    for part in [
        "Brine, 5 % ± 0.1 %",
        "R. Example, Ö. Muster",
        "A &lt;test&gt; &amp; more",
        "2026-03-04T00:00:00Z",
    ] {
        assert!(packet.contains(part), "{part}");
    }
    let identifier = file.trailer.get(b"ID").unwrap().as_array().unwrap();
    assert_eq!(identifier[0], identifier[1]);
    assert_ne!(identifier[0].as_str().unwrap(), [0; 16]);
}

#[test]
fn the_same_document_gives_the_same_bytes() {
    let first = written(&sample());
    let others: Vec<Vec<u8>> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4).map(|_| scope.spawn(|| written(&sample()))).collect();
        threads
            .into_iter()
            .map(|thread| thread.join().unwrap())
            .collect()
    });
    assert!(others.iter().all(|other| *other == first));
}

#[test]
fn whatever_differs_the_identifier_does() {
    let identifier = |change: &dyn Fn(&mut Sample)| {
        let mut it = sample();
        change(&mut it);
        let file = read(&written(&it));
        file.trailer.get(b"ID").unwrap().as_array().unwrap()[0].clone()
    };
    let all = [
        identifier(&|_| ()),
        identifier(&|it| it.document.structure[1].alternative = Some("other".to_owned())),
        identifier(&|it| it.put(1, None, rule(3.51))),
        // Of the same length, in a stream that is packed.
        identifier(&|it| it.put(1, None, rule(3.52))),
    ];
    for (at, one) in all.iter().enumerate() {
        assert!(!all[..at].contains(one), "{at}");
    }
}

#[test]
fn unsound_documents_are_refused() {
    let refusal = |change: &dyn Fn(&mut Sample)| {
        let mut it = sample();
        change(&mut it);
        pdf::write(it.document, &it.faces).unwrap_err()
    };
    for number in [f32::NAN, f32::INFINITY, 1e9] {
        let not_finite = PdfError::NotFinite { page: 1 };
        assert_eq!(refusal(&|it| it.put(1, None, rule(number))), not_finite);
        assert_eq!(
            refusal(&|it| it.document.pages[1].width = number),
            not_finite
        );
        assert_eq!(refusal(&|it| it.document.outline[3].y = number), not_finite);
        let glyphs = vec![Glyph {
            id: 1,
            advance: number,
            text: " ".into(),
        }];
        let run = GlyphRun {
            face: Face::Mono,
            size: 1.0,
            x: 0.0,
            y: 0.0,
            turn: 0.0,
            colour: Colour::BLACK,
            glyphs: glyphs.into(),
        };
        assert_eq!(
            refusal(&|it| it.put(1, None, Mark::Glyphs(run.clone()))),
            not_finite
        );
    }
    assert_eq!(
        refusal(&|it| it.document.outline[0].page = 2),
        PdfError::NoSuchPage { page: 2 }
    );
    assert_eq!(
        refusal(&|it| it.document.pages[0].links[0].page = 9),
        PdfError::NoSuchPage { page: 9 }
    );
    assert_eq!(
        refusal(&|it| it.document.pages[0].links[0].element = 1),
        PdfError::Element { index: 1 }
    );
    assert_eq!(
        refusal(&|it| it.put(0, Some(999), rule(1.0))),
        PdfError::Element { index: 999 }
    );
    assert_eq!(
        refusal(&|it| it.document.structure[1].parent = Some(1)),
        PdfError::Element { index: 1 }
    );
    assert_eq!(
        refusal(&|it| it.document.structure[2].parent = None),
        PdfError::Element { index: 2 }
    );
    assert_eq!(
        refusal(&|it| it.document.structure.clear()),
        PdfError::Element { index: 0 }
    );
    let lone = Shape {
        steps: vec![Step::Line(1.0, 1.0)],
        fill: Some(Colour::WHITE),
        stroke: None,
    };
    assert_eq!(
        refusal(&|it| it.put(0, None, Mark::Shape(lone.clone()))),
        PdfError::OutlineWithoutStart { page: 0 }
    );
    let twice = refusal(&|it| it.document.attachments[1].name = "run.yaml".to_owned());
    assert_eq!(
        twice,
        PdfError::AttachmentTwice {
            name: "run.yaml".to_owned()
        }
    );
    assert!(matches!(
        refusal(&|it| it
            .document
            .structure
            .iter_mut()
            .for_each(|element| element.alternative = None)),
        PdfError::NoAlternative { .. }
    ));
}
