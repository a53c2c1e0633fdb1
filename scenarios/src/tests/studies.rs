//! Overrides of a scenario's own fields, and studies: what they change, and exactly what is said of wrong ones.

use super::{STEP, close, scenario, with};
use crate::load::{LoadedScenario, load_scenario_with};
use crate::overrides::Override;
use crate::study::{LoadedStudy, Purpose, load_study};
use serde_json::{Value, json};

fn changed(list: &[&str]) -> Result<LoadedScenario, String> {
    let overrides: Vec<Override> = list
        .iter()
        .map(|text| Override::parse(text).unwrap())
        .collect();
    let path = format!("{}/step.json", super::FOLDER);
    load_scenario_with(path, &overrides).map_err(|error| error.to_string())
}

#[test]
fn a_path_leads_into_the_scenario_by_its_first_name_and_else_into_the_airframe() {
    let loaded = changed(&[
        "launch.release_speed_m_s+=0.5",
        "air.gusts.2.up_m_s=-1",
        "air.gusts.*.speed_m_s*=2",
        "pilot.throttle.changes.1.to_fraction=0.5",
        "site.ground_height_m=-3",
        "airframe.motors.left.thrust_elevation_deg=1",
        "motors.right.thrust_elevation_deg=2",
    ])
    .unwrap();
    assert_eq!(loaded.file.launch.release_speed_m_s, 6.5);
    assert_eq!(
        (
            loaded.file.air.gusts[0].speed_m_s,
            loaded.file.air.gusts[1].up_m_s
        ),
        (6.0, -1.0)
    );
    assert_eq!(loaded.file.pilot.throttle.changes[0].to_fraction, 0.5);
    assert_eq!(loaded.built.throw.site.ground_height_m, -3.0);
    close(loaded.built.throw.launch.speed_m_s, 6.5, 0.0);
    let motors = &loaded.airframe.file.motors;
    assert_eq!(
        (
            motors[0].thrust_elevation_deg,
            motors[1].thrust_elevation_deg
        ),
        (1.0, 2.0)
    );
    let overridden = loaded.effective().overridden;
    assert!(
        overridden.contains(&"air.gusts[2].up_m_s".to_owned()),
        "{overridden:?}"
    );
}

#[test]
fn wrong_paths_and_values_are_put_down_to_the_override() {
    for (list, expected) in [
        (
            "launch.release_sped_m_s=5",
            "command line: overrides \"launch.release_sped_m_s\": found a path that names nothing, wanted the path of a field of the scenario; did you mean \"launch.release_speed_m_s\"?",
        ),
        (
            "lanch.release_speed_m_s=5",
            "command line: overrides \"lanch.release_speed_m_s\": found a path that names nothing, wanted the path of a field of the airframe; did you mean \"launch.release_speed_m_s\"?",
        ),
        (
            "launch.release_height_m=-1",
            "command line: overrides \"launch.release_height_m\": found -1, wanted a number over 0",
        ),
        (
            "air.gusts.1.speed_m_s=99",
            "command line: overrides \"air.gusts.1.speed_m_s\" (air.gusts[1].speed_m_s): found 99, wanted a number from 0 to 50",
        ),
        (
            "launch.release_height_m=0.001",
            "command line: overrides \"launch.release_height_m\": found 0.001, wanted more than",
        ),
    ] {
        let error = changed(&[list]).unwrap_err();
        assert!(error.starts_with(expected), "{error}");
    }
    let alone = crate::load::load_airframe(
        format!("{}/knot.json", super::FOLDER),
        &[Override::parse("launch.release_speed_m_s=5").unwrap()],
    );
    assert_eq!(
        alone.unwrap_err().to_string(),
        "command line: overrides \"launch.release_speed_m_s\": found a path of a scenario, wanted the path of a field of the airframe, since no scenario is read here"
    );
}

