//! ISO 2533 atmosphere on the day's temperature and pressure (MODEL.md § 4.1).

use super::STANDARD_GRAVITY_M_S2;
use crate::number::{Number, lane_data};

/// Gas constant of dry air, J/(kg K). Source: ISO 2533, from memory.
pub const GAS_CONSTANT_J_KG_K: f64 = 287.05287;
/// Temperature lapse of the lowest layer, K/m. Source: ISO 2533.
pub const LAPSE_K_M: f64 = -0.0065;
/// Radius that turns geometric into geopotential height, m. Source: ISO 2533.
pub const EARTH_RADIUS_M: f64 = 6_356_766.0;

lane_data! {
    /// Air of one day: temperature and pressure at the ground, ISO 2533 above.
    ///
    /// Valid for: geopotential heights of 0 to 11 km.
    pub struct Atmosphere<T> {
        /// Temperature at the ground, K.
        pub ground_temperature_k: T,
        /// Pressure at the ground, Pa.
        pub ground_pressure_pa: T,
        /// Density at the ground, kg/m³.
        pub ground_density_kg_m3: T,
        /// Temperature lapse over the ground temperature, 1/m; zero makes the density constant.
        pub relative_lapse_1_m: T,
        /// κ: pressure goes with the κth power of temperature.
        pub pressure_power: T,
    }
}

/// Air at one height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirState {
    /// Temperature, K.
    pub temperature_k: f64,
    /// Pressure, Pa.
    pub pressure_pa: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Speed of sound, m/s.
    pub sound_speed_m_s: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity_pa_s: f64,
}

impl Atmosphere<f64> {
    /// The day's air from temperature (K) and pressure (Pa) at the ground.
    pub fn of_day(ground_temperature_k: f64, ground_pressure_pa: f64) -> Self {
        Atmosphere {
            ground_temperature_k,
            ground_pressure_pa,
            ground_density_kg_m3: ground_pressure_pa / (GAS_CONSTANT_J_KG_K * ground_temperature_k),
            relative_lapse_1_m: LAPSE_K_M / ground_temperature_k,
            pressure_power: -STANDARD_GRAVITY_M_S2 / (LAPSE_K_M * GAS_CONSTANT_J_KG_K),
        }
    }

    /// 15 °C and 1013.25 hPa at the ground.
    pub fn standard_day() -> Self {
        Self::of_day(288.15, 101_325.0)
    }

    /// The same density (kg/m³) at every height; for checks against closed answers.
    pub fn constant_density(density_kg_m3: f64) -> Self {
        let mut air = Self::standard_day();
        air.ground_pressure_pa *= density_kg_m3 / air.ground_density_kg_m3;
        air.ground_density_kg_m3 = density_kg_m3;
        air.relative_lapse_1_m = 0.0;
        air
    }

    /// Everything about the air at a height over the ground (m).
    pub fn at(&self, height_m: f64) -> AirState {
        let ratio = self.temperature_ratio(height_m);
        let temperature_k = self.ground_temperature_k * ratio;
        AirState {
            temperature_k,
            pressure_pa: self.ground_pressure_pa * libm::pow(ratio, self.pressure_power),
            density_kg_m3: self.density(height_m),
            sound_speed_m_s: (1.4 * GAS_CONSTANT_J_KG_K * temperature_k).sqrt(),
            viscosity_pa_s: 1.458e-6 * libm::pow(temperature_k, 1.5) / (temperature_k + 110.4),
        }
    }
}

impl<T: Number> Atmosphere<T> {
    /// Temperature over the ground temperature at a height (m).
    #[inline(always)]
    fn temperature_ratio(&self, height_m: T) -> T {
        let radius = T::constant(EARTH_RADIUS_M);
        let geopotential = radius * height_m / (radius + height_m);
        T::one() + self.relative_lapse_1_m * geopotential
    }

    /// Density (kg/m³) at a height over the ground (m).
    #[inline(always)]
    pub fn density(&self, height_m: T) -> T {
        if T::FUSED {
            // 1/(1 + x) to x⁵, x under 0.002.
            let one = T::one();
            let x = height_m * T::constant(1.0 / EARTH_RADIUS_M);
            let mut flattened = one - x;
            for _ in 0..4 {
                flattened = x.times_from(flattened, one);
            }
            let share = self.relative_lapse_1_m * height_m * flattened;
            return self.ground_density_kg_m3 * share.density_power();
        }
        let power = self.pressure_power - T::one();
        self.ground_density_kg_m3 * (self.temperature_ratio(height_m).ln() * power).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // US 1976 / ISO 2533 printed table, geometric altitude; 4 to 5 digits as printed in the Mechanical Engineers' Handbook
    // vol. 4, table 6 (0, 1, 2, 5, 11 km).
    const PRINTED: [(f64, f64, f64, f64); 5] = [
        (0.0, 288.150, 101_325.0, 1.22500),
        (1000.0, 281.651, 89_876.3, 1.11166),
        (2000.0, 275.154, 79_501.4, 1.00655),
        (5000.0, 255.676, 54_048.3, 0.736428),
        (11_000.0, 216.774, 22_700.0, 0.364802),
    ];

    #[test]
    fn matches_the_printed_standard_table() {
        let air = Atmosphere::standard_day();
        for (height, temperature, pressure, density) in PRINTED {
            let state = air.at(height);
            assert!(
                (state.temperature_k - temperature).abs() < 1e-3,
                "{state:?}"
            );
            assert!(
                (state.pressure_pa / pressure - 1.0).abs() < 5e-6,
                "{state:?}"
            );
            assert!(
                (state.density_kg_m3 / density - 1.0).abs() < 5e-6,
                "{state:?}"
            );
        }
    }

    // Same source, sea level: speed of sound 340.294 m/s, viscosity 1.78938e-5 Pa s.
    #[test]
    fn sound_and_viscosity_at_sea_level() {
        let state = Atmosphere::standard_day().at(0.0);
        assert!((state.sound_speed_m_s - 340.294).abs() < 1e-3);
        assert!((state.viscosity_pa_s - 1.78938e-5).abs() < 1e-10);
    }

    // Ideal gas law, from memory: a 30 °C, 990 hPa day has 99000/(287.05287·303.15) kg/m³ = 1.13766 (hand calculator).
    #[test]
    fn the_day_sets_the_density() {
        let air = Atmosphere::of_day(303.15, 99_000.0);
        assert!((air.at(0.0).density_kg_m3 - 1.13766).abs() < 1e-5);
        let constant = Atmosphere::constant_density(1.1);
        assert_eq!(constant.density(0.0), constant.density(500.0));
    }
}
