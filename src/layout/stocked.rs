//! Spacers stacked from stocked washers and tubes: the fewest pieces that fill a gap.

use crate::params::job::StockedSpec;
use crate::tol;

/// Most pieces of one stack (common practice, no source: every face more settles and slides).
pub const MOST_PIECES: usize = 6;

/// What a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A tube cut to a stocked length.
    Tube,
    /// A washer.
    Washer,
}

/// One piece of a stack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// What it is.
    pub kind: Kind,
    /// Its length along the bolt, mm.
    pub length_mm: f64,
}

impl Piece {
    /// In words, such as `tube 20`.
    #[must_use]
    pub fn words(&self) -> String {
        let kind = match self.kind {
            Kind::Tube => "tube",
            Kind::Washer => "washer",
        };
        format!("{kind} {}", crate::units::plain(self.length_mm, 3))
    }
}

/// Pieces in words, such as `tube 20 + washer 2.5`.
#[must_use]
pub fn words(pieces: &[Piece]) -> String {
    let all: Vec<String> = pieces.iter().map(Piece::words).collect();
    all.join(" + ")
}

/// Length of a stack, mm.
#[must_use]
pub fn length_mm(pieces: &[Piece]) -> f64 {
    pieces.iter().map(|p| p.length_mm).sum()
}

/// The stack that fills a gap, longest piece first; of stacks within tolerance the one with fewest pieces, then
/// the one nearest the gap.
///
/// # Errors
///
/// Where none is within tolerance: the one of at most [`MOST_PIECES`] that comes nearest, empty where nothing is
/// stocked.
pub fn fill(gap_mm: f64, stocked: &StockedSpec) -> Result<Vec<Piece>, Vec<Piece>> {
    let tubes = stocked.tubes_mm.iter().map(|l| (Kind::Tube, *l));
    let washers = stocked.washers_mm.iter().map(|l| (Kind::Washer, *l));
    let mut pieces: Vec<Piece> = tubes
        .chain(washers)
        .map(|(kind, length_mm)| Piece { kind, length_mm })
        .collect();
    pieces.sort_by(|a, b| {
        b.length_mm
            .total_cmp(&a.length_mm)
            .then(a.kind.cmp(&b.kind))
    });
    let mut search = Search {
        gap_mm,
        tolerance_mm: stocked.tolerance_mm + tol::RULE_MM,
        pieces: &pieces,
        stack: Vec::new(),
        nearest: (f64::INFINITY, Vec::new()),
    };
    for count in 1..=MOST_PIECES {
        search.extend(0, count, 0.0);
        // Fewest pieces first: the first count that comes within tolerance has the answer.
        if search.nearest.0 <= search.tolerance_mm {
            return Ok(search.nearest.1);
        }
    }
    Err(search.nearest.1)
}

struct Search<'a> {
    gap_mm: f64,
    tolerance_mm: f64,
    /// Longest first.
    pieces: &'a [Piece],
    stack: Vec<Piece>,
    /// Least miss so far and its stack.
    nearest: (f64, Vec<Piece>),
}

impl Search<'_> {
    /// Adds `left` pieces, none longer than piece `from`.
    fn extend(&mut self, from: usize, left: usize, sum: f64) {
        if left == 0 {
            let miss = (sum - self.gap_mm).abs();
            if miss < self.nearest.0 - tol::RULE_MM {
                self.nearest = (miss, self.stack.clone());
            }
            return;
        }
        for i in from..self.pieces.len() {
            let piece = self.pieces[i];
            // Too long already, or too short however many follow: no stack here is nearer.
            let longest = sum + left as f64 * piece.length_mm;
            if self.gap_mm - longest >= self.nearest.0 {
                break;
            }
            if sum + piece.length_mm - self.gap_mm >= self.nearest.0 {
                continue;
            }
            self.stack.push(piece);
            self.extend(i, left - 1, sum + piece.length_mm);
            self.stack.pop();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::Spot;

    fn stocked(washers: &[f64], tubes: &[f64], tolerance_mm: f64) -> StockedSpec {
        StockedSpec {
            thread: "M10x1.5".to_owned(),
            washers_mm: washers.to_vec(),
            tubes_mm: tubes.to_vec(),
            tolerance_mm,
            spot: Spot::NOWHERE,
        }
    }

    fn filled(gap: f64, s: &StockedSpec) -> String {
        words(&fill(gap, s).unwrap())
    }

    #[test]
    fn fewest_pieces_win_over_a_nearer_stack_of_more() {
        let s = stocked(&[1.0, 2.0, 2.5], &[5.0, 10.0, 20.0], 0.1);
        assert_eq!(filled(20.0, &s), "tube 20");
        assert_eq!(filled(9.0, &s), "tube 5 + washer 2 + washer 2");
        assert_eq!(filled(22.5, &s), "tube 20 + washer 2.5");
        // Two washers of 2.45 make 4.9 exactly; one tube of 5 is within a tenth.
        let s = stocked(&[2.45], &[5.0], 0.1);
        assert_eq!(filled(4.9, &s), "tube 5");
    }

    #[test]
    fn a_gap_no_stack_fills_answers_the_nearest() {
        let s = stocked(&[2.0], &[10.0], 0.1);
        let near = fill(9.0, &s).unwrap_err();
        assert!((length_mm(&near) - 9.0).abs() - 1.0 < 1e-9, "{near:?}");
        assert!(fill(9.0, &stocked(&[], &[], 0.1)).unwrap_err().is_empty());
    }

    #[test]
    fn every_choice_is_the_best_of_all_stacks() {
        // Against counting out every stack of up to three pieces.
        let s = stocked(&[1.5, 2.5, 3.0], &[7.0, 11.0, 19.0], 0.2);
        let all = [1.5, 2.5, 3.0, 7.0, 11.0, 19.0];
        for step in 1..260 {
            let gap = 0.1 * f64::from(step);
            let mut best: Option<(usize, f64)> = None;
            let mut look = |n: usize, sum: f64| {
                let miss = (sum - gap).abs();
                if miss <= 0.2 + tol::RULE_MM
                    && best.is_none_or(|(k, m)| n < k || (n == k && miss < m))
                {
                    best = Some((n, miss));
                }
            };
            for a in all {
                look(1, a);
                for b in all {
                    look(2, a + b);
                    for c in all {
                        look(3, a + b + c);
                    }
                }
            }
            if let Some((n, miss)) = best {
                let found = fill(gap, &s).unwrap();
                assert_eq!(found.len(), n, "{gap}");
                assert!(
                    ((length_mm(&found) - gap).abs() - miss).abs() < 1e-6,
                    "{gap}"
                );
            } else if let Ok(found) = fill(gap, &s) {
                assert!(found.len() > 3, "{gap}");
            }
        }
    }
}
