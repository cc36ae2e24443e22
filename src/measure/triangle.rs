//! Looks for readings that cannot be true whatever the pattern is.

use crate::units::MM_PER_INCH;

use super::adjust::Workbench;
use super::check::IMPOSSIBLE_SD;
use super::doubt;
use super::finding::{Finding, Matter};
use super::network::Network;
use super::start::{self, Link};
use super::statistics::chi_square_quantile;
use super::system::{Slot, System, Target};

/// A contradiction smaller than this is left to the residual test where there are readings to spare, mm.
///
/// Common practice, no source: below it the other readings still give a usable pattern.
const GROSS_MM: f64 = 2.0;

/// The same where nothing is to spare, mm.
const GROSS_UNCHECKED_MM: f64 = 0.5;

/// Complains about holes no reading reaches and readings shorter than the holes they span.
pub(super) fn reach(network: &Network, system: &System, findings: &mut Vec<Finding>) {
    let mut reached = vec![false; network.holes.len()];
    for o in &system.observations {
        match o.target {
            Target::Distance { a, b, .. } => {
                reached[a] = true;
                reached[b] = true;
            }
            Target::FromLine { hole, .. } => reached[hole] = true,
            _ => {}
        }
    }
    for (hole, reached) in network.holes.iter().zip(&reached) {
        if !reached && hole.known_mm.is_none() {
            findings.push(
                Finding::error(
                    Matter::TooFew,
                    format!("no reading reaches hole {}", hole.name),
                )
                .help("take two readings to it at least, three to have one to spare")
                .at([hole.source]),
            );
        }
    }
    overlaps(network, system, findings);
}

/// Complains about centre distances that put one hole into another.
fn overlaps(network: &Network, system: &System, findings: &mut Vec<Finding>) {
    for (link, index) in start::links(system).iter().zip(distance_readings(system)) {
        let rims: f64 = [link.a, link.b]
            .iter()
            .map(|h| {
                let hole = &network.holes[*h];
                0.5 * hole.bore.or(hole.pin).map_or(0.0, |s| s.diameter_mm)
            })
            .sum();
        if link.length + IMPOSSIBLE_SD * link.sd > rims {
            continue;
        }
        let o = &system.observations[index];
        let slip = link.length + o.value * (MM_PER_INCH - 1.0) > rims;
        findings.push(
            Finding::error(
                if slip { Matter::InchSlip } else { Matter::Overlap },
                format!(
                    "{} is {:.3} mm, which puts the centres {:.2} mm apart: the holes themselves need {rims:.2} mm",
                    o.label, o.value, link.length
                ),
            )
            .help(if slip {
                "check the unit: it looks as if inches were taken for mm"
            } else {
                "check which sides the jaws touched, and the diameters"
            })
            .at([o.reading.and_then(|r| network.readings[r].source)]),
        );
    }
}

/// The observations that are distances, in the order of [`start::links`].
fn distance_readings(system: &System) -> Vec<usize> {
    (0..system.observations.len())
        .filter(|i| matches!(system.observations[*i].target, Target::Distance { .. }))
        .collect()
}

/// Three distances that cannot close.
#[derive(Debug, Clone, Copy)]
struct Broken {
    /// The longest first.
    sides: [usize; 3],
}

/// The triangles of a network that cannot close.
#[derive(Debug)]
pub(super) struct Triangles {
    links: Vec<Link>,
    /// The observation of each link; links beyond these are between known holes.
    readings: Vec<usize>,
    broken: Vec<Broken>,
    holes: usize,
    gross: f64,
}

/// Looks for triangles that cannot close, whatever the pattern is.
pub(super) fn find(system: &System) -> Option<Triangles> {
    let mut links = start::links(system);
    known_sides(system, &mut links);
    let holes = system.holes.len();
    let gross = if system.observations.len() > system.unknowns {
        GROSS_MM
    } else {
        GROSS_UNCHECKED_MM
    };
    let broken = broken(&links, holes, gross);
    (!broken.is_empty()).then(|| Triangles {
        links,
        readings: distance_readings(system),
        broken,
        holes,
        gross,
    })
}

