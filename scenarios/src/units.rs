//! File units to SI: the only place where they meet (MODEL.md § 12).

use crate::airframe_file::Point;
use sim_core::frames::BuilderPoint;
use std::f64::consts::TAU;

/// Millimetres to metres.
pub fn m_from_mm(mm: f64) -> f64 {
    mm * 1e-3
}

/// Square centimetres to square metres.
pub fn m2_from_cm2(cm2: f64) -> f64 {
    cm2 * 1e-4
}

/// Grams to kilograms; also g/m² to kg/m² and g/m to kg/m.
pub fn kg_from_g(g: f64) -> f64 {
    g * 1e-3
}

/// g mm² to kg m².
pub fn kg_m2_from_g_mm2(g_mm2: f64) -> f64 {
    g_mm2 * 1e-9
}

/// Degrees to radians; also °/s to rad/s.
pub fn rad_from_deg(deg: f64) -> f64 {
    deg.to_radians()
}

/// Degrees Celsius to kelvins.
pub fn k_from_celsius(celsius: f64) -> f64 {
    celsius + 273.15
}

/// Hectopascals to pascals.
pub fn pa_from_hpa(hpa: f64) -> f64 {
    hpa * 100.0
}

/// Millinewtons to newtons.
pub fn n_from_mn(mn: f64) -> f64 {
    mn * 1e-3
}

/// What a scale reads in grams (gram-force) to newtons.
pub fn n_from_gram_force(g: f64) -> f64 {
    g * 9.80665e-3
}

/// Revolutions per minute to rad/s.
pub fn rad_s_from_rpm(rpm: f64) -> f64 {
    rpm * (TAU / 60.0)
}

/// Milliampere-hours to coulombs.
pub fn c_from_mah(mah: f64) -> f64 {
    mah * 3.6
}

/// A place in a file to one in metres.
pub fn place(point: &Point) -> BuilderPoint {
    BuilderPoint::new(
        m_from_mm(point.station_mm),
        m_from_mm(point.right_mm),
        m_from_mm(point.up_mm),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    // Definitions of the units (SI Brochure; 1 h = 3600 s), worked by hand.
    #[test]
    fn one_of_each() {
        let close =
            |found: f64, expected: f64| assert!((found - expected).abs() <= 1e-15 * expected.abs());
        close(m_from_mm(250.0), 0.25);
        close(m2_from_cm2(650.0), 0.065);
        close(kg_from_g(9.5), 0.0095);
        close(kg_m2_from_g_mm2(70.0), 7e-8);
        close(rad_from_deg(180.0), std::f64::consts::PI);
        close(k_from_celsius(15.0), 288.15);
        close(pa_from_hpa(1013.25), 101_325.0);
        close(rad_s_from_rpm(60.0), TAU);
        close(c_from_mah(1000.0), 3600.0);
        close(n_from_mn(127.0), 0.127);
        close(n_from_gram_force(1000.0), 9.80665);
    }
}
