//! Finds the known name a mistyped one was meant to be.

/// The name nearest to `wrong`, if one is near enough to be what was meant. Among equals the
/// first wins, so the order of `known` decides and the answer is always the same.
pub fn nearest<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if wrong.chars().count() > MAX_NAME {
        return None;
    }
    let lower = wrong.to_lowercase().replace('_', "-");
    let limit = (lower.chars().count() / 3).max(1);
    let mut best: Option<(usize, &str)> = None;
    for name in known {
        let distance = distance(&lower, name);
        if distance <= limit && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, name));
        }
    }
    best.map(|(_, name)| name)
}

/// The names of `known` that hold `wrong`, hyphens left out: what somebody meant who wrote a part of
/// a name. Empty for less than three letters.
pub fn holding<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let bare = |name: &str| name.to_lowercase().replace(['-', '_'], "");
    let part = bare(wrong);
    if part.chars().count() < LEAST_PART {
        return Vec::new();
    }
    let holds = |name: &&str| bare(name).contains(&part);
    known.into_iter().filter(holds).collect()
}

/// Letters of a part of a name that is looked for; fewer are found in names of every kind.
const LEAST_PART: usize = 3;

/// Letters in the longest name.
pub const MAX_NAME: usize = 64;

/// Edits between two words: insert, delete, replace, or swap two neighbours (Damerau 1964, in the
/// form that never edits a letter twice).
fn distance(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().collect();
    let mut before: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let differs = usize::from(a[i - 1] != b[j - 1]);
            let mut cost = (above[j] + 1)
                .min(row[j - 1] + 1)
                .min(above[j - 1] + differs);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                cost = cost.min(before[j - 2] + 1);
            }
            row.push(cost);
        }
        before = std::mem::replace(&mut above, row);
    }
    above.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_swapped_missing_and_extra_letters() {
        let known = ["blade-width", "tip-angle", "neck-width"];
        assert_eq!(nearest("blade-widht", known), Some("blade-width"));
        assert_eq!(nearest("tipangle", known), Some("tip-angle"));
        assert_eq!(nearest("Neck_Width", known), Some("neck-width"));
        assert_eq!(nearest("collar", known), None);
    }

    #[test]
    fn finds_names_by_a_part() {
        let known = ["bow-tie", "bow-pretied", "day-cravat", "childrens"];
        assert_eq!(holding("bow", known), ["bow-tie", "bow-pretied"]);
        assert_eq!(holding("pre-tied", known), ["bow-pretied"]);
        assert_eq!(holding("Cravat", known), ["day-cravat"]);
        assert!(holding("ow", known).is_empty());
        assert!(holding("sash", known).is_empty());
    }
}
