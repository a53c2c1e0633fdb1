//! Checks of bodies.

use super::Check;
use crate::airframe_file::{Body, BoxBody};
use crate::check::{names_are_unique, within};
use crate::field::FieldPath;

/// Smallest and largest size of a body, mm.
const SIZE_MM: (f64, f64) = (0.1, 3000.0);

pub(super) fn bodies(bodies: &[Body], at: &FieldPath) -> Check {
    names_are_unique(at, "name", bodies.iter().map(Body::name))?;
    for (i, body) in bodies.iter().enumerate() {
        let at = at.index(i);
        let sizes = match body {
            Body::Rod(rod) => vec![
                ("length_mm", rod.length_mm),
                ("diameter_mm", rod.diameter_mm),
            ],
            Body::Block(one)
            | Body::RoundedBlock(one)
            | Body::Streamlined(one)
            | Body::StackedCanopy(one) => sizes_of(one),
        };
        for (name, value) in sizes {
            within(&at, name, value, SIZE_MM.0, SIZE_MM.1)?;
        }
    }
    Ok(())
}

fn sizes_of(body: &BoxBody) -> Vec<(&'static str, f64)> {
    vec![
        ("width_mm", body.width_mm),
        ("height_mm", body.height_mm),
        ("length_mm", body.length_mm),
    ]
}
