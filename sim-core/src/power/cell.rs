//! The cell and the currents the motors draw from it (MODEL.md § 6.1).

use super::motor::Motor;
use crate::interpolate::MonotoneCubic;
use crate::number::{Number, lane_data};
use crate::parts::Constants;

lane_data! {
    /// One cell.
    pub struct Cell<T> {
        /// Charge when full, C.
        pub capacity: T,
        /// Inner resistance, Ω.
        pub resistance: T,
        /// Current of the electronics, A.
        pub electronics_current: T,
        /// Open-circuit voltage (V) over the fraction of charge left.
        pub open_voltage: MonotoneCubic<T>,
    }
}

/// Open-circuit voltage of a lithium-polymer pouch cell over charge: `(fraction left, V)`. Common practice, no source.
pub const LITHIUM_POLYMER_V: [(f64, f64); 11] = [
    (0.0, 3.27),
    (0.1, 3.69),
    (0.2, 3.73),
    (0.3, 3.77),
    (0.4, 3.80),
    (0.5, 3.84),
    (0.6, 3.87),
    (0.7, 3.95),
    (0.8, 4.02),
    (0.9, 4.11),
    (1.0, 4.20),
];

impl Cell<f64> {
    /// The cell of an airframe that has none: it gives no current and never runs empty.
    pub fn none() -> Self {
        Cell {
            capacity: 1.0,
            resistance: 0.0,
            electronics_current: 0.0,
            open_voltage: MonotoneCubic::through(&[(0.0, 0.0), (1.0, 0.0)]),
        }
    }
}

impl<T: Number> Cell<T> {
    /// Terminal voltage (V) at a charge fraction, with each motor's duty and rotor speed (rad/s).
    ///
    /// Newton's iteration from the open-circuit voltage; exact after one step more than there are motors.
    pub fn terminal_voltage(
        &self,
        charge_fraction: T,
        motors: &[Motor<T>],
        duty: &[T],
        rotors: &[T],
    ) -> T {
        self.terminal_voltage_by(charge_fraction, motors, duty, rotors, &Constants::none())
    }

    /// The same with reciprocals at hand, where the number type wants them.
    #[inline(always)]
    pub fn terminal_voltage_by(
        &self,
        charge_fraction: T,
        motors: &[Motor<T>],
        duty: &[T],
        rotors: &[T],
        constants: &Constants<T>,
    ) -> T {
        let open = self.open_voltage.at(charge_fraction);
        if T::FUSED {
            return self.solved_directly(open, motors, duty, rotors, constants);
        }
        let mut voltage = open;
        for _ in 0..=motors.len() {
            let mut current = self.electronics_current;
            let mut slope = T::one();
            for ((motor, &d), &rotor) in motors.iter().zip(duty).zip(rotors) {
                let drive = d * voltage - motor.back_voltage(rotor);
                let per_volt = T::zero().select_less(drive, d / motor.resistance, T::zero());
                current += per_volt * drive;
                slope += self.resistance * per_volt * d;
            }
            voltage -= (voltage - open + self.resistance * current) / slope;
        }
        voltage
    }

    /// The same root, worked out from the motors that drive alone: a round that changes none of them changes no bit.
    #[inline(always)]
    #[allow(clippy::needless_range_loop)]
    fn solved_directly(
        &self,
        open: T,
        motors: &[Motor<T>],
        duty: &[T],
        rotors: &[T],
        constants: &Constants<T>,
    ) -> T {
        let zero = T::zero();
        let mut voltage = open;
        for _ in 0..=motors.len() {
            let mut current = self.electronics_current;
            let mut per_volt = zero;
            for i in 0..motors.len().min(constants.motors.len()) {
                let (motor, fixed) = (&motors[i], &constants.motors[i]);
                let back = motor.back_voltage(rotors[i]);
                let drive = duty[i].times_plus(voltage, -back);
                let conductance = duty[i] * fixed.over_resistance;
                let conductance = zero.select_less(drive, conductance, zero);
                current = conductance.times_from(back, current);
                per_volt = conductance.times_plus(duty[i], per_volt);
            }
            let before = voltage;
            voltage = self.resistance.times_from(current, open)
                / self.resistance.times_plus(per_volt, T::one());
            let mut stopped = zero;
            for i in 0..motors.len() {
                let back = motors[i].back_voltage(rotors[i]);
                let drive = duty[i].times_plus(before, -back);
                let now = duty[i].times_plus(voltage, -back);
                // Lower voltage drives no more motors than higher one did.
                let still = zero.select_less(now, zero, T::one());
                stopped += zero.select_less(drive, still, zero);
            }
            if !zero.any_less(stopped) {
                break;
            }
        }
        voltage
    }
}
