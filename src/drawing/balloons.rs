//! Numbered balloons round a picture, their leaders crossing neither each other nor a balloon.
//!
//! Balloons stand in places of equal distance round the picture (ISO 6433:
//! item references outside the outlines, in rows and columns, leaders ending
//! in a dot within the part). Each part gets a place; two leaders that cross
//! become shorter together when they change places, so the shortest way of
//! sharing the places out has no crossing.

use super::font::Weight;
use super::lettering::middle;
use super::taken::cross;
use super::{Item, Line};
use crate::geom::{Extents, Point, Segment};

/// Radius of a balloon, mm (common practice, no source: two digits with air).
pub(super) const RADIUS_MM: f64 = 4.2;

/// Height of its number, mm (ISO 6433: larger than the dimensions' lettering).
const NUMBER_MM: f64 = 3.5;

/// Radius of the dot at a leader's end, mm.
const DOT_MM: f64 = 0.6;

/// From middle to middle of neighbouring places, mm.
const PITCH_MM: f64 = 11.0;

/// Free space between a leader and another's balloon, mm.
const AIR_MM: f64 = 0.5;

/// Rounds of changing places; each shortens the leaders, and far fewer are needed.
const ROUNDS: usize = 200;

/// Balloons for `targets`, number and paper point each, on the sides of `ring`; and the numbers for which
/// there is no place, or none without crossing another's leader or balloon.
pub(super) fn balloons(targets: &[(usize, Point)], ring: &Extents) -> (Vec<Item>, Vec<usize>) {
    let places = places(ring);
    let mut targets = targets.to_vec();
    let mut left: Vec<usize> = Vec::new();
    while targets.len() > places.len() {
        left.extend(targets.pop().map(|(n, _)| n));
    }
    let chosen = loop {
        let chosen: Vec<Point> = share_out(&targets, &places)
            .iter()
            .map(|&k| places[k])
            .collect();
        match (0..targets.len()).find(|&i| !is_clear(i, &targets, &chosen)) {
            None => break chosen,
            Some(i) => left.push(targets.remove(i).0),
        }
    };
    left.sort_unstable();
    let mut items = Vec::new();
    for ((number, target), place) in targets.iter().zip(&chosen) {
        let u = (*target - *place).unit().unwrap_or_default();
        items.push(Item::line(*target, *place + u * RADIUS_MM, Line::Narrow));
        items.push(dot(*target));
        items.push(Item::circle(*place, RADIUS_MM, Line::Narrow));
        let base = Point::new(place.x, place.y - 0.5 * NUMBER_MM);
        items.push(Item::Text(middle(
            base,
            &number.to_string(),
            NUMBER_MM,
            Weight::Regular,
        )));
    }
    (items, left)
}

/// Whether a leader keeps clear of all others and of their balloons.
fn is_clear(i: usize, targets: &[(usize, Point)], chosen: &[Point]) -> bool {
    let (from, to) = (targets[i].1, chosen[i]);
    let way = Segment::Line { from, to };
    (0..targets.len()).filter(|&j| j != i).all(|j| {
        !cross((from, to), (targets[j].1, chosen[j]))
            && way.distance(chosen[j]) >= RADIUS_MM + AIR_MM
    })
}

/// Places round a ring, from its lower left corner counter-clockwise.
fn places(ring: &Extents) -> Vec<Point> {
    let corners = [
        ring.min,
        Point::new(ring.max.x, ring.min.y),
        ring.max,
        Point::new(ring.min.x, ring.max.y),
    ];
    let mut out = Vec::new();
    for k in 0..4 {
        let (a, b) = (corners[k], corners[(k + 1) % 4]);
        let count = (a.distance(b) / PITCH_MM).floor().max(1.0) as usize;
        out.extend((0..count).map(|n| {
            let t = n as f64 / count as f64;
            Point::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y))
        }));
    }
    out
}

/// A place for every target: first the nearest free one, then exchanged while that shortens the leaders.
fn share_out(targets: &[(usize, Point)], places: &[Point]) -> Vec<usize> {
    let far = |t: usize, p: usize| targets[t].1.distance(places[p]);
    let mut holder: Vec<Option<usize>> = vec![None; places.len()];
    let mut at = Vec::with_capacity(targets.len());
    for t in 0..targets.len() {
        let free = (0..places.len())
            .filter(|p| holder[*p].is_none())
            .min_by(|a, b| far(t, *a).total_cmp(&far(t, *b)))
            .unwrap_or(0);
        holder[free] = Some(t);
        at.push(free);
    }
    for _ in 0..ROUNDS {
        let mut better = false;
        for t in 0..targets.len() {
            for p in 0..places.len() {
                let mine = at[t];
                let gain = match holder[p] {
                    Some(o) if o == t => continue,
                    Some(o) => far(t, mine) + far(o, p) - far(t, p) - far(o, mine),
                    None => far(t, mine) - far(t, p),
                };
                if gain > 1e-9 {
                    if let Some(o) = holder[p] {
                        at[o] = mine;
                    }
                    holder[mine] = holder[p];
                    holder[p] = Some(t);
                    at[t] = p;
                    better = true;
                }
            }
        }
        if !better {
            break;
        }
    }
    at
}

fn dot(at: Point) -> Item {
    Item::Fill(
        (0..12)
            .map(|k| at.polar(DOT_MM, f64::from(k) * std::f64::consts::TAU / 12.0))
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_no_place_is_named() {
        let ring = Extents {
            min: Point::new(0.0, 0.0),
            max: Point::new(44.0, 44.0),
        };
        let targets: Vec<(usize, Point)> = (1..=20)
            .map(|n| (n, Point::new(18.0 + 0.4 * n as f64, 22.0)))
            .collect();
        let (items, left) = balloons(&targets, &ring);
        let texts = items.iter().filter(|i| matches!(i, Item::Text(_))).count();
        assert!(
            texts <= 16 && texts + left.len() == 20,
            "{texts} and {left:?}"
        );
    }

    #[test]
    fn leaders_of_a_crowd_cross_neither_each_other_nor_a_balloon() {
        let ring = Extents {
            min: Point::new(0.0, 0.0),
            max: Point::new(300.0, 180.0),
        };
        for seed in 0..40_u64 {
            let mut state = seed + 1;
            let mut next = || {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                (state >> 40) as f64 / f64::from(1 << 24)
            };
            let targets: Vec<(usize, Point)> = (1..=30)
                .map(|n| (n, Point::new(20.0 + 260.0 * next(), 20.0 + 140.0 * next())))
                .collect();
            let (items, left) = balloons(&targets, &ring);
            assert_eq!(left, Vec::<usize>::new());
            let texts = items.iter().filter(|i| matches!(i, Item::Text(_)));
            assert_eq!(texts.count(), 30);
        }
    }
}
