//! From a network to coordinates: the whole sum, and what it says.

use serde::Serialize;

use crate::units::MM_PER_INCH;

use super::adjust::{Settled, Workbench};
use super::ambiguity;
use super::check::{self, Names};
use super::dense::Square;
use super::doubt::{self, Doubt, Fit};
use super::finding::{Finding, Matter, Severity};
use super::network::{Network, Sight, Surface, Unit};
use super::start;
use super::statistics::{
    CONFIDENCE, DETECTION_SHIFT, ELLIPSE_95, chi_square_below, chi_square_quantile,
};
use super::system::{self, Slot, System};
use super::triangle;

/// How the sum is to be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Options {
    /// Let doubtful readings take part in the result; they are named either way.
    pub keep_doubtful: bool,
    /// State uncertainties from the scatter the readings achieved instead of the one they claim.
    pub achieved_scatter: bool,
}

/// The measured pattern and how far it can be trusted.
#[derive(Debug, Clone, Serialize)]
pub struct Survey {
    /// What was measured.
    pub name: String,
    /// The holes, in the order of the network.
    pub holes: Vec<MeasuredHole>,
    /// Edges with readings.
    pub edges: Vec<MeasuredEdge>,
    /// Faces whose height is known.
    pub faces: Vec<MeasuredFace>,
    /// Every reading, judged; in the order of the network.
    pub readings: Vec<JudgedReading>,
    /// Diameters that took part, judged like readings.
    pub diameters: Vec<JudgedReading>,
    /// Readings (diameters among them) in excess of what the unknowns need.
    pub redundancy: usize,
    /// √(vᵀPv / redundancy): achieved over claimed scatter; `None` without redundancy.
    pub scatter: Option<f64>,
    /// Probability that honest readings scatter less than these did.
    pub scatter_probability: Option<f64>,
    /// Covariance of the hole coordinates x1, y1, x2, y2 …, mm², row by row.
    pub covariance_mm2: Vec<Vec<f64>>,
    /// Everything worth saying.
    pub findings: Vec<Finding>,
}

/// A hole with its place.
#[derive(Debug, Clone, Serialize)]
pub struct MeasuredHole {
    /// Its name.
    pub name: String,
    /// Position, mm.
    pub x_mm: f64,
    /// Position, mm.
    pub y_mm: f64,
    /// Height of the face it starts at, mm.
    pub z_mm: Option<f64>,
    /// Standard deviation of x, mm.
    pub sd_x_mm: f64,
    /// Standard deviation of y, mm.
    pub sd_y_mm: f64,
    /// The region that holds the true centre 95 times in 100.
    pub ellipse: Ellipse,
    /// Diameter of the bore as adjusted, mm.
    pub bore_mm: Option<f64>,
    /// Thread designation, as given.
    pub thread: Option<String>,
}

/// An error ellipse at 95 %.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ellipse {
    /// Longer semi-axis, mm.
    pub major_mm: f64,
    /// Shorter semi-axis, mm.
    pub minor_mm: f64,
    /// Direction of the longer axis from +x, deg in (−90, 90].
    pub direction_deg: f64,
}

impl Ellipse {
    /// The 95 % ellipse of a covariance xx, xy, yy, mm².
    pub fn of(xx: f64, xy: f64, yy: f64) -> Self {
        let mean = 0.5 * (xx + yy);
        let half = (0.5 * (xx - yy)).hypot(xy);
        let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
        Self {
            major_mm: ELLIPSE_95 * (mean + half).max(0.0).sqrt(),
            minor_mm: ELLIPSE_95 * (mean - half).max(0.0).sqrt(),
            direction_deg: if half > 0.0 { angle.to_degrees() } else { 0.0 },
        }
    }
}

/// An edge as the readings place it.
#[derive(Debug, Clone, Serialize)]
pub struct MeasuredEdge {
    /// Its name.
    pub name: String,
    /// Distance of the frame's origin from it, counted towards the holes, mm (negative: the origin lies beyond the edge).
    pub origin_distance_mm: f64,
    /// Standard deviation of that, mm.
    pub sd_mm: f64,
    /// How far it is out of square, deg, counter-clockwise.
    pub out_of_square_deg: f64,
}