impl Triangles {
    /// Complains, naming the reading at fault where it can be told.
    ///
    /// `doubted` are the observations the residual test would set aside, each
    /// with the value that would fit and its deviation.
    pub(super) fn complain(
        &self,
        network: &Network,
        system: &System,
        bench: &mut Workbench,
        doubted: &[(usize, f64, f64)],
        findings: &mut Vec<Finding>,
    ) {
        let mut open = self.broken.clone();
        // The reading in most of the broken triangles explains most; then the next.
        while let Some(first) = open.first().copied() {
            let by_fit = || {
                let link = |d: &(usize, f64, f64)| self.readings.iter().position(|o| *o == d.0);
                doubted
                    .iter()
                    .find_map(|d| link(d).filter(|l| first.sides.contains(l)))
            };
            if let Some(link) = self.culprit(system, &open, first).or_else(by_fit) {
                let slip = self.slip_mends(system, link, &open);
                let fit = self.value_without(system, bench, link);
                findings.push(self.named(network, system, &open, link, slip, fit));
                open.retain(|b| !b.sides.contains(&link));
            } else {
                findings.push(self.three(network, system, first));
                open.remove(0);
            }
        }
    }

    /// What the other readings make of a link, every other broken triangle left to the capped fit.
    fn value_without(
        &self,
        system: &System,
        bench: &mut Workbench,
        link: usize,
    ) -> Option<(f64, f64)> {
        let observation = *self.readings.get(link)?;
        let mut weights = vec![1.0; system.observations.len()];
        weights[observation] = 0.0;
        let pool = start::solutions(system, bench, &weights);
        let fit = doubt::fit(system, bench, &weights, &pool.first()?.x)?;
        let spare = (system.observations.len() - 1).checked_sub(system.unknowns)?;
        // Only a fit that is one itself has something to say.
        if fit.settled.cost > chi_square_quantile(0.9999, spare.max(1)) {
            return None;
        }
        let j = &fit.judged[observation];
        Some((
            j.fitted,
            system.observations[observation].sd.hypot(j.fitted_sd),
        ))
    }

    /// The one link that explains most of the open triangles, if there is one.
    fn culprit(&self, system: &System, open: &[Broken], first: Broken) -> Option<usize> {
        let count = |i: usize| open.iter().filter(|b| b.sides.contains(&i)).count();
        let mut ranked: Vec<(usize, usize)> =
            (0..self.readings.len()).map(|i| (count(i), i)).collect();
        ranked.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
        match ranked.as_slice() {
            [a, b, ..] if a.0 > b.0 => return Some(a.1),
            [a] => return Some(a.1),
            _ => {}
        }
        let slips: Vec<usize> = first
            .sides
            .into_iter()
            .filter(|i| self.slip_mends(system, *i, open))
            .collect();
        match slips.as_slice() {
            [one] => Some(*one),
            _ => None,
        }
    }

    /// The name of a link.
    fn name(&self, system: &System, link: usize) -> String {
        match self.readings.get(link) {
            Some(o) => system.observations[*o].label.clone(),
            None => "the known distance".to_owned(),
        }
    }

    /// Where a link stands in its file.
    fn source(&self, network: &Network, system: &System, link: usize) -> Option<usize> {
        let reading = system.observations[*self.readings.get(link)?].reading?;
        network.readings[reading].source
    }

