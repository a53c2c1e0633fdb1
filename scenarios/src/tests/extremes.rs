//! Damaged and absurd files: refused or flown, never a panic and never a number that is none.

use super::{KNOT, STEP, airframe, scenario};
use serde_json::{Value, json};

#[test]
fn every_file_cut_short_is_refused() {
    for end in 0..KNOT.trim_end().len() {
        if let Some(text) = KNOT.get(..end) {
            assert!(airframe(text, &[]).is_err(), "cut after {end} bytes");
        }
    }
}

#[test]
fn no_flipped_bit_makes_a_panic() {
    let mut refused = 0;
    for i in 0..STEP.len() {
        let mut bytes = STEP.as_bytes().to_vec();
        bytes[i] ^= 1 << (i % 7);
        let text = String::from_utf8(bytes).expect("still ASCII");
        if let Err(error) = scenario(&text) {
            assert!(error.line.is_some(), "{error}");
            refused += 1;
        }
    }
    // Blanks between entries and digits of numbers may change and leave a right file; names, words and marks may not.
    assert!(refused > STEP.len() / 2, "{refused} of {}", STEP.len());
}

/// Calls `with` once for each number in a value, each time with that number replaced.
fn each_number(value: &Value, new: &Value, with: &mut dyn FnMut(&str, &Value)) {
    fn pointers(value: &Value, here: String, found: &mut Vec<String>) {
        match value {
            Value::Number(_) => found.push(here),
            Value::Object(object) => object
                .iter()
                .for_each(|(name, v)| pointers(v, format!("{here}/{name}"), found)),
            Value::Array(list) => list
                .iter()
                .enumerate()
                .for_each(|(i, v)| pointers(v, format!("{here}/{i}"), found)),
            _ => {}
        }
    }
    let mut places = Vec::new();
    pointers(value, String::new(), &mut places);
    for place in places {
        let mut changed = value.clone();
        *changed.pointer_mut(&place).expect("a place just found") = new.clone();
        with(&place, &changed);
    }
}

#[test]
fn absurd_numbers_are_refused_or_give_a_finite_vehicle() {
    let whole: Value = serde_json::from_str(KNOT).expect("the form");
    for new in [
        json!(0),
        json!(-1),
        json!(1e9),
        json!(-1e9),
        json!(1e-12),
        json!(1e-300),
        json!(1e300),
    ] {
        each_number(&whole, &new, &mut |place, changed| {
            if let Ok(loaded) = airframe(&changed.to_string(), &[]) {
                // Every number of a vehicle shows in its debug form; NaN and inf would show as those words.
                let shown = format!("{:?}", loaded.built);
                assert!(
                    !shown.contains("NaN") && !shown.contains("inf"),
                    "{place} = {new}"
                );
            }
        });
    }
    let whole: Value = serde_json::from_str(STEP).expect("the form");
    for new in [json!(0), json!(-1), json!(1e9), json!(1e-300)] {
        each_number(&whole, &new, &mut |place, changed| {
            if let Ok(loaded) = scenario(&changed.to_string()) {
                let shown = format!("{:?}", loaded.built.throw);
                assert!(
                    !shown.contains("NaN") && !shown.contains("inf,"),
                    "{place} = {new}"
                );
            }
        });
    }
}
