//! A test's own comparison: fails with both numbers and the deviation, and on NaN.

/// Asserts that `left` lies within the relative tolerance of `right`.
macro_rules! assert_close {
    ($left:expr, $right:expr, relative = $tolerance:expr $(, $($context:tt)+)?) => {{
        let (left, right, tolerance): (f64, f64, f64) = ($left, $right, $tolerance);
        let deviation = (left - right).abs() / right.abs().max(f64::MIN_POSITIVE);
        assert!(
            deviation <= tolerance,
            "{left} is not within {tolerance:e} (relative) of {right}: off by {deviation:e}{}",
            assert_close!(@context $($($context)+)?)
        );
    }};
    ($left:expr, $right:expr, absolute = $tolerance:expr $(, $($context:tt)+)?) => {{
        let (left, right, tolerance): (f64, f64, f64) = ($left, $right, $tolerance);
        let deviation = (left - right).abs();
        assert!(
            deviation <= tolerance,
            "{left} is not within {tolerance:e} (absolute) of {right}: off by {deviation:e}{}",
            assert_close!(@context $($($context)+)?)
        );
    }};
    (@context) => { String::new() };
    (@context $($context:tt)+) => { format!(" ({})", format!($($context)+)) };
}