    /// An error that names one reading.
    fn named(
        &self,
        network: &Network,
        system: &System,
        open: &[Broken],
        link: usize,
        slip: bool,
        fit: Option<(f64, f64)>,
    ) -> Finding {
        let mine: Vec<&Broken> = open.iter().filter(|b| b.sides.contains(&link)).collect();
        let sides = mine.first().map_or(String::new(), |b| {
            let [l, p, q] = b.sides.map(|s| self.links[s].length);
            format!(": {l:.2} mm is more than {p:.2} and {q:.2} mm together")
        });
        let plural = if mine.len() == 1 {
            "triangle"
        } else {
            "triangles"
        };
        let matter = if slip {
            Matter::InchSlip
        } else {
            Matter::ImpossibleTriangle
        };
        let advice = if slip {
            "with inch and mm exchanged it would fit: check the unit"
        } else {
            "measure it again"
        };
        let help = match fit {
            Some((fits, sd)) => {
                format!("the other readings make it {fits:.2} ± {sd:.2} mm; {advice}")
            }
            None => advice.to_owned(),
        };
        Finding::error(
            matter,
            format!(
                "{} makes {} {plural} of readings impossible{sides}",
                self.name(system, link),
                mine.len()
            ),
        )
        .help(help)
        .at([self.source(network, system, link)])
    }

    /// An error that names the three readings of a triangle.
    fn three(&self, network: &Network, system: &System, triangle: Broken) -> Finding {
        let [long, p, q] = triangle.sides;
        let length = |i: usize| self.links[i].length;
        Finding::error(
            Matter::ImpossibleTriangle,
            format!(
                "{}, {} and {} cannot form a triangle: {:.2} mm is more than {:.2} and {:.2} mm together",
                self.name(system, long),
                self.name(system, p),
                self.name(system, q),
                length(long),
                length(p),
                length(q)
            ),
        )
        .help("one of the three is wrong: measure them again")
        .at(triangle.sides.map(|i| self.source(network, system, i)))
    }

    /// Whether exchanging inch and millimetre in one reading closes every triangle it is in.
    fn slip_mends(&self, system: &System, link: usize, open: &[Broken]) -> bool {
        let Some(observation) = self.readings.get(link) else {
            return false;
        };
        let value = system.observations[*observation].value;
        open.iter().any(|b| b.sides.contains(&link))
            && [MM_PER_INCH, 1.0 / MM_PER_INCH].iter().any(|factor| {
                let mut changed = self.links.clone();
                changed[link].length += value * (factor - 1.0);
                let after = broken(&changed, self.holes, self.gross);
                changed[link].length > 0.0 && !after.iter().any(|b| b.sides.contains(&link))
            })
    }
}

/// Adds the distances between known holes, so that readings are held against them too.
fn known_sides(system: &System, links: &mut Vec<Link>) {
    let fixed: Vec<(usize, [f64; 2])> = system
        .holes
        .iter()
        .enumerate()
        .filter_map(|(i, s)| match s {
            [Slot::Fixed(x), Slot::Fixed(y)] => Some((i, [*x, *y])),
            _ => None,
        })
        .collect();
    for (k, (a, p)) in fixed.iter().enumerate() {
        for (b, q) in &fixed[k + 1..] {
            links.push(Link {
                a: *a,
                b: *b,
                length: (p[0] - q[0]).hypot(p[1] - q[1]),
                sd: 1e-3,
            });
        }
    }
}

/// Every triangle of readings that cannot close.
fn broken(links: &[Link], holes: usize, gross: f64) -> Vec<Broken> {
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); holes * holes];
    for (i, l) in links.iter().enumerate() {
        at[l.a.min(l.b) * holes + l.a.max(l.b)].push(i);
    }
    let mut list = Vec::new();
    for a in 0..holes {
        for b in a + 1..holes {
            for c in b + 1..holes {
                for i in &at[a * holes + b] {
                    for j in &at[b * holes + c] {
                        for k in &at[a * holes + c] {
                            if let Some(found) = closes(links, [*i, *j, *k], gross) {
                                list.push(found);
                            }
                        }
                    }
                }
            }
        }
    }
    list
}

/// The three sides, longest first, when they cannot close.
fn closes(links: &[Link], mut sides: [usize; 3], gross: f64) -> Option<Broken> {
    sides.sort_by(|p, q| links[*q].length.total_cmp(&links[*p].length));
    let [l, p, q] = sides.map(|s| links[s]);
    let over = l.length - p.length - q.length;
    let noise = (l.sd * l.sd + p.sd * p.sd + q.sd * q.sd).sqrt();
    (over > gross.max(IMPOSSIBLE_SD * noise)).then_some(Broken { sides })
}
