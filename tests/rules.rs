//! Every plate rule on a small job that breaks it and one that keeps it, measured by hand.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

#[path = "support/jobs.rs"]
#[allow(dead_code, reason = "each test file uses its own share of the support")]
mod jobs;

use std::collections::BTreeSet;

use jobs::Job;
use platewright::rules::{RULES, Verdict};

/// One side of a rule: the job, and what the rule must measure there.
struct Side {
    job: Job,
    /// Feature the finding is about; empty for the whole plate.
    at: &'static str,
    measured: f64,
    limit: f64,
    margin: f64,
}

struct Case {
    rule: &'static str,
    fails: Side,
    holds: Side,
}

fn side(job: Job, at: &'static str, measured: f64, limit: f64, margin: f64) -> Side {
    Side {
        job,
        at,
        measured,
        limit,
        margin,
    }
}

/// The hand-drawn plate with one more feature or window.
fn adding(kind: &str, rest: &str) -> Job {
    Job::drawn().and(&format!("[[plate.{kind}]]\nid = \"x\"\n{rest}\n"))
}

fn hole(x: f64, y: f64, diameter: f64) -> Job {
    adding(
        "feature",
        &format!("kind = \"hole\"\nat = [{x}, {y}]\ndiameter = {diameter}"),
    )
}

fn window(x: f64, y: f64, diameter: f64) -> Job {
    adding(
        "window",
        &format!("kind = \"circle\"\nat = [{x}, {y}]\ndiameter = {diameter}"),
    )
}

fn square_window(corner: f64) -> Job {
    adding(
        "window",
        &format!(
            "kind = \"polygon\"\npoints = [[30, -15], [60, -15], [60, 15], [30, 15]]\ncorner = {corner}"
        ),
    )
}

fn pocket(depth: f64, face: &str) -> Job {
    adding(
        "feature",
        &format!(
            "kind = \"pocket\"\npoints = [[30, -15], [60, -15], [60, 15], [30, 15]]\ncorner = 5\ndepth = {depth}\nface = \"{face}\""
        ),
    )
}

/// A1 and A2 with bosses of the given sizes and one web of the given width.
fn webbed(boss: f64, width: f64) -> Job {
    Job::drawn()
        .with(
            "holes = [\"block.A1\", \"block.A2\"]\nwebs = \"none\"",
            &format!(
                "holes = [{{ take = \"block.A1\", boss = {boss} }}, \"block.A2\"]\n\
                 webs = [{{ from = \"block.A1\", to = \"block.A2\", width = {width} }}]"
            ),
        )
        .with(
            "outline = [[-30, -30], [110, -30], [110, 30], [-30, 30]]\n",
            "",
        )
}

/// A boss of 33 mm at A1, and another that starts `gap` mm beside it with no web between.
fn two_bosses(gap: f64) -> Job {
    Job::drawn()
        .with(
            "holes = [\"block.A1\", \"block.A2\"]\nwebs = \"none\"\n\
             outline = [[-30, -30], [110, -30], [110, 30], [-30, 30]]\n",
            "holes = [{ take = \"block.A1\", boss = 33 }]\nwebs = []\n",
        )
        .and(&format!(
            "[[plate.boss]]\nid = \"loose\"\nat = [{}, 0]\ndiameter = 33\n",
            33.0 + gap
        ))
}

fn mark(x: f64) -> Job {
    adding(
        "feature",
        &format!("kind = \"mark\"\nat = [{x}, 15]\ntext = \"-\"\nheight = 5"),
    )
}

fn drill_point(diameter: f64) -> f64 {
    // A 118° point is as high as its radius over tan 59°.
    0.5 * diameter / 59.0_f64.to_radians().tan()
}

fn on_laser(job: Job) -> Job {
    job.with("webs = \"none\"", "process = \"laser\"\nwebs = \"none\"")
}

fn blind(diameter: f64, depth: f64) -> Job {
    adding(
        "feature",
        &format!("kind = \"hole\"\nat = [40, 0]\ndiameter = {diameter}\ndepth = {depth}"),
    )
}

