//! The mocked-up drive as the rod sees it: pulleys, the mounts that carry them, and where a washer can go.

use serde::Serialize;

use crate::geom::{Frame, Point, Point3};

/// Entry angle a multi-rib belt bears, deg: 0.58 mm per 100 mm of span.
///
/// Source: SAE J1596, permissible misalignment.
pub const SPAN_LIMIT_DEG: f64 = 0.332_3;

/// Tilt of a pulley's axis that is taken when none is given, deg: the entry angle it makes at most.
///
/// Source: SAE J1596 gives the entry angle only; that a tilt may use all of it is common practice, no source.
pub const TILT_LIMIT_DEG: f64 = SPAN_LIMIT_DEG;

/// How far a seat of a plate on four or more bolts may be pulled out of plane, mm.
///
/// Common practice, no source: a 10 mm steel plate follows a tenth over a bolt spacing without a mark.
pub const BEND_LIMIT_MM: f64 = 0.1;

/// How far washers may lean a mount, deg: beyond it heads and washers bear on one side only.
///
/// Common practice, no source.
pub const LEAN_LIMIT_DEG: f64 = 1.0;

/// Shim washer thicknesses usually in stock, mm.
///
/// Source: DIN 988 (shim rings PS), from memory of the standard: 0.1, 0.15, 0.2, 0.3, 0.5, 1.0 … .
pub const STOCK_MM: [f64; 6] = [0.1, 0.15, 0.2, 0.3, 0.5, 1.0];

/// The mocked-up drive.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Drive {
    /// Its name; heads the report.
    pub name: String,
    /// Name of the pulley the rod lies on; it is fixed to the block.
    pub reference: String,
    /// The pulleys.
    pub pulleys: Vec<Pulley>,
    /// What carries them.
    pub mounts: Vec<Mount>,
    /// The straight belt pieces between them, in the direction of travel.
    pub spans: Vec<Span>,
    /// Washer thicknesses at hand, mm.
    pub stock_mm: Vec<f64>,
}

/// A pulley in its place as designed: axis along +Z.
#[derive(Debug, Clone, PartialEq)]
pub struct Pulley {
    /// Name, unique among the pulleys.
    pub name: String,
    /// Name of the mount that carries it; none for a pulley on the block itself.
    pub mount: Option<String>,
    /// Middle of its rib plane, engine frame, mm.
    pub centre: Point3,
    /// Radius of the rim the rod's gap is taken at, mm.
    pub rim_radius_mm: f64,
    /// How far the front face stands before the rib plane, mm.
    pub face_mm: f64,
    /// Offset from the reference that is allowed, mm.
    pub offset_limit_mm: f64,
    /// Tilt of the axis that is allowed, deg.
    pub tilt_limit_deg: f64,
}

/// A straight belt piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// Pulley the belt leaves.
    pub from: String,
    /// Pulley it runs on to.
    pub to: String,
    /// Free length, mm.
    pub length_mm: f64,
    /// Angle it may run askew, deg.
    pub limit_deg: f64,
}

/// A plate or accessory held by bolts.
#[derive(Debug, Clone, PartialEq)]
pub struct Mount {
    /// Name, unique among the mounts.
    pub name: String,
    /// Name of the mount it is bolted to; none for the block.
    pub on: Option<String>,
    /// Its seat: the plane its bolts pull it against, normal away from what it is bolted to.
    pub seat: Frame,
    /// Its bolts.
    pub bolts: Vec<Bolt>,
    /// How far a seat may be pulled out of plane, mm.
    pub bend_limit_mm: f64,
    /// How far washers may lean it, deg.
    pub lean_limit_deg: f64,
}

/// A bolt of a mount.
#[derive(Debug, Clone, PartialEq)]
pub struct Bolt {
    /// What it is called at the bench: "lower", "upper left".
    pub name: String,
    /// Where it is, in the plane of the seat, mm.
    pub at: Point,
    /// Where washers can go at it, if they can.
    pub place: Option<Place>,
    /// Length of the spacer that stands there now, mm, if one does.
    pub spacer_mm: Option<f64>,
    /// How far the hole lets the mount move before it is tight, each way, mm.
    pub play_mm: f64,
}

/// A place for washers in the seat plane at a bolt.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// What they go between, for the words: "plate" and "block".
    pub between: [String; 2],
    /// Washers there now, mm each.
    pub fitted_mm: Vec<f64>,
    /// Whether washers there push the mount against its seat's normal: an ear behind its plate.
    pub inwards: bool,
    /// Thickest pack it takes, mm.
    pub most_mm: f64,
    /// Most washers in the pack.
    pub most_pieces: usize,
    /// The plate between two ears it lies at, when it is one.
    pub fork: Option<Fork>,
}

