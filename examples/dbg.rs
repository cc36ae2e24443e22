use platewright::geom::*;
use platewright::outline::*;
fn main() {
    let c = Point::new(0., 0.);
    let b = Shape::Disc(Disc::new(Point::new(0., 0.), 20.));
    let t = |n: &str, p: Path| {
        for f in [0.5, 5.0, 8.0] {
            match build(&[Shape::Drawn(p.clone())], f) {
                Ok(o) => println!(
                    "{n} {f} ok {} {} inner {}",
                    o.outer.segments.len(),
                    o.outer.area() - p.area(),
                    o.inner.len()
                ),
                Err(e) => println!("{n} {f} {e}"),
            };
            match build(&[b.clone(), Shape::Drawn(p.clone())], f) {
                Ok(o) => println!(
                    "   +disc ok {} {}",
                    o.outer.segments.len(),
                    o.outer.area() - p.area()
                ),
                Err(e) => println!("   +disc {e}"),
            }
        }
    };
    t("slot", Path::slot(c, Point::new(50., 3.), 7.));
    t(
        "arcslot",
        Path::arc_slot(Point::new(-30., 0.), 30., 0., 1.5, 6.),
    );
    t(
        "rect",
        Path::polygon(&[
            Point::new(-10., -5.),
            Point::new(30., -5.),
            Point::new(30., 40.),
            Point::new(-10., 40.),
        ]),
    );
    t(
        "ell",
        Path::polygon(&[
            Point::new(0., 0.),
            Point::new(60., 0.),
            Point::new(60., 10.),
            Point::new(10., 10.),
            Point::new(10., 40.),
            Point::new(0., 40.),
        ]),
    );
    t(
        "hull",
        hull(&[
            Disc::new(c, 20.),
            Disc::new(Point::new(50., 20.), 10.),
            Disc::new(Point::new(0., 60.), 15.),
        ]),
    );
}
