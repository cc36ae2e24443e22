//! Where a finding is: on which picture, at which points, and which parts of the set it is about.

use std::collections::BTreeMap;

use crate::geom::{Point, Point3};
use crate::layout;
use crate::rules::{Finding, belt};

use super::figures::{Figure, On};
use super::{Page, Shows};

/// What is drawn on a picture to show a place; paper coordinates of that picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Mark {
    /// A point.
    Point((f64, f64)),
    /// A round thing, such as a pulley.
    Ring((f64, f64), f64),
    /// A line between two points.
    Line((f64, f64), (f64, f64)),
}

/// Where a finding is.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Link {
    /// Pictures by index, the first the one to go to; marks may be none where the whole picture is meant.
    pub(super) on: Vec<(usize, Vec<Mark>)>,
    /// Parts of the set, by index.
    pub(super) parts: Vec<usize>,
    /// Points in space, engine frame, mm.
    pub(super) points: Vec<Point3>,
}

/// Looks up where findings are.
pub(super) struct Places<'a> {
    page: &'a Page<'a>,
    figures: &'a [Figure],
    /// Parts by every name that findings call them.
    parts: BTreeMap<&'a str, Vec<usize>>,
}

impl<'a> Places<'a> {
    pub(super) fn new(page: &'a Page<'a>, figures: &'a [Figure]) -> Self {
        let mut parts: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (i, part) in page.parts.iter().enumerate() {
            for name in &part.called {
                parts.entry(name).or_default().push(i);
            }
        }
        Self {
            page,
            figures,
            parts,
        }
    }

    /// Where a finding is.
    pub(super) fn link(&self, f: &Finding) -> Link {
        let mut link = Link::default();
        if f.on == belt::DRIVE {
            self.on_drive(f, &mut link);
        } else if f.rule.starts_with('C') {
            self.between_bodies(f, &mut link);
        } else if let Some(k) = self.plate(&f.on) {
            self.on_plate(k, f, &mut link);
        } else if let Some(joint) = self.joint(&f.on) {
            self.at_joint(joint, &f.at, &mut link);
        } else {
            self.named(&f.on, &mut link);
            self.named(&f.at, &mut link);
        }
        if f.rule.starts_with('F') {
            self.strength(f, &mut link);
        }
        link.parts.sort_unstable();
        link.parts.dedup();
        link
    }

    fn figure(&self, on: &On) -> Option<(usize, &'a Figure)> {
        self.figures.iter().enumerate().find(|(_, g)| g.on == *on)
    }

    fn plate(&self, id: &str) -> Option<usize> {
        let plates = &self.page.project.plates;
        plates.iter().position(|m| m.plate.id == id)
    }