/// A plate between two ears of an accessory: what a washer takes on one side, the spacer on the other has to give.
#[derive(Debug, Clone, PartialEq)]
pub struct Fork {
    /// Length of the spacer on the other side of the plate, mm; none when the ear bears on the plate there.
    pub across_mm: Option<f64>,
    /// What washers on the other side go between, and the length of the spacer on this side, mm, that gives way to them.
    pub other: Option<([String; 2], f64)>,
}

impl Place {
    /// The gaps washers can go to, and which way a washer there moves the mount: +1 along its seat's normal, −1 against it.
    pub(super) fn ways(&self) -> impl Iterator<Item = (&[String; 2], f64)> {
        let way = if self.inwards { -1.0 } else { 1.0 };
        let other = self.fork.as_ref().and_then(|f| f.other.as_ref());
        std::iter::once((&self.between, way)).chain(other.map(|(between, _)| (between, -way)))
    }
}

/// How a pulley stands.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stand {
    /// Rib plane before (+) or behind (−) the reference's, at the pulley's middle, mm.
    pub offset_mm: f64,
    /// Unit vector along its axis, out of the engine.
    pub axis: [f64; 3],
}

impl Stand {
    /// True: no offset, no tilt.
    pub const TRUE: Self = Self {
        offset_mm: 0.0,
        axis: [0.0, 0.0, 1.0],
    };

    /// Tilt of the axis against the reference's, deg.
    pub fn tilt_deg(&self) -> f64 {
        let [x, y, z] = self.axis;
        x.hypot(y).atan2(z).to_degrees()
    }

    /// Where its front face looks, in words; empty when it is true within a hundredth of a degree.
    pub fn looks(&self) -> String {
        const SEEN_RAD: f64 = 1.7e-4;
        let [x, y, _] = self.axis;
        let mut words = Vec::new();
        if y.abs() > SEEN_RAD {
            words.push(if y > 0.0 { "up" } else { "down" });
        }
        if x.abs() > SEEN_RAD {
            words.push(if x > 0.0 { "right" } else { "left" });
        }
        words.join(" and ")
    }
}

/// What is wrong with a drive or its readings.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// Two things of one name.
    #[error("{what} {name} is named twice: give the second its own name")]
    NamedTwice {
        /// Pulley, mount or reading.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// A name nothing carries.
    #[error("{place} names {what} {name}, which is not listed")]
    Unknown {
        /// Pulley or mount.
        what: &'static str,
        /// The name.
        name: String,
        /// Where it is named.
        place: String,
    },
    /// A number that cannot be.
    #[error("{what} has to be {wanted}")]
    BadNumber {
        /// Which number.
        what: String,
        /// What it has to be.
        wanted: &'static str,
    },
    /// A reference pulley that washers could move.
    #[error(
        "the reference pulley {0} is carried by a mount: lay the rod on one that is fixed to the block"
    )]
    Reference(String),
    /// Mounts that carry each other.
    #[error("mount {0} ends up carrying itself: look at what it is bolted to")]
    Circle(String),
    /// A mount without bolts.
    #[error("mount {0} has no bolt")]
    NoBolt(String),
    /// A gap far beyond what a mock-up shows.
    #[error("the gap at {pulley} is {gap_mm} mm: {hint}")]
    Unlikely {
        /// The pulley.
        pulley: String,
        /// The gap as text.
        gap_mm: String,
        /// What it might be.
        hint: &'static str,
    },
}

impl Drive {
    /// Index of a mount.
    pub(super) fn mount(&self, name: &str) -> Option<usize> {
        self.mounts.iter().position(|m| m.name == name)
    }

    /// Index of a pulley.
    pub(super) fn pulley(&self, name: &str) -> Option<usize> {
        self.pulleys.iter().position(|p| p.name == name)
    }

    /// Index of the reference pulley.
    pub(super) fn reference(&self) -> Option<usize> {
        self.pulley(&self.reference)
    }

