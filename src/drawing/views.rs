//! The two views of a plate with their dimensions, the datum and the labels.

use super::dimension::{ARROW_MM, Outside, ROW_MM, Run, arrow, linear};
use super::edge_view::{self, Side};
use super::font::Weight;
use super::front_view::{self, View};
use super::hole_table::DatumPoint;
use super::lettering::height;
use super::placing::{Label, NEAR_MM, Target, place};
use super::taken::Taken;
use super::{Item, Line, Scale};
use crate::callout::{label_features, mm};
use crate::feature::Shape;
use crate::geom::{Extents, Path, Point, Segment, Vector};
use crate::plate::Plate;
use crate::tol::SNAP_MM;

/// Free ring round the front view in which labels may stand before the first dimension line, mm.
const RING_MM: f64 = 11.0;

/// Between the ring and the edge view, mm.
const APART_MM: f64 = 5.0;

/// What the thickness dimension takes beyond the edge view, mm: arrows outside and five digits.
const THICKNESS_MM: f64 = 17.0;

/// Past the outermost dimension line: extension line and text, mm.
const PAST_MM: f64 = 4.0;

/// How far a datum axis may run past the rim of its hole, mm, in the order tried.
const AXIS_MM: [f64; 6] = [9.0, 12.0, 7.0, 15.0, 19.0, 23.0];

/// How far from its arrow head an axis's letter may stand, mm.
const AXIS_NEAR_MM: f64 = 4.0;

/// Which sides of the front view the datum's two dimensions stand on, and which sides they start from.
#[derive(Debug, Clone, Copy)]
struct DatumSides {
    /// The datum lies in the right half.
    right: bool,
    /// The datum lies in the upper half.
    top: bool,
}

/// The paper that views take at a scale, mm, without anything beside them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Need {
    front: (f64, f64),
    thick: f64,
    datum: Option<DatumSides>,
}

/// Free paper round the front view, mm.
#[derive(Debug, Clone, Copy)]
struct Margins {
    left: f64,
    right: f64,
    bottom: f64,
    top: f64,
}

impl Need {
    pub(super) fn of(plate: &Plate, scale: Scale, datum: &DatumPoint) -> Self {
        let (e, f) = (plate.outline.extents(), scale.factor());
        let middle = e.centre();
        Self {
            front: (e.width() * f, e.height() * f),
            thick: plate.thickness_mm * f,
            datum: datum.on_hole.then_some(DatumSides {
                right: datum.at.x > middle.x,
                top: datum.at.y > middle.y,
            }),
        }
    }

    /// Paper round the front view, the overall dimensions being left and away from the edge view.
    fn margins(&self, side: Side) -> Margins {
        // A side with an overall dimension, a datum dimension, both or none.
        let take = |overall: bool, datum: bool| match (overall, datum) {
            (true, true) => RING_MM + ROW_MM + PAST_MM,
            (true, false) | (false, true) => RING_MM + PAST_MM,
            (false, false) => RING_MM,
        };
        let datum_at = |f: fn(&DatumSides) -> bool| self.datum.as_ref().is_some_and(f);
        Margins {
            left: take(true, datum_at(|d| !d.right)),
            right: take(false, datum_at(|d| d.right)),
            bottom: take(side == Side::Left, datum_at(|d| !d.top)),
            top: take(side == Side::Above, datum_at(|d| d.top)),
        }
    }

    /// Width and height with the edge view on a side.
    fn size(&self, side: Side) -> (f64, f64) {
        let (w, h) = self.front;
        let m = self.margins(side);
        let (width, height) = (m.left + w + m.right, m.bottom + h + m.top);
        match side {
            Side::Left => (width + APART_MM + self.thick + THICKNESS_MM, height),
            Side::Above => (
                width.max(m.left + w + ROW_MM + PAST_MM),
                height + APART_MM + self.thick + PAST_MM,
            ),
        }
    }

    /// The width below which the views fit on no height.
    pub(super) fn least_width(&self) -> f64 {
        self.size(Side::Left).0.min(self.size(Side::Above).0)
    }

    /// The side the edge view stands on where `width` × `height` is free.
    fn side(&self, width: f64, height: f64) -> Option<Side> {
        let wide = self.front.0 >= self.front.1;
        let order = if wide {
            [Side::Above, Side::Left]
        } else {
            [Side::Left, Side::Above]
        };
        order.into_iter().find(|&side| {
            let (w, h) = self.size(side);
            w <= width && h <= height
        })
    }

    pub(super) fn fits(&self, width: f64, height: f64) -> bool {
        self.side(width, height).is_some()
    }
}

