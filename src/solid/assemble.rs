//! A plate's features turned into faces.

use truck_topology::{Solid, Wire};

use crate::feature::Face;
use crate::geom::{Path, Point, Point3, Vector3};
use crate::plate::Plate;
use crate::plate::sites::{Bound, Sites, side};

use super::Body;
use super::bore::{Bore, End, Link};
use super::curve::{Curve, Seat};
use super::error::SolidError;
use super::nesting::{Cut, Form, Nesting};
use super::shell::{Level, Metal, ShellBuilder};
use super::surface::Surface;

/// The boundaries of each site of one face, the outer one first.
type SiteBounds = Vec<Vec<Wire<Point3, Curve>>>;

/// The solid of a plate, in the plate's own frame: (x, y) in its plane, z the height from its back face.
///
/// Features may lie in pockets, on groove floors and on groove islands; their
/// depths and mouths then count from the surface they open in. Marks are not
/// cut. The result is checked for closedness and against the closed-form
/// volume before it is handed out.
///
/// # Errors
///
/// Where sizes contradict each other, a boundary is no loop, a feature leaves
/// the outline or the plate's thickness, or two features touch (both are
/// named).
pub fn from_plate(plate: &Plate) -> Result<Body, SolidError> {
    let nesting = Nesting::new(plate)?;
    let mut build = Assembly {
        shell: ShellBuilder::default(),
        bounds: [
            vec![Vec::new(); nesting.sites.of(Face::Back).len()],
            vec![Vec::new(); nesting.sites.of(Face::Front).len()],
        ],
    };
    let (low, high) = (0.0, plate.thickness_mm);
    let outline = nesting.outline_path().unwrap_or(&plate.outline);
    let (under, over) = build.prism(outline, low, high, Metal::Inside);
    build.outer(Face::Back, 0, &under);
    build.outer(Face::Front, 0, &over);
    for (i, cut) in nesting.cuts.iter().enumerate() {
        build.cut(&nesting, i, cut);
    }
    for face in [Face::Back, Face::Front] {
        let sites = nesting.sites.of(face);
        let bounds = std::mem::take(&mut build.bounds[side(face)]);
        for (site, bounds) in sites.iter().zip(bounds) {
            build
                .shell
                .flat(site.height_mm, face == Face::Front, bounds);
        }
    }
    let solid = Solid::new_unchecked(vec![build.shell.finish()]);
    let name = if plate.title.is_empty() {
        &plate.id
    } else {
        &plate.title
    };
    let body = Body::new(name.clone(), solid);
    super::check::closed(&body)?;
    super::check::volume(&body, plate.net_volume_mm3(&nesting.sites))?;
    Ok(body)
}

struct Assembly {
    shell: ShellBuilder,
    bounds: [SiteBounds; 2],
}

impl Assembly {
    /// Makes a loop the outer boundary of a site.
    fn outer(&mut self, face: Face, site: usize, level: &Level) {
        self.bound(face, site, level.wire(face == Face::Front), true);
    }

    /// Makes a loop an opening of a site.
    fn opening(&mut self, face: Face, site: Option<usize>, level: &Level) {
        if let Some(site) = site {
            self.bound(face, site, level.wire(face == Face::Back), false);
        }
    }

    fn bound(&mut self, face: Face, site: usize, wire: Wire<Point3, Curve>, first: bool) {
        if let Some(bounds) = self.bounds[side(face)].get_mut(site) {
            if first {
                bounds.insert(0, wire);
            } else {
                bounds.push(wire);
            }
        }
    }

    /// Walls on a path between two heights; answers the lower and the upper loop.
    fn prism(&mut self, path: &Path, low: f64, high: f64, metal: Metal) -> (Level, Level) {
        let (under, over) = (
            ShellBuilder::level(path, low),
            ShellBuilder::level(path, high),
        );
        self.shell.walls(path, &under, &over, metal);
        (under, over)
    }

    /// A cylinder between two heights; answers the loops at `surface` and at `floor`.
    fn cylinder(
        &mut self,
        centre: Point,
        radius: f64,
        (surface, floor): (f64, f64),
        metal: Metal,
    ) -> (Level, Level) {
        let rim = ShellBuilder::ring(centre, radius, surface);
        let foot = ShellBuilder::ring(centre, radius, floor);
        let (low, high) = if floor < surface {
            (&foot, &rim)
        } else {
            (&rim, &foot)
        };
        let base = surface.min(floor);
        let seat = Seat::upright(Point3::new(centre.x, centre.y, base));
        self.shell
            .turned(low, high, Surface::Cylinder { seat, radius }, metal);
        (rim, foot)
    }

