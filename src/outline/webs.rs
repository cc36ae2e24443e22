//! Which bosses a web joins when the job does not say.

use super::shape::Disc;

/// Pairs of bosses to join: the relative neighbourhood graph of their centres.
///
/// Two bosses are joined unless a third is nearer to both of them than they are
/// to each other. That graph is always connected, holds the shortest tree, and
/// adds just the webs that close rings between neighbours, so that a plate is
/// braced without a web running past or over a boss it could have used. For
/// the shapes brackets have it draws what a fabricator would: a ring of webs
/// for bosses round an opening, a chain for bosses in a row.
/// (G. T. Toussaint, The relative neighbourhood graph of a finite planar set,
/// Pattern Recognition 12 (1980) 261–268.)
///
/// Pairs are (lower, higher) index in ascending order. Bosses whose centres
/// coincide need no web.
#[must_use]
pub fn automatic(bosses: &[Disc]) -> Vec<(usize, usize)> {
    let n = bosses.len();
    let d = |i: usize, j: usize| bosses[i].centre.distance(bosses[j].centre);
    let mut webs = Vec::new();
    for i in 0..n {
        for j in i + 1..n {
            let length = d(i, j);
            if length <= crate::tol::INPUT_GRID_MM {
                continue;
            }
            // Ties (a regular grid) keep both webs: nearer means nearer by more than rounding.
            let nearer =
                |k: usize| k != i && k != j && d(i, k).max(d(j, k)) < length - crate::tol::SNAP_MM;
            if !(0..n).any(nearer) {
                webs.push((i, j));
            }
        }
    }
    webs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point;

    fn disc(x: f64, y: f64) -> Disc {
        Disc {
            centre: Point::new(x, y),
            radius: 10.0,
        }
    }

    #[test]
    fn bosses_in_a_row_are_chained() {
        let row = [disc(0.0, 0.0), disc(50.0, 0.0), disc(100.0, 0.0)];
        assert_eq!(automatic(&row), vec![(0, 1), (1, 2)]);
    }

    #[test]
    fn a_rectangle_becomes_a_ring_without_diagonals() {
        let ring = [
            disc(0.0, 0.0),
            disc(100.0, 0.0),
            disc(100.0, 60.0),
            disc(0.0, 60.0),
        ];
        assert_eq!(automatic(&ring), vec![(0, 1), (0, 3), (1, 2), (2, 3)]);
    }

    #[test]
    fn two_bosses_on_one_spot_need_no_web() {
        assert_eq!(automatic(&[disc(0.0, 0.0), disc(0.0, 0.0)]), vec![]);
    }
}
