//! Whether a group travels in single frames or as fast packets.
//!
//! Framing belongs to the group, never to the length: 127507 (6 bytes) and 127509 (4 bytes) are fast packets although
//! they would fit one frame. In the range 126976 to 130815 it is fixed per group, and a table is needed; this one is that
//! of the canboat PGN database (ts-pgns 1.11.18, Apache-2.0).
//!
//! A group of that range that is not in the table is taken as single frames: nothing here can read it, its frames stay
//! visible one by one, and it cannot fill reassembly slots or be counted as damage. The price: if it is a fast packet, its
//! message count is too high.

/// How messages of a group travel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Framing {
    /// One frame is one message.
    Single,
    /// Up to 32 frames with a sequence and a frame number.
    Fast,
}

/// First group of the mixed range.
const MIXED_FIRST: u32 = 126_976;
/// Number of groups of the mixed range.
const MIXED_COUNT: usize = 130_816 - MIXED_FIRST as usize;

/// Fast packets of the mixed range.
const FAST: [u32; 113] = [
    126983, 126984, 126985, 126986, 126987, 126988, 126996, 126998, 127233, 127237, 127489, 127490, 127491,
    127494, 127495, 127496, 127497, 127498, 127503, 127504, 127506, 127507, 127509, 127510, 127511, 127512,
    127513, 127514, 128275, 128520, 128538, 129029, 129038, 129039, 129040, 129041, 129044, 129045, 129284,
    129285, 129301, 129302, 129538, 129540, 129541, 129542, 129545, 129547, 129549, 129551, 129556, 129792,
    129793, 129794, 129795, 129796, 129797, 129798, 129799, 129800, 129801, 129802, 129803, 129804, 129805,
    129806, 129807, 129808, 129809, 129810, 130052, 130053, 130054, 130060, 130061, 130064, 130065, 130066,
    130067, 130068, 130069, 130070, 130071, 130072, 130073, 130074, 130320, 130321, 130322, 130323, 130324,
    130329, 130330, 130561, 130562, 130563, 130564, 130565, 130566, 130567, 130569, 130570, 130571, 130572,
    130573, 130574, 130577, 130578, 130580, 130581, 130583, 130584, 130586,
];

/// One bit per group of the mixed range, from the list above.
static FAST_BITS: [u64; MIXED_COUNT.div_ceil(64)] = {
    let mut bits = [0; MIXED_COUNT.div_ceil(64)];
    let mut index = 0;
    while index < FAST.len() {
        let group = (FAST[index] - MIXED_FIRST) as usize;
        bits[group / 64] |= 1 << (group % 64);
        index += 1;
    }
    bits
};

/// Framing of a group.
#[inline]
#[must_use]
pub const fn framing(pgn: u32) -> Framing {
    let fast = match pgn {
        // Addressed groups of the upper page: 126208, 126464, 126720.
        126_208..=126_975 => true,
        MIXED_FIRST..=130_815 => {
            let group = (pgn - MIXED_FIRST) as usize;
            FAST_BITS[group / 64] >> (group % 64) & 1 == 1
        }
        // Proprietary fast packets.
        130_816..=131_071 => true,
        _ => false,
    };
    if fast { Framing::Fast } else { Framing::Single }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Ranges and the two short fast packets as in the canboat documentation.
    #[test]
    fn ranges() {
        for pgn in [59392, 60928, 61184, 65013, 65280, 65535, 126_207, 126_992, 127_505, 130_312, 131_072] {
            assert_eq!(framing(pgn), Framing::Single, "{pgn}");
        }
        for pgn in [126_208, 126_464, 126_720, 127_507, 127_509, 130_567, 130_816, 131_071] {
            assert_eq!(framing(pgn), Framing::Fast, "{pgn}");
        }
        assert_eq!(framing(130_762), Framing::Single, "unknown group of the mixed range");
    }
}
