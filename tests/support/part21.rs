//! A strict reader of STEP text: it believes nothing that the file says twice.
//!
//! Kernels heal what they read; this does not. It resolves every reference,
//! wants every edge used once each way, loops chained, vertices on their
//! curves, edges on their surfaces, and loops that run counter-clockwise about
//! the normal that the face claims.

use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};

/// How far a vertex may lie off its curve and an edge off its surface, mm.
const PLACE_MM: f64 = 1e-9;

/// An argument of an entity.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    Ref(u32),
    Real(f64),
    Integer(i64),
    Text(String),
    Flag(String),
    List(Vec<Value>),
    Typed(String, Vec<Value>),
    Derived,
    Unset,
}

/// An instance: keyword and arguments, or several for a complex one.
type Entity = Vec<(String, Vec<Value>)>;

/// A parsed file.
#[derive(Debug)]
pub(crate) struct File {
    pub(crate) entities: BTreeMap<u32, Entity>,
}

/// What a checked file holds, for comparison with what it should.
#[derive(Debug, Default, PartialEq)]
pub(crate) struct Summary {
    pub(crate) solids: usize,
    pub(crate) planes: usize,
    pub(crate) cylinders: Vec<f64>,
    pub(crate) cones: Vec<f64>,
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

type Fault<T> = Result<T, String>;

impl Reader<'_> {
    fn peek(&self) -> u8 {
        self.bytes.get(self.at).copied().unwrap_or(0)
    }

    fn space(&mut self) {
        while self.peek().is_ascii_whitespace() {
            self.at += 1;
        }
    }

    fn eat(&mut self, byte: u8) -> Fault<()> {
        self.space();
        if self.peek() == byte {
            self.at += 1;
            return Ok(());
        }
        let until = self.bytes.len().min(self.at + 30);
        let rest = String::from_utf8_lossy(&self.bytes[self.at..until]).into_owned();
        Err(format!("expected {:?} at {rest:?}", byte as char))
    }

    fn word(&mut self) -> String {
        let start = self.at;
        while self.peek().is_ascii_uppercase()
            || self.peek().is_ascii_digit()
            || self.peek() == b'_'
        {
            self.at += 1;
        }
        String::from_utf8_lossy(&self.bytes[start..self.at]).into_owned()
    }

    fn digits(&mut self) -> String {
        let start = self.at;
        while self.peek().is_ascii_digit() {
            self.at += 1;
        }
        String::from_utf8_lossy(&self.bytes[start..self.at]).into_owned()
    }

    /// `[sign] digits [. [digits] [E [sign] digits]]`, as ISO 10303-21 has it.
    fn number(&mut self) -> Fault<Value> {
        let start = self.at;
        if matches!(self.peek(), b'+' | b'-') {
            self.at += 1;
        }
        if self.digits().is_empty() {
            return Err(format!("a number without digits at byte {start}"));
        }
        let real = self.peek() == b'.';
        if real {
            self.at += 1;
            self.digits();
            if self.peek() == b'E' {
                self.at += 1;
                if matches!(self.peek(), b'+' | b'-') {
                    self.at += 1;
                }
                if self.digits().is_empty() {
                    return Err(format!("an exponent without digits at byte {start}"));
                }
            }
        }
        let text = String::from_utf8_lossy(&self.bytes[start..self.at]).into_owned();
        if matches!(self.peek(), b',' | b')') {
            return if real {
                text.parse()
                    .map(Value::Real)
                    .map_err(|e| format!("{text}: {e}"))
            } else {
                text.parse()
                    .map(Value::Integer)
                    .map_err(|e| format!("{text}: {e}"))
            };
        }
        Err(format!("{text:?} goes on with {:?}", self.peek() as char))
    }

