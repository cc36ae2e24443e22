//! Random mocked-up drives, and the same mechanics written a second time.

#![allow(dead_code, reason = "each test file uses its own share")]

use platewright::geom::{Frame, Point, Point3, Vector3};
use platewright::measure::statistics::NormalSequence;
use platewright::shim::{
    BEND_LIMIT_MM, Bolt, Drive, GAP_SD_MM, Gaps, Mount, Place, Pulley, RodReading, Span,
};

/// A uniform number between two.
pub(crate) fn between(s: &mut NormalSequence, low: f64, high: f64) -> f64 {
    low + (high - low) * s.uniform()
}

/// A place for two washers.
fn place() -> Place {
    Place {
        between: ["plate".to_owned(), "block".to_owned()],
        fitted_mm: Vec::new(),
        inwards: false,
        most_mm: 3.0,
        most_pieces: 2,
        fork: None,
    }
}

/// A mount with its bolts somewhere round a middle.
fn mount(
    s: &mut NormalSequence,
    name: &str,
    on: Option<&str>,
    bolts: usize,
    middle: [f64; 2],
    seat: Frame,
) -> Mount {
    let start = between(s, 0.0, std::f64::consts::TAU);
    Mount {
        name: name.to_owned(),
        on: on.map(str::to_owned),
        seat,
        bolts: (0..bolts)
            .map(|i| {
                let angle = start + std::f64::consts::TAU * i as f64 / bolts as f64;
                let radius = between(s, 25.0, 60.0);
                Bolt {
                    name: format!("bolt {}", i + 1),
                    at: Point::new(
                        middle[0] + radius * angle.cos(),
                        middle[1] + radius * angle.sin(),
                    ),
                    place: Some(place()),
                    spacer_mm: None,
                    play_mm: 0.0,
                }
            })
            .collect(),
        bend_limit_mm: BEND_LIMIT_MM,
        lean_limit_deg: 1.0,
    }
}

/// A reference, one or two mounts (the second sometimes on the first, sometimes on the engine's side) and their pulleys.
pub(crate) fn drive(seed: u64) -> (Drive, Vec<RodReading>) {
    let mut s = NormalSequence::new(seed);
    let kind = seed % 4;
    let first = 2 + (s.uniform() * 2.99) as usize;
    let mut mounts = vec![mount(
        &mut s,
        "tensioner plate",
        None,
        first,
        [150.0, 80.0],
        Frame::FRONT.raised(12.0),
    )];
    if kind == 1 {
        mounts.push(mount(
            &mut s,
            "tensioner",
            Some("tensioner plate"),
            1,
            [150.0, 80.0],
            Frame::FRONT.raised(22.0),
        ));
    } else if kind == 2 {
        mounts.push(mount(
            &mut s,
            "charger",
            None,
            2,
            [-160.0, 40.0],
            Frame::FRONT.raised(8.0),
        ));
    } else if kind == 3 {
        let side = Frame::new(
            Point3::new(120.0, 0.0, -60.0),
            Vector3::X,
            Vector3::new(0.0, 0.0, -1.0),
        )
        .expect("a frame");
        mounts.push(mount(&mut s, "pump plate", None, 2, [20.0, 60.0], side));
    }
    for m in &mut mounts {
        if m.bolts.len() > 3 {
            m.bend_limit_mm = 0.15;
        }
        // Now and then a washer is there already.
        if s.uniform() < 0.3
            && let Some(p) = &mut m.bolts[0].place
        {
            p.fitted_mm.push(0.5);
        }
    }
    let pulleys = pulleys(&mut s, &mounts);
    let readings = pulleys[1..]
        .iter()
        .flat_map(|p| {
            let middle = 2.0 + between(&mut s, -0.2, 1.4);
            let lean = [between(&mut s, -0.7, 0.7), between(&mut s, -0.4, 0.4)];
            [(0.0, lean[0]), (90.0, lean[1])].map(|(direction, l)| RodReading {
                pulley: p.name.clone(),
                gaps: Gaps::Rims {
                    near_mm: middle + 0.5 * l,
                    far_mm: middle - 0.5 * l,
                },
                direction_deg: Some(direction),
                sd_mm: GAP_SD_MM,
            })
        })
        .collect();
    let spans = vec![Span {
        from: "crank".to_owned(),
        to: pulleys[1].name.clone(),
        length_mm: 140.0,
        limit_deg: 0.3,
    }];
    let drive = Drive {
        name: format!("drive {seed}"),
        reference: "crank".to_owned(),
        pulleys,
        mounts,
        spans,
        stock_mm: vec![0.2, 0.5, 1.0],
    };
    (drive, readings)
}

