//! What the fuzz targets do; the ordinary tests replay the corpus with the same code.

pub mod targets;
