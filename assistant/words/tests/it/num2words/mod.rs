//! Tables of an independent library, one line a value.

use std::io::Read;

/// A packed table's text.
pub fn unpacked(packed: &[u8]) -> String {
    let mut text = String::new();
    flate2::read::GzDecoder::new(packed)
        .read_to_string(&mut text)
        .unwrap();
    text
}
