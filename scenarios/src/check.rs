//! Checks that many fields share: ranges and names.

use crate::error::{Problem, number, quoted};
use crate::field::FieldPath;

/// Fails unless a number is above zero (a number so small that its inverse overflows is none).
pub(crate) fn over_zero(at: &FieldPath, name: &str, value: f64) -> Result<(), Problem> {
    const SMALLEST: f64 = 1e-12;
    if value >= SMALLEST {
        Ok(())
    } else if value > 0.0 {
        let wanted = format!("a number of at least {}", number(SMALLEST));
        Err(Problem::new(at.key(name), number(value), wanted))
    } else {
        Err(Problem::new(at.key(name), number(value), "a number over 0"))
    }
}

/// Smallest step of a table's argument, or of time in s, that counts as one: far below anything measured, far above rounding.
pub(crate) const SMALLEST_STEP: f64 = 1e-6;

/// Fails unless a table's argument or a list's times rise, by [`SMALLEST_STEP`] at least. `key` is their field.
pub(crate) fn rises(
    list: &FieldPath,
    key: &str,
    values: impl IntoIterator<Item = f64>,
) -> Result<(), Problem> {
    let mut before: Option<f64> = None;
    for (k, value) in values.into_iter().enumerate() {
        if let Some(earlier) = before.filter(|earlier| value - earlier < SMALLEST_STEP) {
            let wanted = format!(
                "more than in the entry before ({}), by {} at least",
                number(earlier),
                number(SMALLEST_STEP)
            );
            return Err(Problem::new(list.index(k).key(key), number(value), wanted));
        }
        before = Some(value);
    }
    Ok(())
}

/// Fails unless a time (s) is zero or long enough to count.
pub(crate) fn zero_or_time(at: &FieldPath, name: &str, time_s: f64) -> Result<(), Problem> {
    if time_s == 0.0 || time_s >= SMALLEST_STEP {
        Ok(())
    } else if time_s > 0.0 {
        let wanted = format!("0, or a number of at least {}", number(SMALLEST_STEP));
        Err(Problem::new(at.key(name), number(time_s), wanted))
    } else {
        not_negative(at, name, time_s)
    }
}

/// Fails unless a number is zero or above.
pub(crate) fn not_negative(at: &FieldPath, name: &str, value: f64) -> Result<(), Problem> {
    if value >= 0.0 {
        Ok(())
    } else {
        Err(Problem::new(
            at.key(name),
            number(value),
            "a number of 0 or more",
        ))
    }
}

/// Fails unless a number lies between two, both allowed.
pub(crate) fn within(
    at: &FieldPath,
    name: &str,
    value: f64,
    least: f64,
    most: f64,
) -> Result<(), Problem> {
    if (least..=most).contains(&value) {
        Ok(())
    } else {
        let wanted = format!("a number from {} to {}", number(least), number(most));
        Err(Problem::new(at.key(name), number(value), wanted))
    }
}

/// Fails unless a name can stand in a path, a column or a folder.
pub(crate) fn name_is_plain(at: &FieldPath, name: &str) -> Result<(), Problem> {
    const LONGEST: usize = 80;
    let plain = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    let starts_well = name.chars().next().is_some_and(char::is_alphanumeric);
    if starts_well && name.chars().all(plain) && name.chars().count() <= LONGEST {
        return Ok(());
    }
    let wanted = format!(
        "a name of letters, digits, - and _, starting with a letter or digit, {LONGEST} at most"
    );
    Err(Problem::new(at.clone(), quoted(name), wanted))
}

/// Fails where a list's names are not plain or one stands twice. `key` is the field that holds the name.
pub(crate) fn names_are_unique<'a>(
    list: &FieldPath,
    key: &str,
    names: impl IntoIterator<Item = &'a str>,
) -> Result<(), Problem> {
    let mut seen: Vec<&str> = Vec::new();
    for (i, name) in names.into_iter().enumerate() {
        let at = list.index(i).key(key);
        name_is_plain(&at, name)?;
        if let Some(first) = seen.iter().position(|&earlier| earlier == name) {
            let found = format!(
                "{} a second time (entry {} has it already)",
                quoted(name),
                first + 1
            );
            return Err(Problem::new(at, found, "a name of its own"));
        }
        seen.push(name);
    }
    Ok(())
}
