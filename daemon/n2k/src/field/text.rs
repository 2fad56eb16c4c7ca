//! Texts in payloads.
//!
//! Two forms. *Fixed*: a known number of bytes, the text ends at FF, 00 or `@`, blanks at its end are dropped.
//! *With length*: byte 0 the total length including the two head bytes, byte 1 the encoding (0 UTF-16LE, 1 ASCII or
//! UTF-8), then the text. An empty one is `02 01`.
//!
//! Failure: a length of 0, 1 or beyond the payload ends the reading; what follows is missing. Bytes that are not UTF-8
//! are read as Latin-1, so no text is lost. A text too long to send is cut between two characters.

/// Head bytes of a text with length.
const LAU_HEAD: usize = 2;
/// Longest text of one byte length.
const LAU_MAX_TEXT: usize = u8::MAX as usize - LAU_HEAD;

/// Reads a fixed text from its bytes. `None` if nothing is in it.
#[must_use]
pub fn read_fixed(bytes: &[u8]) -> Option<String> {
    let end = bytes.iter().position(|byte| matches!(byte, 0xFF | 0x00 | b'@')).unwrap_or(bytes.len());
    some_text(decode_bytes(&bytes[..end]).trim_end().to_owned())
}

/// Reads a text with length at byte `start`. Gives the text (`None` if empty or unreadable) and where the next field
/// starts (`None` if the payload cannot be read any further).
#[must_use]
pub fn read_lau(payload: &[u8], start: usize) -> (Option<String>, Option<usize>) {
    let Some(&length) = payload.get(start) else { return (None, None) };
    let length = usize::from(length);
    let Some(field) = payload.get(start..start + length) else { return (None, None) };
    let [_, encoding, bytes @ ..] = field else { return (None, None) };
    let text = if *encoding == 0 { decode_utf16(bytes) } else { decode_bytes(bytes) };
    let text = text.trim_end_matches(['\0', '\u{FFFD}', '\u{FFFF}']).to_owned();
    (some_text(text), Some(start + length))
}

/// Appends a fixed text of `width` bytes, filled up with FF.
pub fn write_fixed(out: &mut Vec<u8>, width: usize, text: Option<&str>) {
    let text = cut(text.unwrap_or(""), width);
    out.extend_from_slice(text.as_bytes());
    out.resize(out.len() + width - text.len(), 0xFF);
}

/// Appends a text with length of at most `max_text` bytes of text.
pub fn write_lau(out: &mut Vec<u8>, max_text: usize, text: Option<&str>) {
    let text = cut(text.unwrap_or(""), max_text.min(LAU_MAX_TEXT));
    out.push((text.len() + LAU_HEAD) as u8);
    out.push(1);
    out.extend_from_slice(text.as_bytes());
}

fn some_text(text: String) -> Option<String> {
    if text.is_empty() { None } else { Some(text) }
}

fn decode_bytes(bytes: &[u8]) -> String {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|byte| char::from(*byte)).collect(),
    }
}

fn decode_utf16(bytes: &[u8]) -> String {
    let units = bytes.chunks_exact(2).map(|pair| u16::from_le_bytes([pair[0], pair[1]]));
    char::decode_utf16(units).map(|unit| unit.unwrap_or(char::REPLACEMENT_CHARACTER)).collect()
}

/// The longest start of `text` that fits into `bytes` bytes.
fn cut(text: &str, bytes: usize) -> &str {
    &text[..text.floor_char_boundary(bytes)]
}
