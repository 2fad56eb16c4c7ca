use super::quantity;

quantity! {
    /// Pressure, gauge unless the place says otherwise. Negative on a suction side.
    Pressure, "pressure",
    /// From pascal.
    from_pa,
    /// In pascal.
    as_pa, 1.0;
    /// From bar.
    from_bar,
    /// In bar.
    as_bar, 1e5;
}
