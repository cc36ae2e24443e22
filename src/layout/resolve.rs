//! Plates put on their planes and fasteners resolved: which layers share an axis, and what fills the gaps.

use crate::diag::{Code, Diag, Sink};
use crate::geom::{Point3, Vector3};
use crate::order;
use crate::params::job::{BackFace, Fasteners, Head, HoleRef, Job, Make, PlateSpec, Take};
use crate::tol;

use super::place::{EngineHole, Offer};
use super::stack::{Joint, Layer, Part, ThreadIn};
use super::{PlatePlace, fastener, stocked};

/// Puts a plate on its plane.
pub fn put_on_plane(
    spec: &PlateSpec,
    thickness_mm: f64,
    holes: &[EngineHole],
    sink: &mut Sink,
) -> PlatePlace {
    let base = (spec.frame.origin - Point3::ORIGIN).dot(spec.frame.normal);
    let height = match &spec.back {
        BackFace::At(h) => *h,
        BackFace::On { hole, plus_mm } => {
            holes.iter().find(|h| h.target == *hole).map_or(0.0, |h| {
                if spec.frame.normal.cross(h.axis).length() > tol::PARALLEL {
                    sink.push(no_face(spec, hole, h));
                    return 0.0;
                }
                let along = h.seen_along(spec.frame.normal);
                let face = along.seat_mm() - base;
                match h.offer {
                    Offer::BlockThread { .. } => face + plus_mm,
                    // An accessory sits in front of the plate that carries it.
                    _ => face - plus_mm - thickness_mm,
                }
            })
        }
    };
    let frame = spec.frame.raised(height);
    for take in &spec.takes {
        if let Some(h) = holes.iter().find(|h| h.target == take.target) {
            check_axis(spec, take, h, sink);
        }
    }
    PlatePlace {
        id: spec.id.clone(),
        frame,
        thickness_mm,
        holes: Vec::new(),
    }
}

fn no_face(spec: &PlateSpec, hole: &HoleRef, found: &EngineHole) -> Diag {
    let n = spec.frame.normal;
    let deg = n.dot(found.axis).clamp(-1.0, 1.0).acos().to_degrees();
    Diag::new(
        Code::AxisNotNormal,
        format!(
            "plate `{}` is to lie on the face of `{hole}`, whose axis is {deg:.2} deg off its normal, 0 deg is needed",
            spec.id
        ),
    )
    .labelled(spec.spot, "the back face of this plate cannot lie there")
    .help("name a hole that opens towards the plate, or give `back` in mm")
}

fn check_axis(spec: &PlateSpec, take: &Take, hole: &EngineHole, sink: &mut Sink) {
    let n = spec.frame.normal;
    let sine = n.cross(hole.axis).length();
    if sine > tol::PARALLEL {
        let deg = n.dot(hole.axis).clamp(-1.0, 1.0).acos().to_degrees();
        sink.push(
            Diag::new(
                Code::AxisNotNormal,
                format!(
                    "the axis of `{}` is {deg:.2} deg off the normal of plate `{}`, 0 deg is needed",
                    take.target, spec.id
                ),
            )
            .labelled(take.spot, "this hole cannot lie in this plate")
            .help("take it in a plate whose frame faces along the hole's axis, or turn the accessory"),
        );
    } else if n.dot(hole.axis) < 0.0 && matches!(hole.offer, Offer::BlockThread { .. }) {
        sink.push(
            Diag::new(
                Code::AxisNotNormal,
                format!(
                    "plate `{}` faces into the block at `{}`: its normal is opposite to the hole's axis",
                    spec.id, take.target
                ),
            )
            .labelled(take.spot, "this hole opens the other way")
            .help("turn the plate's frame round so that its normal points out of the block"),
        );
    }
}

/// One plate's claim to an axis.
struct Claim<'a> {
    plate: &'a PlatePlace,
    take: &'a Take,
    hole: EngineHole,
}