    fn text(&mut self) -> Fault<Value> {
        self.eat(b'\'')?;
        let mut found = Vec::new();
        loop {
            let byte = self.peek();
            if !(b' '..=b'~').contains(&byte) {
                return Err(format!("byte {byte} in a string"));
            }
            self.at += 1;
            if byte == b'\'' {
                if self.peek() != b'\'' {
                    return Ok(Value::Text(String::from_utf8_lossy(&found).into_owned()));
                }
                self.at += 1;
            }
            found.push(byte);
        }
    }

    fn value(&mut self) -> Fault<Value> {
        self.space();
        match self.peek() {
            b'#' => {
                self.at += 1;
                let digits = self.digits();
                digits
                    .parse()
                    .map(Value::Ref)
                    .map_err(|e| format!("#{digits}: {e}"))
            }
            b'\'' => self.text(),
            b'(' => self.list().map(Value::List),
            b'.' => {
                self.at += 1;
                let word = self.word();
                self.eat(b'.')?;
                Ok(Value::Flag(word))
            }
            b'*' => {
                self.at += 1;
                Ok(Value::Derived)
            }
            b'$' => {
                self.at += 1;
                Ok(Value::Unset)
            }
            byte if byte.is_ascii_uppercase() => {
                let word = self.word();
                Ok(Value::Typed(word, self.list()?))
            }
            _ => self.number(),
        }
    }

    fn list(&mut self) -> Fault<Vec<Value>> {
        self.eat(b'(')?;
        let mut values = Vec::new();
        self.space();
        if self.peek() == b')' {
            self.at += 1;
            return Ok(values);
        }
        loop {
            values.push(self.value()?);
            self.space();
            if self.peek() == b',' {
                self.at += 1;
            } else {
                self.eat(b')')?;
                return Ok(values);
            }
        }
    }

    fn entity(&mut self) -> Fault<(u32, Entity)> {
        self.eat(b'#')?;
        let digits = self.digits();
        let id = digits.parse().map_err(|e| format!("#{digits}: {e}"))?;
        self.eat(b'=')?;
        self.space();
        let mut parts = Vec::new();
        if self.peek() == b'(' {
            self.at += 1;
            self.space();
            while self.peek() != b')' {
                let word = self.word();
                parts.push((word, self.list()?));
                self.space();
            }
            self.at += 1;
        } else {
            let word = self.word();
            parts.push((word, self.list()?));
        }
        self.eat(b';')?;
        Ok((id, parts))
    }
}

impl File {
    /// Parses the data section.
    pub(crate) fn parse(text: &str) -> Fault<Self> {
        let (start, end) = ("\nDATA;\n", "ENDSEC;\nEND-ISO-10303-21;\n");
        if !text.starts_with("ISO-10303-21;\nHEADER;\n") || !text.ends_with(end) {
            return Err("not an exchange structure".into());
        }
        let data = text.split_once(start).ok_or("no data section")?.1;
        let mut reader = Reader {
            bytes: &data.as_bytes()[..data.len() - end.len()],
            at: 0,
        };
        let mut entities = BTreeMap::new();
        reader.space();
        while reader.at < reader.bytes.len() {
            let (id, entity) = reader.entity()?;
            if entities.insert(id, entity).is_some() {
                return Err(format!("#{id} is there twice"));
            }
            reader.space();
        }
        Ok(Self { entities })
    }

    /// Arguments of `#id`, which must be one of `keywords`.
    fn get(&self, id: u32, keywords: &[&str]) -> Fault<(&str, &[Value])> {
        match self.entities.get(&id).map(Vec::as_slice) {
            Some([(word, values)]) if keywords.contains(&word.as_str()) => Ok((word, values)),
            Some(other) => Err(format!("#{id} is {:?}, not {keywords:?}", other[0].0)),
            None => Err(format!("#{id} is not there")),
        }
    }

