//! Finds a free place for every label, so that nothing overlaps.
//!
//! Every label has a target and a fixed list of candidate places round it.
//! Places that meet a line or a text already on the sheet are struck off
//! first; the labels with the fewest left choose first, each the place with
//! the least cost that no label before it has taken. A label that finds none
//! moves to the head of the queue and the choice starts again.

use std::f64::consts::TAU;

use super::dimension::{ARROW_MM, arrow};
use super::font::Weight;
use super::lettering::text;
use super::taken::{Taken, cross, meets, nearest_on, overlap};
use super::{Item, Line, Text};
use crate::geom::{Extents, Path, Point, Segment, Vector};

/// Free space kept round every label, mm.
const CLEAR_MM: f64 = 0.7;

/// A hole's label this near to it needs no leader, mm.
pub(super) const NEAR_MM: f64 = 1.2;

/// Distances from the target at which places are tried, mm.
const DISTANCES_MM: [f64; 12] = [
    NEAR_MM, 2.5, 4.0, 6.0, 8.5, 11.5, 15.0, 19.0, 24.0, 30.0, 38.0, 48.0,
];

/// Directions tried round the target.
const DIRECTIONS: usize = 24;

/// What a label points at, in paper mm.
#[derive(Debug, Clone)]
pub(super) enum Target {
    /// A round feature.
    Circle {
        /// Centre.
        centre: Point,
        /// Radius.
        radius: f64,
    },
    /// An opening or recess, in which the label may stand.
    Area(Path),
}

impl Target {
    fn extents(&self) -> Extents {
        match self {
            Self::Circle { centre, radius } => Path::circle(*centre, *radius).extents(),
            Self::Area(path) => path.extents(),
        }
    }
}

/// A label to be placed.
#[derive(Debug, Clone)]
pub(super) struct Label {
    pub(super) text: String,
    pub(super) height_mm: f64,
    pub(super) weight: Weight,
    pub(super) target: Target,
    /// Up to this distance, mm, the label needs no leader.
    pub(super) near_mm: f64,
}

/// A place for a label.
#[derive(Debug, Clone)]
struct Place {
    text: Text,
    bounds: Extents,
    /// From the label to the target.
    leader: Option<(Point, Point)>,
    cost: f64,
}

/// Places every label; the items to draw, or the text of a label for which there is no room.
pub(super) fn place(labels: &[Label], taken: &Taken, room: Extents) -> Result<Vec<Item>, String> {
    let candidates: Vec<Vec<Place>> = labels
        .iter()
        .map(|l| {
            let mut all = places(l, labels, taken, &room);
            all.sort_by(|a, b| a.cost.total_cmp(&b.cost));
            all
        })
        .collect();
    let mut queue: Vec<usize> = (0..labels.len()).collect();
    queue.sort_by_key(|&k| candidates[k].len());
    // Each restart moves one more label to the front.
    for _ in 0..=2 * labels.len() {
        match choose(&queue, &candidates) {
            Ok(chosen) => return Ok(draw(chosen)),
            Err(at) => {
                let k = queue.remove(at);
                if at == 0 {
                    return Err(labels[k].text.clone());
                }
                queue.insert(0, k);
            }
        }
    }
    Err(queue
        .first()
        .map(|&k| labels[k].text.clone())
        .unwrap_or_default())
}

/// One place a label in queue order, or the queue position of the first label that finds none.
fn choose<'a>(queue: &[usize], candidates: &'a [Vec<Place>]) -> Result<Vec<&'a Place>, usize> {
    let mut chosen: Vec<&Place> = Vec::with_capacity(queue.len());
    for (at, &k) in queue.iter().enumerate() {
        let free = |p: &&Place| chosen.iter().all(|c| agree(p, c));
        chosen.push(candidates[k].iter().find(free).ok_or(at)?);
    }
    Ok(chosen)
}

