//! Texts that the domain holds as constants of the program.
//!
//! An origin such as "computed from product conductivity" is a constant text in the domain. Read back, it may come from another version
//! of the program, so each text is kept once for the life of the process. The table is bounded: an attacker with a
//! crafted file cannot fill the memory with it.

use std::sync::{Mutex, PoisonError};

/// Distinct texts kept. The program has about ten; past versions may have had others.
const TEXTS_MAX: usize = 256;
/// Longest text, bytes.
const TEXT_MAX: usize = 200;
/// Stands for what did not fit.
const OTHER: &str = "in a way that another version of the program knows";

static KEPT: Mutex<Vec<&'static str>> = Mutex::new(Vec::new());

/// The text as a constant.
pub fn constant(text: &str) -> &'static str {
    // A panic in between cannot leave the list half changed: the only change is one push.
    let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(known) = kept.iter().find(|known| **known == text) {
        return known;
    }
    if TEXTS_MAX <= kept.len() || TEXT_MAX < text.len() {
        return OTHER;
    }
    let leaked: &'static str = Box::leak(text.to_owned().into_boxed_str());
    kept.push(leaked);
    leaked
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_kept_once_and_a_long_one_not_at_all() {
        let first = constant("from product conductivity");
        assert!(std::ptr::eq(first, constant("from product conductivity")));
        assert_eq!(constant(&"x".repeat(TEXT_MAX)).len(), TEXT_MAX);
        assert_eq!(constant(&"x".repeat(TEXT_MAX + 1)), OTHER);
    }
}