    /// Instances with one keyword.
    pub(crate) fn all<'a>(&'a self, keyword: &'a str) -> impl Iterator<Item = (u32, &'a [Value])> {
        self.entities
            .iter()
            .filter_map(move |(id, parts)| match parts.as_slice() {
                [(word, values)] if word == keyword => Some((*id, values.as_slice())),
                _ => None,
            })
    }

    fn triple(&self, id: u32, keyword: &str) -> Fault<[f64; 3]> {
        let (_, values) = self.get(id, &[keyword])?;
        match values {
            [Value::Text(_), Value::List(xyz)] => match xyz.as_slice() {
                [Value::Real(x), Value::Real(y), Value::Real(z)] => Ok([*x, *y, *z]),
                _ => Err(format!("#{id} has no three reals")),
            },
            _ => Err(format!("#{id} has other arguments")),
        }
    }

    fn seat(&self, id: u32) -> Fault<Seat> {
        let (_, values) = self.get(id, &["AXIS2_PLACEMENT_3D"])?;
        let [
            Value::Text(_),
            Value::Ref(origin),
            Value::Ref(axis),
            Value::Ref(x),
        ] = values
        else {
            return Err(format!("#{id} has other arguments"));
        };
        let seat = Seat {
            origin: self.triple(*origin, "CARTESIAN_POINT")?,
            axis: self.triple(*axis, "DIRECTION")?,
            x: self.triple(*x, "DIRECTION")?,
        };
        let off = (dot(seat.axis, seat.axis) - 1.0)
            .abs()
            .max((dot(seat.x, seat.x) - 1.0).abs())
            .max(dot(seat.axis, seat.x).abs());
        if off > 1e-14 {
            return Err(format!("#{id} is not square and of length one: {off:e}"));
        }
        Ok(seat)
    }

    fn vertex(&self, id: u32) -> Fault<[f64; 3]> {
        match self.get(id, &["VERTEX_POINT"])?.1 {
            [Value::Text(_), Value::Ref(point)] => self.triple(*point, "CARTESIAN_POINT"),
            _ => Err(format!("#{id} has other arguments")),
        }
    }

    fn edge(&self, id: u32) -> Fault<Edge> {
        let (_, values) = self.get(id, &["EDGE_CURVE"])?;
        let [
            Value::Text(_),
            Value::Ref(from),
            Value::Ref(to),
            Value::Ref(curve),
            Value::Flag(sense),
        ] = values
        else {
            return Err(format!("#{id} has other arguments"));
        };
        if sense != "T" {
            return Err(format!("#{id} runs against its curve"));
        }
        let (a, b) = (self.vertex(*from)?, self.vertex(*to)?);
        let points = match self.get(*curve, &["LINE", "CIRCLE"])? {
            ("LINE", [Value::Text(_), Value::Ref(point), Value::Ref(vector)]) => {
                let start = self.triple(*point, "CARTESIAN_POINT")?;
                let [Value::Text(_), Value::Ref(direction), Value::Real(length)] =
                    self.get(*vector, &["VECTOR"])?.1
                else {
                    return Err(format!("#{vector} has other arguments"));
                };
                let d = self.triple(*direction, "DIRECTION")?;
                if (dot(d, d) - 1.0).abs() > 1e-14 || *length <= 0.0 {
                    return Err(format!("#{direction} is not of length one"));
                }
                for p in [a, b] {
                    let off = norm(cross(minus(p, start), d));
                    if off > PLACE_MM {
                        return Err(format!("a vertex lies {off:e} mm off line #{id}"));
                    }
                }
                if dot(minus(b, a), d) <= 0.0 {
                    return Err(format!("#{id} runs against its line"));
                }
                (0..=4)
                    .map(|k| along(a, minus(b, a), f64::from(k) / 4.0))
                    .collect()
            }
            ("CIRCLE", [Value::Text(_), Value::Ref(seat), Value::Real(radius)]) => {
                let seat = self.seat(*seat)?;
                for p in [a, b] {
                    let [x, y, z] = seat.local(p);
                    let off = (x.hypot(y) - radius).hypot(z);
                    if off > PLACE_MM {
                        return Err(format!("a vertex lies {off:e} mm off circle #{id}"));
                    }
                }
                let angle = |p| {
                    let [x, y, _] = seat.local(p);
                    y.atan2(x)
                };
                let start = angle(a);
                let mut sweep = if from == to { TAU } else { angle(b) - start };
                while sweep <= 0.0 {
                    sweep += TAU;
                }
                (0..=32)
                    .map(|k| seat.circle(*radius, start + sweep * f64::from(k) / 32.0))
                    .collect()
            }
            _ => return Err(format!("#{curve} has other arguments")),
        };
        Ok(Edge {
            from: *from,
            to: *to,
            points,
        })
    }

    /// Checks everything; answers what the file holds, or every fault.
    pub(crate) fn check(&self) -> Result<Summary, Vec<String>> {
        let mut faults = self.references();
        let mut summary = Summary::default();
        for (id, values) in self.all("MANIFOLD_SOLID_BREP") {
            summary.solids += 1;
            if let Err(fault) = self.solid(values, &mut summary, &mut faults) {
                faults.push(format!("solid #{id}: {fault}"));
            }
        }
        summary.cylinders.sort_by(f64::total_cmp);
        summary.cones.sort_by(f64::total_cmp);
        if faults.is_empty() {
            Ok(summary)
        } else {
            Err(faults)
        }
    }

    /// References to nothing, and instances that nothing refers to.
    fn references(&self) -> Vec<String> {
        fn walk(values: &[Value], found: &mut Vec<u32>) {
            for value in values {
                match value {
                    Value::Ref(id) => found.push(*id),
                    Value::List(inner) | Value::Typed(_, inner) => walk(inner, found),
                    _ => {}
                }
            }
        }
        const ROOTS: [&str; 5] = [
            "APPLICATION_PROTOCOL_DEFINITION",
            "PRODUCT_RELATED_PRODUCT_CATEGORY",
            "SHAPE_DEFINITION_REPRESENTATION",
            "CONTEXT_DEPENDENT_SHAPE_REPRESENTATION",
            "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION",
        ];
        let mut used = Vec::new();
        for (_, values) in self.entities.values().flatten() {
            walk(values, &mut used);
        }
        used.sort_unstable();
        used.dedup();
        let mut faults: Vec<String> = used
            .iter()
            .filter(|id| !self.entities.contains_key(id))
            .map(|id| format!("#{id} is not there"))
            .collect();
        for (id, parts) in &self.entities {
            if used.binary_search(id).is_err() && !ROOTS.contains(&parts[0].0.as_str()) {
                faults.push(format!("nothing refers to #{id} {}", parts[0].0));
            }
        }
        faults
    }

    fn solid(
        &self,
        values: &[Value],
        summary: &mut Summary,
        faults: &mut Vec<String>,
    ) -> Fault<()> {
        let [Value::Text(_), Value::Ref(shell)] = values else {
            return Err("other arguments".into());
        };
        let [Value::Text(_), Value::List(faces)] = self.get(*shell, &["CLOSED_SHELL"])?.1 else {
            return Err(format!("#{shell} has other arguments"));
        };
        let mut uses: BTreeMap<u32, Vec<bool>> = BTreeMap::new();
        for face in faces {
            let Value::Ref(id) = face else {
                return Err(format!("#{shell} holds {face:?}"));
            };
            if let Err(fault) = self.face(*id, &mut uses, summary) {
                faults.push(format!("face #{id}: {fault}"));
            }
        }
        for (edge, mut ways) in uses {
            ways.sort_unstable();
            if ways != [false, true] {
                faults.push(format!("edge #{edge} is used {ways:?}, not once each way"));
            }
        }
        Ok(())
    }

    fn face(
        &self,
        id: u32,
        uses: &mut BTreeMap<u32, Vec<bool>>,
        summary: &mut Summary,
    ) -> Fault<()> {
        let [
            Value::Text(_),
            Value::List(bounds),
            Value::Ref(surface),
            Value::Flag(sense),
        ] = self.get(id, &["ADVANCED_FACE"])?.1
        else {
            return Err("other arguments".into());
        };
        let surface = self.surface(*surface)?;
        match surface {
            Surface::Plane(_) => summary.planes += 1,
            Surface::Cylinder(_, radius) => summary.cylinders.push(radius),
            Surface::Cone(_, _, angle) => summary.cones.push(angle),
        }
        let mut outer = 0;
        for bound in bounds {
            let Value::Ref(bound) = bound else {
                return Err(format!("bound {bound:?}"));
            };
            let (kind, values) = self.get(*bound, &["FACE_OUTER_BOUND", "FACE_BOUND"])?;
            let [Value::Text(_), Value::Ref(edge_loop), Value::Flag(along)] = values else {
                return Err(format!("#{bound} has other arguments"));
            };
            let is_outer = kind == "FACE_OUTER_BOUND";
            outer += usize::from(is_outer);
            let edges = self.edge_loop(*edge_loop, along == "T", uses)?;
            for point in edges.iter().flatten() {
                let off = surface.off(*point);
                if off > PLACE_MM {
                    return Err(format!(
                        "an edge of #{edge_loop} lies {off:e} mm off the surface"
                    ));
                }
            }
            let turn = surface.turn(&edges) * if sense == "T" { 1.0 } else { -1.0 };
            let wanted = if is_outer { 1.0 } else { -1.0 };
            if turn * wanted <= 1e-9 {
                return Err(format!("#{bound} runs the wrong way ({turn:e})"));
            }
        }
        if outer != 1 {
            return Err(format!("{outer} outer bounds"));
        }
        Ok(())
    }

    /// Sample points of each edge in the direction of the loop.
    fn edge_loop(
        &self,
        id: u32,
        along: bool,
        uses: &mut BTreeMap<u32, Vec<bool>>,
    ) -> Fault<Vec<Vec<[f64; 3]>>> {
        let [Value::Text(_), Value::List(oriented)] = self.get(id, &["EDGE_LOOP"])?.1 else {
            return Err(format!("#{id} has other arguments"));
        };
        let mut edges = Vec::new();
        let mut ends = Vec::new();
        for use_ in oriented {
            let Value::Ref(use_) = use_ else {
                return Err(format!("#{id} holds {use_:?}"));
            };
            let [
                Value::Text(_),
                Value::Derived,
                Value::Derived,
                Value::Ref(edge),
                Value::Flag(way),
            ] = self.get(*use_, &["ORIENTED_EDGE"])?.1
            else {
                return Err(format!("#{use_} has other arguments"));
            };
            let forward = way == "T";
            uses.entry(*edge).or_default().push(forward == along);
            let mut found = self.edge(*edge)?;
            if !forward {
                found.points.reverse();
                (found.from, found.to) = (found.to, found.from);
            }
            ends.push((found.from, found.to));
            edges.push(found.points);
        }
        for i in 0..ends.len() {
            if ends[i].1 != ends[(i + 1) % ends.len()].0 {
                return Err(format!("loop #{id} breaks after edge {i}"));
            }
        }
        if !along {
            edges.reverse();
            for edge in &mut edges {
                edge.reverse();
            }
        }
        Ok(edges)
    }

    fn surface(&self, id: u32) -> Fault<Surface> {
        match self
            .get(id, &["PLANE", "CYLINDRICAL_SURFACE", "CONICAL_SURFACE"])?
            .1
        {
            [Value::Text(_), Value::Ref(seat)] => Ok(Surface::Plane(self.seat(*seat)?)),
            [Value::Text(_), Value::Ref(seat), Value::Real(radius)] => {
                Ok(Surface::Cylinder(self.seat(*seat)?, *radius))
            }
            [
                Value::Text(_),
                Value::Ref(seat),
                Value::Real(radius),
                Value::Real(angle),
            ] => {
                if *angle <= 0.0 || *angle >= 0.5 * PI {
                    return Err(format!("cone #{id} of half angle {angle} rad"));
                }
                Ok(Surface::Cone(self.seat(*seat)?, *radius, *angle))
            }
            _ => Err(format!("#{id} has other arguments")),
        }
    }
}

