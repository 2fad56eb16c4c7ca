//! Lines with a limit.

use std::io::{BufRead, Read};

/// Why there is no line.
#[derive(Debug)]
pub enum LineError {
    /// Longer than the limit.
    TooLong,
    /// Not UTF-8.
    NotText,
    /// Nothing came in time, or the connection broke.
    Broken,
}

/// The next line without its end; `None`: the other side has closed. At most `max` bytes are ever held.
pub fn read_line(reader: &mut impl BufRead, max: usize) -> Result<Option<String>, LineError> {
    let mut bytes = Vec::new();
    let limit = max as u64 + 1;
    reader.by_ref().take(limit).read_until(b'\n', &mut bytes).map_err(|_| LineError::Broken)?;
    match bytes.last() {
        None => return Ok(None),
        Some(b'\n') => {
            bytes.pop();
        }
        Some(_) if max < bytes.len() => return Err(LineError::TooLong),
        // The other side closed in the middle of a line.
        Some(_) => return Err(LineError::Broken),
    }
    String::from_utf8(bytes).map(Some).map_err(|_| LineError::NotText)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_at_the_limit_is_taken_and_one_byte_more_is_not() {
        let mut at_limit = &b"12345\n"[..];
        assert_eq!(read_line(&mut at_limit, 5).unwrap().as_deref(), Some("12345"));
        assert_eq!(read_line(&mut at_limit, 5).unwrap(), None);
        let mut over = &b"123456\n"[..];
        assert!(matches!(read_line(&mut over, 5), Err(LineError::TooLong)));
        let mut cut = &b"123"[..];
        assert!(matches!(read_line(&mut cut, 5), Err(LineError::Broken)));
        let mut binary = &b"\xff\xfe\n"[..];
        assert!(matches!(read_line(&mut binary, 5), Err(LineError::NotText)));
    }
}
