//! One fastener tightened: lengths, preload, threads, pressures, settling and temperature.

use std::f64::consts::PI;

use serde::Serialize;

use crate::tables::property_class::BOLT_CTE_PER_K;
use crate::tables::{Embedding, HeadStyle};

use super::compliance::{Cone, parts_compliance, screw_compliance};
use super::judgement::{Bench, Judgement};
use super::length::StackReport;
use super::preload::{Assembly, PreloadReport};
use super::stack::{End, LayerKind, Stack, StackError};
use super::strip::{StripReport, strip};

/// Temperature at which joints are tightened, °C.
pub const ASSEMBLY_C: f64 = 20.0;

/// Share of the greatest preload that must be left at the worst temperature, ratio
/// (common practice, no source: below a fifth a joint is loose for all purposes).
pub const PRELOAD_LEFT: f64 = 0.2;

/// One fastener with how it is tightened and how hot it gets.
#[derive(Debug, Clone, PartialEq)]
pub struct Fastening {
    /// Its stack.
    pub stack: Stack,
    /// How it is tightened.
    pub assembly: Assembly,
    /// Surface grade of the clamped faces.
    pub surface: Embedding,
    /// Service temperatures of bolt and parts alike, °C: coldest and hottest matter.
    pub service_c: Vec<f64>,
}

/// Pressure on one face of the stack.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FacePressure {
    /// What presses on what.
    pub between: String,
    /// Inner diameter of the pressed ring, mm.
    pub inner_mm: f64,
    /// Outer diameter of the pressed ring, mm.
    pub outer_mm: f64,
    /// Pressed area, mm².
    pub area_mm2: f64,
    /// Pressure at the greatest preload, MPa.
    pub pressure_mpa: f64,
    /// Pressure the softer side may carry, MPa.
    pub limit_mpa: f64,
    /// Where the limit is from.
    pub source: String,
}

/// Settling and temperature.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SettlingReport {
    /// Compliance of the screw, mm/N.
    pub screw_mm_per_n: f64,
    /// Compliance of the clamped parts, mm/N.
    pub parts_mm_per_n: f64,
    /// Share of an outer tensile load that the screw feels, load applied under the head (VDI 2230-1: n = 1).
    pub load_factor: f64,
    /// Settlement of faces and thread, µm.
    pub embedding_um: f64,
    /// Preload lost to it, N.
    pub embedding_loss_n: f64,
    /// Change of preload at each service temperature: (°C, N), as given.
    pub thermal_n: Vec<(f64, f64)>,
    /// Greatest gain of preload from temperature, N; 0 or more.
    pub thermal_gain_n: f64,
    /// Greatest loss of preload from temperature, N; 0 or more.
    pub thermal_loss_n: f64,
    /// Least clamp force left: least preload less both losses, N.
    pub least_clamp_n: f64,
    /// Greatest preload: greatest preload and the thermal gain, N.
    pub greatest_preload_n: f64,
}

/// Everything about one fastener before outer loads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FasteningReport {
    /// Name of the joint.
    pub place: String,
    /// What to buy, such as `EN 1665 M10x1.5 x 45 8.8`.
    pub designation: String,
    /// Lengths.
    pub stack: StackReport,
    /// Preload and torque.
    pub preload: PreloadReport,
    /// Threads of a tapped hole; none with a nut, whose strength matches its bolt (ISO 898-2).
    pub strip: Option<StripReport>,
    /// Pressures, from the head down.
    pub faces: Vec<FacePressure>,
    /// Settling and temperature.
    pub settling: SettlingReport,
    /// Verdicts, in rule order.
    pub judgements: Vec<Judgement>,
}

