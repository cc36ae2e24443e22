//! Natural order of names: a run of digits counts as the number it is, so F2 comes before F10.

use std::cmp::Ordering;

/// Compares two names as a person sorts them.
///
/// Runs of digits compare by value, everything else by character. Names that
/// differ in leading zeros alone are told apart by plain comparison, so that
/// only equal names are equal.
#[must_use]
pub fn natural(a: &str, b: &str) -> Ordering {
    let (mut x, mut y) = (a, b);
    loop {
        let (m, n) = (digits(x), digits(y));
        let order = if m > 0 && n > 0 {
            let (p, q) = (
                x[..m].trim_start_matches('0'),
                y[..n].trim_start_matches('0'),
            );
            (x, y) = (&x[m..], &y[n..]);
            p.len().cmp(&q.len()).then_with(|| p.cmp(q))
        } else {
            let (mut p, mut q) = (x.chars(), y.chars());
            let order = match (p.next(), q.next()) {
                (None, None) => return a.cmp(b),
                (c, d) => c.cmp(&d),
            };
            (x, y) = (p.as_str(), q.as_str());
            order
        };
        if order != Ordering::Equal {
            return order;
        }
    }
}

/// Length of the run of ASCII digits that a text starts with.
fn digits(text: &str) -> usize {
    text.bytes().take_while(u8::is_ascii_digit).count()
}

/// A name that sorts naturally, for keys of sorted maps.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
#[serde(transparent)]
pub struct Name(pub String);

impl std::fmt::Display for Name {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl Ord for Name {
    fn cmp(&self, other: &Self) -> Ordering {
        natural(&self.0, &other.0)
    }
}

impl PartialOrd for Name {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_sort_as_a_person_sorts_them() {
        let mut names = vec![
            "block.F10",
            "block.F2",
            "block.F1",
            "a",
            "",
            "block.F02",
            "block.F2b",
            "block.F",
            "10",
            "9",
            "ü1",
            "block.G1",
        ];
        names.sort_by(|a, b| natural(a, b));
        assert_eq!(
            names,
            [
                "",
                "9",
                "10",
                "a",
                "block.F",
                "block.F1",
                "block.F02",
                "block.F2",
                "block.F2b",
                "block.F10",
                "block.G1",
                "ü1"
            ]
        );
    }

    #[test]
    fn only_equal_names_are_equal() {
        assert_eq!(natural("F2", "F2"), Ordering::Equal);
        assert_ne!(natural("F2", "F02"), Ordering::Equal);
        assert_ne!(natural("0", "00"), Ordering::Equal);
    }

    #[test]
    fn long_runs_of_digits_do_not_overflow() {
        let long = "9".repeat(400);
        assert_eq!(natural(&long, &format!("1{long}")), Ordering::Less);
    }
}