    fn cut(&mut self, nesting: &Nesting<'_>, index: usize, cut: &Cut<'_>) {
        let (front, back) = (
            nesting.sites.surface_mm(index, Face::Front),
            nesting.sites.surface_mm(index, Face::Back),
        );
        match (&cut.form, cut.path()) {
            (Form::Hole(_, Some(bore)), _) => self.bore(&nesting.sites, index, bore),
            (Form::Opening, Some(path)) => {
                let (under, over) = self.prism(path, back, front, Metal::Outside);
                self.opening(Face::Back, nesting.sites.under(index, Face::Back), &under);
                self.opening(Face::Front, nesting.sites.under(index, Face::Front), &over);
            }
            (&Form::Pocket(face, _), Some(path)) => {
                let Some((site, floor)) = nesting.sites.made_by(face, Bound::Pocket(index)) else {
                    return;
                };
                let surface = nesting.sites.surface_mm(index, face);
                let (under, over) =
                    self.prism(path, surface.min(floor), surface.max(floor), Metal::Outside);
                let (rim, foot) = match face {
                    Face::Front => (&over, &under),
                    Face::Back => (&under, &over),
                };
                self.opening(face, nesting.sites.under(index, face), rim);
                self.outer(face, site, foot);
            }
            (
                &Form::Groove {
                    face,
                    centre,
                    inner,
                    outer,
                    ..
                },
                _,
            ) => {
                let (Some((floor_site, floor)), Some((island_site, _))) = (
                    nesting.sites.made_by(face, Bound::Groove(index)),
                    nesting.sites.made_by(face, Bound::Island(index)),
                ) else {
                    return;
                };
                let heights = (nesting.sites.surface_mm(index, face), floor);
                let (rim, foot) = self.cylinder(centre, outer, heights, Metal::Outside);
                self.opening(face, nesting.sites.under(index, face), &rim);
                self.outer(face, floor_site, &foot);
                let (rim, foot) = self.cylinder(centre, inner, heights, Metal::Inside);
                self.outer(face, island_site, &rim);
                self.opening(face, Some(floor_site), &foot);
            }
            _ => {}
        }
    }

    fn bore(&mut self, sites: &Sites, index: usize, bore: &Bore) {
        let down = bore.from == Face::Front;
        let rings = bore.rings();
        let levels: Vec<Level> = rings
            .iter()
            .map(|(r, _)| ShellBuilder::ring(bore.centre, r.radius, r.height))
            .collect();
        for (pair, links) in levels.windows(2).zip(rings.windows(2)) {
            let ((a, link), (b, _)) = (links[0], links[1]);
            let (low, high, (l, h)) = if down {
                (&pair[1], &pair[0], (b, a))
            } else {
                (&pair[0], &pair[1], (a, b))
            };
            let seat_at = |r: super::bore::Ring, axis| Seat {
                origin: Point3::new(bore.centre.x, bore.centre.y, r.height),
                axis,
                x: Vector3::X,
            };
            match link {
                Link::Cylinder => {
                    let surface = Surface::Cylinder {
                        seat: seat_at(l, Vector3::Z),
                        radius: l.radius,
                    };
                    self.shell.turned(low, high, surface, Metal::Outside);
                }
                Link::Cone(half_angle_rad) => {
                    // The axis points to the wide end; the seat lies at the narrow one.
                    let (narrow, axis) = if l.radius < h.radius {
                        (l, Vector3::Z)
                    } else {
                        (h, -Vector3::Z)
                    };
                    let surface = Surface::Cone {
                        seat: seat_at(narrow, axis),
                        radius: narrow.radius,
                        half_angle_rad,
                    };
                    self.shell.turned(low, high, surface, Metal::Outside);
                }
                Link::Seat => {
                    // A seat faces the wide part of the hole.
                    let up = (a.radius > b.radius) == down;
                    let (wide, narrow) = if a.radius > b.radius {
                        (&pair[0], &pair[1])
                    } else {
                        (&pair[1], &pair[0])
                    };
                    let bounds = vec![wide.wire(up), narrow.wire(!up)];
                    self.shell.flat(a.height, up, bounds);
                }
            }
        }
        let (Some(first), Some(last), Some(&(ring, _))) =
            (levels.first(), levels.last(), rings.last())
        else {
            return;
        };
        self.opening(bore.from, sites.under(index, bore.from), first);
        match bore.end {
            End::Open => self.opening(Face::Back, sites.under(index, Face::Back), last),
            End::Flat => self.shell.flat(ring.height, down, vec![last.wire(down)]),
            End::Point { half_angle_rad, .. } => {
                let seat = Seat {
                    origin: Point3::new(bore.centre.x, bore.centre.y, ring.height),
                    axis: if down { Vector3::Z } else { -Vector3::Z },
                    x: Vector3::X,
                };
                let surface = Surface::Cone {
                    seat,
                    radius: ring.radius,
                    half_angle_rad,
                };
                self.shell.drill_point(last, surface, down);
            }
        }
    }
}