    fn joint(&self, id: &str) -> Option<&'a layout::Joint> {
        let joints = &self.page.project.layout.joints;
        joints.iter().find(|j| j.id == id)
    }

    fn parts_of(&self, name: &str, link: &mut Link) {
        link.parts
            .extend(self.parts.get(name).into_iter().flatten());
    }

    /// Adds marks on a picture, together with those that are there already.
    fn mark(&self, on: &On, link: &mut Link, marks: impl Fn(&Figure) -> Vec<Mark>) {
        let Some((i, figure)) = self.figure(on) else {
            return;
        };
        let mut more = marks(figure);
        match link.on.iter_mut().find(|(k, _)| *k == i) {
            Some((_, there)) => {
                more.retain(|m| !there.contains(m));
                there.append(&mut more);
            }
            None => link.on.push((i, more)),
        }
    }

    fn on_plate(&self, k: usize, f: &Finding, link: &mut Link) {
        self.mark(&On::Plate(k), link, |figure| points(figure, &f.places));
        self.parts_of(&f.on, link);
        let plate = &self.page.project.plates[k].plate;
        let half = 0.5 * plate.thickness_mm;
        link.points
            .extend(f.places.iter().map(|p| plate.frame.to_engine(*p, half)));
    }

    fn at_joint(&self, joint: &layout::Joint, held: &str, link: &mut Link) {
        for layer in &joint.layers {
            if let layout::Part::Plate(id) = &layer.part
                && let Some(k) = self.plate(id)
            {
                let plate = &self.page.project.plates[k].plate;
                let (at, _) = plate.frame.to_plane(joint.at);
                self.mark(&On::Plate(k), link, |figure| points(figure, &[at]));
                self.parts_of(id, link);
            }
        }
        self.parts_of(held, link);
        let (low, high) = (
            joint.layers.first().map_or(0.0, |l| l.low_mm),
            joint.layers.last().map_or(0.0, |l| l.high_mm),
        );
        let at = (joint.at - Point3::ORIGIN).dot(joint.axis);
        link.points
            .push(joint.at + joint.axis * (0.5 * (low + high) - at));
    }

    /// A finding of the drive: its pulleys, its spans, its point.
    fn on_drive(&self, f: &Finding, link: &mut Link) {
        let Some((drive, analysis)) = &self.page.project.drive else {
            return;
        };
        for name in f.at.split(" to ") {
            self.named(name, link);
        }
        if f.at == "belt" {
            for span in &analysis.path.spans {
                self.span(span.number, link);
            }
        }
        // A pulley or a span already says where; the point says it where nothing else does, and for gaps.
        if link.on.is_empty() || f.at.contains(" to ") {
            self.mark(&On::Drive, link, |figure| points(figure, &f.places));
        }
        let z = drive.pulleys.get(drive.driver).map(|p| p.rib_plane_z_mm);
        link.points.extend(
            f.places
                .iter()
                .map(|p| Point3::new(p.x, p.y, z.unwrap_or(0.0))),
        );
    }

    /// A finding about two bodies near each other.
    fn between_bodies(&self, f: &Finding, link: &mut Link) {
        let near = self
            .page
            .project
            .near
            .iter()
            .find(|n| n.rule == f.rule && n.gap.first == f.on && n.gap.second == f.at);
        self.mark(&On::Drive, link, |figure| points(figure, &f.places));
        for body in [&f.on, &f.at] {
            self.body(body, link);
        }
        let Some([x, y, z]) = near.map(|n| n.gap.first_at_mm) else {
            return;
        };
        let at = Point3::new(x, y, z);
        link.points.push(at);
        for body in [&f.on, &f.at] {
            if let Some(k) = body.strip_prefix("plate ").and_then(|id| self.plate(id)) {
                let (p, _) = self.page.project.plates[k].plate.frame.to_plane(at);
                self.mark(&On::Plate(k), link, |figure| points(figure, &[p]));
            }
        }
    }

    /// The parts of a body: its own, or those of the joint it belongs to.
    fn body(&self, name: &str, link: &mut Link) {
        self.parts_of(name, link);
        let joint = ["head of ", "end of ", "socket on "]
            .iter()
            .find_map(|prefix| name.strip_prefix(prefix));
        if let Some(joint) = joint.and_then(|id| self.joint(id)) {
            for layer in &joint.layers {
                if let layout::Part::Plate(id) = &layer.part {
                    self.parts_of(id, link);
                }
            }
        }
    }

    /// A pulley, a span or a part by its name.
    fn named(&self, name: &str, link: &mut Link) {
        self.parts_of(name, link);
        if let Some(number) = name.strip_prefix("span ").and_then(|n| n.parse().ok()) {
            self.span(number, link);
        }
        let Some((drive, analysis)) = &self.page.project.drive else {
            return;
        };
        if let Some(c) = analysis.path.contacts.iter().find(|c| c.id == name) {
            let rim = 0.5 * drive.pulleys[c.pulley].rim_diameter_mm;
            let centre = c.centre_mm;
            self.mark(&On::Drive, link, |figure| {
                vec![Mark::Ring(figure.at(centre), rim / figure.scale)]
            });
        }
    }

    fn span(&self, number: usize, link: &mut Link) {
        let Some((_, analysis)) = &self.page.project.drive else {
            return;
        };
        let span = analysis.path.spans.iter().find(|s| s.number == number);
        if let Some(s) = span {
            let (from, to) = (s.start_mm, s.end_mm);
            self.mark(&On::Drive, link, |figure| {
                vec![Mark::Line(figure.at(from), figure.at(to))]
            });
            self.parts_of("belt", link);
        }
    }

    /// Pictures of strength beside the place itself, and what moves most in a mode.
    fn strength(&self, f: &Finding, link: &mut Link) {
        self.mark(&On::Drawn(Shows::Stress(f.on.clone())), link, |_| {
            Vec::new()
        });
        let Some(mode) = f.at.strip_prefix("mode ") else {
            return;
        };
        self.mark(&On::Drawn(Shows::Modes), link, |_| Vec::new());
        self.mark(&On::Drawn(Shows::Resonance), link, |_| Vec::new());
        let calculated = self.page.project.strength.calculated();
        let modes = calculated
            .into_iter()
            .flat_map(|c| &c.strength.report.modes);
        for m in modes.filter(|m| m.mode.to_string() == mode) {
            if let Some((name, _)) = m.moves.first() {
                self.parts_of(name, link);
            }
        }
    }
}

/// Points on a picture; two of them are the ends of what was measured.
fn points(figure: &Figure, places: &[Point]) -> Vec<Mark> {
    let at: Vec<(f64, f64)> = places.iter().map(|p| figure.at(*p)).collect();
    let mut marks: Vec<Mark> = at.windows(2).map(|w| Mark::Line(w[0], w[1])).collect();
    marks.extend(at.into_iter().map(Mark::Point));
    marks
}
