//! The last steps: compression, object streams (ISO 32000-1, 7.5.7), the cross-reference stream (7.5.8), the bytes.
//!
//! Most of the objects are small and much alike, above all the elements of the structure tree. Put into object streams
//! they take a fifth of the room that they take one by one.
//!
//! The catalogue and the objects that lead to the attachments stay outside object streams, so that the attachments are
//! found without unpacking thousands of structure elements.

use lopdf::{Dictionary, Object, Stream, StringFormat, dictionary};
use md5::{Digest, Md5};

use super::pack;
use super::write_object::{self, integer_object};

/// An object stream holds no more objects than this: a reader unpacks all of it to find one of them.
const MOST_TOGETHER: usize = 400;

/// Marks the file as binary to whatever carries it (7.5.2).
const BINARY_MARK: &[u8] = b"%\xE2\xE3\xCF\xD3\n";

/// Objects written already that are not streams, waiting for their places in object streams.
#[derive(Default)]
pub(super) struct ObjectStreamBuilder {
    groups: Vec<Group>,
}

/// What an object stream will hold.
#[derive(Default)]
struct Group {
    bytes: Vec<u8>,
    /// The number of each object and where it begins.
    starts: Vec<(u32, usize)>,
}

impl ObjectStreamBuilder {
    /// Enters the object `number`, whose bytes `write` appends.
    pub(super) fn add(&mut self, number: u32, write: impl FnOnce(&mut Vec<u8>)) {
        let last = self.groups.last_mut();
        if last.is_none_or(|group| group.starts.len() == MOST_TOGETHER) {
            self.groups.push(Group::default());
        }
        if let Some(group) = self.groups.last_mut() {
            group.starts.push((number, group.bytes.len()));
            write(&mut group.bytes);
            group.bytes.push(b'\n');
        }
    }
}

impl Group {
    fn into_stream(self) -> Stream {
        let mut content = Vec::with_capacity(self.bytes.len() + 12 * self.starts.len());
        for (number, start) in &self.starts {
            write_object::integer(&mut content, i64::from(*number));
            content.push(b' ');
            write_object::integer(&mut content, *start as i64);
            content.push(b' ');
        }
        let entries = dictionary! {
            "Type" => "ObjStm",
            "N" => integer_object(self.starts.len()),
            "First" => integer_object(content.len()),
        };
        content.extend(self.bytes);
        Stream::new(entries, content)
    }
}

/// Where an object is.
#[derive(Clone, Copy)]
enum Place {
    Nowhere,
    At(usize),
    Within { stream: u32, index: usize },
}

/// Begins the comment (7.2.4) that says what the file was made from; it stands near the beginning, where it is found
/// without reading the file.
const MADE_FROM: &str = "%Made from ";

/// Returns what a PDF file says near its beginning that it was made from.
pub fn made_from(bytes: &[u8]) -> Option<String> {
    /// It is looked for in so many bytes.
    const HEAD: usize = 200;
    let head = bytes
        .starts_with(b"%PDF")
        .then(|| &bytes[..bytes.len().min(HEAD)])?;
    let mut lines = head.split(|byte| *byte == b'\n');
    let said = lines.find_map(|line| line.strip_prefix(MADE_FROM.as_bytes()))?;
    Some(String::from_utf8_lossy(said).into_owned())
}

/// Writes the object tree and what was written already of it; `made_from` stands in a comment.
pub(super) fn to_bytes(
    mut file: lopdf::Document,
    mut loose: ObjectStreamBuilder,
    made_from: &str,
) -> Vec<u8> {
    let mut writer = Writer {
        bytes: format!("%PDF-{}\n", file.version).into_bytes(),
        identity: Md5::new(),
        places: vec![Place::Nowhere; file.max_id as usize + 1],
    };
    writer.bytes.extend_from_slice(BINARY_MARK);
    if !made_from.is_empty() {
        writer
            .bytes
            .extend_from_slice(format!("{MADE_FROM}{made_from}\n").as_bytes());
    }
    for ((number, _), object) in std::mem::take(&mut file.objects) {
        match object {
            Object::Stream(stream) => writer.stream(number, stream),
            way if leads_to_files(&way) => writer.by_itself(number, &way),
            other => loose.add(number, |out| write_object::object(out, &other)),
        }
    }
    writer.object_streams(loose);
    writer.end(&file.trailer)
}

