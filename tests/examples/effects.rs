//! Prints what each effect of the model does to a ready scenario: the table of MODEL.md § 15.
//! `cargo run -p tossline-tests --example effects`

use scenarios::load::load_scenario;
use std::path::Path;
use tossline_tests::known::effects::{EFFECTS, difference};

fn main() {
    let ready = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/ready");
    println!(
        "| effect | ready scenario | flight, s | moves it by up to, m | turns it by up to, deg |"
    );
    println!("| --- | --- | --- | --- | --- |");
    for effect in EFFECTS {
        let path = ready.join(effect.scenario).with_extension("json");
        let throw = load_scenario(path)
            .expect("a ready scenario loads")
            .built
            .throw;
        let mut without = throw.clone();
        (effect.off)(&mut without);
        let (with, without) = (
            throw.fly().expect("it starts"),
            without.fly().expect("it starts"),
        );
        let away = difference(&with, &without);
        println!(
            "| {} | `{}` | {:.2} | {:.3} | {:.2} |",
            effect.name, effect.scenario, away.time_s, away.position_m, away.attitude_deg
        );
    }
}
