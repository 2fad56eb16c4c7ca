//! Several senders, one quantity: which one counts.
//!
//! 1. The best rule in the settings that has a fresh stream.
//! 2. Within one rule: streams that contradict themselves (impossible for this quantity, or unchanging while others move) are left out.
//! 3. Of the rest, per physical sender only the newest counts; the one nearest to their median is taken and kept as
//!    long as it is fresh and near the median, so that the value does not hop between senders.
//!
//! Disagreement is reported, not averaged away. Two messages of one device do not agree with each other; they are the same sensor twice.

use super::stream::Stream;
use barrico_model::records::SenderId;
use barrico_model::{Dimension, Monotonic, Quantity};

/// What arbitration says about one quantity.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Choice {
    /// Index of the stream that counts.
    pub stream: Option<usize>,
    /// Why the others do not, or why none does, with values: the evidence for the owner.
    pub doubts: Vec<Doubt>,
}

/// A doubt about one stream.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubt {
    /// Index of the stream.
    pub stream: usize,
    /// What is wrong with it.
    pub kind: DoubtKind,
}

/// What is wrong with a stream.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DoubtKind {
    /// Not possible for sea water, or for this quantity at all.
    NotPlausible,
    /// Repeats the same number.
    Unchanging,
    /// Differs from the median of all senders by so much, in the unit of the quantity.
    Contradicted(f64),
}

/// How far senders may differ before it is reported, in the unit of the quantity (our choice, above the usual errors of such sensors).
pub fn tolerance(quantity: Quantity, value: f64) -> f64 {
    match quantity.dimension() {
        Dimension::Temperature => 1.0,
        Dimension::Pressure | Dimension::PressureDifference => 0.3f64.max(0.05 * value),
        Dimension::Level => 10.0,
        Dimension::Frequency => 1.0,
        _ => 1.0f64.max(0.1 * value),
    }
}

/// The range in which sea water can be, narrower than what a sensor may show. The warmest sea surface measured is near 38 °C
/// (common knowledge, no source), the coldest is the freezing point of very salty water.
pub fn is_plausible(quantity: Quantity, value: f64) -> bool {
    let plausible = match quantity {
        Quantity::FeedTemperature => (-2.5..=38.5).contains(&value),
        _ => true,
    };
    plausible && quantity.is_possible(value)
}

/// Chooses among candidates: `(index of the stream, rank of its rule)`, best rank first.
pub fn choose(
    quantity: Quantity,
    now: Monotonic,
    streams: &[Stream],
    candidates: &[(usize, u8)],
    present: Option<usize>,
) -> Choice {
    let mut choice = Choice::default();
    let mut ranks: Vec<u8> = candidates.iter().map(|(_, rank)| *rank).collect();
    ranks.dedup();
    for rank in ranks {
        let of_rank = candidates.iter().filter(|(_, r)| *r == rank).map(|(index, _)| *index);
        let fresh: Vec<usize> = of_rank.filter(|&index| streams[index].is_fresh(now)).collect();
        if let Some(stream) = choose_within_rank(quantity, streams, &fresh, present, &mut choice.doubts) {
            choice.stream = Some(stream);
            break;
        }
    }
    choice
}

fn choose_within_rank(
    quantity: Quantity,
    streams: &[Stream],
    fresh: &[usize],
    present: Option<usize>,
    doubts: &mut Vec<Doubt>,
) -> Option<usize> {
    let mut sound = Vec::new();
    for &index in fresh.iter().filter(|&&index| streams[index].is_believed()) {
        if !is_plausible(quantity, streams[index].value) {
            doubts.push(Doubt { stream: index, kind: DoubtKind::NotPlausible });
            if streams[index].is_unchanging() {
                doubts.push(Doubt { stream: index, kind: DoubtKind::Unchanging });
            }
        } else {
            sound.push(index);
        }
    }
    let devices = one_per_device(streams, &sound);
    let median = median(devices.iter().map(|&index| streams[index].value).collect())?;
    // Between two, the median lies half-way: they disagree when the whole distance is too large.
    let reach = tolerance(quantity, median.abs()) * if devices.len() == 2 { 0.5 } else { 1.0 };
    let mut near = Vec::new();
    for &index in &devices {
        let distance = streams[index].value - median;
        if reach < distance.abs() {
            doubts.push(Doubt { stream: index, kind: DoubtKind::Contradicted(distance) });
            // A sender that contradicts the others and never moves is the one that is wrong.
            if streams[index].is_unchanging() {
                doubts.push(Doubt { stream: index, kind: DoubtKind::Unchanging });
                continue;
            }
        }
        near.push(index);
    }
    if let Some(kept) =
        present.filter(|kept| near.contains(kept) && (streams[*kept].value - median).abs() <= reach)
    {
        return Some(kept);
    }
    near.into_iter().min_by(|&a, &b| {
        let distance = |index: usize| (streams[index].value - median).abs();
        distance(a).total_cmp(&distance(b)).then(a.cmp(&b))
    })
}

