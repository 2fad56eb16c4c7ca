use super::quantity;

quantity! {
    /// Power.
    Power, "power",
    /// From watt.
    from_w,
    /// In watt.
    as_w, 1.0;
}
