//! Physics and judgement.
