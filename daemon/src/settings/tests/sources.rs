//! Readings, instruments and senders: slips, each with all that is reported.

use super::super::{BusSource, ErrorSize, SenderRule, Source, parse};
use super::{SMALLEST, problems, short, with};

#[test]
fn readings_come_from_where_they_can() {
    let reading = |lines: &str| short(&with(&format!("[[units.main.readings]]\n{lines}")));
    let rows = [
        ("quantity = \"feed_presure\"\nfrom = \"hand\"", "quantity: `feed_presure` is not a quantity"),
        (
            "quantity = \"feed_pressure\"\nfrom = \"hand\"\ninstrument = \"gauge\"",
            "instrument: there is no instrument `gauge`",
        ),
        ("quantity = \"feed_pressure\"\nfrom = \"nmea2000\"", "pgn: this key is missing"),
        (
            "quantity = \"feed_pressure\"\nfrom = \"nmea2000\"\npgn = 130312",
            "pgn: PGN 130312 cannot give feed_pressure",
        ),
        (
            "quantity = \"feed_salinity\"\nfrom = \"nmea2000\"\npgn = 130312",
            "from: no message that is read here carries feed_salinity",
        ),
        (
            "quantity = \"tank_level\"\nfrom = \"nmea2000\"\npgn = 127505\ninstance = 14",
            "instance: PGN 127505 has instances from 0 to 13",
        ),
        (
            "quantity = \"product_flow\"\nfrom = \"nmea2000\"\npgn = 130567\ninstance = 1",
            "instance: PGN 130567 has no instance",
        ),
        (
            "quantity = \"engine_speed\"\nfrom = \"nmea2000\"\npgn = 127488\nkind = 1",
            "kind: PGN 127488 has nothing that `kind` could choose",
        ),
        (
            "quantity = \"feed_pressure\"\nfrom = \"hand\"\npgn = 130314",
            "pgn: only a reading from the bus has this",
        ),
        (
            "quantity = \"feed_pressure\"\nfrom = \"nmea2000\"\npgn = 130314\nsender = \"name:C050\"",
            "sender: `name:C050` does not name a device on the bus",
        ),
        (
            "quantity = \"feed_pressure\"\nfrom = \"nmea2000\"\npgn = 130314\nsender = \"address:252\"",
            "sender: `address:252` does not name a device on the bus",
        ),
    ];
    for (lines, expected) in rows {
        assert_eq!(reading(lines), format!("units.main.readings[1].{expected}\n"), "{lines}");
    }
    let pressure = "[[units.main.readings]]\nquantity = \"feed_pressure\"\nfrom = \"nmea2000\"\npgn = 130314\ninstance = 1\nkind = 129\nsender = \"address:251\"";
    let settings = parse(&with(pressure), "a").unwrap_or_else(|problems| panic!("{problems}"));
    let expected = BusSource {
        pgn: 130_314,
        sender: Some(SenderRule::Address(251)),
        instance: Some(1),
        kind: Some(129),
    };
    assert_eq!(settings.units[0].sources[0].source, Source::Bus(expected));
    let both = format!("{pressure}\n{}", pressure.replace("feed_pressure", "concentrate_pressure"));
    assert_eq!(
        short(&with(&both)),
        "units.main.readings[2].quantity: feed_pressure and concentrate_pressure come from the same message\n"
    );
}