impl Fastening {
    /// Lengths, preload, threads, pressures, settling and their verdicts.
    ///
    /// # Errors
    ///
    /// [`StackError`] for a stack that cannot exist.
    pub fn work_out(&self) -> Result<FasteningReport, StackError> {
        let (stack, mut judgements) = self.stack.work_out()?;
        let screw = &self.stack.screw;
        let t = &screw.thread;
        let strength = screw.head.strength_factor();
        let preload = self.assembly.preload(
            t,
            screw.class.yield_min_mpa * strength,
            self.bearing_mean_mm(),
        );
        let strip = match &self.stack.end {
            End::Tapped(h) => Some(strip(
                t,
                &screw.class,
                strength,
                stack.carrying_mm,
                h.metal.shear_mpa,
                h.outer_mm / t.d_mm,
            )),
            End::Nut(_) => None,
        };
        let settling = self.settling(&stack, &preload);
        let faces = self.faces(settling.greatest_preload_n);
        judgements.extend(self.judge(strip.as_ref(), &faces, &preload, &settling));
        Ok(FasteningReport {
            place: self.stack.place.clone(),
            designation: format!(
                "{} {} x {} {}",
                screw.head.standard, t.name, stack.length_mm, screw.class.class
            ),
            stack,
            preload,
            strip,
            faces,
            settling,
            judgements,
        })
    }

    /// Mean diameter of the friction ring under the head, mm (VDI 2230-1: half of dW + Dh).
    fn bearing_mean_mm(&self) -> f64 {
        let hole = self.stack.layers.first().map_or(0.0, |l| l.hole_mm);
        0.5 * (self.stack.screw.head.bearing_dia_mm + hole.max(self.stack.screw.thread.d_mm))
    }

    fn settling(&self, stack: &StackReport, preload: &PreloadReport) -> SettlingReport {
        let screw = screw_compliance(&self.stack, stack);
        let parts = parts_compliance(&self.stack);
        let both = screw + parts;
        let bearings = match &self.stack.end {
            End::Tapped(_) => 1,
            End::Nut(_) => 2,
        };
        // Inner faces: between layers, and the last layer on the block.
        let interfaces = self.stack.layers.len() - 1 + usize::from(bearings == 1);
        let embedding = self.surface.total_mm(bearings, interfaces);
        let loss = embedding / both;
        let free_growth: f64 = self
            .stack
            .layers
            .iter()
            .map(|l| l.metal.cte_per_k * l.clamped_mm())
            .sum::<f64>()
            - BOLT_CTE_PER_K * stack.grip_mm;
        let thermal: Vec<(f64, f64)> = self
            .service_c
            .iter()
            .map(|&c| (c, free_growth * (c - ASSEMBLY_C) / both))
            .collect();
        let gain = thermal.iter().map(|t| t.1).fold(0.0, f64::max);
        let drop = thermal.iter().map(|t| -t.1).fold(0.0, f64::max);
        SettlingReport {
            screw_mm_per_n: screw,
            parts_mm_per_n: parts,
            load_factor: parts / both,
            embedding_um: 1e3 * embedding,
            embedding_loss_n: loss,
            thermal_n: thermal,
            thermal_gain_n: gain,
            thermal_loss_n: drop,
            least_clamp_n: preload.preload_min_n - loss - drop,
            greatest_preload_n: preload.preload_max_n + gain,
        }
    }

    /// Diameter to which a washer spreads the force at the face above layer `i`, mm; 0 at any other face.
    ///
    /// dWa = dW + 1.6·hS (VDI 2230-1 5.5.4, from memory), for a washer under the head or the nut.
    fn washer_spread_mm(&self, i: usize) -> f64 {
        const SPREAD_PER_THICKNESS: f64 = 1.6;
        let layers = &self.stack.layers;
        let washer = |k: usize| layers.get(k).filter(|l| l.kind == LayerKind::Washer);
        let under_head = (i == 1).then(|| washer(0)).flatten().map_or(0.0, |w| {
            self.stack.screw.head.bearing_dia_mm + SPREAD_PER_THICKNESS * w.thickness_mm
        });
        let over_nut = match &self.stack.end {
            End::Nut(n) if i + 1 == layers.len() => washer(i).map_or(0.0, |w| {
                n.bearing_dia_mm + SPREAD_PER_THICKNESS * w.thickness_mm
            }),
            _ => 0.0,
        };
        under_head.max(over_nut)
    }

