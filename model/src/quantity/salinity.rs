use super::quantity;

quantity! {
    /// Salt by mass: gram of salt per kilogram of solution (reference salinity in seawater).
    Salinity, "salinity",
    /// From gram per kilogram of solution.
    from_g_kg,
    /// In gram per kilogram of solution.
    as_g_kg, 1e-3;
    /// From milligram per kilogram of solution.
    from_mg_kg,
    /// In milligram per kilogram of solution.
    as_mg_kg, 1e-6;
}

quantity! {
    /// Salt by volume: mass of dissolved solids per volume of water ("TDS"). In seawater 2.4 to 2.8 % more than by mass.
    MassConcentration, "concentration",
    /// From milligram per litre.
    from_mg_l,
    /// In milligram per litre.
    as_mg_l, 1e-3;
}

quantity! {
    /// Salinity on the practical scale of 1978: a conductivity ratio, without a unit.
    PracticalSalinity, "practical salinity",
    /// From the number on the scale.
    from_number,
    /// The number on the scale.
    as_number, 1.0;
}