// What is like no path of the scenario used to be proposed as it was written, its first name being right.
#[test]
fn a_path_that_is_refused_is_not_proposed() {
    for path in [
        "launch.which_hand",
        "site.colour",
        "air.gusts.9.speed_m_s",
        "airframe.launch.release_speed_m_s",
        "pilot.tabs.elevator.1.points.1.1",
    ] {
        let error = changed(&[&format!("{path}=1")]).unwrap_err();
        assert!(error.contains("a path that names nothing"), "{error}");
        let proposed = error.split("did you mean \"").nth(1);
        let proposed = proposed.map(|rest| rest.trim_end_matches("\"?"));
        assert_ne!(proposed, Some(path), "{error}");
        if let Some(proposed) = proposed {
            let again = changed(&[&format!("{proposed}=1")]);
            let names_nothing = again.is_err_and(|error| error.contains("names nothing"));
            assert!(!names_nothing, "{error}");
        }
    }
}

// No airframe field may have the name by which a path is known as the scenario's.
#[test]
fn the_first_names_of_scenario_paths_are_no_airframe_fields() {
    let airframe = crate::schema::Kind::Airframe.schema();
    for name in [
        "launch", "air", "pilot", "site", "end", "summary", "solver", "record", "airframe",
    ] {
        assert!(airframe["properties"].get(name).is_none(), "{name}");
    }
}

#[test]
fn a_scenario_s_own_overrides_reach_its_fields_too() {
    let text = with(
        STEP,
        "\"overrides\": {",
        "\"overrides\": {\n    \"launch.heading_deg\": {\"add\": 5},",
    );
    assert_eq!(scenario(&text).unwrap().file.launch.heading_deg, 95.0);
}

fn study() -> Value {
    json!({
        "tossline": 1, "kind": "study", "name": "s", "base": "step.json", "flights": 4, "seed": 2,
        "axes": [{"field": "air.wind.speed_m_s", "from": 0, "to": 3, "count": 4}],
        "scatter": {"sampling": "latin_hypercube", "fields": [
            {"distribution": "normal", "field": "launch.release_speed_m_s", "mean": 6, "standard_deviation": 0.2},
            {"distribution": "uniform", "field": "motors.*.thrust_elevation_deg", "change": "add", "least": -1, "most": 1}
        ]},
        "conditions": [{"name": "high", "column": "minimum_altitude_m", "comparison": "at_least", "limit": 0.5}]
    })
}

fn load(study: &Value) -> Result<LoadedStudy, String> {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| {
        std::fs::write(folder.path().join(name), text).expect("a file");
    };
    write("knot.json", super::KNOT);
    write("step.json", STEP);
    write("study.json", &study.to_string());
    let prefix = format!("{}/", folder.path().display());
    load_study(folder.path().join("study.json"), &[])
        .map_err(|error| error.to_string().replace(&prefix, ""))
}

// What the plan says is what is flown, in whatever order flights are asked for, with the files gone meanwhile: nothing is read again.
#[test]
fn a_study_s_flights_are_its_base_with_the_planned_values() {
    let loaded = load(&study()).unwrap();
    let plan = loaded.plan(Purpose::State);
    assert_eq!(plan.flights(), 16);
    for index in [13, 2, 7] {
        let flight = plan.flight(index);
        let scenario = loaded.scenario(&flight).unwrap();
        assert_eq!(scenario.file.air.wind.speed_m_s, (index / 4) as f64);
        assert_eq!(scenario.file.launch.release_speed_m_s, flight.values[1]);
        // The step's own override takes 3 deg from the knot's 5.
        let elevation = scenario.airframe.file.motors[0].thrust_elevation_deg;
        close(elevation, 2.0 + flight.values[2], 1e-12);
        let flown = scenario.built.throw.fly().unwrap();
        assert!(flown.end_time_s > 0.0);
    }
}

