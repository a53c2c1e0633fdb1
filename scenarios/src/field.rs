//! Where in a file a value is: the path of a field.

use serde_json::Value;
use serde_path_to_error::Segment;

/// One step down into a JSON value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Step {
    /// Into a field of an object.
    Key(String),
    /// Into an element of a list, counted from 0.
    Index(usize),
}

/// The steps from a file's outermost object to a value. The value itself may be missing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct FieldPath(pub Vec<Step>);

impl FieldPath {
    /// The path of a field of the object here.
    pub fn key(&self, name: &str) -> Self {
        self.with(Step::Key(name.to_owned()))
    }

    /// The path of an element of the list here.
    pub fn index(&self, index: usize) -> Self {
        self.with(Step::Index(index))
    }

    fn with(&self, step: Step) -> Self {
        let mut steps = self.0.clone();
        steps.push(step);
        FieldPath(steps)
    }

    /// How many first steps two paths share.
    pub fn shared(&self, other: &Self) -> usize {
        self.0
            .iter()
            .zip(&other.0)
            .take_while(|(a, b)| a == b)
            .count()
    }

    /// The path for people: names joined by dots, elements by their name where they have one, else by their number from 1.
    pub fn shown(&self, root: &Value) -> String {
        let mut text = String::new();
        let mut here = Some(root);
        for step in &self.0 {
            match step {
                Step::Key(name) => {
                    if !text.is_empty() {
                        text.push('.');
                    }
                    text.push_str(name);
                    here = here.and_then(|value| value.get(name));
                }
                Step::Index(index) => {
                    here = here.and_then(|value| value.get(index));
                    match here.and_then(element_name) {
                        Some(name) if !name.is_empty() => {
                            text.push('.');
                            text.push_str(name);
                        }
                        _ => text.push_str(&format!("[{}]", index + 1)),
                    }
                }
            }
        }
        text
    }
}

impl From<&serde_path_to_error::Path> for FieldPath {
    fn from(path: &serde_path_to_error::Path) -> Self {
        FieldPath(
            path.iter()
                .filter_map(|segment| match segment {
                    Segment::Seq { index } => Some(Step::Index(*index)),
                    Segment::Map { key } => Some(Step::Key(key.clone())),
                    Segment::Enum { .. } | Segment::Unknown => None,
                })
                .collect(),
        )
    }
}

/// The name by which an element of a list is called, if it has one.
pub(crate) fn element_name(element: &Value) -> Option<&str> {
    element.get("name").or_else(|| element.get("tab"))?.as_str()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn elements_go_by_name_or_by_number_from_one() {
        let root = json!({"motors": [{"name": "left", "spin": "clockwise"}], "path": [{"up_mm": 1}, {"up_mm": 2}]});
        let top = FieldPath::default();
        assert_eq!(
            top.key("motors").index(0).key("spin").shown(&root),
            "motors.left.spin"
        );
        assert_eq!(
            top.key("path").index(1).key("up_mm").shown(&root),
            "path[2].up_mm"
        );
    }
}
