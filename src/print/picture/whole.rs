//! Whether a JPEG file has its end.
//!
//! Damage before the end decodes to wrong colours, which no decoder notices; a stricter one refuses sound files of real
//! cameras.

/// Returns whether a JPEG's segments go on to its end marker (ISO/IEC 10918-1, annex B). What follows that, such as the
/// film of a telephone's moving photograph, is no part of it; pictures within its segments, such as a preview, do not
/// count.
pub(super) fn has_end(bytes: &[u8]) -> bool {
    // After the start marker.
    let mut at = 2;
    loop {
        // Fill bytes may come before a marker.
        while bytes.get(at) == Some(&0xff) && bytes.get(at + 1) == Some(&0xff) {
            at += 1;
        }
        let (Some(0xff), Some(marker)) = (bytes.get(at), bytes.get(at + 1)) else {
            return false;
        };
        at += 2;
        match marker {
            0xd9 => return true,
            0x01 | 0xd0..=0xd8 => continue,
            _ => {}
        }
        let Some([high, low]) = bytes.get(at..at + 2) else {
            return false;
        };
        at += usize::from(u16::from_be_bytes([*high, *low]));
        if *marker == 0xda {
            // The scan goes on up to a marker that is neither a stuffed byte nor a restart.
            let Some(rest) = bytes.get(at..) else {
                return false;
            };
            let ends = |pair: &[u8]| pair[0] == 0xff && !matches!(pair[1], 0 | 0xff | 0xd0..=0xd7);
            let Some(end) = rest.windows(2).position(ends) else {
                return false;
            };
            at += end;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::has_end;

    #[test]
    fn the_end_of_a_preview_is_not_the_end() {
        let preview = b"\xff\xd8\xff\xe1\x00\x04\xff\xd9";
        let scan = b"\xff\xda\x00\x02ab\xff\x00c\xff\xd0d";
        let mut bytes = [preview.as_slice(), scan].concat();
        assert!(!has_end(&bytes), "no end");
        bytes.extend(b"\xff\xff\xd9 and a film");
        assert!(has_end(&bytes), "an end, and more");
        assert!(!has_end(b"\xff\xd8\xff"), "a start alone");
        assert!(
            !has_end(b"\xff\xd8\xff\xe1\xff\xff"),
            "a segment longer than the file"
        );
    }
}
