use super::quantity;

quantity! {
    /// Electrical conductivity. Whether at the water's own temperature or at 25 °C is said where it is used.
    Conductivity, "conductivity",
    /// From microsiemens per centimetre.
    from_us_cm,
    /// In microsiemens per centimetre.
    as_us_cm, 1e-4;
    /// From millisiemens per centimetre.
    from_ms_cm,
    /// In millisiemens per centimetre.
    as_ms_cm, 1e-1;
}
