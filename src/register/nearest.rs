//! What somebody probably meant: the known name nearest to a mistyped one.

/// Edits (insert, remove, replace, swap of neighbours) from which a name no longer counts as a slip.
const FURTHEST: usize = 2;

/// The candidate nearest to `name`, ignoring case, or none within two edits (one for names of up to three letters).
pub(crate) fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let name: Vec<char> = name.to_lowercase().chars().take(200).collect();
    let furthest = if name.len() <= 3 { 1 } else { FURTHEST };
    candidates
        .into_iter()
        .map(|candidate| {
            (
                edits(&name, &candidate.to_lowercase().chars().collect::<Vec<_>>()),
                candidate,
            )
        })
        .filter(|(distance, _)| *distance <= furthest)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// `did you mean "NAME"?` for the nearest candidate.
pub(crate) fn did_you_mean<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<String> {
    nearest(name, candidates).map(|candidate| format!("did you mean \"{candidate}\"?"))
}

/// Optimal string alignment distance.
fn edits(from: &[char], to: &[char]) -> usize {
    if from.len().abs_diff(to.len()) > FURTHEST {
        return FURTHEST + 1;
    }
    let width = to.len() + 1;
    let mut rows: Vec<Vec<usize>> = vec![(0..width).collect()];
    for (i, a) in from.iter().enumerate() {
        let mut row = vec![i + 1; width];
        for (j, b) in to.iter().enumerate() {
            let replace = rows[i][j] + usize::from(a != b);
            row[j + 1] = replace.min(rows[i][j + 1] + 1).min(row[j] + 1);
            let is_swap = i > 0 && j > 0 && *a == to[j - 1] && from[i - 1] == *b;
            if is_swap {
                row[j + 1] = row[j + 1].min(rows[i - 1][j - 1] + 1);
            }
        }
        rows.push(row);
    }
    rows[from.len()][to.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_recognised() {
        let known = ["pir", "pur", "cellular-glass", "mineral-wool"];
        assert_eq!(nearest("pirr", known), Some("pir"));
        assert_eq!(nearest("Celular-Glass", known), Some("cellular-glass"));
        assert_eq!(nearest("mineral-wolo", known), Some("mineral-wool"));
        assert_eq!(nearest("straw", known), None);
        assert_eq!(nearest("xyz", known), None);
        assert_eq!(nearest("", known), None);
    }

    #[test]
    fn distance_counts_edits() {
        let count = |a: &str, b: &str| edits(&a.chars().collect::<Vec<_>>(), &b.chars().collect::<Vec<_>>());
        assert_eq!(count("abc", "abc"), 0);
        assert_eq!(count("abc", "acb"), 1);
        assert_eq!(count("abc", "ab"), 1);
        assert_eq!(count("", "ab"), 2);
        assert_eq!(count("abcd", "wxyz"), 4);
    }
}