    /// Checks names and numbers, every fault at once.
    ///
    /// # Errors
    ///
    /// All faults found.
    pub fn check(&self) -> Result<(), Vec<Fault>> {
        let mut faults = Vec::new();
        twice(
            "pulley",
            self.pulleys.iter().map(|p| p.name.as_str()),
            &mut faults,
        );
        twice(
            "mount",
            self.mounts.iter().map(|m| m.name.as_str()),
            &mut faults,
        );
        match self.reference().map(|r| &self.pulleys[r].mount) {
            None => faults.push(Fault::Unknown {
                what: "pulley",
                name: self.reference.clone(),
                place: "the reference".to_owned(),
            }),
            Some(Some(_)) => faults.push(Fault::Reference(self.reference.clone())),
            Some(None) => {}
        }
        for p in &self.pulleys {
            self.check_pulley(p, &mut faults);
        }
        for m in &self.mounts {
            self.check_mount(m, &mut faults);
        }
        for s in &self.spans {
            let place = format!("the span {} to {}", s.from, s.to);
            for name in [&s.from, &s.to] {
                if self.pulley(name).is_none() {
                    faults.push(Fault::Unknown {
                        what: "pulley",
                        name: name.clone(),
                        place: place.clone(),
                    });
                }
            }
            positive(s.length_mm, &format!("the length of {place}"), &mut faults);
            positive(s.limit_deg, &format!("the limit of {place}"), &mut faults);
        }
        for t in &self.stock_mm {
            positive(*t, "a stocked washer's thickness", &mut faults);
        }
        if faults.is_empty() {
            Ok(())
        } else {
            Err(faults)
        }
    }

    fn check_pulley(&self, p: &Pulley, faults: &mut Vec<Fault>) {
        if let Some(mount) = &p.mount
            && self.mount(mount).is_none()
        {
            faults.push(Fault::Unknown {
                what: "mount",
                name: mount.clone(),
                place: format!("pulley {}", p.name),
            });
        }
        positive(
            p.rim_radius_mm,
            &format!("the rim radius of {}", p.name),
            faults,
        );
        positive(
            p.offset_limit_mm,
            &format!("the offset limit of {}", p.name),
            faults,
        );
        positive(
            p.tilt_limit_deg,
            &format!("the tilt limit of {}", p.name),
            faults,
        );
        let c = p.centre;
        if ![c.x, c.y, c.z, p.face_mm].iter().all(|v| v.is_finite()) {
            faults.push(Fault::BadNumber {
                what: format!("the place of {}", p.name),
                wanted: "numbers",
            });
        }
    }

    fn check_mount(&self, m: &Mount, faults: &mut Vec<Fault>) {
        if m.bolts.is_empty() {
            faults.push(Fault::NoBolt(m.name.clone()));
        }
        let mut above = m.on.as_deref();
        for _ in 0..=self.mounts.len() {
            let Some(name) = above else { break };
            match self.mount(name) {
                None => {
                    faults.push(Fault::Unknown {
                        what: "mount",
                        name: name.to_owned(),
                        place: format!("mount {}", m.name),
                    });
                    break;
                }
                Some(_) if name == m.name => {
                    faults.push(Fault::Circle(m.name.clone()));
                    break;
                }
                Some(i) => above = self.mounts[i].on.as_deref(),
            }
        }
        positive(
            m.bend_limit_mm,
            &format!("the bend limit of {}", m.name),
            faults,
        );
        positive(
            m.lean_limit_deg,
            &format!("the lean limit of {}", m.name),
            faults,
        );
        twice("bolt", m.bolts.iter().map(|b| b.name.as_str()), faults);
        for b in &m.bolts {
            let what = format!("bolt {} of {}", b.name, m.name);
            if !b.at.x.is_finite() || !b.at.y.is_finite() {
                faults.push(Fault::BadNumber {
                    what: format!("the place of {what}"),
                    wanted: "numbers",
                });
            }
            if !b.play_mm.is_finite() || b.play_mm < 0.0 {
                faults.push(Fault::BadNumber {
                    what: format!("the play of {what}"),
                    wanted: "0 mm or more",
                });
            }
            if let Some(s) = b.spacer_mm {
                positive(s, &format!("the spacer at {what}"), faults);
            }
            if let Some(place) = &b.place {
                positive(
                    place.most_mm,
                    &format!("the thickest pack at {what}"),
                    faults,
                );
                for t in &place.fitted_mm {
                    positive(*t, &format!("a washer fitted at {what}"), faults);
                }
            }
        }
    }
}

/// Complains about names that occur twice.
fn twice<'a>(what: &'static str, names: impl Iterator<Item = &'a str>, faults: &mut Vec<Fault>) {
    let mut seen = std::collections::BTreeSet::new();
    for name in names {
        if !seen.insert(name) {
            faults.push(Fault::NamedTwice {
                what,
                name: name.to_owned(),
            });
        }
    }
}

/// Complains about a number that is not above 0.
fn positive(value: f64, what: &str, faults: &mut Vec<Fault>) {
    if !value.is_finite() || value <= 0.0 {
        faults.push(Fault::BadNumber {
            what: what.to_owned(),
            wanted: "above 0",
        });
    }
}
