//! The set in space: every part's preview mesh as compact numbers, and the panel that shows it.

use std::fmt::Write as _;

use serde_json::json;

use crate::drive::picture::escape;
use crate::geom::{Frame, Point3};
use crate::solid::Body;
use crate::solid::mesh::{self, TriMesh};

use super::base64;

/// Distance of a mesh's chords from their arcs, mm: below a pixel when the set fills a screen.
const CHORD_MM: f64 = 0.15;

/// Steps that a mesh's box is divided into along each axis: the largest number of two bytes.
const STEPS: f64 = 65535.0;

/// What a part is, in the order of the list beside the view and of the colours in the page's script.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A plate of the job.
    Plate,
    /// A turned spacer.
    Spacer,
    /// An accessory's body.
    Accessory,
    /// A pulley.
    Pulley,
    /// The belt.
    Belt,
}

impl Kind {
    const ALL: [Self; 5] = [
        Self::Plate,
        Self::Spacer,
        Self::Accessory,
        Self::Pulley,
        Self::Belt,
    ];

    const fn words(self) -> &'static str {
        match self {
            Self::Plate => "Plates",
            Self::Spacer => "Spacers",
            Self::Accessory => "Accessories",
            Self::Pulley => "Pulleys",
            Self::Belt => "Belt",
        }
    }
}

/// One part of the set.
#[derive(Debug, Clone)]
pub struct Part<'a> {
    /// What the list calls it.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// Names by which findings mean it.
    pub called: Vec<String>,
    /// Its shape in its own frame; none where it is no sound solid.
    pub body: Option<&'a Body>,
    /// Where it is, engine frame.
    pub frame: Frame,
}

/// Parts with their meshes.
pub(super) struct Scene<'a> {
    parts: &'a [Part<'a>],
    /// Which mesh each part has; none where it cannot be shown.
    mesh_of: Vec<Option<usize>>,
    meshes: Vec<TriMesh>,
}

impl<'a> Scene<'a> {
    /// Meshes every distinct body once.
    pub(super) fn of(parts: &'a [Part<'a>]) -> Self {
        let mut known: Vec<(&Body, Option<usize>)> = Vec::new();
        let mut meshes = Vec::new();
        let mesh_of = parts
            .iter()
            .map(|p| {
                let body = p.body?;
                if let Some((_, at)) = known.iter().find(|(b, _)| std::ptr::eq(*b, body)) {
                    return *at;
                }
                let made = mesh::of_body(body, CHORD_MM).ok().map(|m| {
                    meshes.push(m);
                    meshes.len() - 1
                });
                known.push((body, made));
                made
            })
            .collect();
        Self {
            parts,
            mesh_of,
            meshes,
        }
    }

    /// The panel with the view, its controls and the list of parts.
    pub(super) fn section(&self) -> String {
        let mut list = String::new();
        for kind in Kind::ALL {
            let mine: Vec<usize> = (0..self.parts.len())
                .filter(|&i| self.parts[i].kind == kind && self.mesh_of[i].is_some())
                .collect();
            if mine.is_empty() {
                continue;
            }
            let _ = write!(
                list,
                "<fieldset><legend><label><input type=\"checkbox\" data-kind=\"{k}\" checked> {words}</label></legend>",
                k = kind as usize,
                words = kind.words()
            );
            for i in mine {
                let _ = write!(
                    list,
                    "<label data-row=\"{i}\"><input type=\"checkbox\" data-part=\"{i}\" checked> {}</label>",
                    escape(&self.parts[i].name)
                );
            }
            list.push_str("</fieldset>");
        }
        let unseen: Vec<String> = (0..self.parts.len())
            .filter(|&i| self.mesh_of[i].is_none())
            .map(|i| escape(&self.parts[i].name))
            .collect();
        if !unseen.is_empty() {
            let _ = write!(
                list,
                "<p class=\"note\">Not shown, as they are no sound solids: {}.</p>",
                unseen.join(", ")
            );
        }
        include_str!("scene.html").replace("{{parts}}", &list)
    }

    /// The data as JSON: `{parts: [{name, kind, mesh, frame}], meshes: [{low, step, points, triangles}]}`.
    ///
    /// Points are three numbers of two bytes each, steps from `low`; triangles
    /// three indices of two bytes, or of four where `wide`; little-endian, base64.
    pub(super) fn data(&self) -> String {
        let parts: Vec<serde_json::Value> = self
            .parts
            .iter()
            .zip(&self.mesh_of)
            .map(|(p, mesh)| {
                json!({
                    "name": p.name,
                    "kind": p.kind as usize,
                    "mesh": mesh,
                    "frame": numbers(&p.frame).map(short).to_vec(),
                })
            })
            .collect();
        let meshes: Vec<serde_json::Value> = self.meshes.iter().map(packed).collect();
        let text = json!({ "parts": parts, "meshes": meshes }).to_string();
        // Inside a script element nothing may look like its end.
        text.replace('<', "\\u003c")
    }
}

