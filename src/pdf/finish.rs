//! The last steps: compression, the file identifier, the bytes.

use flate2::{Compress, Compression, FlushCompress, Status};
use lopdf::{Object, StringFormat};
use md5::{Digest, Md5};

use super::Failure;

/// Streams shorter than this, in bytes, are not worth the two entries that say how they were packed.
const WORTH_PACKING: usize = 64;

/// Level 6 takes about half the time of the best level for one per cent more bytes.
const LEVEL: u32 = 6;

/// Writes the object tree.
pub(super) fn to_bytes(mut file: lopdf::Document) -> Result<Vec<u8>, Failure> {
    // One compressor for all: its tables are larger than most of the streams.
    let mut compressor = Compress::new(Compression::new(LEVEL), true);
    for object in file.objects.values_mut() {
        if let Object::Stream(stream) = object {
            pack(stream, &mut compressor)?;
        }
    }
    // The identifier is the digest of the file with a blank in its place, which is the last of its kind in the file.
    let blank = Object::String(vec![0; 16], StringFormat::Hexadecimal);
    file.trailer.set("ID", vec![blank.clone(), blank]);
    let mut bytes = Vec::new();
    file.save_to(&mut bytes)
        .map_err(|error| Failure::Objects(error.to_string()))?;
    let digest = format!("{:032X}", u128::from_be_bytes(Md5::digest(&bytes).into()));
    for _ in 0..2 {
        let mut windows = bytes.windows(digest.len());
        let blank = |window: &[u8]| window.iter().all(|digit| *digit == b'0');
        if let Some(at) = windows.rposition(blank) {
            bytes[at..at + digest.len()].copy_from_slice(digest.as_bytes());
        }
    }
    Ok(bytes)
}

/// Packs a stream, unless it is packed or is to stay readable (the XMP packet), or packing would not make it smaller.
fn pack(stream: &mut lopdf::Stream, compressor: &mut Compress) -> Result<(), Failure> {
    let length = stream.content.len();
    if !stream.allows_compression || stream.dict.has(b"Filter") || length < WORTH_PACKING {
        return Ok(());
    }
    compressor.reset();
    // What does not fit was not worth it.
    let mut packed = Vec::with_capacity(length);
    let status = compressor
        .compress_vec(&stream.content, &mut packed, FlushCompress::Finish)
        .map_err(|error| Failure::Objects(error.to_string()))?;
    if status == Status::StreamEnd && packed.len() < length {
        stream.dict.set("Filter", "FlateDecode");
        stream.set_content(packed);
    }
    Ok(())
}
