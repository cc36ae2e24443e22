//! What the solver sees: elements, rigid bodies, beams, and what holds them.
//!
//! Units inside: mm, N, MPa, t, s. A mass in t and a length in mm give N.

use super::element::NODES;
use super::mesh::Wedges;
use crate::geom::{Frame, Point};

/// A linear elastic material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Elastic {
    /// Young's modulus, MPa; > 0.
    pub young_mpa: f64,
    /// Poisson's ratio, −1 < ν < 0.5.
    pub poisson: f64,
    /// Density, t/mm³ (1 kg/m³ = 1e-12 t/mm³).
    pub density_t_mm3: f64,
}

/// A rigid body: six unknowns, or none where it is ground.
#[derive(Debug, Clone, PartialEq)]
pub struct RigidBody {
    /// Name, for messages.
    pub name: String,
    /// Reference point its unknowns belong to, mm.
    pub at: [f64; 3],
    /// Mass, t.
    pub mass_t: f64,
    /// Centre of mass, mm.
    pub centre: [f64; 3],
    /// Inertia about the centre, t·mm²: xx, yy, zz, xy, yz, zx (products as ∫ x y dm).
    pub inertia_t_mm2: [f64; 6],
    /// Whether it cannot move.
    pub ground: bool,
}

/// A straight Timoshenko beam of round tube section between two bodies.
#[derive(Debug, Clone, PartialEq)]
pub struct Beam {
    /// Name, for messages.
    pub name: String,
    /// Body at its start.
    pub from: usize,
    /// Body at its end.
    pub to: usize,
    /// Start, mm.
    pub start: [f64; 3],
    /// End, mm.
    pub end: [f64; 3],
    /// Outer diameter, mm.
    pub outer_mm: f64,
    /// Inner diameter, mm; 0 for a solid bar.
    pub inner_mm: f64,
    /// Material.
    pub material: Elastic,
}

/// A wedge element with its material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wedge {
    /// Nodes.
    pub nodes: [usize; NODES],
    /// Material, an index into [`Structure::materials`].
    pub material: usize,
    /// Part it belongs to, an index into [`Structure::parts`].
    pub part: usize,
}

/// A displacement that is given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hold {
    /// Node.
    pub node: usize,
    /// Direction: 0 x, 1 y, 2 z.
    pub direction: usize,
    /// Displacement, mm.
    pub value_mm: f64,
}

/// A discrete structure.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Structure {
    /// Nodes, mm.
    pub nodes: Vec<[f64; 3]>,
    /// Elements.
    pub wedges: Vec<Wedge>,
    /// Materials.
    pub materials: Vec<Elastic>,
    /// Names of the elastic parts.
    pub parts: Vec<String>,
    /// Rigid bodies.
    pub bodies: Vec<RigidBody>,
    /// Beams between bodies.
    pub beams: Vec<Beam>,
    /// Body each node moves with, if any.
    pub tied: Vec<Option<usize>>,
    /// Given displacements of untied nodes.
    pub holds: Vec<Hold>,
}

impl Elastic {
    /// Lamé's constants λ and μ, MPa.
    #[must_use]
    pub fn lame(&self) -> (f64, f64) {
        let mu = self.shear_mpa();
        let lambda =
            self.young_mpa * self.poisson / ((1.0 + self.poisson) * (1.0 - 2.0 * self.poisson));
        (lambda, mu)
    }

    /// Shear modulus, MPa.
    #[must_use]
    pub fn shear_mpa(&self) -> f64 {
        self.young_mpa / (2.0 * (1.0 + self.poisson))
    }
}

impl Structure {
    /// Adds an extruded plan as a part; answers the number of its first node and first element.
    ///
    /// `frame` places the plan's points and heights in space.
    pub fn add_part(
        &mut self,
        name: &str,
        wedges: &Wedges,
        frame: &Frame,
        material: Elastic,
    ) -> (usize, usize) {
        let (node, element) = (self.nodes.len(), self.wedges.len());
        self.nodes.extend(wedges.nodes.iter().map(|&[x, y, z]| {
            let p = frame.to_engine(Point::new(x, y), z);
            [p.x, p.y, p.z]
        }));
        self.tied.resize(self.nodes.len(), None);
        let part = self.parts.len();
        self.parts.push(name.to_owned());
        self.materials.push(material);
        let material = self.materials.len() - 1;
        self.wedges.extend(wedges.wedges.iter().map(|w| Wedge {
            nodes: w.map(|n| n + node),
            material,
            part,
        }));
        (node, element)
    }

    /// Adds a body; answers its number.
    pub fn add_body(&mut self, body: RigidBody) -> usize {
        self.bodies.push(body);
        self.bodies.len() - 1
    }

    /// Coordinates of an element's nodes.
    #[must_use]
    pub fn coordinates(&self, wedge: &Wedge) -> [[f64; 3]; NODES] {
        wedge.nodes.map(|n| self.nodes[n])
    }

    /// Number of unknowns before ties and supports: three a node, six a body.
    #[must_use]
    pub fn full_size(&self) -> usize {
        3 * self.nodes.len() + 6 * self.bodies.len()
    }

    /// First full unknown of a body.
    #[must_use]
    pub fn body_start(&self, body: usize) -> usize {
        3 * self.nodes.len() + 6 * body
    }
}

impl RigidBody {
    /// A body without mass at a point.
    #[must_use]
    pub fn massless(name: &str, at: [f64; 3]) -> Self {
        Self {
            name: name.to_owned(),
            at,
            mass_t: 0.0,
            centre: at,
            inertia_t_mm2: [0.0; 6],
            ground: false,
        }
    }

    /// Ground, named.
    #[must_use]
    pub fn ground(name: &str) -> Self {
        Self {
            ground: true,
            ..Self::massless(name, [0.0; 3])
        }
    }

    /// Mass matrix on (translation, rotation) of the reference point.
    #[must_use]
    pub fn mass_matrix(&self) -> [[f64; 6]; 6] {
        let m = self.mass_t;
        let c = [0, 1, 2].map(|k| self.centre[k] - self.at[k]);
        let skew = skew(c);
        let mut out = [[0.0; 6]; 6];
        let [xx, yy, zz, xy, yz, zx] = self.inertia_t_mm2;
        let inertia = [[xx, -xy, -zx], [-xy, yy, -yz], [-zx, -yz, zz]];
        for i in 0..3 {
            out[i][i] = m;
            for j in 0..3 {
                // Velocity of the centre is v + ω × c = v − [c]ω.
                out[i][3 + j] = -m * skew[i][j];
                out[3 + j][i] = -m * skew[i][j];
                let mut square = 0.0;
                for row in &skew {
                    square += row[i] * row[j];
                }
                out[3 + i][3 + j] = inertia[i][j] + m * square;
            }
        }
        out
    }
}

/// The matrix that turns a vector v into a × v.
#[must_use]
pub const fn skew(a: [f64; 3]) -> [[f64; 3]; 3] {
    [[0.0, -a[2], a[1]], [a[2], 0.0, -a[0]], [-a[1], a[0], 0.0]]
}