/// Whether two places leave each other's text and leader alone.
fn agree(a: &Place, b: &Place) -> bool {
    let cuts = |leader: Option<(Point, Point)>, bounds: &Extents| {
        leader.is_some_and(|(from, to)| meets(&Segment::Line { from, to }, bounds))
    };
    if overlap(&a.bounds, &b.bounds) || cuts(a.leader, &b.bounds) || cuts(b.leader, &a.bounds) {
        return false;
    }
    match (a.leader, b.leader) {
        (Some(l), Some(m)) => !cross(l, m),
        _ => true,
    }
}

fn draw(chosen: Vec<&Place>) -> Vec<Item> {
    let mut items = Vec::new();
    for p in chosen {
        if let Some((from, to)) = p.leader {
            items.push(Item::line(from, to, Line::Narrow));
            items.push(arrow(to, to - from));
        }
        items.push(Item::Text(p.text.clone()));
    }
    items
}

/// All free places of one label.
fn places(label: &Label, all: &[Label], taken: &Taken, room: &Extents) -> Vec<Place> {
    let sample = text(Point::ORIGIN, &label.text, label.height_mm, label.weight);
    let ink = sample.bounds();
    let half = Vector::new(0.5 * ink.width(), 0.5 * ink.height());
    let base = Point::ORIGIN - ink.centre();
    let others: Vec<(&Target, Extents)> = all
        .iter()
        .filter(|o| !std::ptr::eq(*o, label))
        .map(|o| (&o.target, o.target.extents()))
        .collect();
    let mut found = Vec::new();
    let mut offer = |middle: Point, leader: Option<(Point, Point)>, cost: f64| {
        let bounds = Extents {
            min: middle - half - Vector::new(CLEAR_MM, CLEAR_MM),
            max: middle + half + Vector::new(CLEAR_MM, CLEAR_MM),
        };
        let inside = bounds.min.x >= room.min.x
            && bounds.min.y >= room.min.y
            && bounds.max.x <= room.max.x
            && bounds.max.y <= room.max.y;
        if !inside || !taken.leaves_free(&bounds) {
            return;
        }
        let mut cost = cost;
        if let Some((from, to)) = leader {
            let line = Segment::Line { from, to };
            if taken.has_text_on(&line) {
                return;
            }
            // A leader may cross lines, but had better not.
            cost += taken.crossings(from, to) as f64;
        }
        // Inside another feature a label seems to belong to that one.
        let stray = others.iter().any(|(target, e)| {
            let in_box = middle.x > e.min.x
                && middle.x < e.max.x
                && middle.y > e.min.y
                && middle.y < e.max.y;
            in_box
                && match target {
                    Target::Circle { centre, radius } => centre.distance(middle) < *radius,
                    Target::Area(path) => path.contains(middle),
                }
        });
        if stray {
            cost += 4.0;
        }
        let text = Text {
            at: middle + base,
            ..sample.clone()
        };
        found.push(Place {
            text,
            bounds,
            leader,
            cost,
        });
    };
    match &label.target {
        Target::Circle { centre, radius } => {
            round_about(*centre, half, label.near_mm, &mut offer, |_| {
                (*centre, *radius)
            });
        }
        Target::Area(path) => {
            within(path, half, &mut offer);
            let middle = path.extents().centre();
            let reach = path.extents().width() + path.extents().height();
            round_about(middle, half, label.near_mm, &mut offer, |u| {
                (path.nearest(middle + u * reach), 0.0)
            });
        }
    }
    found
}