    /// Pressure on every face, washers' upper faces left out: they are harder than the parts.
    fn faces(&self, force_n: f64) -> Vec<FacePressure> {
        let cone = Cone::of(&self.stack);
        let screw = &self.stack.screw;
        let countersunk = screw.head.style == HeadStyle::Countersunk;
        let mut faces = Vec::new();
        let mut z = 0.0;
        let mut above = (
            "head".to_owned(),
            screw.head.bearing_dia_mm,
            screw.thread.d_mm,
            f64::INFINITY,
            "the fastener's own strength",
        );
        let mut push = |above: &(String, f64, f64, f64, &str),
                        below: (&str, f64, f64, f64, &str),
                        spread: f64| {
            let inner = above.2.max(below.2);
            let outer = above.1.min(below.1).min(spread);
            let area = PI / 4.0 * (outer * outer - inner * inner);
            let (limit, source) = if below.3 < above.3 {
                (below.3, below.4)
            } else {
                (above.3, above.4)
            };
            faces.push(FacePressure {
                between: format!("{} on {}", above.0, below.0),
                inner_mm: inner,
                outer_mm: outer,
                area_mm2: area.max(0.0),
                pressure_mpa: if area > 0.0 {
                    force_n / area
                } else {
                    f64::INFINITY
                },
                limit_mpa: limit,
                source: source.to_owned(),
            });
        };
        for (i, l) in self.stack.layers.iter().enumerate() {
            // A countersunk head fills its cone to the face: the ring is measured there.
            let outer = if i == 0 && countersunk {
                f64::INFINITY
            } else {
                l.outer_mm
            };
            let washer = l.kind == LayerKind::Washer;
            let limit = if washer {
                f64::INFINITY
            } else {
                l.metal.bearing_limit_mpa
            };
            let below = (
                l.name.as_str(),
                outer,
                l.hole_mm,
                limit,
                l.metal.source.as_str(),
            );
            push(
                &above,
                below,
                cone.diameter(z).max(self.washer_spread_mm(i)),
            );
            z += l.clamped_mm();
            above = (
                l.name.clone(),
                l.outer_mm,
                l.hole_mm,
                limit,
                &l.metal.source,
            );
        }
        match &self.stack.end {
            End::Tapped(h) => push(
                &above,
                (
                    &h.name,
                    h.outer_mm,
                    screw.thread.d_mm,
                    h.metal.bearing_limit_mpa,
                    &h.metal.source,
                ),
                cone.diameter(z),
            ),
            End::Nut(n) => push(
                &above,
                (
                    "nut",
                    n.bearing_dia_mm,
                    screw.thread.d_mm,
                    f64::INFINITY,
                    "the fastener's own strength",
                ),
                cone.diameter(z),
            ),
        }
        faces.retain(|f| f.limit_mpa.is_finite());
        faces
    }

    fn judge(
        &self,
        strip: Option<&StripReport>,
        faces: &[FacePressure],
        preload: &PreloadReport,
        settling: &SettlingReport,
    ) -> Vec<Judgement> {
        let bench = Bench {
            place: &self.stack.place,
        };
        let mut all = Vec::new();
        if let Some(s) = strip {
            all.push(bench.at_least(
                "J201",
                "force that strips the thread against the force that breaks the screw",
                (s.strip_n, s.break_n, "N"),
                "VDI 2230-1 5.5.5 with Alexander's factors (from memory); ISO 898-1:2013 T.3",
            ));
        }
        for f in faces {
            all.push(bench.at_most(
                "J202",
                format!("pressure of {}", f.between),
                (f.pressure_mpa, f.limit_mpa, "MPa"),
                format!("VDI 2230-1 5.5.4; {}", f.source),
            ));
        }
        all.push(bench.at_least(
            "J203",
            "least clamp force after settling and temperature",
            (
                settling.least_clamp_n,
                PRELOAD_LEFT * preload.preload_max_n,
                "N",
            ),
            "VDI 2230-1 5.4.2; a fifth of the preload is common practice, no source",
        ));
        all
    }
}