/// What is to be shown.
pub(super) struct Views<'a> {
    pub(super) plate: &'a Plate,
    pub(super) datum: &'a DatumPoint,
    pub(super) scale: Scale,
}

impl Views<'_> {
    /// Draws both views in the middle of `room`; the reason where a label finds no place.
    pub(super) fn draw(&self, need: &Need, room: Extents) -> Result<Vec<Item>, String> {
        let side = need
            .side(room.width(), room.height())
            .ok_or_else(|| "the views".to_string())?;
        let (width, high) = need.size(side);
        let margins = need.margins(side);
        let e = self.plate.outline.extents();
        // Lower left corner of the front view on the paper.
        let left = room.min.x + 0.5 * (room.width() - width) + margins.left;
        let spare = 0.5 * (room.height() - high);
        let bottom = room.min.y
            + spare
            + margins.bottom
            + match side {
                Side::Left => 0.0,
                Side::Above => PAST_MM + need.thick + APART_MM,
            };
        let factor = self.scale.factor();
        let view = View {
            factor,
            shift: Vector::new(left - e.min.x * factor, bottom - e.min.y * factor),
        };
        let outline = view.path(&self.plate.outline);
        let mut items = front_view::draw(self.plate, &view);
        self.edge(&outline, side, need.thick, &margins, &mut items);
        self.overall(&outline, side, need.datum, &mut items);
        if let Some(sides) = need.datum {
            self.datum_dimensions(&outline, &view, sides, &mut items);
        }
        let axes = self.axes(&view, &Taken::by(&items));
        items.extend(
            axes.iter()
                .map(|(from, to)| Item::line(*from, *to, Line::Narrow)),
        );
        items.extend(axes.iter().map(|(from, to)| arrow(*to, *to - *from)));
        let taken = Taken::by(&items);
        let labels = self.labels(&view, &axes);
        let placed = place(&labels, &taken, room)
            .map_err(|label| format!("the label {label} among the lines round it"))?;
        items.extend(placed);
        Ok(items)
    }

    /// The edge view and its thickness.
    fn edge(
        &self,
        outline: &Path,
        side: Side,
        thick: f64,
        margins: &Margins,
        items: &mut Vec<Item>,
    ) {
        let e = outline.extents();
        let says = mm(self.plate.thickness_mm);
        match side {
            Side::Left => {
                let level = e.max.x + margins.right + APART_MM;
                items.extend(edge_view::draw(outline, side, thick, level));
                let (from, to) = (
                    Point::new(level, e.min.y),
                    Point::new(level + thick, e.min.y),
                );
                dimension(items, Run::Across, (from, to), e.min.y - ROW_MM, &says);
            }
            Side::Above => {
                let level = e.min.y - margins.bottom - APART_MM;
                items.extend(edge_view::draw(outline, side, thick, level));
                let (from, to) = (
                    Point::new(e.max.x, level - thick),
                    Point::new(e.max.x, level),
                );
                dimension(items, Run::Up, (from, to), e.max.x + ROW_MM, &says);
            }
        }
    }

    /// Overall width and height, outside the datum's dimensions where both share a side.
    fn overall(
        &self,
        outline: &Path,
        side: Side,
        datum: Option<DatumSides>,
        items: &mut Vec<Item>,
    ) {
        let e = outline.extents();
        let whole = self.plate.outline.extents();
        let out = |shared: bool| {
            if shared { RING_MM + ROW_MM } else { RING_MM }
        };
        // Away from the edge view: below where that stands right, above where it stands below.
        let across = match side {
            Side::Left => e.min.y - out(datum.is_some_and(|d| !d.top)),
            Side::Above => e.max.y + out(datum.is_some_and(|d| d.top)),
        };
        let up = e.min.x - out(datum.is_some_and(|d| !d.right));
        let [left, right] = [-1.0, 1.0].map(|x| extreme(outline, Vector::new(x, 0.0)));
        let [low, high] = [-1.0, 1.0].map(|y| extreme(outline, Vector::new(0.0, y)));
        let (width, height) = (rounded(whole.width()), rounded(whole.height()));
        dimension(items, Run::Across, (left, right), across, &width);
        dimension(items, Run::Up, (low, high), up, &height);
    }

    /// Where the datum lies from the sides nearest to it.
    fn datum_dimensions(
        &self,
        outline: &Path,
        view: &View,
        sides: DatumSides,
        items: &mut Vec<Item>,
    ) {
        let e = outline.extents();
        let whole = self.plate.outline.extents();
        let at = view.point(self.datum.at);
        let sign = |far: bool| if far { 1.0 } else { -1.0 };
        let x_side = extreme(outline, Vector::new(sign(sides.right), 0.0));
        let y_side = extreme(outline, Vector::new(0.0, sign(sides.top)));
        let (x, across) = if sides.right {
            (whole.max.x - self.datum.at.x, e.max.x + RING_MM)
        } else {
            (self.datum.at.x - whole.min.x, e.min.x - RING_MM)
        };
        let (y, along) = if sides.top {
            (whole.max.y - self.datum.at.y, e.max.y + RING_MM)
        } else {
            (self.datum.at.y - whole.min.y, e.min.y - RING_MM)
        };
        dimension(items, Run::Across, (x_side, at), along, &rounded(x));
        dimension(items, Run::Up, (y_side, at), across, &rounded(y));
    }

    /// The datum's x and y axis, from its centre, each as long as brings its head into the clear.
    fn axes(&self, view: &View, taken: &Taken) -> [(Point, Point); 2] {
        let at = view.point(self.datum.at);
        let rim = self
            .plate
            .features
            .iter()
            .find_map(|f| match &f.shape {
                Shape::Hole(h) if h.centre.distance(self.datum.at) < SNAP_MM => {
                    Some(0.5 * h.widest_mm() * view.factor)
                }
                _ => None,
            })
            .unwrap_or(0.0);
        [Vector::new(1.0, 0.0), Vector::new(0.0, 1.0)].map(|u| {
            let clear = |reach: &f64| {
                let head = at + u * (rim + reach);
                // Room for the head before the tip and the letter after it.
                let (back, ahead) = (head - u * ARROW_MM, head + u * (2.0 * height::NORMAL));
                let side = Vector::new(u.y, u.x) * (0.6 * height::NORMAL);
                taken.leaves_free(&Extents {
                    min: back - side,
                    max: ahead + side,
                })
            };
            let reach = AXIS_MM.iter().find(|r| clear(r)).unwrap_or(&AXIS_MM[0]);
            (at, at + u * (rim + reach))
        })
    }

    /// Labels of the features and of the two axes.
    fn labels(&self, view: &View, axes: &[(Point, Point); 2]) -> Vec<Label> {
        let mut labels: Vec<Label> = ["X", "Y"]
            .into_iter()
            .zip(axes)
            .map(|(name, (_, tip))| Label {
                text: name.to_string(),
                height_mm: height::NORMAL,
                weight: Weight::Regular,
                target: Target::Circle {
                    centre: *tip,
                    radius: 0.2,
                },
                near_mm: AXIS_NEAR_MM,
            })
            .collect();
        for l in label_features(self.plate) {
            let target = match &l.feature.shape {
                Shape::Hole(h) => Target::Circle {
                    centre: view.point(h.centre),
                    radius: 0.5 * h.widest_mm() * view.factor,
                },
                Shape::Groove {
                    centre, outer_mm, ..
                } => Target::Circle {
                    centre: view.point(*centre),
                    radius: 0.5 * outer_mm * view.factor,
                },
                _ => match l.feature.footprint() {
                    Some(path) => Target::Area(view.path(&path)),
                    None => continue,
                },
            };
            labels.push(Label {
                text: l.label,
                height_mm: height::NORMAL,
                weight: Weight::Bold,
                target,
                near_mm: NEAR_MM,
            });
        }
        labels
    }
}