/// Offers places in rings round a target; `edge` gives, for a direction, a point and the radius about it to stay out of.
fn round_about(
    middle: Point,
    half: Vector,
    near_mm: f64,
    offer: &mut impl FnMut(Point, Option<(Point, Point)>, f64),
    edge: impl Fn(Vector) -> (Point, f64),
) {
    for k in 0..DIRECTIONS {
        let angle = TAU * (k as f64 + 0.5) / DIRECTIONS as f64;
        let u = Vector::unit_at(angle);
        let (anchor, radius) = edge(u);
        for distance in DISTANCES_MM {
            let support = u.x.abs() * half.x + u.y.abs() * half.y;
            let place = anchor + u * (radius + distance + support);
            // Upper right is where a reader looks first.
            let away = 1.0 - u.dot(Vector::unit_at(TAU / 8.0));
            let mut cost = 0.25 * away + 0.12 * distance;
            let mut leader = None;
            if distance > near_mm {
                cost += 1.0;
                let b = Extents {
                    min: place - half,
                    max: place + half,
                };
                let from = nearest_on(&b, middle, 0.6);
                let to = if radius > 0.0 {
                    let d = (from - anchor).unit().unwrap_or(u);
                    anchor + d * radius
                } else {
                    anchor
                };
                // A leader shorter than its arrow head would reach into the label.
                if from.distance(to) < ARROW_MM + 0.3 {
                    continue;
                }
                leader = Some((from, to));
            }
            offer(place, leader, cost);
        }
    }
}

/// Offers places inside an area, the middle first.
fn within(path: &Path, half: Vector, offer: &mut impl FnMut(Point, Option<(Point, Point)>, f64)) {
    let e = path.extents();
    let centre = e.centre();
    for i in -3..=3 {
        for j in -3..=3 {
            let p = Point::new(
                centre.x + f64::from(i) * e.width() / 8.0,
                centre.y + f64::from(j) * e.height() / 8.0,
            );
            let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
            let all_in = corners
                .iter()
                .all(|(x, y)| path.contains(Point::new(p.x + x * half.x, p.y + y * half.y)));
            if all_in {
                offer(p, None, 0.02 * p.distance(centre));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: Extents = Extents {
        min: Point::new(0.0, 0.0),
        max: Point::new(100.0, 100.0),
    };

    fn label(what: &str, x: f64, y: f64) -> Label {
        Label {
            text: what.to_string(),
            height_mm: 2.5,
            weight: Weight::Regular,
            target: Target::Circle {
                centre: Point::new(x, y),
                radius: 2.0,
            },
            near_mm: NEAR_MM,
        }
    }

    #[test]
    fn a_lone_label_stands_by_its_hole_without_a_leader() {
        let items = place(&[label("A1", 50.0, 50.0)], &Taken::default(), ROOM).expect("room");
        assert_eq!(items.len(), 1);
    }

    #[test]
    fn labels_of_crowded_holes_do_not_meet() {
        let labels: Vec<Label> = (0..25)
            .map(|k| {
                let (i, j) = (f64::from(k % 5), f64::from(k / 5));
                label(&format!("A{k}"), 40.0 + 5.0 * i, 40.0 + 5.0 * j)
            })
            .collect();
        let circles: Vec<Item> = labels
            .iter()
            .map(|l| match l.target {
                Target::Circle { centre, radius } => Item::circle(centre, radius, Line::Visible),
                Target::Area(_) => unreachable!("all are circles"),
            })
            .collect();
        let items = place(&labels, &Taken::by(&circles), ROOM).expect("room");
        let boxes: Vec<Extents> = items
            .iter()
            .filter_map(|i| match i {
                Item::Text(t) => Some(t.bounds()),
                _ => None,
            })
            .collect();
        assert_eq!(boxes.len(), labels.len());
        for (k, a) in boxes.iter().enumerate() {
            assert!(boxes[k + 1..].iter().all(|b| !overlap(a, b)));
            for c in circles.iter().chain(&items) {
                if let Item::Line { path, .. } = c {
                    assert!(!path.iter().any(|s| meets(s, a)));
                }
            }
        }
    }

    #[test]
    fn where_there_is_no_room_the_label_is_named() {
        let small = Extents {
            min: Point::new(48.0, 48.0),
            max: Point::new(52.0, 52.0),
        };
        let none = place(&[label("A1", 50.0, 50.0)], &Taken::default(), small);
        assert_eq!(none, Err("A1".to_string()));
    }
}
