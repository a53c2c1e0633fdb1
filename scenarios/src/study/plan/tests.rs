use super::*;
use serde_json::json;

fn study(changes: &[(&str, Value)]) -> StudyFile {
    let mut value = json!({
        "tossline": 1, "kind": "study", "name": "s", "base": "b.json", "flights": 8, "seed": 5,
        "axes": [
            {"field": "air.wind.speed_m_s", "values": [0, 2, 4]},
            {"field": "motors.*.thrust_elevation_deg", "change": "add", "from": -4, "to": 4, "count": 5}
        ],
        "scatter": {"fields": [
            {"distribution": "normal", "field": "launch.release_speed_m_s", "mean": 5, "standard_deviation": 0.3},
            {"distribution": "uniform", "field": "launch.heading_deg", "least": -10, "most": 10}
        ]}
    });
    for (name, new) in changes {
        value[*name] = new.clone();
    }
    serde_json::from_value(value).unwrap()
}

// By hand: 3 × 5 points of 8 flights; flight 8·7 + 3 is sample 3 at wind 2 m/s (7 = 1·5 + 2) and elevation 0.
#[test]
fn flights_are_numbered_point_by_point() {
    let plan = Plan::new(&study(&[]), Purpose::State);
    assert_eq!((plan.axis_points(), plan.flights()), (15, 120));
    let flight = plan.flight(8 * 7 + 3);
    assert_eq!((flight.axis_point, flight.sample), (7, 3));
    assert_eq!(flight.values[..2], [2.0, 0.0]);
    assert_eq!(flight.overrides[0].change, Change::Set(Value::from(2.0)));
    assert_eq!(flight.overrides[1].change, Change::Add(0.0));
    assert_eq!(flight.overrides[2].path, "launch.release_speed_m_s");
    assert_eq!(plan.flight(119).values[..2], [4.0, 4.0]);
    let names: Vec<String> = plan.fields().collect();
    assert_eq!(names[1], "motors.*.thrust_elevation_deg (add)");
    assert_eq!(names[2], "launch.release_speed_m_s");
}

// By hand: the third wind has the third gust; a whole number stays one, and each end is drawn.
#[test]
fn fields_go_along_with_their_axis_and_seeds_are_whole() {
    let plan = Plan::new(
        &study(&[
            (
                "axes",
                json!([
                    {"field": "air.wind.speed_m_s", "values": [0, 2, 4],
                     "along": [{"field": "air.gusts.1.speed_m_s", "values": [0, 1, 2.5]}]},
                    {"field": "launch.heading_deg", "values": [0, 1]}
                ]),
            ),
            (
                "scatter",
                json!({"fields": [
                    {"distribution": "whole_number", "field": "air.turbulence.seed", "least": 3, "most": 4}
                ]}),
            ),
        ]),
        Purpose::State,
    );
    let flight = plan.flight(8 * 5);
    assert_eq!(flight.values[..2], [4.0, 1.0]);
    let along = &flight.overrides[2];
    assert_eq!(along.path, "air.gusts.1.speed_m_s");
    assert_eq!(along.change, Change::Set(Value::from(2.5)));
    let seeds: Vec<Change> = (0..8)
        .map(|i| plan.flight(i).overrides[3].change.clone())
        .collect();
    for seed in [3_u64, 4] {
        let of = Change::Set(Value::from(seed));
        assert_eq!(seeds.iter().filter(|s| **s == of).count(), 4, "{seeds:?}");
    }
}

#[test]
fn crossed_points_share_their_samples_and_nested_ones_do_not() {
    let crossed = Plan::new(&study(&[]), Purpose::State);
    assert_eq!(
        crossed.flight(3).values[2..],
        crossed.flight(59).values[2..]
    );
    let mut file = study(&[]);
    file.scatter.design = Design::Nested;
    let nested = Plan::new(&file, Purpose::State);
    assert_ne!(nested.flight(3).values[2..], nested.flight(59).values[2..]);
    assert_eq!(nested.flight(3), nested.clone().flight(3));
}

// Sobol's samples do not know how many there will be; what is drawn to choose is not what is drawn to state.
#[test]
fn a_sample_depends_on_seed_number_and_purpose_alone() {
    let few = Plan::new(&study(&[("axes", json!([]))]), Purpose::State);
    let many = Plan::new(
        &study(&[("axes", json!([])), ("flights", json!(4096))]),
        Purpose::State,
    );
    for i in 0..8 {
        assert_eq!(few.flight(i).values, many.flight(i).values);
    }
    let choosing = Plan::new(&study(&[("axes", json!([]))]), Purpose::Choose);
    let other_seed = Plan::new(
        &study(&[("axes", json!([])), ("seed", json!(6))]),
        Purpose::State,
    );
    for i in 0..8 {
        for other in [&choosing, &other_seed] {
            let pairs = few.flight(i).values.into_iter().zip(other.flight(i).values);
            assert!(pairs.into_iter().all(|(a, b)| a != b));
        }
    }
}
