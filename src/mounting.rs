//! Mounting: a job's plates and bolts as the search for mix-ups wants them, and the marks that follow.

use crate::clearance::{Body, Prism, Scene, Solid};
use crate::feature::{Feature, Shape};
use crate::geom::{Frame, Path, Point, Point3, Region, Vector3};
use crate::layout::seat::{Made, PlateHole};
use crate::layout::{Joint, Layout, Offer, PlatePlace, fastener};
use crate::mixup::{self, Bolt, Centre, Face, Motion, Opening, Way};
use crate::params::block::Block;
use crate::params::shop::Shop;
use crate::platework::{self, MadePlate};
use crate::tables::gap::{Kind, Limits};
use crate::tol;

/// One variant as laid out, with its block.
#[derive(Debug, Clone, Copy)]
pub struct View<'a> {
    /// Where everything is.
    pub layout: &'a Layout,
    /// Its block.
    pub block: &'a Block,
}

/// Finds every mix-up of the plates over all variants and engraves the plates that have one.
///
/// Variants with the same block and plates are looked at once.
pub fn mark_mixups(plates: &mut [MadePlate], views: &[View<'_>], shop: &Shop, revision: &str) {
    let mut looked_at: Vec<(&str, Vec<PlateKey>)> = Vec::new();
    for view in views {
        let key = (
            view.block.name.as_str(),
            view.layout.plates.iter().map(plate_key).collect::<Vec<_>>(),
        );
        if looked_at.contains(&key) {
            continue;
        }
        looked_at.push(key);
        let bolts = Bolts::of(view);
        for made in plates.iter_mut() {
            for way in ways(made, view, &bolts) {
                let known = |w: &Way| {
                    w.motion.turned_over == way.motion.turned_over && w.through == way.through
                };
                if !made.mixups.iter().any(known) {
                    made.mixups.push(way);
                }
            }
        }
    }
    for made in plates {
        let process = shop
            .processes
            .iter()
            .find(|p| p.id == made.process)
            .or(shop.processes.first());
        if let Some(process) = process {
            let number = format!("{}-{revision}", made.plate.id);
            platework::mark(made, &number, process);
        }
    }
}

/// What of a plate decides which bolts it meets: name, its frame and its holes' places.
type PlateKey = (String, Frame, Vec<(String, Point, f64)>);

fn plate_key(p: &PlatePlace) -> PlateKey {
    let holes = p
        .holes
        .iter()
        .map(|h| (h.target.to_string(), h.at, h.diameter_mm))
        .collect();
    (p.id.clone(), p.frame, holes)
}

/// A bolt with the direction of its axis and a point on it.
type OnAxis = (Vector3, Point3, Bolt);

/// The bolts of a variant: those of the block, and each plate's own.
struct Bolts {
    block: Vec<OnAxis>,
    /// By plate: the joints that hold it.
    own: Vec<(String, Vec<OnAxis>)>,
}

impl Bolts {
    fn of(view: &View<'_>) -> Self {
        let layout = view.layout;
        // The seat under a head follows from the joint that is there; elsewhere from the like bolt's.
        let seat = |thread: &str| {
            layout
                .joints
                .iter()
                .filter(|j| j.thread == thread)
                .map(|j| j.head_seat_mm)
                .fold(0.0, f64::max)
        };
        let block = layout
            .holes
            .iter()
            .filter_map(|h| {
                let Offer::BlockThread { face_mm, .. } = h.offer else {
                    return None;
                };
                let thread = fastener::thread(&h.thread)?;
                let bolt = Bolt {
                    name: h.target.to_string(),
                    at: Point::ORIGIN,
                    face_mm,
                    d_mm: thread.d_mm,
                    seat_mm: seat(&thread.name).max(1.5 * thread.d_mm),
                    thread: thread.name.clone(),
                };
                Some((h.axis, h.at, bolt))
            })
            .collect::<Vec<_>>();
        let own = layout
            .plates
            .iter()
            .map(|p| (p.id.clone(), own_bolts(p, layout, &block)))
            .collect();
        Self { block, own }
    }
}

/// The bolts that hold a plate: the block's, or those of what carries it.
fn own_bolts(place: &PlatePlace, layout: &Layout, block: &[OnAxis]) -> Vec<OnAxis> {
    let of_block: Vec<_> = place
        .holes
        .iter()
        .filter(|h| h.made == Made::Clearance)
        .flat_map(targets)
        .filter_map(|name| block.iter().find(|(_, _, b)| b.name == name).cloned())
        .collect();
    if !of_block.is_empty() {
        return of_block;
    }
    layout
        .joints
        .iter()
        .filter(|j| {
            place
                .holes
                .iter()
                .any(|h| h.made == Made::Clearance && j.holes.contains(&h.target))
        })
        .filter_map(|j| {
            let d_mm = fastener::thread(&j.thread)?.d_mm;
            let bolt = Bolt {
                name: j.id.clone(),
                at: Point::ORIGIN,
                face_mm: joint_face(j),
                d_mm,
                thread: j.thread.clone(),
                seat_mm: j.head_seat_mm,
            };
            Some((j.axis, j.at, bolt))
        })
        .collect()
}

fn joint_face(j: &Joint) -> f64 {
    j.layers.first().map_or(0.0, |l| l.low_mm)
}

fn targets(h: &PlateHole) -> impl Iterator<Item = String> + '_ {
    std::iter::once(&h.target)
        .chain(&h.shared)
        .map(ToString::to_string)
}