/// Resolves every fastener of the job, sorted by name.
pub fn joints(
    job: &Job,
    holes: &[EngineHole],
    plates: &[PlatePlace],
    sink: &mut Sink,
) -> Vec<Joint> {
    let mut groups: Vec<Vec<Claim<'_>>> = Vec::new();
    for (plate, spec) in plates.iter().zip(&job.plates) {
        for take in &spec.takes {
            let Some(hole) = holes.iter().find(|h| h.target == take.target) else {
                continue;
            };
            if plate.frame.normal.cross(hole.axis).length() > tol::PARALLEL {
                continue;
            }
            // Pins locate, they do not clamp.
            if take.make == Some(Make::Reamed) {
                continue;
            }
            let hole = hole.seen_along(plate.frame.normal);
            let claim = Claim { plate, take, hole };
            match groups.iter_mut().find(|g| coaxial(&g[0].hole, &claim.hole)) {
                Some(g) => g.push(claim),
                None => groups.push(vec![claim]),
            }
        }
    }
    let mut joints: Vec<Joint> = groups
        .iter()
        .filter_map(|g| resolve(g, job, sink))
        .collect();
    joints.sort_by(|a, b| order::natural(&a.id, &b.id));
    joints
}

fn coaxial(a: &EngineHole, b: &EngineHole) -> bool {
    let d = b.at - a.at;
    a.axis.cross(b.axis).length() <= tol::PARALLEL
        && a.axis.dot(b.axis) > 0.0
        && d.cross(a.axis).length() <= tol::INPUT_GRID_MM
}