/// A face with its height.
#[derive(Debug, Clone, Serialize)]
pub struct MeasuredFace {
    /// Its name.
    pub name: String,
    /// Height along +z, mm.
    pub z_mm: f64,
    /// Standard deviation, mm.
    pub sd_mm: f64,
}

/// A reading and what the others say about it.
#[derive(Debug, Clone, Serialize)]
pub struct JudgedReading {
    /// Its number and what it is between.
    pub label: String,
    /// The unit it was written down in.
    pub unit: Unit,
    /// The reading, mm.
    pub value_mm: f64,
    /// Its standard deviation, mm.
    pub sd_mm: f64,
    /// What the result makes it, mm.
    pub fitted_mm: f64,
    /// Reading less fitted, mm.
    pub residual_mm: f64,
    /// Share of an error in it that shows in its own residual, 0 to 1; 0 where nothing checks it.
    pub redundancy: f64,
    /// Normalised residual; `None` where nothing checks the reading.
    pub w: Option<f64>,
    /// Smallest error the test finds four times in five, mm; `None` where nothing checks the reading.
    pub detectable_mm: Option<f64>,
    /// What is thought of it.
    pub verdict: Verdict,
}

/// What is thought of a reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "is")]
pub enum Verdict {
    /// It fits.
    Fits,
    /// No other reading checks it.
    Unchecked,
    /// It does not fit.
    Doubtful {
        /// The value that would fit, mm.
        would_fit_mm: f64,
        /// Standard deviation of that, mm.
        would_fit_sd_mm: f64,
        /// Whether the result was made without it.
        left_out: bool,
        /// The value seems to be in the wrong unit.
        inch_slip: bool,
    },
    /// It or the reading named could be the wrong one.
    Suspect,
}

/// A length checked by less than this share is not enough to rule out other shapes.
///
/// Redundant rigidity needs more than nothing; near nothing, the other shape fits within the noise.
const WEAK: f64 = 0.1;

/// A value that would fit is told when it is known better than this, mm: to a bolt's usual clearance (common practice, no source).
const WOULD_FIT_SD_MM: f64 = 1.0;

/// Scattered starts that are followed to the end when the first result explains the readings poorly.
const FRESH_STARTS: usize = 3;

/// Makes the sum.
///
/// # Errors
///
/// Every finding, when one of them is an error: a bad number or name, an
/// impossible reading, a network that can still move. Each names the reading
/// or hole and says what would mend it.
pub fn solve(network: &Network, options: Options) -> Result<Survey, Vec<Finding>> {
    let mut findings = Vec::new();
    let names = check::check(network, &mut findings);
    stop_on_error(&mut findings)?;
    let Some(system) = system::build(network, &names, &mut findings) else {
        return Err(findings);
    };
    triangle::reach(network, &system, &mut findings);
    stop_on_error(&mut findings)?;
    let mut bench = Workbench::new(&system);
    let ones = vec![1.0; system.observations.len()];
    let pool = start::solutions(&system, &mut bench, &ones);
    if let Some(triangles) = triangle::find(&system) {
        let doubted = pool
            .first()
            .map_or_else(Vec::new, |s| told_apart(&system, &mut bench, &s.x));
        triangles.complain(network, &system, &mut bench, &doubted, &mut findings);
        return Err(findings);
    }
    let Some(best) = pool.first() else {
        findings.push(no_solution());
        return Err(findings);
    };
    open_parts(network, &system, &mut bench, &best.x, &mut findings);
    stop_on_error(&mut findings)?;
    let Some(mut snooped) = doubt::snoop(&system, &mut bench, &best.x) else {
        findings.push(no_solution());
        return Err(findings);
    };
    if snooped.is_poor(&system) {
        // Many doubts may mean one wrong shape: look whether another start explains the readings with fewer.
        let links = start::links(&system);
        let mut fresh = start::scattered(&system, &mut bench, &ones, &links);
        fresh.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        for start in fresh.iter().take(FRESH_STARTS) {
            if let Some(other) = doubt::snoop(&system, &mut bench, &start.x)
                && other.is_better_than(&snooped)
            {
                snooped = other;
            }
        }
    }
    let doubt::Snooped {
        doubts,
        fit,
        weights,
    } = snooped;
    let sights = resolve_sights(network, &names);
    let fit = choose_shape(
        network,
        &system,
        &mut bench,
        &weights,
        fit,
        &sights,
        &mut findings,
    )?;
    let (fit, used) = if options.keep_doubtful && weights != ones {
        let kept = doubt::fit(&system, &mut bench, &ones, &fit.settled.x);
        (kept.unwrap_or(fit), ones)
    } else {
        (fit, weights)
    };
    if !fit.settled.converged {
        findings.push(no_solution());
        return Err(findings);
    }
    Ok(state(
        network, &system, &fit, &used, &doubts, options, findings,
    ))
}

