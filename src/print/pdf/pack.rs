//! Packing of streams (ISO 32000-1, 7.4.4).

use std::cell::Cell;
use std::io::{self, Write};

use flate2::{Compress, Compression, FlushCompress, Status};
use lopdf::{Object, Stream};
use md5::{Digest, Md5};

use crate::print::page::Packed;
use crate::threads::{make_each, processors};

/// Level 5 takes nearly twice the time for a tenth fewer bytes; level 1 half of it for a fifth more.
const LEVEL: Compression = Compression::new(2);

/// Streams shorter than this, in bytes, are not compressed: preparing the compressor takes longer than compressing them.
const WORTH_PACKING: usize = 2048;

thread_local! {
    /// What packed last: its tables are larger than most of the streams.
    static KEPT: Cell<Option<Compress>> = const { Cell::new(None) };
}

/// Returns what packs a stream; it is kept for the next one afterwards.
fn compressor() -> Compress {
    KEPT.take().map_or_else(
        || Compress::new(LEVEL, true),
        |mut kept| {
            kept.reset();
            kept
        },
    )
}

/// The bytes packed, unless that would not make them smaller.
pub(super) fn pack(bytes: &[u8]) -> Option<Vec<u8>> {
    if bytes.len() < WORTH_PACKING {
        return None;
    }
    let mut compressor = compressor();
    // What does not fit was not worth it.
    let mut packed = Vec::with_capacity(bytes.len());
    let status = compressor.compress_vec(bytes, &mut packed, FlushCompress::Finish);
    KEPT.set(Some(compressor));
    packed.shrink_to_fit();
    matches!(status, Ok(Status::StreamEnd)).then_some(packed)
}

/// A stream, packed unless it is already or is to stay readable (the XMP packet). A font program is
/// compact already: compression takes long and saves only a fifth.
pub(super) fn packed_stream(mut stream: Stream) -> Stream {
    let subtype = stream.dict.get(b"Subtype").and_then(Object::as_name);
    let is_font = subtype.is_ok_and(|subtype| subtype == b"CIDFontType0C");
    if stream.allows_compression
        && !stream.dict.has(b"Filter")
        && !is_font
        && let Some(packed) = pack(&stream.content)
    {
        stream.dict.set("Filter", "FlateDecode");
        stream.content = packed;
    }
    stream
}

/// Things are shared with another thread from so many on.
const WORTH_A_THREAD: usize = 32;

/// Makes something of each of some things, on several threads where there are many; what is made comes in the order of the
/// things.
pub(super) fn each<T: Send, M: Send>(
    things: impl ExactSizeIterator<Item = T> + Send,
    make: impl Fn(T) -> M + Sync,
) -> Vec<M> {
    let threads = processors().min(things.len() / WORTH_A_THREAD);
    make_each(threads, things, make)
}

/// Most of what is written comes a few bytes at a time; so many of them are packed together, and into so much room.
const ROOM: usize = 1 << 15;

/// What `write` writes, a file to be carried, packed as it comes: as a whole it may be large.
///
/// # Errors
/// That of `write`.
pub fn packed(write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<Packed> {
    let packer = FilePacker {
        compressor: compressor(),
        packed: Vec::new(),
        digest: Md5::new(),
        length: 0,
    };
    let mut packer = io::BufWriter::with_capacity(ROOM, packer);
    write(&mut packer)?;
    let mut packer = packer
        .into_inner()
        .map_err(io::IntoInnerError::into_error)?;
    packer.pack(&[], FlushCompress::Finish)?;
    KEPT.set(Some(packer.compressor));
    Ok(Packed {
        bytes: packer.packed,
        length: packer.length,
        digest: packer.digest.finalize().into(),
    })
}

struct FilePacker {
    compressor: Compress,
    packed: Vec<u8>,
    digest: Md5,
    length: usize,
}

impl FilePacker {
    /// Packs more, or all that is left to the end.
    fn pack(&mut self, mut more: &[u8], flush: FlushCompress) -> io::Result<()> {
        loop {
            self.packed.reserve(ROOM);
            let before = self.compressor.total_in();
            let status = self
                .compressor
                .compress_vec(more, &mut self.packed, flush)?;
            more = &more[(self.compressor.total_in() - before) as usize..];
            let is_done = match flush {
                FlushCompress::Finish => matches!(status, Status::StreamEnd),
                _ => more.is_empty(),
            };
            if is_done {
                return Ok(());
            }
        }
    }
}

impl Write for FilePacker {
    fn write(&mut self, more: &[u8]) -> io::Result<usize> {
        self.pack(more, FlushCompress::None)?;
        self.digest.update(more);
        self.length += more.len();
        Ok(more.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_made_comes_in_the_order_of_the_things_packed_alike_by_each_thread() {
        let bytes = |thing: usize| thing.to_string().repeat(WORTH_PACKING).into_bytes();
        let made = each(0..20 * WORTH_A_THREAD, |thing| (thing, pack(&bytes(thing))));
        for (place, (thing, packed)) in made.into_iter().enumerate() {
            assert_eq!(thing, place);
            let mut alone = Vec::with_capacity(bytes(thing).len());
            let status = Compress::new(LEVEL, true).compress_vec(
                &bytes(thing),
                &mut alone,
                FlushCompress::Finish,
            );
            let alone = matches!(status, Ok(Status::StreamEnd)).then_some(alone);
            assert_eq!(packed, alone, "{thing}");
        }
    }

    #[test]
    fn a_file_packed_as_it_comes_is_the_file() {
        let file = b"a line of a file\n".repeat(10_000);
        let pieces = || file.chunks(7);
        let packed = packed(|out| pieces().try_for_each(|piece| out.write_all(piece))).unwrap();
        let mut read = Vec::new();
        io::Read::read_to_end(
            &mut flate2::read::ZlibDecoder::new(&*packed.bytes),
            &mut read,
        )
        .unwrap();
        assert_eq!(read, file);
        assert_eq!(packed.length, file.len());
        assert_eq!(packed.digest, <[u8; 16]>::from(Md5::digest(&file)));
    }
}
