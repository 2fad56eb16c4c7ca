use super::quantity;

quantity! {
    /// Active area of membrane.
    Area, "area",
    /// From square metres.
    from_m2,
    /// In square metres.
    as_m2, 1.0;
}
