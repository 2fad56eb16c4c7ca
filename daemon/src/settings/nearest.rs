//! The valid word nearest to one that was mistyped.

/// The candidate that differs by the fewest keystrokes, if that is few enough for a slip: a third of the word, at least two.
pub(crate) fn nearest<'a>(typed: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let typed = typed.to_lowercase().replace('-', "_");
    let limit = (typed.chars().count() / 3).max(2);
    candidates
        .into_iter()
        .map(|candidate| (keystrokes(&typed, &candidate.to_lowercase().replace('-', "_")), candidate))
        .filter(|(distance, candidate)| *distance <= limit && *distance < candidate.chars().count())
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// Insertions, deletions, replacements and swaps of neighbours that turn one word into the other (restricted Damerau-Levenshtein distance).
fn keystrokes(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().collect();
    let mut rows: Vec<Vec<usize>> = vec![(0..=b.len()).collect()];
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let replace = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut best = replace.min(rows[i - 1][j] + 1).min(row[j - 1] + 1);
            if 1 < i && 1 < j && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(rows[i - 2][j - 2] + 1);
            }
            row.push(best);
        }
        rows.push(row);
    }
    rows[a.len()][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_found_and_strangers_are_not() {
        let keys = ["set_pressure", "salinity_cell", "pump", "drive"];
        assert_eq!(nearest("set_presure", keys), Some("set_pressure"));
        assert_eq!(nearest("Set-Pressure", keys), Some("set_pressure"));
        assert_eq!(nearest("pmup", keys), Some("pump"));
        assert_eq!(nearest("colour", keys), None);
        assert_eq!(keystrokes("flow", "flwo"), 1);
    }
}
