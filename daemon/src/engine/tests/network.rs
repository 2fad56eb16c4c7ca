//! barrico as a device on the bus, seen from the other devices.

use super::*;
use barrico_n2k::node::NodeState;
use barrico_n2k::pgn::{
    self, Acknowledgement, Alert, AlertHead, AlertResponse, Content, IsoAcknowledgement, IsoRequest,
    ProductInformation, ResponseCommand,
};
use barrico_n2k::{Assembler, Framing, Name, framing};

/// NAME of a display.
const DISPLAY: Name = Name(0xC078_8200_1234_5678);
/// Where it is.
const DISPLAY_ADDRESS: u8 = 3;

impl Story {
    /// Everything that went out, put together, in order: source, destination, content.
    fn heard(&self) -> Vec<(u8, u8, Content)> {
        let mut assembler = Assembler::new();
        let mut heard = Vec::new();
        for (at, frame) in self.sent.iter().enumerate() {
            let message = assembler.push(at as u64, frame.can_id(), frame.payload());
            if let Some(message) = message
                && let Some(content) = pgn::decode(message.pgn, message.payload)
            {
                heard.push((message.source, message.destination, content));
            }
        }
        heard
    }

    fn say_content(&mut self, pgn: u32, destination: u8, content: &Content) {
        let mut payload = vec![];
        content.encode(&mut payload);
        self.say_bytes(pgn, destination, &payload);
    }

    fn say_bytes(&mut self, pgn: u32, destination: u8, payload: &[u8]) {
        let id = CanId { priority: 6, pgn, source: DISPLAY_ADDRESS, destination };
        self.sequence = self.sequence.wrapping_add(1);
        let frames: Vec<Frame> = match framing(pgn) {
            Framing::Single => vec![Frame::new(id, payload)],
            _ => split(id, payload, self.sequence).expect("it fits").collect(),
        };
        for frame in frames {
            self.give(Input::Frame(frame));
        }
    }

    fn address(&self) -> Option<u8> {
        self.engine.view(self.now).units[0].bus_address
    }

    fn alerts(&self) -> Vec<Alert> {
        let alert = |content| if let Content::Alert(alert) = content { Some(alert) } else { None };
        self.heard().into_iter().filter_map(|(_, _, content)| alert(content)).collect()
    }

    /// An alert is there: the pressure is above the limit.
    fn with_alert() -> Self {
        let mut story = Self::new(&with_bus(), Restored::default());
        let mut high = running(72.0);
        high.system_high_pressure_pa = Some(110e5);
        story.pass(10, Some(&high));
        assert_eq!(story.active().first(), Some(&FindingCode::OverPressure));
        story
    }

    fn respond(&mut self, head: AlertHead, command: ResponseCommand) {
        let response = AlertResponse { head, acknowledge_source_name: Some(DISPLAY), command: Some(command) };
        self.say_content(AlertResponse::PGN, 255, &Content::AlertResponse(response));
    }
}

#[test]
fn an_address_is_claimed_before_anything_else_goes_out() {
    let mut story = Story::new(SETTINGS, Restored::default());
    assert_eq!(story.address(), None);
    story.pass(3, None);
    let address = story.address().expect("nobody contends");
    story.pass(120, None);
    let heard = story.heard();
    let first_claim = heard.iter().position(|(_, _, content)| matches!(content, Content::AddressClaim(_)));
    let first_data = heard.iter().position(|(_, _, content)| matches!(content, Content::WatermakerStatus(_)));
    assert!(first_claim < first_data && first_data.is_some(), "{first_claim:?} {first_data:?}");
    assert!(heard[first_data.unwrap_or(0)..].iter().all(|(source, _, _)| *source == address));
    let mut kept = story.kept.iter().filter_map(|record| match record {
        Record::Node { state, .. } => Some(state.clone()),
        _ => None,
    });
    let last: Option<NodeState> = kept.next_back();
    assert_eq!(last.and_then(|state| state.address), Some(address), "for the next start");
}

#[test]
fn without_a_bus_nothing_goes_out() {
    let settings = Arc::new(settings::parse(SETTINGS, "story.toml").expect("the sample is sound"));
    let options = Options { clock: ClockMode::Live, find_units: false, transmit: true };
    let mut engine = Engine::new(settings, options);
    let mut out = vec![];
    engine.handle(Monotonic(0), Input::Restored(Box::default()), &mut out);
    for second in 1..200 {
        engine.handle_timeout(Monotonic(second * 1_000), &mut out);
    }
    assert!(!out.iter().any(|output| matches!(output, Output::Transmit(_))));
}

