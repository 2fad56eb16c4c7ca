//! Files that must not pass, each with the report that a person reads; and the samples, which must.

use super::*;

const SMALLEST: &str = "[boat]\nid = \"calm\"\n[units.main]\npressure_control = \"hand-set-pressure\"\nset_pressure = \"55 bar\"\n\
    [units.main.pump]\nkind = \"plunger\"\nflow = \"12 L/min\"\nrated_pressure = \"60 bar\"\n\
    [units.main.drive]\nkind = \"hydraulic\"\n\
    [[units.main.elements]]\nsize = \"2540\"\narea = \"2.6 m2\"\nnominal_flow = \"110 L/h\"\nnominal_rejection = \"99.4 %\"\n";

#[test]
fn the_smallest_file_passes() {
    let settings = parse(SMALLEST, "a.toml").unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(settings.units[0].parts.pump.nameplate_flow_l_h, 720.0);
    assert_eq!(settings.instruments[0].kind, InstrumentKind::Unknown);
    assert_eq!(settings.text, SMALLEST);
}