fn tapped(thread: &str) -> Job {
    adding(
        "feature",
        &format!("kind = \"tapped\"\nat = [40, 0]\nthread = \"{thread}\""),
    )
}

/// Every plate rule, once broken and once kept.
#[expect(clippy::too_many_lines, reason = "one list, a case a rule")]
fn cases() -> Vec<Case> {
    let case = |rule, fails, holds| Case { rule, fails, holds };
    vec![
        // The web's own width; the mill's least web is 4 mm, 3 mm by thickness.
        case(
            "G301",
            side(webbed(40.0, 3.0), "", 3.0, 4.0, -1.0),
            side(webbed(40.0, 6.0), "", 6.0, 4.0, 2.0),
        ),
        // The smallest cutter is 8 mm.
        case(
            "G302",
            side(square_window(3.0), "x", 3.0, 4.0, -1.0),
            side(square_window(5.0), "x", 5.0, 4.0, 1.0),
        ),
        // The plate is 140 mm long and 60 mm wide; 10 mm of the sheet stay free all round.
        case(
            "G303",
            side(
                Job::drawn().with_in("shop", "sheet = [760, 420]", "sheet = [150, 100]"),
                "",
                140.0,
                130.0,
                -10.0,
            ),
            side(
                Job::drawn().with_in("shop", "sheet = [760, 420]", "sheet = [170, 90]"),
                "",
                140.0,
                150.0,
                10.0,
            ),
        ),
        // A gap of 3 mm is closed by 8 mm of cutter and nothing else.
        case(
            "G304",
            side(two_bosses(3.0), "", 2.0, 1.0, -1.0),
            side(two_bosses(-3.0), "", 1.0, 1.0, 0.0),
        ),
        // 1.2 times an 11 mm hole; half the boss is what there is.
        case(
            "H301",
            side(webbed(24.0, 24.0), "block.A1", 12.0, 13.2, -1.2),
            side(webbed(30.0, 30.0), "block.A1", 15.0, 13.2, 1.8),
        ),
        // 2.2 times 11 mm.
        case(
            "H302",
            side(hole(24.0, 0.0, 11.0), "block.A1", 24.0, 24.2, -0.2),
            side(hole(25.0, 0.0, 11.0), "block.A1", 25.0, 24.2, 0.8),
        ),
        // Between an 11 mm hole at 0 and a 10 mm window.
        case(
            "H303",
            side(window(14.0, 0.0, 10.0), "block.A1", 3.5, 4.0, -0.5),
            side(window(15.0, 0.0, 10.0), "block.A1", 4.5, 4.0, 0.5),
        ),
        // The outline runs at y = 30.
        case(
            "H304",
            side(window(40.0, 22.0, 10.0), "x", 3.0, 4.0, -1.0),
            side(window(40.0, 20.0, 10.0), "x", 5.0, 4.0, 1.0),
        ),
        // The mill's least hole is 2.5 mm, 1.5 mm by thickness.
        case(
            "H305",
            side(hole(40.0, 0.0, 2.0), "x", 2.0, 2.5, -0.5),
            side(hole(40.0, 0.0, 3.0), "x", 3.0, 2.5, 0.5),
        ),
        // Twice the bolt's diameter in aluminium, 15 mm of plate.
        case(
            "H306",
            side(tapped("M10x1.5"), "x", 15.0, 20.0, -5.0),
            side(tapped("M6x1"), "x", 15.0, 12.0, 3.0),
        ),
        // The flange of an EN 1665 M10 head is 22.3 mm across.
        case(
            "H307",
            side(window(20.0, 0.0, 20.0), "block.A1", -1.15, 0.0, -1.15),
            side(Job::drawn(), "block.A1", 18.85, 0.0, 18.85),
        ),
        // A dash has two ends.
        case(
            "H308",
            side(mark(120.0), "x", 2.0, 0.0, -2.0),
            side(mark(40.0), "x", 0.0, 0.0, 0.0),
        ),
        // 15 % of 15 mm.
        case(
            "H309",
            side(
                blind(10.0, 10.0),
                "x",
                5.0 - drill_point(10.0),
                2.25,
                2.75 - drill_point(10.0),
            ),
            side(
                blind(10.0, 9.0),
                "x",
                6.0 - drill_point(10.0),
                2.25,
                3.75 - drill_point(10.0),
            ),
        ),
        // A laser leaves no floor.
        case(
            "H310",
            side(on_laser(pocket(4.0, "front")), "x", 4.0, 0.0, -4.0),
            side(pocket(4.0, "front"), "x", 0.0, 0.0, 0.0),
        ),
        // Two equal holes fit turned half round and, turned over, either way round.
        case(
            "H311",
            side(
                Job::drawn().with_in(
                    "shop",
                    "sheet = [760, 420]",
                    "sheet = [760, 420]\nengraves = false",
                ),
                "",
                3.0,
                0.0,
                -3.0,
            ),
            side(Job::drawn(), "", 0.0, 0.0, 0.0),
        ),
    ]
}

