//! The nearest of the names that exist, for a name that does not.

/// The candidate that the user most likely meant by `name`, if any is near enough.
///
/// Near enough is a third of its letters (at least one) mistyped, swapped,
/// missing or too many, letter case and the difference of `-`, `_` and blank
/// not counted; or the same word with or without a unit at its end
/// (`depth-mm`); of equally near ones the first.
pub fn nearest<'c>(name: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    // No key or name that a person typed is longer; the distance is quadratic.
    const LONGEST: usize = 64;
    if name.len() > LONGEST {
        return None;
    }
    let plain = folded(name);
    let mut best: Option<(usize, &str)> = None;
    for c in candidates {
        if c.len() > LONGEST {
            continue;
        }
        let folded_c = folded(c);
        let length = plain.chars().count().max(folded_c.chars().count());
        let allowed = (length / 3).max(1);
        let distance = if without_unit(&plain) == without_unit(&folded_c) {
            0
        } else {
            strsim::osa_distance(&plain, &folded_c)
        };
        // A one-letter name is a typo of everything: only its case may differ.
        let near = distance <= allowed && (length > 1 || distance == 0);
        if near && best.is_none_or(|(d, _)| distance < d) {
            best = Some((distance, c));
        }
    }
    best.map(|(_, c)| c)
}

fn folded(name: &str) -> String {
    name.chars()
        .map(|c| match c {
            '_' | ' ' => '-',
            c => c.to_ascii_lowercase(),
        })
        .collect()
}

fn without_unit(name: &str) -> &str {
    ["-mm", "-deg", "-kg", "-rpm", "-nm", "-n"]
        .iter()
        .find_map(|u| name.strip_suffix(u))
        .unwrap_or(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn typing_slips_find_their_key() {
        let keys = ["id", "at", "axis", "thread", "depth", "material", "centre"];
        for (typed, meant) in [
            ("thraed", Some("thread")),
            ("depht", Some("depth")),
            ("depth_mm", Some("depth")),
            ("Material", Some("material")),
            ("materiel", Some("material")),
            ("center", Some("centre")),
            ("ID", Some("id")),
            ("colour", None),
            ("x", None),
            ("", None),
        ] {
            assert_eq!(nearest(typed, keys), meant, "{typed}");
        }
        assert_eq!(nearest(&"a".repeat(1_000_000), keys), None);
    }

    #[test]
    fn hole_names_find_their_neighbour() {
        assert_eq!(nearest("A12", ["A1", "A2", "B12"]), Some("A1"));
        assert_eq!(nearest("Z9", ["A1", "A9"]), Some("A9"));
        assert_eq!(nearest("upper", ["A1", "A9"]), None);
    }
}