struct Edge {
    from: u32,
    to: u32,
    points: Vec<[f64; 3]>,
}

#[derive(Clone, Copy)]
struct Seat {
    origin: [f64; 3],
    axis: [f64; 3],
    x: [f64; 3],
}

impl Seat {
    fn local(&self, p: [f64; 3]) -> [f64; 3] {
        let d = minus(p, self.origin);
        [
            dot(d, self.x),
            dot(d, cross(self.axis, self.x)),
            dot(d, self.axis),
        ]
    }

    fn circle(&self, radius: f64, angle: f64) -> [f64; 3] {
        let p = along(self.origin, self.x, radius * angle.cos());
        along(p, cross(self.axis, self.x), radius * angle.sin())
    }
}

enum Surface {
    Plane(Seat),
    Cylinder(Seat, f64),
    Cone(Seat, f64, f64),
}

impl Surface {
    fn off(&self, p: [f64; 3]) -> f64 {
        match self {
            Self::Plane(seat) => seat.local(p)[2].abs(),
            Self::Cylinder(seat, radius) => {
                let [x, y, _] = seat.local(p);
                (x.hypot(y) - radius).abs()
            }
            Self::Cone(seat, radius, angle) => {
                let [x, y, z] = seat.local(p);
                ((x.hypot(y) - radius) * angle.cos() - z * angle.sin()).abs()
            }
        }
    }