fn assert_side(rule: &str, side: &Side, verdict: Verdict) {
    let f = side.job.finding(rule, side.at);
    let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
    assert_eq!(f.verdict, verdict, "{rule}: {f:?}");
    assert!(
        near(f.measured, side.measured) && near(f.limit, side.limit) && near(f.margin, side.margin),
        "{rule} should measure {} against {} (margin {}): {f:?}",
        side.measured,
        side.limit,
        side.margin
    );
    assert_eq!(f.mend.is_some(), verdict == Verdict::Fails, "{rule}");
    assert!(!f.source.is_empty() && !f.what.is_empty(), "{rule}");
}

#[test]
fn every_rule_measures_what_a_hand_does() {
    for case in cases() {
        assert_side(case.rule, &case.fails, Verdict::Fails);
        assert_side(case.rule, &case.holds, Verdict::Holds);
    }
}

#[test]
fn every_rule_has_a_case() {
    let tried: BTreeSet<&str> = cases().iter().map(|c| c.rule).collect();
    let all: BTreeSet<&str> = RULES.iter().map(|r| r.id).collect();
    assert_eq!(tried, all);
}

#[test]
fn findings_name_the_line_they_come_from() {
    let project = window(14.0, 0.0, 10.0).project();
    let f = project
        .findings
        .iter()
        .find(|f| f.rule == "H304" && f.at == "x")
        .expect("the window's wall");
    let place = project.sources().place(f.spot).expect("a place");
    let line = jobs::JOB.lines().count() + 3;
    assert_eq!((place.file.as_str(), place.line), ("job.toml", line));
}

#[test]
fn an_opening_that_hangs_out_counts_below_zero_even_where_the_shop_sets_no_least_web() {
    let job = |y: f64| {
        window(40.0, y, 10.0).with_in(
            "shop",
            "least-web = 4\nleast-web-per-thickness = 0.2",
            "least-web = 0\nleast-web-per-thickness = 0",
        )
    };
    // The window's top stands at y + 5, the outline at 30.
    for (y, measured) in [(27.0, -2.0), (25.0, 0.0), (40.0, -15.0)] {
        let f = job(y).finding("H304", "x");
        assert_eq!(f.verdict, Verdict::Fails, "{f:?}");
        assert!((f.measured - measured).abs() < 1e-9, "{y}: {f:?}");
    }
    assert_eq!(job(24.8).finding("H304", "x").verdict, Verdict::Holds);
}

/// Two pockets from opposite faces, one turned inwards by `shift` mm in x.
fn opposite_pockets(depth: f64, shift: f64) -> Job {
    pocket(5.0, "front").and(&format!(
        "[[plate.feature]]\nid = \"y\"\nkind = \"pocket\"\n\
         points = [[{a}, -15], [{b}, -15], [{b}, 15], [{a}, 15]]\ncorner = 5\ndepth = {depth}\nface = \"back\"\n",
        a = 30.0 + shift,
        b = 60.0 + shift
    ))
}

