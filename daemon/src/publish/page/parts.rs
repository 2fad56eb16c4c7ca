//! Elements, valve and the change of a train: what the parts have behind them, in sentences.

use crate::engine::UnitHistory;
use crate::publish::format;
use barrico_model::plant::{Estimate, TrainChange};
use barrico_model::records::ElementAge;

/// The sentences, for page and terminal.
pub fn lines(history: &UnitHistory) -> Vec<String> {
    let mut lines: Vec<String> =
        history.elements.iter().map(|element| element_line(element, &history.by_passed)).collect();
    if let Some(law) = &history.valve {
        let exponent = format::with_half(law.exponent.value, law.exponent.deviation);
        lines.push(match law.windows {
            0 => format!(
                "Concentrate valve: pressure taken to go with the flow to the power of {exponent}, as usual for its kind; not learnt yet (it needs a \
                 measured concentrate or feed flow)."
            ),
            windows => format!(
                "Concentrate valve: pressure goes with the flow to the power of {exponent}, learnt from {windows} minutes of this unit's runs."
            ),
        });
    }
    lines.extend(history.train_change.as_ref().map(change_line));
    lines
}

fn element_line(element: &ElementAge, by_passed: &[String]) -> String {
    let place = match element.position {
        Some(position) => format!("at position {position}"),
        None if by_passed.contains(&element.mark) => "by-passed".to_owned(),
        None => "not fitted".to_owned(),
    };
    let litres =
        if 0.0 < element.product_l { format!(", {:.0} L made", element.product_l) } else { String::new() };
    format!("Element {}, {place}: {:.0} h{litres}.", element.mark, element.hours)
}

fn change_line(change: &TrainChange) -> String {
    let flow = |of: Estimate| format!("{} L/h", format::with_half(of.value, of.deviation));
    let achieved = match change.gain_achieved_l_h {
        Some(gain) => format!("achieved {}", flow(gain)),
        None => "what it brought is known with the next baseline".to_owned(),
    };
    format!(
        "Train changed from {} to {} elements, at the water, pressure and feed of baseline {} ({} then): predicted {} by nominal sheets, {} by their \
         minimum; {achieved}.",
        change.before,
        change.now,
        change.old_baseline,
        flow(change.product_before_l_h),
        flow(change.gain_nominal_l_h),
        flow(change.gain_minimum_l_h),
    )
}
