//! No effect is there for show: each moves the ready scenario named beside it.

use scenarios::load::load_scenario;
use std::path::Path;
use tossline_tests::known::effects::{EFFECTS, difference};

#[test]
fn every_effect_moves_a_ready_scenario() {
    let ready = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/ready");
    for effect in EFFECTS {
        let path = ready.join(effect.scenario).with_extension("json");
        let throw = load_scenario(path).unwrap().built.throw;
        let mut without = throw.clone();
        (effect.off)(&mut without);
        let away = difference(&throw.fly().unwrap(), &without.fly().unwrap());
        // A centimetre or a tenth of a degree is more than a thousand times what the solver's tolerance leaves.
        let seen = away.position_m > 0.01 || away.attitude_deg > 0.1;
        assert!(seen && away.time_s > 1.0, "{}: {away:?}", effect.name);
    }
}