#[test]
fn pockets_in_opposite_faces_are_judged_by_the_metal_between_them() {
    // 15 mm less 5 mm and 7 mm leaves 3 mm between their floors, and no ligament to speak of.
    let job = opposite_pockets(7.0, 10.0);
    for at in ["x", "y"] {
        let f = job.finding("H309", at);
        assert_eq!(f.verdict, Verdict::Holds, "{f:?}");
        assert!((f.measured - 3.0).abs() < 1e-9, "{f:?}");
    }
    let ligaments = job.project().findings;
    assert!(!ligaments.iter().any(|f| f.rule == "H303" && f.at == "x"));
    // 11 mm and 5 mm run into one another.
    let f = opposite_pockets(11.0, 10.0).finding("H303", "x");
    assert_eq!((f.verdict, f.measured), (Verdict::Fails, 0.0));
    // Side by side 3 mm apart in the plane and 3 mm in height: the diagonal.
    let f = opposite_pockets(7.0, 33.0).finding("H303", "x");
    assert!((f.measured - 18.0_f64.sqrt()).abs() < 1e-9, "{f:?}");
}

#[test]
fn a_blind_hole_under_a_pocket_is_judged_by_what_the_pocket_leaves() {
    let job = pocket(6.0, "front").and(
        "[[plate.feature]]\nid = \"y\"\nkind = \"hole\"\nat = [45, 0]\ndiameter = 6\ndepth = 5\nface = \"back\"\n",
    );
    let f = job.finding("H309", "y");
    let left = 15.0 - 6.0 - 5.0 - drill_point(6.0);
    assert!((f.measured - left).abs() < 1e-9, "{f:?}");
    assert_eq!(f.verdict, Verdict::Fails);
}

#[test]
fn a_through_hole_in_a_pockets_floor_belongs_there() {
    let job = pocket(6.0, "front")
        .and("[[plate.feature]]\nid = \"y\"\nkind = \"hole\"\nat = [45, 0]\ndiameter = 6\n");
    let project = job.project();
    let broken: Vec<&str> = project
        .findings
        .iter()
        .filter(|f| f.on == "plate" && f.blocks())
        .map(|f| f.rule)
        .collect();
    assert_eq!(broken, [""; 0]);
}

#[test]
fn a_deviation_accepts_with_its_reason_what_can_be_made() {
    let job = window(40.0, 22.0, 10.0).and(
        "[[deviation]]\nrule = \"h304\"\non = \"plate\"\nat = \"x\"\nreason = \"agreed on site\"\n",
    );
    let f = job.finding("H304", "x");
    assert_eq!(f.verdict, Verdict::Accepted);
    assert_eq!(f.reason.as_deref(), Some("agreed on site"));
    assert!(job.project().diags.is_empty());
}

#[test]
fn a_deviation_cannot_accept_what_leaves_no_part() {
    let job = window(40.0, 27.0, 10.0)
        .and("[[deviation]]\nrule = \"H304\"\non = \"plate\"\nreason = \"looks fine\"\n");
    assert_eq!(job.finding("H304", "x").verdict, Verdict::Fails);
    assert!(job.said().contains("X102"), "{}", job.said());
}

#[test]
fn findings_come_worst_first() {
    let job = window(14.0, 0.0, 10.0)
        .and("[[plate.window]]\nkind = \"circle\"\nid = \"y\"\nat = [40, 22]\ndiameter = 10\n");
    let project = job.project();
    let verdicts: Vec<Verdict> = project.findings.iter().map(|f| f.verdict).collect();
    assert!(verdicts.is_sorted(), "{verdicts:?}");
    for verdict in [Verdict::Fails, Verdict::Holds] {
        let shares: Vec<f64> = project
            .findings
            .iter()
            .filter(|f| f.verdict == verdict)
            .map(platewright::rules::Finding::share)
            .collect();
        assert!(shares.is_sorted(), "{shares:?}");
    }
}