    /// Positive where a loop runs counter-clockwise about the surface's own normal.
    fn turn(&self, edges: &[Vec<[f64; 3]>]) -> f64 {
        let seat = match self {
            Self::Plane(seat) | Self::Cylinder(seat, _) | Self::Cone(seat, ..) => seat,
        };
        let points: Vec<[f64; 3]> = edges.iter().flatten().map(|p| seat.local(*p)).collect();
        if matches!(self, Self::Plane(_)) {
            return area(&points.iter().map(|p| (p[0], p[1])).collect::<Vec<_>>());
        }
        // Unrolled: (angle, height) is right-handed about the outward normal.
        let mut unrolled: Vec<(f64, f64)> = Vec::new();
        let mut apex = None;
        for p in &points {
            if p[0].hypot(p[1]) < PLACE_MM {
                apex = Some(p[2]);
                continue;
            }
            let mut u = p[1].atan2(p[0]);
            if let Some((last, _)) = unrolled.last() {
                u += TAU * ((last - u) / TAU).round();
            }
            unrolled.push((u, p[2]));
        }
        match (apex, unrolled.first()) {
            // The inside lies left of the rim, towards the apex.
            (Some(apex), Some((_, rim))) => {
                let round: f64 = unrolled.windows(2).map(|w| w[1].0 - w[0].0).sum();
                round * (apex - rim)
            }
            _ => area(&unrolled),
        }
    }
}

fn area(points: &[(f64, f64)]) -> f64 {
    let n = points.len();
    (0..n)
        .map(|i| {
            let (a, b) = (points[i], points[(i + 1) % n]);
            0.5 * (a.0 * b.1 - a.1 * b.0)
        })
        .sum()
}

fn minus(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn along(a: [f64; 3], d: [f64; 3], t: f64) -> [f64; 3] {
    [a[0] + d[0] * t, a[1] + d[1] * t, a[2] + d[2] * t]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn norm(a: [f64; 3]) -> f64 {
    dot(a, a).sqrt()
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}