#[test]
fn wrong_studies_are_said_with_their_field() {
    type Change = fn(&mut Value);
    let cases: [(Change, &str); 13] = [
        (
            |s| s["base"] = json!("stepp.json"),
            "study.json:1: base: found \"stepp.json\", which is no file, wanted the path of a scenario file, from the folder this file is in; did you mean \"step.json\"?",
        ),
        (
            |s| s["axes"][0]["values"] = json!([1, 2]),
            "study.json:1: axes[1]: found a list and a range, wanted \"values\", or \"from\", \"to\" and \"count\"",
        ),
        (
            |s| s["axes"][0]["along"] = json!([{"field": "launch.heading_deg", "values": [1, 2]}]),
            "study.json:1: axes[1].along[1].values: found 2 values, wanted 4, as many as the axis has",
        ),
        (
            |s| s["scatter"]["fields"][1] = json!({"distribution": "whole_number", "field": "launch.heading_deg", "least": 0.5, "most": 3}),
            "study.json:1: scatter.fields[2].least: found 0.5, wanted a whole number",
        ),
        (
            |s| s["axes"][0]["field"] = json!("air.wind.sped_m_s"),
            "study.json:1: overrides \"air.wind.sped_m_s\": found a path that names nothing, wanted the path of a field of the scenario; did you mean \"air.wind.speed_m_s\"?",
        ),
        (
            |s| s["scatter"]["fields"][0]["distribution"] = json!("norml"),
            "study.json:1: scatter.fields[1].distribution: found \"norml\", wanted \"normal\", \"truncated_normal\", \"uniform\", \"whole_number\" or \"triangular\"; did you mean \"normal\"?",
        ),
        (
            |s| s["scatter"]["fields"][0]["standard_deviation"] = json!(0),
            "study.json:1: scatter.fields[1].standard_deviation: found 0, wanted a number over 0",
        ),
        (
            |s| s["scatter"]["fields"][1]["most"] = json!(-2),
            "study.json:1: scatter.fields[2].most: found -2, wanted more than \"least\" (-1)",
        ),
        (
            |s| s["scatter"]["correlations"] = json!([{"first": "launch.release_speed", "second": "motors.*.thrust_elevation_deg", "coefficient": 0.5}]),
            "study.json:1: scatter.correlations[1].first: found \"launch.release_speed\", wanted \"launch.release_speed_m_s\" or \"motors.*.thrust_elevation_deg\"; did you mean \"launch.release_speed_m_s\"?",
        ),
        (
            |s| s["conditions"][0]["column"] = json!("minimum_altitude"),
            "study.json:1: conditions.high.column: found \"minimum_altitude\", wanted a column of the summary; did you mean \"minimum_altitude_m\"?",
        ),
        (
            |s| s["conditions"][0]["comparison"] = json!("is"),
            "study.json:1: conditions.high: found another, wanted \"word\" and no \"limit\", with \"is\" and \"is_not\"",
        ),
        (
            |s| s["flights"] = json!(0),
            "study.json:1: flights: found 0, wanted 1 or more, and at most 4294967296 flights at all 4 points together",
        ),
        (
            |s| s["flihgts"] = json!(3),
            "study.json:1: flihgts: found an unknown field, wanted a field that exists here; did you mean \"flights\"?",
        ),
    ];
    for (change, expected) in cases {
        let mut wrong = study();
        change(&mut wrong);
        assert_eq!(load(&wrong).unwrap_err(), expected);
    }
}

