//! Whole calculations: settled peaks, balanced reactions, words for what is wrong.

use platewright::strength::model::Anchor;
use platewright::strength::{Options, Silent, StrengthError, run};

use crate::bracket::{bracket, two_plate_set};

#[test]
fn probe() {
    for (name, model) in [("bracket", bracket()), ("set", two_plate_set())] {
        let start = std::time::Instant::now();
        let s = run(&model, &Options::default(), &mut |stage: platewright::strength::Stage, pass: usize| println!("{:?} {} {}", start.elapsed(), stage.name(), pass)).expect("done");
        println!("{name}: {:?}", start.elapsed());
        println!("{}", serde_json::to_string_pretty(&s.report).expect("json"));
    }
}