/// Every wrong way to bolt one plate on in one variant.
fn ways(made: &MadePlate, view: &View<'_>, bolts: &Bolts) -> Vec<Way> {
    let id = &made.plate.id;
    let Some(place) = view.layout.plates.iter().find(|p| p.id == *id) else {
        return Vec::new();
    };
    let Some((_, own)) = bolts.own.iter().find(|(p, _)| p == id) else {
        return Vec::new();
    };
    let openings = openings(made, place, own);
    let mut out = Vec::new();
    for frame in frames(place, bolts) {
        let parallel = |(axis, _, _): &&OnAxis| {
            axis.cross(frame.normal).length() <= tol::PARALLEL && axis.dot(frame.normal) > 0.0
        };
        let flat = |(_, at, bolt): &OnAxis| Bolt {
            at: frame.to_plane(*at).0,
            ..bolt.clone()
        };
        let mut here: Vec<Bolt> = bolts.block.iter().filter(parallel).map(flat).collect();
        for bolt in own.iter().filter(parallel).map(flat) {
            if !here.iter().any(|b| b.name == bolt.name) {
                here.push(bolt);
            }
        }
        let face = Face {
            bolts: here,
            own: frame == place.frame,
        };
        // Own bolts keep their thread and face even where another side of the block is looked at.
        let places: Vec<(String, Vec<Bolt>)> = bolts
            .own
            .iter()
            .map(|(p, list)| (p.clone(), list.iter().map(flat).collect()))
            .collect();
        let found = mixup::ways(id, &openings, &face, &places);
        out.extend(found.into_iter().map(|w| Way {
            strikes: strikes(made, view, &frame, &w, own),
            ..w
        }));
    }
    out
}

/// The plane of the plate, and one for every other side of the block that has holes.
fn frames(place: &PlatePlace, bolts: &Bolts) -> Vec<Frame> {
    let mut out = vec![place.frame];
    for (axis, _, _) in &bolts.block {
        let known = |f: &Frame| (f.normal - *axis).length() <= tol::PARALLEL;
        if !out.iter().any(known) {
            let x = if axis.x.abs() < 0.9 {
                Vector3::X
            } else {
                Vector3::Y
            };
            out.extend(Frame::new(Point3::ORIGIN, *axis, x));
        }
    }
    out
}

