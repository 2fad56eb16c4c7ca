use super::quantity;

quantity! {
    /// Water permeability A of a membrane: flux per net driving pressure.
    WaterPermeability, "water permeability",
    /// From metre per second and pascal.
    from_m_s_pa,
    /// In metre per second and pascal.
    as_m_s_pa, 1.0;
    /// From litre per square metre, hour and bar.
    from_l_m2_h_bar,
    /// In litre per square metre, hour and bar.
    as_l_m2_h_bar, 1e-8 / 3600.0;
}

quantity! {
    /// Salt permeability B of a membrane: salt flux per difference of concentration.
    SaltPermeability, "salt permeability",
    /// From metre per second.
    from_m_s,
    /// In metre per second.
    as_m_s, 1.0;
    /// From litre per square metre and hour.
    from_l_m2_h,
    /// In litre per square metre and hour.
    as_l_m2_h, 1e-3 / 3600.0;
}