/// Three brackets on the block, the second with an accessory on it, and a belt that runs from one to the next.
pub(crate) fn brackets(seed: u64) -> (Drive, Vec<RodReading>) {
    let mut s = NormalSequence::new(7_000 + seed);
    let middles = [[150.0, 80.0], [-160.0, 60.0], [20.0, 240.0]];
    let mut mounts: Vec<Mount> = middles
        .iter()
        .enumerate()
        .map(|(i, middle)| {
            let name = format!("bracket {}", i + 1);
            mount(&mut s, &name, None, 2, *middle, Frame::FRONT.raised(10.0))
        })
        .collect();
    let seat = Frame::FRONT.raised(22.0);
    mounts.push(mount(
        &mut s,
        "pump",
        Some("bracket 2"),
        1,
        [-160.0, 60.0],
        seat,
    ));
    let mut pulleys = pulleys(&mut s, &mounts);
    // The second bracket carries its pulley through the pump only.
    pulleys.remove(2);
    for p in &mut pulleys[1..] {
        p.offset_limit_mm = between(&mut s, 0.3, 0.6);
        p.tilt_limit_deg = between(&mut s, 0.5, 0.9);
    }
    let readings = pulleys[1..]
        .iter()
        .flat_map(|p| {
            let middle = 2.0 + between(&mut s, -0.6, 1.0);
            [
                (0.0, between(&mut s, -0.5, 0.5)),
                (90.0, between(&mut s, -0.5, 0.5)),
            ]
            .map(|(direction, l)| RodReading {
                pulley: p.name.clone(),
                gaps: Gaps::Rims {
                    near_mm: middle + 0.5 * l,
                    far_mm: middle - 0.5 * l,
                },
                direction_deg: Some(direction),
                sd_mm: GAP_SD_MM,
            })
        })
        .collect();
    let spans = (0..pulleys.len())
        .map(|i| Span {
            from: pulleys[i].name.clone(),
            to: pulleys[(i + 1) % pulleys.len()].name.clone(),
            length_mm: between(&mut s, 60.0, 140.0),
            limit_deg: 0.33,
        })
        .collect();
    let drive = Drive {
        name: format!("brackets {seed}"),
        reference: "crank".to_owned(),
        pulleys,
        mounts,
        spans,
        stock_mm: vec![0.2, 0.5, 1.0],
    };
    (drive, readings)
}

/// A reference and a pulley near each mount.
fn pulleys(s: &mut NormalSequence, mounts: &[Mount]) -> Vec<Pulley> {
    let plane = 45.0;
    let mut pulleys = vec![Pulley {
        name: "crank".to_owned(),
        mount: None,
        centre: Point3::new(0.0, 0.0, plane),
        rim_radius_mm: 80.0,
        face_mm: 12.0,
        offset_limit_mm: 0.01,
        tilt_limit_deg: 0.01,
    }];
    for m in mounts {
        let at = m.seat.to_engine(m.bolts[0].at, 0.0);
        pulleys.push(Pulley {
            name: format!("pulley of {}", m.name),
            mount: Some(m.name.clone()),
            centre: Point3::new(
                at.x + between(s, -20.0, 20.0),
                at.y + between(s, 20.0, 60.0),
                plane,
            ),
            rim_radius_mm: between(s, 28.0, 45.0),
            face_mm: 10.0,
            offset_limit_mm: between(s, 0.15, 0.4),
            tilt_limit_deg: between(s, 0.2, 0.4),
        });
    }
    pulleys
}

/// Offset and axis of a pulley.
pub(crate) type Stood = (f64, [f64; 3]);

/// How pulleys stand by two square rods along x and y, worked out the long way round.
pub(crate) fn read(drive: &Drive, readings: &[RodReading]) -> Vec<Stood> {
    drive
        .pulleys
        .iter()
        .map(|p| {
            let mine: Vec<_> = readings.iter().filter(|r| r.pulley == p.name).collect();
            if mine.is_empty() {
                return (0.0, [0.0, 0.0, 1.0]);
            }
            let mut axis = [0.0; 3];
            let mut gap = 0.0;
            for r in &mine {
                let (near_mm, far_mm) = match r.gaps {
                    Gaps::Rims { near_mm, far_mm } => (near_mm, far_mm),
                    Gaps::Grooves { .. } => (f64::NAN, f64::NAN),
                };
                let k = usize::from(r.direction_deg == Some(90.0));
                axis[k] = -(near_mm - far_mm) / (2.0 * p.rim_radius_mm);
                gap += (near_mm + far_mm) / (2.0 * mine.len() as f64);
            }
            axis[2] = (1.0 - axis[0] * axis[0] - axis[1] * axis[1]).sqrt();
            (drive.pulleys[0].face_mm - gap - p.face_mm * axis[2], axis)
        })
        .collect()
}