/// Adds a dimension, its text on the side where nothing is in its way.
fn dimension(items: &mut Vec<Item>, run: Run, ends: (Point, Point), level: f64, says: &str) {
    let taken = Taken::by(items);
    let make = |outside| linear(run, ends.0, ends.1, level, says, outside);
    let after = make(Outside::After);
    let free = after.iter().all(|i| match i {
        Item::Text(t) => taken.leaves_free(&t.bounds()),
        _ => true,
    });
    items.extend(if free { after } else { make(Outside::Before) });
}

/// A dimension's number: two decimals at most, what ISO 2768-m can tell apart tenfold.
fn rounded(v: f64) -> String {
    crate::number::short(v, 2).unwrap_or_else(|_| "?".to_string())
}

/// The outline's farthest point in a direction along an axis.
fn extreme(outline: &Path, u: Vector) -> Point {
    let mut best = outline
        .segments
        .first()
        .map_or(Point::ORIGIN, Segment::from);
    let mut take = |p: Point| {
        if (p - best).dot(u) > SNAP_MM {
            best = p;
        }
    };
    for s in &outline.segments {
        take(s.from());
        if let Segment::Arc { centre, radius, .. } = *s
            && s.spans_angle(u.angle())
        {
            take(centre + u * radius);
        }
    }
    best
}
