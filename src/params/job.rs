//! The job file: which block, which accessories where, which plates, which belt, which stock and shop.

use std::collections::BTreeMap;

use crate::diag::Spot;
use crate::feature::Face;
use crate::geom::{Frame, Point, Point3};
use crate::order;

use super::pulley::Pulley;

/// A job as the user wrote it; every name in it is known to exist.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// File stem: the name of the shop package.
    pub name: String,
    /// What a person calls it.
    pub title: String,
    /// Revision letter or number, printed on everything.
    pub revision: String,
    /// Date of the revision as the user wrote it (`2026-03-02`); printed, and the only time stamp in any file.
    pub date: String,
    /// Name of the block file.
    pub block: String,
    /// Name of the shop file.
    pub shop: String,
    /// Title block data.
    pub title_block: TitleBlock,
    /// Defaults for every fastener.
    pub fasteners: Fasteners,
    /// The belt drive, if the job has one.
    pub drive: Option<DriveSpec>,
    /// What shakes the set.
    pub strength: StrengthSpec,
    /// Accessories, placed.
    pub placed: Vec<Placed>,
    /// Plates.
    pub plates: Vec<PlateSpec>,
    /// Hoses and lines the set must leave room for.
    pub hoses: Vec<HoseSpec>,
    /// The same plates with something replaced.
    pub variants: Vec<VariantSpec>,
    /// Bracket sets to make at once.
    pub sets: u32,
    /// Washers and tubes from which spacers are stacked.
    pub stocked: Vec<StockedSpec>,
    /// Failing rules accepted by name.
    pub deviations: Vec<Deviation>,
}

/// Washers and tubes at hand for one bolt size: its spacers are stacked from them, not turned to length.
#[derive(Debug, Clone, PartialEq)]
pub struct StockedSpec {
    /// The bolt's thread.
    pub thread: String,
    /// Thicknesses of the washers, mm.
    pub washers_mm: Vec<f64>,
    /// Lengths of the tubes, mm.
    pub tubes_mm: Vec<f64>,
    /// How much a stack may miss its gap, mm.
    pub tolerance_mm: f64,
    /// Where it is written.
    pub spot: Spot,
}

/// Title block data; all free text, may be empty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TitleBlock {
    /// Legal owner (ISO 7200).
    pub owner: String,
    /// Customer or machine the set is for.
    pub customer: String,
    /// Who drew it.
    pub drawn_by: String,
    /// Who approved it.
    pub approved_by: String,
    /// General tolerance class of ISO 2768-1, `f`, `m`, `c` or `v`; `m` unless given.
    pub tolerance: String,
    /// Notes printed on every drawing.
    pub notes: Vec<String>,
}

/// Defaults for every fastener of the job.
#[derive(Debug, Clone, PartialEq)]
pub struct Fasteners {
    /// Head: `hex-flange` (EN 1665), `hex-flange-small` (ISO 4162), `hex` (ISO 4017) or `cap` (ISO 4762).
    pub head: Head,
    /// Property class, such as `10.9`.
    pub class: String,
    /// Clearance hole series of ISO 273.
    pub fit: Fit,
    /// Whether a plain washer goes under a head.
    pub washer: bool,
    /// Lubrication of thread and head: a row of the friction table.
    pub lubrication: String,
    /// Tightening method: a row of the tightening table.
    pub tightening: String,
    /// Whether a liquid thread-locker goes into every thread.
    pub thread_locker: bool,
    /// Finish of the clamped faces: a row of the interface table, which gives the slip factor.
    pub faces: String,
    /// Shock under which no joint may slip or open, in multiples of the weight held, in any direction;
    /// plates are held against [`StrengthSpec::shock_g`].
    pub shock_g: f64,
    /// Coldest temperature of the joints in service, °C.
    pub cold_c: f64,
    /// Hottest temperature of the joints in service, °C.
    pub hot_c: f64,
}

