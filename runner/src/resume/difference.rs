//! What differs between two JSON texts, field by field.

use serde_json::Value;

/// Differences named at most.
const MOST_NAMED: usize = 4;
/// Letters of a value that are shown at most.
const MOST_LETTERS: usize = 40;

/// Fields that differ, with what they were and are; nothing where the texts say the same, or one is no JSON.
pub fn differences(then: &str, now: &str) -> Vec<String> {
    let both = [then, now].map(serde_json::from_str::<Value>);
    let [Ok(then), Ok(now)] = both else {
        return Vec::new();
    };
    let mut found = Vec::new();
    compare("", Some(&then), Some(&now), &mut found);
    let more = found.len().saturating_sub(MOST_NAMED);
    found.truncate(MOST_NAMED);
    if more > 0 {
        found.push(format!("and {more} more"));
    }
    found
}

fn compare(path: &str, then: Option<&Value>, now: Option<&Value>, found: &mut Vec<String>) {
    if then == now {
        return;
    }
    match (then, now) {
        (Some(Value::Object(a)), Some(Value::Object(b))) => {
            let added = b.keys().filter(|key| !a.contains_key(*key));
            for key in a.keys().chain(added) {
                let dot = if path.is_empty() { "" } else { "." };
                compare(&format!("{path}{dot}{key}"), a.get(key), b.get(key), found);
            }
        }
        (Some(Value::Array(a)), Some(Value::Array(b))) => {
            for i in 0..a.len().max(b.len()) {
                compare(&format!("{path}.{}", i + 1), a.get(i), b.get(i), found);
            }
        }
        _ => found.push(format!("{path}: then {}, now {}", shown(then), shown(now))),
    }
}

fn shown(value: Option<&Value>) -> String {
    let Some(value) = value else {
        return "not there".to_owned();
    };
    let text = value.to_string();
    if text.chars().count() <= MOST_LETTERS {
        return text;
    }
    text.chars().take(MOST_LETTERS - 1).chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_that_differ_are_named_and_layout_is_not() {
        let then = r#"{"seed": 3, "keep": {"format": "csv"}, "axes": [1, 2]}"#;
        let now = r#"{"seed":4,"axes":[1,5,6],"keep":{"format":"csv"},"note":"x"}"#;
        assert_eq!(
            differences(then, now),
            [
                "seed: then 3, now 4",
                "axes.2: then 2, now 5",
                "axes.3: then not there, now 6",
                "note: then not there, now \"x\"",
            ]
        );
        let same = r#"{ "keep": {"format": "csv"}, "seed": 3, "axes": [1, 2]}"#;
        assert!(differences(then, same).is_empty());
        assert!(differences(then, "{").is_empty());
        let many = r#"{"a": 1, "b": 2, "c": 3, "d": 4, "e": 5}"#;
        assert_eq!(differences("{}", many).last().unwrap(), "and 1 more");
    }
}