/// The newest stream of each sender.
fn one_per_device(streams: &[Stream], indices: &[usize]) -> Vec<usize> {
    let mut devices: Vec<(SenderId, usize)> = Vec::new();
    for &index in indices {
        let sender = streams[index].key.sender;
        match devices.iter_mut().find(|(known, _)| *known == sender) {
            None => devices.push((sender, index)),
            // The finer message is preferred over the newest: its number is the highest, since the older ones were replaced by it.
            Some((_, known)) if streams[*known].key.pgn < streams[index].key.pgn => *known = index,
            Some(_) => {}
        }
    }
    devices.into_iter().map(|(_, index)| index).collect()
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    match values.len() {
        0 => None,
        n if n % 2 == 1 => Some(values[middle]),
        _ => Some(0.5 * (values[middle - 1] + values[middle])),
    }
}

#[cfg(test)]
mod tests {
    use super::super::stream::{Field, StreamKey};
    use super::*;

    fn stream(address: u8, pgn: u32, value: f64) -> Stream {
        let key = StreamKey {
            sender: SenderId::Address(address),
            pgn,
            instance: 0,
            kind: 0,
            field: Field::Temperature,
        };
        Stream::new(key, Monotonic(0), value)
    }

    fn all(streams: &[Stream]) -> Vec<(usize, u8)> {
        (0..streams.len()).map(|index| (index, 0)).collect()
    }

    /// The four sea-temperature senders of a recorded yacht (public recording, see tests/captures/README.md): three agree, one is 1.2 K colder.
    #[test]
    fn three_that_agree_win_over_one_that_does_not() {
        let streams = [
            stream(15, 130_312, 7.59),
            stream(36, 130_312, 8.85),
            stream(37, 130_312, 8.68),
            stream(38, 130_312, 8.84),
        ];
        let choice = choose(Quantity::FeedTemperature, Monotonic(100), &streams, &all(&streams), None);
        assert!(choice.stream.is_some_and(|index| index != 0));
        assert_eq!(choice.doubts.len(), 1);
        assert_eq!(choice.doubts[0].stream, 0);
    }

    #[test]
    fn one_device_that_says_it_three_times_is_one_voice() {
        let streams = [
            stream(15, 130_310, 7.0),
            stream(15, 130_311, 7.0),
            stream(15, 130_312, 7.0),
            stream(36, 130_312, 8.9),
        ];
        let choice = choose(Quantity::FeedTemperature, Monotonic(100), &streams, &all(&streams), None);
        // Two devices, far apart: both are named, neither is outvoted.
        assert_eq!(choice.doubts.len(), 2, "{choice:?}");
        assert!(choice.stream.is_some());
    }

    #[test]
    fn a_stuck_40_degrees_is_no_sea() {
        let mut stuck = stream(3, 130_311, 40.0);
        for step in 1..400 {
            stuck.take(Monotonic(step * 1000), 40.0);
        }
        let streams = [stuck];
        let choice = choose(Quantity::FeedTemperature, Monotonic(400_000), &streams, &all(&streams), None);
        assert_eq!(choice.stream, None);
        let kinds: Vec<_> = choice.doubts.iter().map(|doubt| doubt.kind).collect();
        assert_eq!(kinds, [DoubtKind::NotPlausible, DoubtKind::Unchanging]);
    }

    #[test]
    fn the_chosen_one_is_kept_while_it_is_near() {
        let mut streams = [stream(1, 130_312, 20.0), stream(2, 130_312, 20.4), stream(3, 130_312, 20.5)];
        let first = choose(Quantity::FeedTemperature, Monotonic(0), &streams, &all(&streams), None);
        assert_eq!(first.stream, Some(1));
        streams[1].take(Monotonic(1000), 20.6);
        let next = choose(Quantity::FeedTemperature, Monotonic(1000), &streams, &all(&streams), first.stream);
        assert_eq!(next.stream, Some(1));
    }
}