/// What shakes the set beside the belt, as multiples of weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrengthSpec {
    /// Shock that must not bend a plate for good, in any direction, g; > 0. Joints are held against
    /// [`Fasteners::shock_g`].
    pub shock_g: f64,
    /// Amplitude of the lasting vibration that must not tire anything, in any direction, g.
    pub vibration_g: f64,
}

/// Head of a bolt, each a different standard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Head {
    /// Hexagon flange, heavy series, EN 1665.
    HexFlange,
    /// Hexagon flange, small series, ISO 4162.
    HexFlangeSmall,
    /// Hexagon, ISO 4014/4017.
    Hex,
    /// Socket cap, ISO 4762.
    Cap,
}

/// Clearance hole series, ISO 273.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// Fine (H12).
    Fine,
    /// Medium (H13).
    Medium,
    /// Coarse (H14).
    Coarse,
}

/// An accessory placed on the engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Name within the job (`alternator`).
    pub id: String,
    /// Name of the accessory file.
    pub accessory: String,
    /// Shaft centre (arm pivot for a tensioner), engine frame, mm.
    pub at: Point,
    /// Clock angle: the local frame turned about +z, counter-clockwise seen from the front, deg.
    pub clock_deg: f64,
    /// Where along z it sits.
    pub z: PlacedZ,
    /// Where it is written.
    pub spot: Spot,
}

/// Where an accessory sits along z.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PlacedZ {
    /// Local z = 0 lies at this engine z, mm.
    Given(f64),
    /// So that its rib plane is the drive's.
    Drive,
}

/// One belt drive.
#[derive(Debug, Clone, PartialEq)]
pub struct DriveSpec {
    /// Belt section: `PH`, `PJ`, `PK`, `PL` or `PM`.
    pub section: String,
    /// Ribs of the belt.
    pub ribs: u32,
    /// Rib plane, engine z, mm.
    pub rib_plane_mm: f64,
    /// Effective length of the belt, mm; `None`: choose from the stocked lengths.
    pub length_mm: Option<f64>,
    /// The pulleys in the order in which the belt runs over them, counter-clockwise round the loop
    /// when every pulley is inside.
    pub run: Vec<RunStop>,
    /// Installed tension of a manually tightened belt, N in each span at rest; `None` with a spring tensioner.
    pub set_tension_n: Option<f64>,
    /// How a manually tightened belt is taken up.
    pub take_up: Option<TakeUp>,
    /// Pulley over whose rim the belt is slipped last when it is fitted.
    pub fit_last: Option<HoleRef>,
    /// Where it is written.
    pub spot: Spot,
}

/// One pulley of the run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunStop {
    /// `block.<pulley>` or the placed accessory's name (`owner` = `block` or the accessory, `id` = pulley or empty).
    pub pulley: HoleRef,
    /// Whether the belt's back runs on it (outside the loop).
    pub back: bool,
    /// Least wrap, deg, where another than the shaft's usual one is right.
    pub least_wrap_deg: Option<f64>,
    /// Where it is written.
    pub spot: Spot,
}

/// How a manually tightened belt is taken up.
#[derive(Debug, Clone, PartialEq)]
pub enum TakeUp {
    /// An accessory swings about one of its mounts; the adjusting mount slides in an arc slot.
    Swing {
        /// The pivot mount.
        pivot: HoleRef,
        /// The mount that slides.
        adjust: HoleRef,
    },
    /// An accessory slides along a direction, deg from +X.
    Slide {
        /// Name of the placed accessory.
        accessory: String,
        /// Direction of travel that tightens the belt, deg.
        direction_deg: f64,
    },
}

/// A reference to a hole or pulley: `owner.id`; sorts naturally.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoleRef {
    /// `block` or the name of a placed accessory.
    pub owner: String,
    /// Hole, mount or pulley; empty where the owner alone says it.
    pub id: String,
}

impl Ord for HoleRef {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        order::natural(&self.owner, &other.owner).then_with(|| order::natural(&self.id, &other.id))
    }
}