#[test]
fn what_a_node_was_is_what_it_is_after_a_restart() {
    let state = NodeState {
        unique_number: 77,
        address: Some(42),
        device_instance: Some(5),
        system_instance: None,
        installation_descriptions: [None, Some("port side".into())],
    };
    let unit = RestoredUnit { node: Some(state), ..RestoredUnit::default() };
    let mut story = Story::new(SETTINGS, Restored { units: vec![unit], ..Restored::default() });
    story.pass(3, None);
    assert_eq!(story.address(), Some(42));
    let heard = story.heard();
    let claim = heard.iter().find_map(|(_, _, content)| match content {
        Content::AddressClaim(claim) => claim.name,
        _ => None,
    });
    let parts = claim.expect("it claimed").parts();
    assert_eq!((parts.unique_number, parts.device_instance_lower), (77, 5));
}

#[test]
fn a_bus_that_was_gone_is_claimed_anew() {
    let mut story = Story::new(SETTINGS, Restored::default());
    story.pass(3, None);
    let address = story.address();
    story.give(Input::Source(SourceState::Failed("interface down".into())));
    assert_eq!(story.address(), None);
    story.sent.clear();
    story.pass(120, None);
    assert!(story.sent.is_empty(), "nothing while it is gone");
    story.give(Input::Source(SourceState::Open("a bus".into())));
    story.pass(3, None);
    assert_eq!(story.address(), address);
    assert!(matches!(
        story.heard()[..],
        [.., (_, _, Content::AddressClaim(_))] | [(_, _, Content::AddressClaim(_)), ..]
    ));
}

#[test]
fn a_display_gets_what_it_asks_for_and_no_command_is_obeyed() {
    let mut story = Story::new(SETTINGS, Restored::default());
    story.pass(70, None);
    let address = story.address().expect("claimed");
    story.sent.clear();
    let ask = |pgn| Content::IsoRequest(IsoRequest { pgn: Some(pgn) });
    story.say_content(IsoRequest::PGN, address, &ask(ProductInformation::PGN));
    story.say_content(IsoRequest::PGN, address, &ask(130_567));
    // No alert is there, so this one is refused.
    story.say_content(IsoRequest::PGN, address, &ask(Alert::PGN));
    story.pass(2, None);
    let heard = story.heard();
    let product = heard.iter().find_map(|(_, _, content)| match content {
        Content::ProductInformation(product) => product.model_id.clone(),
        _ => None,
    });
    assert_eq!(product.as_deref(), Some("barrico"));
    assert!(heard.iter().any(|(_, _, content)| matches!(content, Content::WatermakerStatus(_))));
    let refused = heard.iter().any(|(_, to, content)| {
        *to == DISPLAY_ADDRESS
            && matches!(
                content,
                Content::IsoAcknowledgement(IsoAcknowledgement {
                    control: Some(Acknowledgement::Negative),
                    pgn: Some(126_983),
                    ..
                })
            )
    });
    assert!(refused, "{heard:?}");
    // "Start production" (field 2 of 130567) by group function: no command is obeyed, and the crew is told who tried.
    story.sent.clear();
    story.say_bytes(126_208, address, &[1, 0x07, 0xFE, 0x01, 0xF8, 1, 2, 1]);
    story.pass(2, None);
    // Access denied for the group, and for the one parameter.
    let denied = story.heard().into_iter().any(|(_, to, content)| {
        let mut payload = vec![];
        content.encode(&mut payload);
        to == DISPLAY_ADDRESS
            && content.pgn() == 126_208
            && payload[..7] == [2, 0x07, 0xFE, 0x01, 0x03, 1, 0xF4]
    });
    assert!(denied, "{:?}", story.heard());
    let told = |event: &Event| matches!(event, Event::Remark { text, .. } if text.contains("address 3") && text.contains("refused"));
    assert!(story.events.iter().any(told), "{:?}", story.events.last());
}

#[test]
fn an_acknowledge_from_a_display_silences_everywhere_and_is_kept() {
    let mut story = Story::with_alert();
    let head = story.alerts().first().expect("it was said").head.clone();
    // An earlier occurrence changes nothing.
    story.respond(AlertHead { occurrence: Some(0), ..head.clone() }, ResponseCommand::Acknowledge);
    let state = |story: &Story| story.engine.view(story.now).units[0].findings[0].0.clone();
    assert_eq!(state(&story).state, AlertState::Raised);
    story.sent.clear();
    story.respond(head, ResponseCommand::Acknowledge);
    let alert = state(&story);
    assert_eq!(alert.state, AlertState::Acknowledged);
    assert!(alert.by.as_deref().is_some_and(|by| by.contains("address 3")), "{:?}", alert.by);
    let said = story.alerts();
    let said = said.first().expect("said at once");
    assert_eq!(said.state, Some(pgn::AlertState::Acknowledged));
    assert_eq!(said.acknowledge_source_name, Some(DISPLAY));
    let kept = story.kept.iter().any(
        |record| matches!(record, Record::Alert { alert, .. } if alert.state == AlertState::Acknowledged),
    );
    assert!(kept);
}