type V = [f64; 3];

fn dot(a: V, b: V) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: V, b: V) -> V {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

fn add(a: V, b: V, k: f64) -> V {
    [a[0] + k * b[0], a[1] + k * b[1], a[2] + k * b[2]]
}

/// Stands after lifts; `None` when a mount bends or leans too much.
///
/// The plane comes from the normal equations of a full plane (or of the row), the turn from the matrix
/// that takes one unit vector to another, R v = c v + (n×m)×v … in its cross-product form.
pub(crate) fn lifted(drive: &Drive, now: &[Stood], lifts: &[Vec<f64>]) -> Option<Vec<Stood>> {
    let mut motions: Vec<Box<dyn Fn(V, bool) -> V>> = Vec::new();
    for (m, h) in drive.mounts.iter().zip(lifts) {
        let n = m.bolts.len() as f64;
        let mx = m.bolts.iter().map(|b| b.at.x).sum::<f64>() / n;
        let my = m.bolts.iter().map(|b| b.at.y).sum::<f64>() / n;
        let mean = h.iter().sum::<f64>() / n;
        let (mut xx, mut xy, mut yy, mut xh, mut yh) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (b, h) in m.bolts.iter().zip(h) {
            let (x, y) = (b.at.x - mx, b.at.y - my);
            xx += x * x;
            xy += x * y;
            yy += y * y;
            xh += x * (h - mean);
            yh += y * (h - mean);
        }
        let det = xx * yy - xy * xy;
        let slope = match m.bolts.len() {
            1 => [0.0, 0.0],
            2 => [xh / (xx + yy), yh / (xx + yy)],
            _ => [(xh * yy - yh * xy) / det, (yh * xx - xh * xy) / det],
        };
        let bend = m
            .bolts
            .iter()
            .zip(h)
            .map(|(b, h)| (h - mean - slope[0] * (b.at.x - mx) - slope[1] * (b.at.y - my)).abs())
            .fold(0.0, f64::max);
        let lean = slope[0].hypot(slope[1]).atan().to_degrees();
        if bend > m.bend_limit_mm + 1e-9 || lean > m.lean_limit_deg + 1e-9 {
            return None;
        }
        let of = |p: Vector3| [p.x, p.y, p.z];
        let (fx, fy, fn_) = (of(m.seat.x), of(m.seat.y), of(m.seat.normal));
        let tilted = add(add(fn_, fx, -slope[0]), fy, -slope[1]);
        let length = dot(tilted, tilted).sqrt();
        let tilted = tilted.map(|v| v / length);
        let axis = cross(fn_, tilted);
        let c = dot(fn_, tilted);
        let o = m.seat.to_engine(Point::new(mx, my), 0.0);
        let o = [o.x, o.y, o.z];
        motions.push(Box::new(move |p: V, point: bool| {
            let v = if point { add(p, o, -1.0) } else { p };
            // R = I + [a]× + [a]×²/(1 + c)
            let once = cross(axis, v);
            let twice = cross(axis, once);
            let turned = add(add(v, once, 1.0), twice, 1.0 / (1.0 + c));
            if point {
                add(add(turned, o, 1.0), fn_, mean)
            } else {
                turned
            }
        }));
    }
    Some(
        drive
            .pulleys
            .iter()
            .zip(now)
            .map(|(p, (offset, axis))| {
                let plane = drive.pulleys[0].centre.z;
                let mut place = [p.centre.x, p.centre.y, plane + offset];
                let mut axis = *axis;
                let mut carrier = p.mount.as_ref();
                while let Some(name) = carrier {
                    let i = drive
                        .mounts
                        .iter()
                        .position(|m| m.name == *name)
                        .expect("listed");
                    place = motions[i](place, true);
                    axis = motions[i](axis, false);
                    carrier = drive.mounts[i].on.as_ref();
                }
                (place[2] - plane, axis)
            })
            .collect(),
    )
}

/// Largest share of a limit.
pub(crate) fn share(drive: &Drive, stands: &[Stood]) -> f64 {
    let mut share = 0.0_f64;
    for (p, (offset, axis)) in drive.pulleys.iter().zip(stands) {
        let tilt = axis[0].hypot(axis[1]).atan2(axis[2]).to_degrees();
        share = share
            .max(offset.abs() / p.offset_limit_mm)
            .max(tilt / p.tilt_limit_deg);
    }
    for s in &drive.spans {
        let at = |n: &str| {
            stands[drive
                .pulleys
                .iter()
                .position(|p| p.name == n)
                .expect("listed")]
            .0
        };
        let skew = (at(&s.from) - at(&s.to)).abs() / s.length_mm;
        share = share.max(skew / s.limit_deg.to_radians().tan());
    }
    share
}