impl PartialOrd for HoleRef {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl std::fmt::Display for HoleRef {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.id.is_empty() {
            write!(f, "{}", self.owner)
        } else {
            write!(f, "{}.{}", self.owner, self.id)
        }
    }
}

/// A plate as the user wrote it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlateSpec {
    /// Name, unique in the job.
    pub id: String,
    /// What a person calls it.
    pub title: String,
    /// Its plane before `back` raises it.
    pub frame: Frame,
    /// Height of the back face along the frame's normal.
    pub back: BackFace,
    /// Name of the stock file.
    pub stock: String,
    /// Process of the shop; `None`: the shop's first.
    pub process: Option<String>,
    /// Holes of the block and of accessories it takes.
    pub takes: Vec<Take>,
    /// Further bosses that only shape the outline.
    pub bosses: Vec<BossSpec>,
    /// What joins the bosses.
    pub webs: Webs,
    /// Hand-drawn part of the outline, united with bosses and webs; empty when there is none.
    pub outline: Vec<OutlineStep>,
    /// Fillet radius of concave corners, mm; at least the cutter's. `None`: the process's least.
    pub fillet_mm: Option<f64>,
    /// Further features.
    pub features: Vec<FeatureSpec>,
    /// Windows drawn by the user.
    pub windows: Vec<WindowSpec>,
    /// Whether windows are cut automatically, and the wall they leave, mm (`None`: the rule's).
    pub auto_windows: Option<Option<f64>>,
    /// How many the set needs.
    pub quantity: u32,
    /// Where it is written.
    pub spot: Spot,
}

/// Where a plate's back face lies along its frame's normal.
#[derive(Debug, Clone, PartialEq)]
pub enum BackFace {
    /// At this height, mm.
    At(f64),
    /// This much above the face of a hole, mm.
    On {
        /// The hole whose face it sits on.
        hole: HoleRef,
        /// Gap to it, mm; a spacer fills it.
        plus_mm: f64,
    },
}

/// A hole a plate takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Take {
    /// Which one.
    pub target: HoleRef,
    /// What is made for it; `None`: what its kind asks for (clearance for a block hole or ear, tapped for a pad).
    pub make: Option<Make>,
    /// Clearance series; `None`: the job's.
    pub fit: Option<Fit>,
    /// Boss diameter, mm; `None`: from the edge-distance rule and the seat.
    pub boss_mm: Option<f64>,
    /// Whether the head is sunk in a counterbore.
    pub counterbore: bool,
    /// Slot in which the bolt slides.
    pub slot: Option<SlotSpec>,
    /// Head of this bolt; `None`: the job's.
    pub head: Option<Head>,
    /// Where it is written.
    pub spot: Spot,
}

/// What is made in the plate for a hole it takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Make {
    /// A clearance hole.
    Clearance,
    /// A tapped hole.
    Tapped,
    /// A reamed hole, H7, of the mount's hole size (dowels and anti-rotation pins).
    Reamed,
}

/// A slot in place of a round hole.
#[derive(Debug, Clone, PartialEq)]
pub enum SlotSpec {
    /// Along a circle about a hole; angles from the hole's own position, counter-clockwise positive, deg.
    Swing {
        /// The hole it swings about.
        about: HoleRef,
        /// First end, deg.
        from_deg: f64,
        /// Last end, deg; more than `from_deg`.
        to_deg: f64,
    },
    /// Along a direction in the plate's plane, from the hole's own position, mm.
    Slide {
        /// Direction, deg from the plate's x.
        direction_deg: f64,
        /// First end, mm.
        from_mm: f64,
        /// Last end, mm; more than `from_mm`.
        to_mm: f64,
    },
    /// As long as the belt drive's take-up needs.
    Drive,
}

/// A boss that only shapes the outline.
#[derive(Debug, Clone, PartialEq)]
pub struct BossSpec {
    /// Name, unique in the plate.
    pub id: String,
    /// Centre, plate frame, mm.
    pub at: Point,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Where it is written.
    pub spot: Spot,
}