#[test]
fn a_display_may_silence_for_a_while_and_it_sounds_again() {
    let mut story = Story::with_alert();
    let head = story.alerts().first().expect("it was said").head.clone();
    story.sent.clear();
    story.respond(head, ResponseCommand::TemporarySilence);
    assert_eq!(story.alerts().first().and_then(|alert| alert.state), Some(pgn::AlertState::Silenced));
    assert_eq!(
        story.engine.view(story.now).units[0].findings[0].0.state,
        AlertState::Raised,
        "not acknowledged"
    );
    let mut high = running(72.0);
    high.system_high_pressure_pa = Some(110e5);
    story.pass(speaker::SILENCE_MS / 1_000 + 2, Some(&high));
    assert_eq!(story.alerts().last().and_then(|alert| alert.state), Some(pgn::AlertState::Active));
}

#[test]
fn an_acknowledge_on_the_page_is_said_on_the_bus_at_once() {
    let mut story = Story::with_alert();
    story.sent.clear();
    let unit = story.unit();
    let command = Command::Acknowledge {
        unit,
        code: FindingCode::OverPressure,
        about: None,
        occurrence: 1,
        by: "Robin".into(),
    };
    assert_eq!(story.ask(command), Reply::Done);
    let said = story.alerts();
    let said = said.first().expect("said at once");
    assert_eq!((said.acknowledged, said.acknowledge_source_name), (Some(true), None));
}

#[test]
fn what_only_a_person_has_read_goes_out_while_it_is_fresh() {
    let mut story = Story::new(SETTINGS, Restored::default());
    story.pass(3, None);
    story.read(&[(Quantity::FeedTemperature, 18.0), (Quantity::FeedPressure, 55.0)]);
    story.pass(5, None);
    let values = |story: &Story| {
        let heard = story.heard();
        let temperature = heard.iter().find_map(|(_, _, content)| match content {
            Content::TemperatureExtended(message) => message.actual_temperature_k,
            _ => None,
        });
        let pressure = heard.iter().find_map(|(_, _, content)| match content {
            Content::ActualPressure(message) => message.pressure_pa,
            _ => None,
        });
        (temperature, pressure)
    };
    let (temperature, pressure) = values(&story);
    assert!(
        (temperature.expect("sent") - 291.15).abs() < 1e-3 && (pressure.expect("sent") - 55e5).abs() < 1.0
    );
    story.pass(700, None);
    story.sent.clear();
    story.pass(10, None);
    assert_eq!(values(&story), (None, None), "a display must not show it as the present");
}

#[test]
fn strangers_that_fill_all_room_keep_no_sensor_out() {
    let mut story = Story::new(&with_bus(), Restored::default());
    // Temperatures of every instance and source, from many addresses: more than there is room for.
    for address in 20..40 {
        for instance in 0..=252 {
            let temperature = pgn::Temperature {
                instance: Some(instance),
                source: Some(pgn::TemperatureSource::EngineRoom),
                actual_temperature_k: Some(300.0),
                ..pgn::Temperature::default()
            };
            let mut payload = vec![];
            temperature.encode(&mut payload);
            let id = CanId { priority: 5, pgn: pgn::Temperature::PGN, source: address, destination: 255 };
            story.give(Input::Frame(Frame::new(id, &payload)));
        }
    }
    story.pass(5, Some(&running(72.0)));
    let view = story.engine.view(story.now);
    let flow = view.units[0].readings.iter().find(|reading| reading.quantity == Quantity::ProductFlow);
    assert_eq!(flow.and_then(|reading| reading.value), Some(72.0));
}

#[test]
fn a_rule_by_address_means_whoever_has_it_also_when_the_name_is_known() {
    let by_address = with_bus().replace("pgn = 130567\n", "pgn = 130567\nsender = \"address:35\"\n");
    let mut story = Story::new(&by_address, Restored::default());
    let claim = CanId { priority: 6, pgn: 60_928, source: 35, destination: 255 };
    story.give(Input::Frame(Frame::new(claim, &0xC078_8200_0000_0001_u64.to_le_bytes())));
    story.pass(5, Some(&running(72.0)));
    let view = story.engine.view(story.now);
    let flow = view.units[0].readings.iter().find(|reading| reading.quantity == Quantity::ProductFlow);
    assert_eq!(flow.and_then(|reading| reading.value), Some(72.0));
}
