//! The two demo drives hold every rule that refuses a drive.

mod demo_drives;

use platewright::drive;

#[test]
fn dump() {
    for d in [demo_drives::seven_rib(), demo_drives::four_rib()] {
        println!("== {}", d.name);
        let stocked = platewright::tables::belt::stocked_lengths_mm("PK");
        match drive::path::solve(&d) {
            Ok(p) => {
                println!("L drawn {:.3}", p.effective_length_mm);
                for (c, s) in p.contacts.iter().zip(&p.spans) {
                    println!("{:14} wrap {:7.2} ratio {:.3} span {:.1}", c.id, c.wrap_deg, c.ratio, s.length_mm);
                }
            }
            Err(e) => println!("PATH {e}"),
        }
        match drive::analyse(&d, stocked) {
            Ok(a) => {
                if let Some(w) = &a.tensioner {
                    println!("window {:.1}..{:.1} deg {:.1}..{:.1} mm dc {} used {:?}", w.shortest_arm_deg, w.longest_arm_deg, w.shortest_mm, w.longest_mm, w.ends_at_dead_centre, w.travel_used);
                    for r in &w.reaches { println!("{:?}", r); }
                    println!("{:?} {:?}", w.slip_on, w.slip_on_fault);
                }
                if let Some(t) = &a.take_up { println!("{t:#?}"); }
                for c in &a.choices { println!("{:.0} fits {} pos {:?} {:?} {:?}", c.length_mm, c.fits, c.position, c.tension_n, c.why_not); }
                for p in &a.points {
                    println!("{} {:.0} v {:.1} spans {:?}", p.state, p.crank_rpm, p.belt_speed_m_s, p.spans_n.iter().map(|x| x.round()).collect::<Vec<_>>());
                }
                for j in &a.judgements {
                    if !j.holds { println!("FAIL {} {:?} {} {} m {:?} lim {} {}", j.rule.id, j.rule.weight, j.rule.title, j.what, j.measured, j.limit, j.note); }
                }
            }
            Err(e) => println!("ANALYSE {e}"),
        }
    }
}
