use super::quantity;

quantity! {
    /// Volume flow.
    Flow, "flow",
    /// From cubic metres per second.
    from_m3_s,
    /// In cubic metres per second.
    as_m3_s, 1.0;
    /// From litres per hour.
    from_l_h,
    /// In litres per hour.
    as_l_h, 1e-3 / 3600.0;
    /// From litres per minute.
    from_l_min,
    /// In litres per minute.
    as_l_min, 1e-3 / 60.0;
}