fn resolve(group: &[Claim<'_>], job: &Job, sink: &mut Sink) -> Option<Joint> {
    let defaults = &job.fasteners;
    let first = group.first()?;
    let axis = first.hole.axis;
    let mut targets: Vec<&EngineHole> = Vec::new();
    for c in group {
        if !targets.iter().any(|t| t.target == c.hole.target) {
            targets.push(&c.hole);
        }
    }
    // The block's name first: it is where the fitter looks.
    targets.sort_by_key(|t| {
        (
            !matches!(t.offer, Offer::BlockThread { .. }),
            t.target.clone(),
        )
    });
    let id = targets[0].target.to_string();
    let thread = same_thread(&id, &targets, first, sink)?;
    let head = one_head(&id, group, defaults, sink)?;
    let counterbored = group.iter().any(|c| c.take.counterbore);
    let washer = defaults.washer && matches!(head, Head::Hex | Head::Cap) && !counterbored;
    let seat = head_seat_mm(&thread, head, washer, first, sink)?;

    let mut layers = solid_layers(group, &targets);
    layers.sort_by(|a, b| {
        a.low_mm
            .total_cmp(&b.low_mm)
            .then(a.high_mm.total_cmp(&b.high_mm))
    });
    let floor = targets.iter().find_map(|t| match &t.offer {
        Offer::BlockThread { face_mm, .. } => Some(*face_mm),
        _ => None,
    });
    if !check_overlaps(&id, &layers, floor, first, sink) {
        return None;
    }
    let (thread_in, head_high) = thread_end(&id, group, &targets, &layers, sink)?;
    fill_gaps(&thread, &mut layers, floor);
    stack_spacers(&id, &thread, &mut layers, job, first, sink);
    Some(Joint {
        id,
        holes: targets.iter().map(|t| t.target.clone()).collect(),
        at: targets[0].at,
        axis,
        thread,
        class: defaults.class.clone(),
        head,
        head_seat_mm: seat,
        counterbored,
        washer,
        head_high,
        thread_in,
        layers,
    })
}

/// The head that every plate of the stack agrees to.
fn one_head(id: &str, group: &[Claim<'_>], defaults: &Fasteners, sink: &mut Sink) -> Option<Head> {
    let mut asked = group.iter().filter_map(|c| Some((c, c.take.head?)));
    let Some((first, head)) = asked.next() else {
        return Some(defaults.head);
    };
    for (c, other) in asked {
        if other != head {
            sink.push(
                Diag::new(
                    Code::TakeClash,
                    format!(
                        "the bolt of `{id}` is to have two heads, {} and {}",
                        fastener::head_standard(head),
                        fastener::head_standard(other)
                    ),
                )
                .labelled(c.take.spot, "one head is asked for here")
                .also(first.take.spot, "and another one here")
                .help("one bolt passes through both plates: give it one head"),
            );
            return None;
        }
    }
    Some(head)
}

fn same_thread(
    id: &str,
    targets: &[&EngineHole],
    first: &Claim<'_>,
    sink: &mut Sink,
) -> Option<String> {
    let thread = fastener::thread(&targets[0].thread);
    let Some(thread) = thread else {
        sink.push(
            Diag::new(
                Code::UnknownThread,
                format!(
                    "`{}` has the unknown thread `{}`",
                    targets[0].target, targets[0].thread
                ),
            )
            .labelled(first.take.spot, "taken here")
            .help(format!("known threads are {}", fastener::thread_names())),
        );
        return None;
    };
    for t in &targets[1..] {
        if fastener::thread(&t.thread).is_none_or(|o| o.name != thread.name) {
            sink.push(
                Diag::new(
                    Code::ThreadsDiffer,
                    format!(
                        "`{id}` ({}) and `{}` ({}) lie on one axis but ask for different bolts",
                        targets[0].thread, t.target, t.thread
                    ),
                )
                .labelled(first.take.spot, "one bolt passes through both")
                .help("move one of the two, or give both the same thread"),
            );
            return None;
        }
    }
    Some(thread.name.clone())
}

fn head_seat_mm(
    thread: &str,
    head: Head,
    washer: bool,
    first: &Claim<'_>,
    sink: &mut Sink,
) -> Option<f64> {
    let bolt = fastener::thread(thread)?;
    let seat = if washer {
        fastener::washer_mm(bolt.d_mm)
    } else {
        fastener::head(head, bolt.d_mm).map(|h| h.head_dia_mm)
    };
    if seat.is_none() {
        sink.push(
            Diag::new(
                Code::UnknownThread,
                format!(
                    "{} has no head for {thread}",
                    if washer {
                        "the washer table ISO 7089"
                    } else {
                        fastener::head_standard(head)
                    }
                ),
            )
            .labelled(first.take.spot, "taken here")
            .help("use another head, or a thread from M5 to M16"),
        );
    }
    seat
}

fn solid_layers(group: &[Claim<'_>], targets: &[&EngineHole]) -> Vec<Layer> {
    let mut layers = Vec::new();
    for c in group {
        let low = (c.plate.frame.origin - Point3::ORIGIN).dot(c.hole.axis);
        let layer = Layer {
            part: Part::Plate(c.plate.id.clone()),
            low_mm: low,
            high_mm: low + c.plate.thickness_mm,
            bears_mm: None,
            pieces: Vec::new(),
        };
        if !layers.contains(&layer) {
            layers.push(layer);
        }
    }
    for t in targets {
        let ear = |&(low_mm, high_mm): &(f64, f64), diameter: f64| Layer {
            part: Part::Ear(t.target.clone()),
            low_mm,
            high_mm,
            bears_mm: Some(diameter),
            pieces: Vec::new(),
        };
        match &t.offer {
            Offer::BlockThread { .. } => {}
            Offer::Ears {
                spans_mm,
                diameter_mm,
                ..
            } => layers.extend(spans_mm.iter().map(|s| ear(s, *diameter_mm))),
            Offer::ThreadedEar {
                span_mm,
                diameter_mm,
                ..
            }
            | Offer::Pad {
                span_mm,
                diameter_mm,
                ..
            } => layers.push(ear(span_mm, *diameter_mm)),
        }
    }
    layers
}

fn check_overlaps(
    id: &str,
    layers: &[Layer],
    floor: Option<f64>,
    first: &Claim<'_>,
    sink: &mut Sink,
) -> bool {
    let mut fits = true;
    let mut clash = |what: String, by: f64, help: String| {
        fits = false;
        sink.push(
            Diag::new(
                Code::StackOverlaps,
                format!("joint `{id}`: {what} by {by:.3} mm"),
            )
            .labelled(first.take.spot, "this stack cannot be built")
            .help(help),
        );
    };
    if let (Some(floor), Some(lowest)) = (floor, layers.first()) {
        let by = floor - lowest.low_mm;
        if by > tol::RULE_MM {
            clash(
                format!("{} lies inside the block's face", lowest.name()),
                by,
                format!("raise it by {by:.3} mm"),
            );
        }
    }
    for pair in layers.windows(2) {
        let by = pair[0].high_mm - pair[1].low_mm;
        if by > tol::RULE_MM {
            clash(
                format!("{} and {} overlap", pair[0].name(), pair[1].name()),
                by,
                format!("move one of them by {by:.3} mm along the axis"),
            );
        }
    }
    fits
}

/// Finds the end that holds the thread; the head goes on the other.
fn thread_end(
    id: &str,
    group: &[Claim<'_>],
    targets: &[&EngineHole],
    layers: &[Layer],
    sink: &mut Sink,
) -> Option<(ThreadIn, bool)> {
    let spot = group.first()?.take.spot;
    let blocked = |what: String, help: &str| {
        Diag::new(Code::ThreadBuried, format!("joint `{id}`: {what}"))
            .labelled(spot, "the bolt cannot reach its thread here")
            .help(help)
    };
    for t in targets {
        match &t.offer {
            Offer::BlockThread {
                depth_mm, material, ..
            } => {
                return Some((
                    ThreadIn::Block {
                        depth_mm: *depth_mm,
                        material: material.clone(),
                    },
                    true,
                ));
            }
            Offer::ThreadedEar {
                depth_mm,
                from_below,
                material,
                ..
            } => {
                let end = if *from_below {
                    layers.last()
                } else {
                    layers.first()
                };
                if end.is_none_or(|l| l.part != Part::Ear(t.target.clone())) {
                    sink.push(blocked(
                        format!("the threaded ear `{}` is not at the end of the stack its thread opens to", t.target),
                        "put the plate on the side of the ear where its thread opens",
                    ));
                    return None;
                }
                return Some((
                    ThreadIn::Ear {
                        depth_mm: *depth_mm,
                        material: material.clone(),
                    },
                    !from_below,
                ));
            }
            Offer::Ears { .. } | Offer::Pad { .. } => {}
        }
    }
    let mut tapped = group.iter().filter(|c| is_tapped(c.take, &c.hole));
    if let Some(c) = tapped.next() {
        if let Some(second) = tapped.find(|other| other.plate.id != c.plate.id) {
            sink.push(
                Diag::new(
                    Code::TakeClash,
                    format!(
                        "the bolt of `{id}` is to be threaded into both plate `{}` and plate `{}`",
                        c.plate.id, second.plate.id
                    ),
                )
                .labelled(second.take.spot, "tapped here")
                .also(c.take.spot, "and here")
                .help("make = \"clearance\" in one of them: one part alone holds a bolt's thread"),
            );
            return None;
        }
        let name = c.plate.id.clone();
        let here = |l: Option<&Layer>| l.is_some_and(|l| l.part == Part::Plate(name.clone()));
        let head_high = if here(layers.first()) {
            true
        } else if here(layers.last()) {
            false
        } else {
            sink.push(blocked(
                format!("the tapped plate `{name}` lies in the middle of the stack"),
                "make = \"clearance\" here and use a nut, or tap the outermost plate",
            ));
            return None;
        };
        return Some((ThreadIn::Plate { plate: name }, head_high));
    }
    Some((ThreadIn::Nut, true))
}

/// Whether a taken hole is tapped in the plate: as the take says, else a pad is and everything else is not.
#[must_use]
pub fn is_tapped(take: &Take, hole: &EngineHole) -> bool {
    match take.make {
        Some(make) => make == Make::Tapped,
        None => matches!(hole.offer, Offer::Pad { .. }) && take.slot.is_none(),
    }
}

/// Fills every gap of a stack with a turned spacer.
///
/// Bore: ISO 273 medium; outside: the plain washer's of ISO 7089, so that a
/// spacer bears on as much as a washer does (common practice, no source).
fn fill_gaps(thread: &str, layers: &mut Vec<Layer>, floor: Option<f64>) {
    let Some(bolt) = fastener::thread(thread) else {
        return;
    };
    let bore = fastener::clearance_mm(bolt.d_mm, crate::params::job::Fit::Medium);
    let outside = fastener::washer_mm(bolt.d_mm);
    let (Some(bore), Some(outside)) = (bore, outside) else {
        return;
    };
    let mut filled: Vec<Layer> = Vec::with_capacity(2 * layers.len());
    let mut top = floor;
    for layer in layers.drain(..) {
        if let Some(top) = top
            && layer.low_mm - top > tol::RULE_MM
        {
            filled.push(Layer {
                part: Part::Spacer {
                    bore_um: (bore * 1e3).round() as i64,
                    outside_um: (outside * 1e3).round() as i64,
                },
                low_mm: top,
                high_mm: layer.low_mm,
                bears_mm: Some(outside),
                pieces: Vec::new(),
            });
        }
        top = Some(layer.high_mm);
        filled.push(layer);
    }
    *layers = filled;
}

/// Stacks the spacers of a bolt size that has stocked pieces; a gap that no stack fills is an error.
fn stack_spacers(
    id: &str,
    thread: &str,
    layers: &mut [Layer],
    job: &Job,
    first: &Claim<'_>,
    sink: &mut Sink,
) {
    let size = |name: &str| fastener::thread(name).map(|t| t.name.clone());
    let mut lists = job.stocked.iter();
    let Some(stocked) = lists.find(|s| size(&s.thread).as_deref() == Some(thread)) else {
        return;
    };
    for layer in layers
        .iter_mut()
        .filter(|l| matches!(l.part, Part::Spacer { .. }))
    {
        let gap = layer.thickness_mm();
        match stocked::fill(gap, stocked) {
            Ok(pieces) => layer.pieces = pieces,
            Err(near) => {
                let nearest = if near.is_empty() {
                    "nothing is stocked".to_owned()
                } else {
                    let length = stocked::length_mm(&near);
                    format!(
                        "the nearest is {length:.3} mm, {:.3} mm off ({})",
                        (length - gap).abs(),
                        stocked::words(&near)
                    )
                };
                sink.push(
                    Diag::new(
                        Code::SpacerNotStocked,
                        format!(
                            "joint `{id}`: no stack of stocked pieces fills its gap of {gap:.3} mm; {nearest}"
                        ),
                    )
                    .labelled(first.take.spot, "a spacer goes here")
                    .also(stocked.spot, "from these pieces")
                    .help(
                        "stock another washer or tube, move the plate, or take the list out to turn spacers to length",
                    ),
                );
            }
        }
    }
}

/// Unit direction of a joint turned into words for the fitter: which way is "high".
#[must_use]
pub fn side_word(axis: Vector3) -> &'static str {
    let parts = [
        (axis.z, "front"),
        (-axis.z, "back"),
        (axis.x, "right"),
        (-axis.x, "left"),
        (axis.y, "top"),
        (-axis.y, "bottom"),
    ];
    parts
        .iter()
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map_or("front", |p| p.1)
}

/// The reference a joint's hole is known by in a plate.
#[must_use]
pub fn joint_of<'a>(joints: &'a [Joint], target: &HoleRef) -> Option<&'a Joint> {
    joints.iter().find(|j| j.holes.contains(target))
}