/// A frame as twelve numbers: x, y, normal, origin.
fn numbers(frame: &Frame) -> [f64; 12] {
    let (x, y, z, o) = (frame.x, frame.y, frame.normal, frame.origin);
    [x.x, x.y, x.z, y.x, y.y, y.z, z.x, z.y, z.z, o.x, o.y, o.z]
}

/// Six decimals, and no sign on zero.
fn short(v: f64) -> f64 {
    let r = (v * 1e6).round() / 1e6;
    if r == 0.0 { 0.0 } else { r }
}

/// A mesh as numbers of two bytes.
fn packed(mesh: &TriMesh) -> serde_json::Value {
    let axes: [fn(&Point3) -> f64; 3] = [|p| p.x, |p| p.y, |p| p.z];
    let low = axes.map(|of| mesh.positions.iter().map(of).fold(f64::INFINITY, f64::min));
    let high = axes.map(|of| {
        mesh.positions
            .iter()
            .map(of)
            .fold(f64::NEG_INFINITY, f64::max)
    });
    let step: [f64; 3] = std::array::from_fn(|k| ((high[k] - low[k]) / STEPS).max(1e-9));
    let mut points = Vec::with_capacity(6 * mesh.positions.len());
    for p in &mesh.positions {
        for k in 0..3 {
            let steps = ((axes[k](p) - low[k]) / step[k]).round().clamp(0.0, STEPS);
            points.extend((steps as u16).to_le_bytes());
        }
    }
    let wide = mesh.positions.len() > usize::from(u16::MAX);
    let mut triangles = Vec::with_capacity(6 * mesh.triangles.len());
    for i in mesh.triangles.iter().flatten() {
        match u16::try_from(*i) {
            Ok(i) if !wide => triangles.extend(i.to_le_bytes()),
            _ => triangles.extend(i.to_le_bytes()),
        }
    }
    json!({
        "low": low.map(short).to_vec(),
        "step": step.to_vec(),
        "wide": wide,
        "points": base64::encode(&points),
        "triangles": base64::encode(&triangles),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solid;

    #[test]
    fn equal_bodies_are_written_once() {
        let body = solid::cylinder("c", 20.0, 0.0, 10.0).expect("a plain cylinder");
        let part = |name: &str| Part {
            name: name.to_owned(),
            kind: Kind::Pulley,
            called: Vec::new(),
            body: Some(&body),
            frame: Frame::FRONT,
        };
        let parts = [part("a</script>"), part("b")];
        let scene = Scene::of(&parts);
        assert_eq!((scene.meshes.len(), scene.mesh_of.len()), (1, 2));
        assert!(!scene.data().contains("</script"));
        assert!(scene.section().contains("a&lt;/script&gt;"));
    }

    #[test]
    fn packed_points_stay_within_half_a_step() {
        let body = solid::cylinder("c", 200.0, -3.0, 10.0).expect("a plain cylinder");
        let mesh = mesh::of_body(&body, CHORD_MM).expect("a mesh");
        let value = packed(&mesh);
        let step = value["step"][0].as_f64().expect("a number");
        assert!(step < 0.004, "{step}");
        assert_eq!(value["low"][2].as_f64(), Some(-3.0));
        let bytes = value["points"].as_str().expect("text").len();
        assert_eq!(bytes, (6 * mesh.positions.len()).div_ceil(3) * 4);
    }
}
