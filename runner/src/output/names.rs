//! Names of columns and fields as people read them.

/// A key as people read it: `stall_margin_deg` is "stall margin, deg".
pub fn words_of(key: &str) -> String {
    match name_and_unit(key) {
        (name, "") => name,
        (name, unit) => format!("{name}, {unit}"),
    }
}

/// The same apart; no unit where the key has none.
pub fn name_and_unit(key: &str) -> (String, &'static str) {
    const UNITS: [(&str, &str); 15] = [
        ("_N_m", "N·m"),
        ("_m_s", "m/s"),
        ("_deg_s", "deg/s"),
        ("_mAh", "mAh"),
        ("_deg", "deg"),
        ("_mm", "mm"),
        ("_m2", "m²"),
        ("_W", "W"),
        ("_N", "N"),
        ("_V", "V"),
        ("_g", "g"),
        ("_s", "s"),
        ("_m", "m"),
        ("_A", "A"),
        ("_fraction", "fraction"),
    ];
    let unit = UNITS.iter().find(|(end, _)| key.ends_with(end));
    match unit {
        Some((end, unit)) => {
            let name = key.strip_suffix(end).unwrap_or(key).replace('_', " ");
            (name, unit)
        }
        None => (key.replace('_', " "), ""),
    }
}

/// Change words at the end of a moved field's name, as tables have it.
const ADDED: &str = " (add)";
const MULTIPLIED: &str = " (multiply)";

/// A moved field without its change word, and its mean in some throws against that in others.
pub fn against(field: &str, mean: f64, other: f64, digits: impl Fn(f64) -> String) -> String {
    let signed = |value: f64| match value > 0.0 {
        true => format!("+{}", digits(value)),
        false => digits(value),
    };
    if let Some(path) = field.strip_suffix(MULTIPLIED) {
        let (mean, other) = (digits(mean), digits(other));
        return format!("{path} ({mean} times what the file says, on average, against {other})");
    }
    if let Some(path) = field.strip_suffix(ADDED) {
        let (mean, other) = (signed(mean), signed(other));
        let unit = spaced(name_and_unit(path).1);
        return format!("{path} ({mean}{unit} on what the file says, on average, against {other})");
    }
    let (mean, other) = (digits(mean), digits(other));
    let unit = spaced(name_and_unit(field).1);
    format!("{field} ({mean}{unit} on average, against {other})")
}

/// A unit behind a number.
pub fn spaced(unit: &str) -> String {
    match unit {
        "" => String::new(),
        unit => format!(" {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_and_its_unit_come_apart() {
        assert_eq!(words_of("stall_margin_deg"), "stall margin, deg");
        assert_eq!(name_and_unit("speed_m_s"), ("speed".to_owned(), "m/s"));
        assert_eq!(words_of("ended_by"), "ended by");
    }

    #[test]
    fn a_field_is_told_by_what_is_done_to_it() {
        let told = |field| against(field, 1.5, -0.25, |value| value.to_string());
        assert_eq!(
            told("mass.parts.glue.mass_g (multiply)"),
            "mass.parts.glue.mass_g (1.5 times what the file says, on average, against -0.25)"
        );
        assert_eq!(
            told("launch.path_angle_deg (add)"),
            "launch.path_angle_deg (+1.5 deg on what the file says, on average, against -0.25)"
        );
        assert_eq!(
            told("air.wind.speed_m_s"),
            "air.wind.speed_m_s (1.5 m/s on average, against -0.25)"
        );
    }
}
