//! The worst length of a gust, against flights at lengths nobody chose for the purpose.

use super::{STEP, scenario, with};
use crate::build::BuiltScenario;
use crate::gust_search::{GustHarm, GustSearch, GustSearchError, worst_gust_length};
use crate::summary::summarise;

/// The knot released high into one sinking gust on its way.
fn sinking() -> BuiltScenario {
    let text = with(
        STEP,
        r#""release_height_m": 1.7"#,
        r#""release_height_m": 12"#,
    );
    let text = with(
        &text,
        r#"{ "speed_m_s": 3, "from_deg": 0, "gust_start_m": 5, "gust_length_m": 8 }"#,
        r#"{ "speed_m_s": 2, "from_deg": 270, "up_m_s": -1, "gust_start_m": 3, "gust_length_m": 8 }"#,
    );
    let mut built = scenario(&text).expect("it loads").built;
    built.throw.time_limit_s = 4.0;
    built
}

#[test]
fn no_other_length_is_worse() {
    for harm in [GustHarm::LowestPoint, GustHarm::HeightLost] {
        let search = GustSearch {
            shortest_m: 1.5,
            longest_m: 60.0,
            lengths: 16,
            harm,
            ..GustSearch::default()
        };
        let built = sinking();
        let found = worst_gust_length(&built, &search).unwrap();
        assert_eq!(found.scan.len(), 16);
        assert!(found.flights >= 16);
        let value = |length_m: f64| {
            let mut throw = built.throw.clone();
            throw.air.gusts[0].length = length_m;
            let summary = summarise(&throw.fly().unwrap(), None, &built.summary);
            match harm {
                GustHarm::LowestPoint => -summary.minimum_altitude_m.unwrap(),
                GustHarm::HeightLost => summary.height_lost_since_step_m.unwrap(),
            }
        };
        let worst = value(found.worst.gust_length_m);
        let others: Vec<f64> = (0..40).map(|i| value(1.5 + 1.5 * f64::from(i))).collect();
        let most = others.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let least = others.iter().copied().fold(f64::INFINITY, f64::min);
        assert!(most - least > 0.05, "lengths matter: {least} {most}");
        assert!(worst >= most - 1e-3 * (most - least), "{worst} {most}");
    }
}

#[test]
fn what_cannot_be_searched_is_said() {
    let built = sinking();
    let ask = |search: GustSearch| worst_gust_length(&built, &search).unwrap_err();
    let no_such = GustSearch {
        gust: 2,
        ..GustSearch::default()
    };
    assert_eq!(
        ask(no_such).to_string(),
        "the scenario has 2 gusts; there is no gust 3"
    );
    let in_time = GustSearch {
        gust: 1,
        ..GustSearch::default()
    };
    assert_eq!(ask(in_time), GustSearchError::InTime { gust: 2 });
    for (shortest_m, longest_m, lengths) in [(0.0, 9.0, 9), (9.0, 8.0, 9), (1.0, 9.0, 2)] {
        let search = GustSearch {
            shortest_m,
            longest_m,
            lengths,
            ..GustSearch::default()
        };
        assert!(matches!(ask(search), GustSearchError::NoRange { .. }));
    }
}