#[test]
fn two_units_cannot_claim_one_sender() {
    let unit = |id: &str, lines: &str| {
        let unit = SMALLEST.split_once("[units.main]").unwrap().1;
        let first = unit.find("[units").unwrap();
        let (head, rest) = unit.split_at(first);
        format!("[units.{id}]{head}{}", rest.replace(".main", &format!(".{id}"))) + &lines.replace("ID", id)
    };
    let boat = "[boat]\nid = \"calm\"\n";
    let of = |a: &str, b: &str| format!("{boat}{}{}", unit("one", a), unit("two", b));
    let status = "[[units.ID.readings]]\nquantity = \"product_flow\"\nfrom = \"nmea2000\"\npgn = 130567\nsender = \"address:36\"\n";
    let text = of(status, &status.replace("product_flow", "feed_pressure"));
    insta::assert_snapshot!(problems(&text), @r#"
    error: units.two.readings[1].sender: `one` and `two` both take this from the same sender
      --> barrico.toml:40:10
       |
    21 | sender = "address:36"
       |          ------------ first claimed here
    ...
    40 | sender = "address:36"
       |          ^^^^^^^^^^^^
       |
       = help: a reading belongs to one unit: name another sender, instance or kind for one of the two

    1 problem in barrico.toml
    "#);
    let from = |sender: &str| status.replace("address:36", sender);
    assert!(parse(&of(status, &from("address:37")), "a").is_ok(), "two senders, two units");
    assert_eq!(
        problems(&of(status, &status.replace("sender = \"address:36\"\n", ""))).count(),
        1,
        "any sender may be that one"
    );
    let sea = "[[units.ID.readings]]\nquantity = \"feed_temperature\"\nfrom = \"nmea2000\"\npgn = 130312\n";
    assert!(parse(&of(sea, sea), "a").is_ok(), "the sea is the same for both");
    let claims = of("", "").replace("set_pressure", "status_from = \"name:C0508C002FB98796\"\nset_pressure");
    assert_eq!(
        short(&claims),
        "units.two.status_from: `one` and `two` both take this from the same sender\n"
    );
}

#[test]
fn instruments_have_errors_in_the_unit_of_what_they_measure() {
    let of = |lines: &str, reading: &str| with(&format!("[instruments.x]\n{lines}\n{reading}"));
    let reading = |quantity: &str| {
        format!("[[units.main.readings]]\nquantity = \"{quantity}\"\nfrom = \"hand\"\ninstrument = \"x\"\n")
    };
    let random = |text: &str| {
        parse(text, "a").unwrap_or_else(|problems| panic!("{problems}")).instruments[1]
            .random
            .map(|size| size.absolute)
    };
    assert_eq!(random(&of("kind = \"gauge\"\nrandom = \"0.5 bar\"", "")), Some(0.5));
    assert_eq!(
        random(&of("kind = \"transmitter\"\nrandom = \"0.5 K\"", &reading("feed_temperature"))),
        Some(0.5)
    );
    assert_eq!(
        random(&of("kind = \"hand-meter\"\nppm = \"442\"\nrandom = \"7 ppm\"", "")).map(f64::round),
        Some(10.0)
    );
    let both =
        of("kind = \"gauge\"\nsystematic = \"0.5 bar\"\nsystematic_share = \"1 %\"\nrandom_share = 0.02", "");
    let both = parse(&both, "a").unwrap_or_else(|problems| panic!("{problems}")).instruments[1].clone();
    assert_eq!(both.systematic, Some(ErrorSize { absolute: 0.5, share: 0.01 }));
    assert_eq!(both.random, Some(ErrorSize { absolute: 0.0, share: 0.02 }));
    let rows = [
        (
            "kind = \"gauge\"\nrandom_share = \"60 %\"",
            String::new(),
            "random_share: 60 % is outside what is possible here: 0 to 50 %",
        ),
        ("kind = \"guage\"", String::new(), "kind: `guage` is not a choice here"),
        (
            "kind = \"gauge\"\nrandom = \"2 %\"",
            String::new(),
            "random: `%` is a unit of salinity; a pressure is expected",
        ),
        (
            "kind = \"gauge\"\nrandom = \"-1 bar\"",
            String::new(),
            "random: the size of an error is never negative",
        ),
        (
            "kind = \"transmitter\"\nrandom = \"1 bar\"",
            String::new(),
            "random: nothing says what this instrument measures",
        ),
        (
            "kind = \"hand-meter\"\nrandom = \"5 uS/cm\"",
            reading("product_conductivity") + &reading("product_temperature"),
            "random: one error for an instrument that gives both a conductivity and a temperature",
        ),
        ("kind = \"gauge\"\nchecked = \"2026-02-30\"", String::new(), "checked: `2026-02-30` is not a date"),
        (
            "kind = \"gauge\"\nchecked = 1026-02-03",
            String::new(),
            "checked: the year 1026 is not between 1980 and 2100",
        ),
    ];
    for (lines, reading, expected) in rows {
        assert_eq!(short(&of(lines, &reading)), format!("instruments.x.{expected}\n"), "{lines}");
    }
    assert_eq!(
        short(&with("[instruments.unknown]\nkind = \"gauge\"")),
        "instruments.unknown: this is not a name for an instrument\n"
    );
}

#[test]
fn the_can_interface_is_named_as_the_system_names_it() {
    let bus = |lines: &str| short(&with(&format!("[bus]\n{lines}")));
    let long = "interface: `sixteen-letters-` is not the name of a network interface";
    let rows = [
        ("listen_only = true", "bus.interface: this key is missing\n"),
        ("interface = \"can 0\"", "bus.interface: `can 0` is not the name of a network interface\n"),
        ("interface = \"../can0\"", "bus.interface: `../can0` is not the name of a network interface\n"),
        ("interface = \"\"", "bus.interface: `` is not the name of a network interface\n"),
        ("interface = \"sixteen-letters-\"", &format!("bus.{long}\n")),
        (
            "interface = \"can0\"\nlisten_only = \"yes\"",
            "bus.listen_only: true or false is expected, this is text\n",
        ),
        ("interface = \"can0\"\nlisten = true", "bus.listen: unknown key\n"),
    ];
    for (lines, expected) in rows {
        assert_eq!(bus(lines), expected, "{lines}");
    }
    let named = |text: &str| parse(&with(text), "a").unwrap_or_else(|problems| panic!("{problems}")).bus;
    let expected = |listen_only| {
        Some(super::super::BusSettings {
            interface: "fifteen-letters".to_owned(),
            listen_only,
            unique_number: None,
            device_instance: None,
            system_instance: None,
        })
    };
    assert_eq!(named("[bus]\ninterface = \"fifteen-letters\""), expected(false));
    assert_eq!(named("[bus]\ninterface = \"fifteen-letters\"\nlisten_only = true"), expected(true));
    assert_eq!(named(""), None);
}