/// Returns whether an object is on the way to the files attached. These stand by themselves, so that a report that is
/// made again finds what the one before it carries without unpacking all the rest.
fn leads_to_files(object: &Object) -> bool {
    let is = |entries: &Dictionary| entries.has_type(b"Catalog") || entries.has_type(b"Filespec");
    object.as_dict().is_ok_and(is)
}

struct Writer {
    bytes: Vec<u8>,
    /// Of all objects, for the file identifier. Content in zlib's format goes in by the checksum at its end (RFC 1950, 2.2).
    identity: Md5,
    /// Where each object is, by its number.
    places: Vec<Place>,
}

impl Writer {
    fn object_streams(&mut self, loose: ObjectStreamBuilder) {
        for group in &loose.groups {
            let stream = self.places.len() as u32;
            self.places.push(Place::Nowhere);
            for (index, (number, _)) in group.starts.iter().enumerate() {
                self.places[*number as usize] = Place::Within { stream, index };
            }
        }
        let first = self.places.len() - loose.groups.len();
        let packed = |group: Group| pack::packed_stream(group.into_stream());
        for (at, stream) in pack::each(loose.groups.into_iter(), packed)
            .into_iter()
            .enumerate()
        {
            self.stream((first + at) as u32, stream);
        }
    }

    /// The cross-reference stream with what a trailer says, and where it begins.
    fn end(mut self, trailer: &Dictionary) -> Vec<u8> {
        let start = self.bytes.len();
        let number = self.places.len();
        self.places.push(Place::At(start));
        let digest = self.identity.clone().finalize().to_vec();
        let digest = Object::String(digest, StringFormat::Hexadecimal);
        let mut entries = trailer.clone();
        entries.set("Type", "XRef");
        entries.set("Size", integer_object(self.places.len()));
        entries.set("W", vec![1.into(), 4.into(), 2.into()]);
        entries.set("ID", vec![digest.clone(), digest]);
        let rows = self.places.iter().map(|place| match *place {
            Place::Nowhere => (0_u8, 0, 0),
            Place::At(offset) => (1, offset as u32, 0),
            Place::Within { stream, index } => (2, stream, index as u16),
        });
        let mut table = Vec::with_capacity(7 * self.places.len());
        for (kind, place, index) in rows {
            table.push(kind);
            table.extend(place.to_be_bytes());
            table.extend(index.to_be_bytes());
        }
        self.stream(number as u32, Stream::new(entries, table));
        self.bytes
            .extend_from_slice(format!("startxref\n{start}\n%%EOF\n").as_bytes());
        self.bytes
    }

    fn stream(&mut self, number: u32, stream: Stream) {
        let mut stream = pack::packed_stream(stream);
        stream
            .dict
            .set("Length", integer_object(stream.content.len()));
        let start = self.bytes.len();
        self.begin(number);
        write_object::dictionary(&mut self.bytes, &stream.dict);
        self.identity.update(&self.bytes[start..]);
        let filter = stream.dict.get(b"Filter").and_then(Object::as_name);
        let is_zlib = filter.is_ok_and(|filter| filter == b"FlateDecode");
        let checksum = stream.content.last_chunk::<4>().filter(|_| is_zlib);
        self.identity
            .update(checksum.map_or(&*stream.content, |checksum| checksum));
        self.bytes.extend_from_slice(b"stream\n");
        self.bytes.extend_from_slice(&stream.content);
        self.bytes.extend_from_slice(b"\nendstream\nendobj\n");
    }

    fn by_itself(&mut self, number: u32, object: &Object) {
        let start = self.bytes.len();
        self.begin(number);
        write_object::object(&mut self.bytes, object);
        self.identity.update(&self.bytes[start..]);
        self.bytes.extend_from_slice(b"\nendobj\n");
    }

    fn begin(&mut self, number: u32) {
        self.places[number as usize] = Place::At(self.bytes.len());
        write_object::integer(&mut self.bytes, i64::from(number));
        self.bytes.extend_from_slice(b" 0 obj\n");
    }
}