/// The observations the residual test sets aside alone, each with the value that would fit and its deviation.
fn told_apart(system: &System, bench: &mut Workbench, x: &[f64]) -> Vec<(usize, f64, f64)> {
    let Some(snooped) = doubt::snoop(system, bench, x) else {
        return Vec::new();
    };
    snooped
        .doubts
        .iter()
        .filter(|d| d.or.is_empty() && snooped.weights[d.observation] == 0.0)
        .map(|d| {
            let j = &snooped.fit.judged[d.observation];
            let sd = system.observations[d.observation].sd.hypot(j.fitted_sd);
            (d.observation, j.fitted, sd)
        })
        .collect()
}

/// Ends the work when something found is an error.
fn stop_on_error(findings: &mut Vec<Finding>) -> Result<(), Vec<Finding>> {
    if findings.iter().any(|f| f.severity == Severity::Error) {
        return Err(std::mem::take(findings));
    }
    Ok(())
}

/// The error for a sum that does not settle.
fn no_solution() -> Finding {
    Finding::error(Matter::NoSolution, "the readings do not settle into any one pattern")
        .help("look for readings far from the truth, or take more of them between the holes that are worst off")
}

/// Says which parts can still move and what would hold them.
fn open_parts(
    network: &Network,
    system: &System,
    bench: &mut Workbench,
    x: &[f64],
    findings: &mut Vec<Finding>,
) {
    let weights = vec![1.0; system.observations.len()];
    let normal = bench.normal_at(system, &weights, x);
    if normal.cholesky().is_ok() {
        return;
    }
    let Some(freedom) = ambiguity::freedom(&normal) else {
        return;
    };
    let movers = freedom.movers(network, system);
    let cures: Vec<String> = freedom
        .cures(system, x)
        .into_iter()
        .map(|t| system::proposal_words(network, t, system))
        .collect();
    let count = freedom.count();
    let message = format!(
        "{} can still move: {} more {} needed",
        listed(&movers),
        count,
        if count == 1 {
            "reading is"
        } else {
            "readings are"
        }
    );
    let help = match cures.split_first() {
        Some((first, [])) => format!("the one that fixes it best: {first}"),
        Some((first, rest)) => format!("the one that fixes most: {first}; then {}", listed(rest)),
        None => "no reading between the holes can hold it".to_owned(),
    };
    let moving = network
        .holes
        .iter()
        .filter(|h| movers.contains(&format!("hole {}", h.name)))
        .map(|h| h.source);
    findings.push(Finding::error(Matter::Hinge, message).help(help).at(moving));
}

