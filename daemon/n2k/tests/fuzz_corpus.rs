//! The corpus of the fuzz targets, replayed, and changed a little in many ways. What a fuzzer finds is put there and stays tested.

#![expect(clippy::unwrap_used, reason = "a corpus that cannot be read must fail")]

#[path = "../../../tests/fuzz/src/targets.rs"]
mod targets;

/// Changed copies of each file that are tried. A fuzzer tries millions; this finds what lies near.
const CHANGES: u64 = 100;

fn corpus(target: &str) -> Vec<Vec<u8>> {
    let folder = format!("{}/../../tests/fuzz/corpus/{target}", env!("CARGO_MANIFEST_DIR"));
    let mut paths: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    assert!(!paths.is_empty(), "nothing in {folder}");
    paths.into_iter().map(|path| std::fs::read(path).unwrap()).collect()
}

/// Linear congruential generator with Knuth's constants (MMIX).
fn noise(state: &mut u64) -> usize {
    *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*state >> 33) as usize
}

/// Flips bits, overwrites, cuts off, repeats.
fn change(bytes: &mut Vec<u8>, state: &mut u64) {
    for _ in 0..=noise(state) % 4 {
        if bytes.is_empty() {
            return;
        }
        let at = noise(state) % bytes.len();
        match noise(state) % 6 {
            0 | 1 => bytes[at] ^= 1 << (noise(state) % 8),
            2 => bytes[at] = noise(state) as u8,
            3 => bytes[at] = [0, 0xFF, 0x7F, 0x80][noise(state) % 4],
            4 => bytes.truncate(at),
            _ => {
                let tail = bytes[at..].to_vec();
                bytes.extend(tail);
            }
        }
    }
}

fn replay(target: &str, run: impl Fn(&[u8])) {
    for (number, seed) in (1..).zip(corpus(target)) {
        run(&seed);
        let mut state = number;
        for _ in 0..CHANGES {
            let mut changed = seed.clone();
            change(&mut changed, &mut state);
            run(&changed);
        }
    }
}

#[test]
fn identifiers() {
    replay("identifier", targets::identifier);
}

#[test]
fn fast_packets() {
    replay("fast_packet", targets::fast_packet);
}

#[test]
fn groups() {
    replay("groups", targets::groups);
}

#[test]
fn candump_lines() {
    replay("candump_line", targets::candump_line);
}

#[test]
fn nodes() {
    replay("node", targets::node);
}