/// The clearance holes of a plate: those of this variant by their own place, further ones of others.
fn openings(made: &MadePlate, place: &PlatePlace, own: &[OnAxis]) -> Vec<Opening> {
    let all = place.holes.iter().chain(made.holes.iter().filter(|h| {
        !place
            .holes
            .iter()
            .any(|p| p.at.distance(h.at) <= tol::INPUT_GRID_MM)
    }));
    all.filter(|h| h.made == Made::Clearance)
        .map(|h| {
            let bolt = targets(h).find(|name| own.iter().any(|(_, _, b)| b.name == *name));
            let here = place.holes.contains(h);
            Opening {
                name: match &bolt {
                    Some(name) if here => name.clone(),
                    _ => h.name.clone(),
                },
                centre: h
                    .slot
                    .map_or(Centre::Round(h.at), |s| Centre::Along(s.centre_line())),
                diameter_mm: h.diameter_mm,
                mounting: here && bolt.is_some(),
            }
        })
        .collect()
}

/// What of the block the plate would strike where it is mixed up.
fn strikes(
    made: &MadePlate,
    view: &View<'_>,
    side: &Frame,
    way: &Way,
    own: &[OnAxis],
) -> Option<String> {
    let plate = &made.plate;
    // As high over the faces there as over its own.
    let low = own
        .iter()
        .map(|(_, _, b)| b.face_mm)
        .fold(f64::INFINITY, f64::min);
    let back = (plate.frame.origin - Point3::ORIGIN).dot(plate.frame.normal);
    let lifted = if low.is_finite() { back - low } else { 0.0 };
    let faces = view.layout.holes.iter().filter_map(|h| {
        let Offer::BlockThread { face_mm, .. } = h.offer else {
            return None;
        };
        let name = h.target.to_string();
        way.through
            .iter()
            .any(|(_, b)| *b == name)
            .then_some(face_mm)
    });
    let floor = faces.fold(f64::NEG_INFINITY, f64::max);
    if !floor.is_finite() || way.any_angle {
        return None;
    }
    let base = (side.origin - Point3::ORIGIN).dot(side.normal);
    let frame = moved(side, &way.motion, floor + lifted - base, plate.thickness_mm)?;
    let region = Region {
        outer: plate.outline.clone(),
        openings: plate.features.iter().filter_map(through).collect(),
    };
    let prism = Prism::new(plate.id.clone(), frame, region, 0.0, plate.thickness_mm);
    let mut bodies = vec![Body::new(
        "the plate",
        Kind::Fixed,
        vec![Solid::Prism(prism)],
    )];
    for k in &view.block.keepouts {
        let region = Region::solid(k.outline.clone());
        let prism = Prism::new(k.name.clone(), Frame::FRONT, region, k.z_mm.0, k.z_mm.1);
        bodies.push(Body::new(
            k.name.clone(),
            Kind::Fixed,
            vec![Solid::Prism(prism)],
        ));
    }
    for p in &view.block.pulleys {
        let half = 0.5 * p.pulley.width_mm;
        let from = Point3::new(p.at.x, p.at.y, p.pulley.rib_plane_mm - half);
        let rim = Prism::cylinder(
            "pulley",
            from,
            Vector3::Z,
            0.5 * p.pulley.rim_mm,
            2.0 * half,
        );
        let name = format!("the {} pulley", p.id);
        bodies.extend(rim.map(|r| Body::new(name, Kind::Fixed, vec![Solid::Prism(r)])));
    }
    let scene = Scene::of(&bodies, &[]);
    let limits = Limits::standard();
    (1..bodies.len())
        .find(|&k| {
            scene
                .gap_between(0, k, &limits)
                .is_some_and(|g| g.gap_mm < -tol::RULE_MM)
        })
        .map(|k| bodies[k].id.clone())
}

fn through(f: &Feature) -> Option<Path> {
    match f.shape {
        Shape::Mark(_) => None,
        _ => f.through_path(),
    }
}

/// The plate's frame after a motion on a side of the block, its lower face at `height_mm`.
fn moved(side: &Frame, m: &Motion, height_mm: f64, thickness_mm: f64) -> Option<Frame> {
    let place = |p: Point, h: f64| side.to_engine(m.of(p), h);
    let h = if m.turned_over {
        height_mm + thickness_mm
    } else {
        height_mm
    };
    let origin = place(Point::ORIGIN, h);
    let x = place(Point::new(1.0, 0.0), h) - origin;
    let normal = if m.turned_over {
        -side.normal
    } else {
        side.normal
    };
    Frame::new(origin, normal, x)
}