/// What joins the bosses of a plate.
#[derive(Debug, Clone, PartialEq)]
pub enum Webs {
    /// Chosen by the program.
    Automatic,
    /// The convex hull of all bosses.
    Hull,
    /// The pairs listed.
    Listed(Vec<WebSpec>),
    /// None: the outline is drawn by hand.
    None,
}

/// A web between two bosses, named by the holes they take or by their own name.
#[derive(Debug, Clone, PartialEq)]
pub struct WebSpec {
    /// One boss.
    pub from: String,
    /// The other.
    pub to: String,
    /// Width, mm; `None`: tapered, tangent to both bosses.
    pub width_mm: Option<f64>,
    /// Where it is written.
    pub spot: Spot,
}

/// One step of a hand-drawn outline.
#[derive(Debug, Clone, PartialEq)]
pub enum OutlineStep {
    /// A straight line to a corner.
    Corner {
        /// The corner, plate frame, mm.
        at: Point,
        /// Its rounding, mm; 0 for a sharp one.
        radius_mm: f64,
    },
    /// An arc from the step before to a point.
    ArcTo {
        /// Its end, plate frame, mm.
        at: Point,
        /// Its radius, mm.
        radius_mm: f64,
        /// Whether it turns counter-clockwise.
        ccw: bool,
        /// Whether it is the longer of the two arcs.
        major: bool,
    },
}

/// A further feature of a plate. Positions in the plate frame, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct FeatureSpec {
    /// Name, unique in the plate.
    pub id: String,
    /// Its kind and sizes.
    pub kind: FeatureKind,
    /// Where it is written.
    pub spot: Spot,
}

/// Kinds of further features.
#[derive(Debug, Clone, PartialEq)]
pub enum FeatureKind {
    /// A plain hole, or a clearance hole for a thread, through or blind.
    Hole {
        /// Centre.
        at: Point,
        /// Diameter; or the clearance of `thread`.
        diameter_mm: Option<f64>,
        /// Bolt that passes.
        thread: Option<String>,
        /// Clearance series for `thread`.
        fit: Option<Fit>,
        /// Blind depth; `None`: through.
        depth_mm: Option<f64>,
        /// Counterbore: diameter and depth; depth also from the head's table when only `thread` is given.
        counterbore: Option<(f64, f64)>,
        /// Countersink: diameter and included angle, deg.
        countersink: Option<(f64, f64)>,
        /// Face it is made from.
        face: Face,
    },
    /// A tapped hole.
    Tapped {
        /// Centre.
        at: Point,
        /// Thread.
        thread: String,
        /// Full-thread depth; `None`: through.
        depth_mm: Option<f64>,
        /// Face it is tapped from.
        face: Face,
    },
    /// A reamed dowel hole, H7.
    Dowel {
        /// Centre.
        at: Point,
        /// Diameter.
        diameter_mm: f64,
        /// Blind depth; `None`: through.
        depth_mm: Option<f64>,
        /// Face it is reamed from.
        face: Face,
    },
    /// A straight slot.
    Slot {
        /// One end centre.
        from: Point,
        /// The other.
        to: Point,
        /// Width.
        width_mm: f64,
    },
    /// An arc slot about a point, counter-clockwise.
    ArcSlot {
        /// Its centre.
        about: Point,
        /// Radius of the centre line.
        radius_mm: f64,
        /// First end, deg from x.
        from_deg: f64,
        /// Last end, deg.
        to_deg: f64,
        /// Width.
        width_mm: f64,
    },
    /// A pocket with a flat floor.
    Pocket {
        /// Corners.
        points: Vec<Point>,
        /// Corner radius, at least the cutter's.
        corner_mm: f64,
        /// Depth.
        depth_mm: f64,
        /// Face it is cut from.
        face: Face,
    },
    /// A ring groove for a face seal.
    Groove {
        /// Centre.
        at: Point,
        /// Inner diameter.
        inner_mm: f64,
        /// Radial width.
        width_mm: f64,
        /// Depth.
        depth_mm: f64,
        /// Face it is cut from.
        face: Face,
    },
    /// Engraved text.
    Mark {
        /// Lower left corner.
        at: Point,
        /// Text.
        text: String,
        /// Letter height.
        height_mm: f64,
        /// Direction of writing, deg.
        angle_deg: f64,
    },
}

