//! The number at the start of a quantity, and what follows it.
//!
//! A decimal point, no grouping of digits. A comma is never read: `1,500` is 1500 to one person and 1.5 to the next.

use super::error::QuantityError;
use super::{Measure, TEXT_CHARS_MAX};

/// Number and unit text of `text`; the unit text is trimmed and may be empty.
pub(super) fn split(text: &str, measure: Measure) -> Result<(f64, &str), QuantityError> {
    let text = text.trim();
    if text.is_empty() || text.chars().count() > TEXT_CHARS_MAX {
        return Err(QuantityError::NotANumber { text: text.chars().take(TEXT_CHARS_MAX).collect(), measure });
    }
    let (sign, unsigned) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (-1.0, rest),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let length = number_length(unsigned);
    let (digits, rest) = unsigned.split_at(length);
    if let Some(error) = what_follows(digits, rest) {
        return Err(error);
    }
    match digits.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok((sign * value, rest.trim())),
        _ => Err(QuantityError::NotANumber { text: text.to_string(), measure }),
    }
}

/// Bytes of the number at the start: digits, a point with digits, an exponent with digits. 0 if there is none.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits_from = |at: usize| bytes[at..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    let whole = digits_from(0);
    let mut end = whole;
    if bytes.get(end) == Some(&b'.') {
        let fraction = digits_from(end + 1);
        if whole == 0 && fraction == 0 {
            return 0;
        }
        end += 1 + fraction;
    }
    if end > 0 && matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = if end + 1 + sign <= bytes.len() { digits_from(end + 1 + sign) } else { 0 };
        if exponent > 0 {
            end += 1 + sign + exponent;
        }
    }
    end
}

/// Signs behind the number that show it was meant as another one.
fn what_follows(digits: &str, rest: &str) -> Option<QuantityError> {
    let starts_with_digit = |text: &str| text.chars().next().is_some_and(|c| c.is_ascii_digit());
    if digits.is_empty() {
        return None;
    }
    if let Some(after) = rest.strip_prefix(',') {
        let fraction: String = after.chars().take_while(char::is_ascii_digit).collect();
        if !fraction.is_empty() {
            return Some(QuantityError::DecimalComma { whole: digits.to_string(), fraction });
        }
    }
    let group =
        rest.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, '\'' | '_' | '\u{2019}' | '.'));
    if starts_with_digit(group) {
        let typed = rest.len() - group.len();
        let next: String = group.chars().take_while(char::is_ascii_digit).collect();
        return Some(QuantityError::GroupedDigits { typed: format!("{digits}{}{next}", &rest[..typed]) });
    }
    let range = rest.trim_start().trim_start_matches(['-', '\u{2013}', '\u{2212}', '±', '~', '+', '/']);
    if range.len() < rest.trim_start().len() && starts_with_digit(range.trim_start()) {
        return Some(QuantityError::OneValue);
    }
    None
}