// What a study keeps and the sensitivities it asks for: what is said of wrong ones.
#[test]
fn wrong_kept_columns_and_sensitivities_are_said_with_their_field() {
    type Change = fn(&mut Value);
    fn ask(s: &mut Value) {
        s.as_object_mut().unwrap().remove("axes");
        s["sensitivity"] = json!({"kind": "sobol_indices"});
    }
    let cases: [(Change, &str); 11] = [
        (
            |s| s["keep"] = json!({"columns": ["flight_time"]}),
            "study.json:1: keep.columns[1]: found \"flight_time\", wanted a column of the summary; did you mean \"flight_time_s\"?",
        ),
        (
            |s| s["keep"] = json!({"format": "parket"}),
            "study.json:1: keep.format: found \"parket\", wanted \"csv\" or \"parquet\"; did you mean \"parquet\"?",
        ),
        (
            |s| s["keep"] = json!({"trajectories": {"which": "worst", "count": 2, "column": "ended_by", "end": "lowest"}}),
            "study.json:1: keep.trajectories.column: found \"ended_by\", wanted a column of numbers",
        ),
        (
            |s| s["keep"] = json!({"columns": ["flight_time_s"], "trajectories": {"which": "worst", "count": 2, "column": "alpha_max_deg", "end": "highest"}}),
            "study.json:1: keep.trajectories.column: found \"alpha_max_deg\", wanted a column that is kept (\"keep\", \"columns\")",
        ),
        (
            |s| s["keep"] = json!({"trajectories": {"which": "every", "step": 0}}),
            "study.json:1: keep.trajectories.step: found 0, wanted 1 or more",
        ),
        (
            |s| {
                s["flights"] = json!(100_000);
                s["keep"] = json!({"trajectories": {"which": "all"}});
            },
            "study.json:1: keep.trajectories: found 400000 trajectories, wanted 100000 at most: each is a file",
        ),
        (
            |s| s["sensitivity"] = json!({"kind": "sobol_indices"}),
            "study.json:1: axes: found 1 axes, wanted none with \"sensitivity\": scatter the field, or set it",
        ),
        (
            |s| {
                ask(s);
                s["scatter"]["correlations"] = json!([{"first": "launch.release_speed_m_s", "second": "motors.*.thrust_elevation_deg", "coefficient": 0.5}]);
            },
            "study.json:1: scatter.correlations: found 1 correlations, wanted none with \"sensitivity\": shares of fields that go together are not defined",
        ),
        (
            |s| {
                ask(s);
                s["flights"] = json!(1);
            },
            "study.json:1: flights: found 1, wanted 2 samples or more, with \"sensitivity\"",
        ),
        (
            |s| {
                ask(s);
                s["conditions"] = json!([]);
            },
            "study.json:1: sensitivity.columns: found 0 columns, wanted 1 to 20 columns of numbers that are kept",
        ),
        (
            |s| {
                ask(s);
                s["flights"] = json!(2_000_000_000);
            },
            "study.json:1: flights: found 2000000000, wanted 1 or more, and at most 4294967296 flights at all 1 points together (4 a sample)",
        ),
    ];
    for (change, expected) in cases {
        let mut wrong = study();
        change(&mut wrong);
        assert_eq!(load(&wrong).unwrap_err(), expected);
    }
}

// By the definition of MODEL.md § 27: a group is `a`, `b` and `a` with one value of `b` each; an effect's step is a quarter or more.
#[test]
fn groups_exchange_one_value_each() {
    let mut asked = study();
    asked.as_object_mut().unwrap().remove("axes");
    asked["sensitivity"] = json!({"kind": "sobol_indices"});
    let plan = load(&asked).unwrap().whole_plan();
    assert_eq!((plan.group(), plan.flights()), (4, 16));
    for sample in 0..4 {
        let group: Vec<Vec<f64>> = (0..4).map(|i| plan.flight(4 * sample + i).values).collect();
        assert_eq!(group[2], [group[1][0], group[0][1]]);
        assert_eq!(group[3], [group[0][0], group[1][1]]);
        assert!(group[0].iter().zip(&group[1]).all(|(a, b)| a != b));
    }
    // Other commands fly one flight a sample.
    let counted = load(&asked).unwrap().plan(Purpose::State);
    assert_eq!(counted.flights(), 4);

    asked["sensitivity"] = json!({"kind": "elementary_effects"});
    let plan = load(&asked).unwrap().whole_plan();
    assert_eq!((plan.group(), plan.flights()), (3, 12));
    for sample in 0..4 {
        let group: Vec<Vec<f64>> = (0..3).map(|i| plan.flight(3 * sample + i).values).collect();
        assert!(group[1][1] == group[0][1] && group[1][0] != group[0][0]);
        assert!(group[2][0] == group[0][0] && group[2][1] != group[0][1]);
        let steps = plan.steps(sample);
        assert!(steps.iter().all(|step| (0.25..=0.75).contains(&step.abs())));
        // The second field is even over -1 to 1: its value moves by twice the step.
        assert!((group[2][1] - group[0][1] - 2.0 * steps[1]).abs() < 1e-9);
    }
}