/// A window drawn by the user.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowSpec {
    /// Name, unique in the plate.
    pub id: String,
    /// Its shape.
    pub kind: WindowKind,
    /// Where it is written.
    pub spot: Spot,
}

/// Window shapes.
#[derive(Debug, Clone, PartialEq)]
pub enum WindowKind {
    /// A circle.
    Circle {
        /// Centre.
        at: Point,
        /// Diameter, mm.
        diameter_mm: f64,
    },
    /// A slot with round ends.
    Slot {
        /// One end centre.
        from: Point,
        /// The other.
        to: Point,
        /// Width, mm.
        width_mm: f64,
    },
    /// A polygon with rounded corners.
    Polygon {
        /// Corners.
        points: Vec<Point>,
        /// Corner radius, mm.
        corner_mm: f64,
    },
}

/// A failing rule accepted by name.
#[derive(Debug, Clone, PartialEq)]
pub struct Deviation {
    /// Rule id.
    pub rule: String,
    /// Plate, joint or pulley it is accepted for.
    pub on: String,
    /// Hole or feature it is accepted for; empty: anywhere on `on`.
    pub at: String,
    /// Why, in the user's words; printed on the drawing.
    pub reason: String,
    /// Where it is written.
    pub spot: Spot,
}

/// A hose or line the set must leave room for.
#[derive(Debug, Clone, PartialEq)]
pub struct HoseSpec {
    /// Name, unique in the job.
    pub id: String,
    /// What a person calls it.
    pub title: String,
    /// Its centre line, engine frame, mm; at least two points.
    pub points: Vec<Point3>,
    /// Outside diameter, mm.
    pub diameter_mm: f64,
    /// What it is, which decides the clearance it needs.
    pub kind: super::block::KeepoutKind,
    /// Clamps on it.
    pub clamps: Vec<HoseClamp>,
    /// Where it is written.
    pub spot: Spot,
}

/// A clamp round a hose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoseClamp {
    /// Where along the centre line, mm from its start.
    pub along_mm: f64,
    /// Width of the band, mm.
    pub width_mm: f64,
    /// How far it stands out from the hose all round, screw housing included, mm.
    pub height_mm: f64,
}

/// The same plates with something replaced; whatever it does not name stays as in the job.
#[derive(Debug, Clone, PartialEq)]
pub struct VariantSpec {
    /// Name, unique in the job.
    pub name: String,
    /// What a person calls it.
    pub title: String,
    /// Name of another block file.
    pub block: Option<String>,
    /// Other accessory files, by the placed accessory's name.
    pub replace: BTreeMap<String, String>,
    /// Placed accessories that are left out.
    pub without: Vec<String>,
    /// Other pulleys.
    pub pulleys: Vec<PulleySwap>,
    /// Another effective belt length, mm.
    pub belt_mm: Option<f64>,
    /// The belt's run when it differs.
    pub run: Option<Vec<RunStop>>,
    /// Other outside diameters of hoses, mm, by the hose's name.
    pub hoses: BTreeMap<String, f64>,
    /// Other lengths of the spacers a plate stands off on, mm, by the plate's name.
    pub spacers: BTreeMap<String, f64>,
    /// Where it is written.
    pub spot: Spot,
}

/// Another pulley on a shaft.
#[derive(Debug, Clone, PartialEq)]
pub struct PulleySwap {
    /// The shaft: `block.<pulley>` or a placed accessory.
    pub on: HoleRef,
    /// The pulley it gets.
    pub pulley: Pulley,
    /// Where it is written.
    pub spot: Spot,
}