/// Names as a sentence has them.
pub(super) fn listed(names: &[String]) -> String {
    match names {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// The sights with their hole numbers.
fn resolve_sights(network: &Network, names: &Names) -> Vec<(usize, Sight, usize)> {
    network
        .sights
        .iter()
        .filter_map(|s| {
            Some((
                *names.holes.get(&s.hole)?,
                s.clone(),
                *names.holes.get(&s.of)?,
            ))
        })
        .collect()
}

/// Looks for other shapes, lets the sights decide, and says what stays open.
fn choose_shape(
    network: &Network,
    system: &System,
    bench: &mut Workbench,
    weights: &[f64],
    fit: Fit,
    sights: &[(usize, Sight, usize)],
    findings: &mut Vec<Finding>,
) -> Result<Fit, Vec<Finding>> {
    let unchecked =
        fit.judged.iter().zip(&system.observations).any(|(j, o)| {
            j.redundancy < WEAK && matches!(o.target, system::Target::Distance { .. })
        });
    let mut shapes = vec![fit.settled.clone()];
    shapes.extend(ambiguity::others(
        system,
        bench,
        weights,
        &fit.settled,
        unchecked,
    ));
    let mirrors: Vec<Settled> = shapes
        .iter()
        .filter_map(|s| {
            let points = ambiguity::whole_mirror(system, &s.x)?;
            Some(bench.settle_roughly(system, weights, &system.state(&points), 60))
        })
        .collect();
    let whole = shapes.len();
    shapes.extend(mirrors);
    let limit = shapes[0].cost + ambiguity::AS_GOOD;
    let seen: Vec<(usize, &Settled)> = shapes
        .iter()
        .enumerate()
        .filter(|(_, s)| s.cost <= limit && ambiguity::agrees(system, sights, &s.x))
        .collect();
    let Some((first, chosen)) = seen.first().copied() else {
        findings.push(
            Finding::error(
                Matter::Mirror,
                "no shape the readings allow shows what the sights say",
            )
            .help("look again at which hole lies above or beside which"),
        );
        return Err(std::mem::take(findings));
    };
    let rest: Vec<&Settled> = seen
        .iter()
        .skip(1)
        .filter(|(_, s)| !start::same(system, &s.x, &chosen.x))
        .map(|(_, s)| *s)
        .collect();
    let mirror_open = seen.iter().any(|(i, _)| (*i >= whole) != (first >= whole))
        && rest.iter().any(|s| whole_turned(system, &chosen.x, &s.x));
    say_shapes(network, system, chosen, &rest, mirror_open, findings);
    if first == 0 {
        return Ok(fit);
    }
    if let Some(fit) = doubt::fit(system, bench, weights, &chosen.x) {
        return Ok(fit);
    }
    findings.push(no_solution());
    Err(std::mem::take(findings))
}

/// Whether one solution is the whole mirror image of the other.
fn whole_turned(system: &System, x: &[f64], y: &[f64]) -> bool {
    ambiguity::whole_mirror(system, x).is_some_and(|points| {
        points.iter().enumerate().all(|(h, p)| {
            let q = system.hole(h, y);
            (p[0] - q[0]).hypot(p[1] - q[1]) < start::SAME_MM
        })
    })
}

/// Says which other shapes are possible and which reading would tell.
fn say_shapes(
    network: &Network,
    system: &System,
    chosen: &Settled,
    rest: &[&Settled],
    mirror_open: bool,
    findings: &mut Vec<Finding>,
) {
    if mirror_open && let Some((a, b, level)) = system.pair {
        let (side, up) = if level { ("above", 1) } else { ("right of", 0) };
        let off = (0..system.holes.len())
            .map(|h| {
                (
                    h,
                    system.hole(h, &chosen.x)[up] - system.hole(a, &chosen.x)[up],
                )
            })
            .max_by(|p, q| p.1.abs().total_cmp(&q.1.abs()));
        let (a, b) = (&network.holes[a].name, &network.holes[b].name);
        let hole = off.map_or(a, |(h, _)| &network.holes[h].name);
        findings.push(
            Finding::warning(
                Matter::Mirror,
                format!("the readings fit the mirror image in the line {a}–{b} just as well; the one with {hole} {side} it is shown"),
            )
            .help(format!(
                "no reading between holes can tell: look at the part and say whether {hole} lies {side} {a}, or take one reading from an edge"
            )),
        );
    }
    let mut told = 0;
    for other in rest {
        if whole_turned(system, &chosen.x, &other.x) || is_turned_twin(system, chosen, rest, other)
        {
            continue;
        }
        told += 1;
        if told > 4 {
            continue;
        }
        let moved: Vec<String> = (0..system.holes.len())
            .filter(|h| {
                let (p, q) = (system.hole(*h, &chosen.x), system.hole(*h, &other.x));
                (p[0] - q[0]).hypot(p[1] - q[1]) > start::SAME_MM
            })
            .map(|h| {
                let q = system.hole(h, &other.x);
                format!("{} at ({:.1}, {:.1})", network.holes[h].name, q[0], q[1])
            })
            .collect();
        let mut finding = Finding::warning(
            Matter::Mirror,
            format!(
                "the readings fit another shape as well, with {}",
                listed(&moved)
            ),
        );
        if let Some((target, here, there)) = ambiguity::teller(system, &chosen.x, &other.x) {
            finding = finding.help(format!(
                "the reading that tells best: {}, {here:.1} mm as shown, {there:.1} mm in the other shape",
                system::proposal_words(network, target, system)
            ));
        }
        // Shapes that differ by less than the words show are one to the reader.
        if findings.iter().any(|f| f.message == finding.message) {
            told -= 1;
            continue;
        }
        findings.push(finding);
    }
    if told > 4 {
        findings.push(Finding::warning(
            Matter::Mirror,
            format!("{} more shapes are possible", told - 4),
        ));
    }
}

/// Whether a shape is the whole mirror image of another one already listed.
fn is_turned_twin(system: &System, chosen: &Settled, rest: &[&Settled], other: &Settled) -> bool {
    // Of a shape and its whole mirror image the one on the chosen side is told, the other follows from it.
    let Some((a, _, level)) = system.pair else {
        return false;
    };
    let up = usize::from(level);
    let lean = |x: &[f64]| -> f64 {
        (0..system.holes.len())
            .map(|h| {
                let (p, a) = (system.hole(h, x)[up], system.hole(a, x)[up]);
                let here = system.hole(h, &chosen.x)[up] - system.hole(0, &chosen.x)[up];
                (p - a) * here
            })
            .sum()
    };
    rest.iter()
        .any(|s| whole_turned(system, &other.x, &s.x) && lean(&s.x) > lean(&other.x))
}

/// Writes the result down.
fn state(
    network: &Network,
    system: &System,
    fit: &Fit,
    weights: &[f64],
    doubts: &[Doubt],
    options: Options,
    mut findings: Vec<Finding>,
) -> Survey {
    let taking_part = weights.iter().filter(|w| **w > 0.0).count();
    let redundancy = taking_part.saturating_sub(system.unknowns);
    let cost = fit.settled.cost;
    let scatter = (redundancy > 0).then(|| (cost / redundancy as f64).sqrt());
    let factor = match (options.achieved_scatter, scatter) {
        (true, Some(s)) => s * s,
        _ => 1.0,
    };
    let judged = judged_readings(network, system, fit, weights, doubts);
    say_doubts(network, system, doubts, &judged, &mut findings);
    say_scatter(redundancy, cost, scatter, &mut findings);
    say_unchecked(network, system, &judged, &mut findings);
    let (readings, diameters) = judged
        .into_iter()
        .zip(&system.observations)
        .partition::<Vec<_>, _>(|(_, o)| o.reading.is_some());
    Survey {
        name: network.name.clone(),
        holes: measured_holes(network, system, fit, factor),
        edges: measured_edges(network, system, fit, factor),
        faces: measured_faces(network, system, fit, factor),
        readings: readings.into_iter().map(|p| p.0).collect(),
        diameters: diameters.into_iter().map(|p| p.0).collect(),
        redundancy,
        scatter,
        scatter_probability: (redundancy > 0).then(|| chi_square_below(cost, redundancy)),
        covariance_mm2: hole_covariance(system, &fit.covariance, factor),
        findings,
    }
}

/// Covariance between two coordinates.
fn between(covariance: &Square, a: Slot, b: Slot) -> f64 {
    match (a, b) {
        (Slot::Free(i), Slot::Free(j)) => covariance.at(i, j),
        _ => 0.0,
    }
}

/// Covariance of all hole coordinates.
fn hole_covariance(system: &System, covariance: &Square, factor: f64) -> Vec<Vec<f64>> {
    let slots: Vec<Slot> = system.holes.iter().flatten().copied().collect();
    slots
        .iter()
        .map(|a| {
            slots
                .iter()
                .map(|b| factor * between(covariance, *a, *b))
                .collect()
        })
        .collect()
}

/// The holes with their places and ellipses.
fn measured_holes(network: &Network, system: &System, fit: &Fit, factor: f64) -> Vec<MeasuredHole> {
    let x = &fit.settled.x;
    network
        .holes
        .iter()
        .enumerate()
        .map(|(index, hole)| {
            let [sx, sy] = system.holes[index];
            let p = system.hole(index, x);
            let c = |a, b| factor * between(&fit.covariance, a, b);
            let (xx, xy, yy) = (c(sx, sx), c(sx, sy), c(sy, sy));
            let face = hole
                .face
                .as_ref()
                .and_then(|name| network.faces.iter().position(|f| f.name == *name));
            let bore = system
                .rims
                .iter()
                .find(|r| r.hole == index && r.surface == Surface::Bore)
                .map(|r| x[r.slot])
                .or(hole.bore.map(|b| b.diameter_mm));
            MeasuredHole {
                name: hole.name.clone(),
                x_mm: p[0],
                y_mm: p[1],
                z_mm: face.and_then(|f| system.faces[f]).map(|s| s.value(x)),
                sd_x_mm: xx.max(0.0).sqrt(),
                sd_y_mm: yy.max(0.0).sqrt(),
                ellipse: Ellipse::of(xx, xy, yy),
                bore_mm: bore,
                thread: hole.thread.clone(),
            }
        })
        .collect()
}

/// The edges that have readings.
fn measured_edges(network: &Network, system: &System, fit: &Fit, factor: f64) -> Vec<MeasuredEdge> {
    let x = &fit.settled.x;
    system
        .lines
        .iter()
        .map(|line| MeasuredEdge {
            name: network.edges[line.edge].name.clone(),
            origin_distance_mm: -line.offset.value(x),
            sd_mm: (factor * between(&fit.covariance, line.offset, line.offset))
                .max(0.0)
                .sqrt(),
            out_of_square_deg: (line.turn.value(x) / system::TURN_ARM_MM).to_degrees(),
        })
        .collect()
}

/// The faces with known heights.
fn measured_faces(network: &Network, system: &System, fit: &Fit, factor: f64) -> Vec<MeasuredFace> {
    network
        .faces
        .iter()
        .zip(&system.faces)
        .filter_map(|(face, slot)| {
            let slot = (*slot)?;
            Some(MeasuredFace {
                name: face.name.clone(),
                z_mm: slot.value(&fit.settled.x),
                sd_mm: (factor * between(&fit.covariance, slot, slot))
                    .max(0.0)
                    .sqrt(),
            })
        })
        .collect()
}

/// Every observation with its verdict.
fn judged_readings(
    network: &Network,
    system: &System,
    fit: &Fit,
    weights: &[f64],
    doubts: &[Doubt],
) -> Vec<JudgedReading> {
    system
        .observations
        .iter()
        .enumerate()
        .map(|(i, o)| {
            let j = &fit.judged[i];
            let left_out = weights[i] == 0.0;
            let verdict = if doubts.iter().any(|d| d.observation == i) {
                // In a fit it takes part in, an error shows only by its redundancy share.
                let (fits, sd) = if left_out || j.redundancy <= 0.0 {
                    (j.fitted, j.fitted_sd)
                } else {
                    let gap = j.residual / j.redundancy;
                    let sd = o.sd * (1.0 / j.redundancy - 1.0).max(0.0).sqrt();
                    (o.value - gap, sd)
                };
                Verdict::Doubtful {
                    would_fit_mm: fits,
                    would_fit_sd_mm: (sd * sd + o.sd * o.sd).sqrt(),
                    left_out,
                    inch_slip: inch_slip(o.value, fits, sd),
                }
            } else if doubts.iter().any(|d| d.or.contains(&i)) {
                Verdict::Suspect
            } else if j.w.is_none() {
                Verdict::Unchecked
            } else {
                Verdict::Fits
            };
            let inch = o
                .reading
                .is_some_and(|r| network.readings[r].unit == Unit::Inch);
            JudgedReading {
                label: o.label.clone(),
                unit: if inch { Unit::Inch } else { Unit::Mm },
                value_mm: o.value,
                sd_mm: o.sd,
                fitted_mm: j.fitted,
                residual_mm: j.residual,
                redundancy: if j.w.is_some() { j.redundancy } else { 0.0 },
                w: j.w,
                detectable_mm: j.w.map(|_| DETECTION_SHIFT * o.sd / j.redundancy.sqrt()),
                verdict,
            }
        })
        .collect()
}

/// Whether a value becomes the one that fits when inch and millimetre are exchanged.
pub(super) fn inch_slip(value: f64, fits: f64, sd: f64) -> bool {
    // A pattern half right may be a millimetre off; the factor 25.4 leaves no doubt all the same.
    let room = (4.0 * sd).max(1.0);
    [value * MM_PER_INCH, value / MM_PER_INCH]
        .iter()
        .any(|v| (v - fits).abs() < room && (value - fits).abs() > 10.0 * room)
}

/// Where an observation is written: its reading, or the hole whose diameter it is.
fn source(network: &Network, system: &System, observation: usize) -> Option<usize> {
    let o = &system.observations[observation];
    match (o.reading, o.target) {
        (Some(r), _) => network.readings[r].source,
        (None, system::Target::Diameter { rim }) => network.holes[system.rims[rim].hole].source,
        _ => None,
    }
}

/// Names the doubtful readings.
fn say_doubts(
    network: &Network,
    system: &System,
    doubts: &[Doubt],
    judged: &[JudgedReading],
    findings: &mut Vec<Finding>,
) {
    for doubt in doubts {
        let j = &judged[doubt.observation];
        let Verdict::Doubtful {
            would_fit_mm,
            would_fit_sd_mm,
            left_out,
            inch_slip,
        } = j.verdict
        else {
            continue;
        };
        let matter = if inch_slip {
            Matter::InchSlip
        } else {
            Matter::Doubtful
        };
        // Where the others hardly hold a reading, what they make of it says nothing.
        let would = if would_fit_sd_mm < WOULD_FIT_SD_MM {
            format!(": {would_fit_mm:.2} ± {would_fit_sd_mm:.2} mm would")
        } else {
            String::new()
        };
        let message = format!(
            "{} is {:.3} mm and does not fit{would} (normalised residual {:.1})",
            j.label, j.value_mm, doubt.w
        );
        let mut help = if inch_slip {
            let (from, to) = if would_fit_mm > j.value_mm {
                ("inches", "mm")
            } else {
                ("mm", "inches")
            };
            format!("it looks as if {from} were taken for {to}: check the unit")
        } else {
            "measure it again".to_owned()
        };
        if !doubt.or.is_empty() {
            let others: Vec<String> = doubt
                .or
                .iter()
                .map(|i| system.observations[*i].label.clone())
                .collect();
            help = format!(
                "{help}; the fault could as well be in {}: the readings cannot tell which",
                listed(&others)
            );
        }
        help.push_str(if left_out {
            "; the result was made without it"
        } else {
            "; it still took part in the result"
        });
        findings.push(
            Finding::warning(matter, message)
                .help(help)
                .at(std::iter::once(&doubt.observation)
                    .chain(&doubt.or)
                    .map(|i| source(network, system, *i))),
        );
    }
}

/// Says when the readings as a whole scatter beyond chance.
fn say_scatter(redundancy: usize, cost: f64, scatter: Option<f64>, findings: &mut Vec<Finding>) {
    let Some(scatter) = scatter else {
        findings.push(
            Finding::warning(
                Matter::Unchecked,
                "there are just as many readings as needed: nothing checks any of them",
            )
            .help("take at least two more readings than needed, between holes far apart"),
        );
        return;
    };
    let outside = 0.5 * (1.0 - CONFIDENCE);
    if cost > chi_square_quantile(1.0 - outside, redundancy) {
        findings.push(
            Finding::warning(
                Matter::Scatter,
                format!("the readings scatter {scatter:.2} times as much as stated"),
            )
            .help("state a larger uncertainty, or look for several small errors"),
        );
    } else if cost < chi_square_quantile(outside, redundancy) {
        findings.push(Finding::note(
            Matter::Scatter,
            format!("the readings scatter only {scatter:.2} times as much as stated: the uncertainty is on the safe side"),
        ));
    }
}

/// Says which readings nothing checks.
fn say_unchecked(
    network: &Network,
    system: &System,
    judged: &[JudgedReading],
    findings: &mut Vec<Finding>,
) {
    let unchecked = || (0..judged.len()).filter(|i| judged[*i].verdict == Verdict::Unchecked);
    let open: Vec<String> = unchecked().map(|i| judged[i].label.clone()).collect();
    if open.is_empty() || open.len() == judged.len() {
        return;
    }
    let (verb, it) = if open.len() == 1 {
        ("is", "it")
    } else {
        ("are", "them")
    };
    findings.push(
        Finding::note(
            Matter::Unchecked,
            format!("{} {verb} not checked by any other reading", listed(&open)),
        )
        .help(format!(
            "an error in {it} would go straight into the result: take {it} twice"
        ))
        .at(unchecked().map(|i| source(network, system, i))),
    );
}
