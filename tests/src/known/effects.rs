//! Every effect of the model with a ready scenario that it moves, and how to switch it off by data alone.

use nalgebra::Vector3;
use sim_core::aero::post_stall::PostStall;
use sim_core::air::atmosphere::Atmosphere;
use sim_core::control::slew::Slew;
use sim_core::flight::{Flight, Throw};
use sim_core::interpolate::MonotoneCubic;

/// An effect, a ready scenario that shows it, and the scenario without it.
#[derive(Clone, Copy, Debug)]
pub struct Effect {
    /// What it is called.
    pub name: &'static str,
    /// Name of the ready scenario.
    pub scenario: &'static str,
    /// Takes the effect out of a throw.
    pub off: fn(&mut Throw),
}

/// How far a flight without an effect is from the flight with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// Time both last, s.
    pub time_s: f64,
    /// Largest distance between the balance points in that time, m.
    pub position_m: f64,
    /// Largest angle between the attitudes in that time, deg.
    pub attitude_deg: f64,
}

/// All effects that data can switch off.
pub const EFFECTS: [Effect; 24] = [
    Effect {
        name: "gust",
        scenario: "gust-on-the-climb",
        off: |throw| throw.air.gusts.clear(),
    },
    Effect {
        name: "steady wind",
        scenario: "step-into-headwind",
        off: |throw| throw.air.mean_wind = Vector3::zeros(),
    },
    Effect {
        name: "wind growing over height",
        scenario: "turn-downwind-in-shear",
        off: |throw| throw.air.profile = None,
    },
    Effect {
        name: "turbulence",
        scenario: "turbulent-afternoon",
        off: |throw| throw.air.turbulence = None,
    },
    Effect {
        name: "the day's temperature and pressure",
        scenario: "step-same-spin",
        off: |throw| throw.air.atmosphere = Atmosphere::standard_day(),
    },
    Effect {
        name: "density falling with height",
        scenario: "from-the-light-tower",
        off: |throw| throw.air.atmosphere.relative_lapse_1_m = 0.0,
    },
    Effect {
        name: "alpha rate (downwash lag)",
        scenario: "avocet-step",
        off: |throw| {
            throw.vehicle.coefficients.lift_alpha_rate = 0.0;
            throw.vehicle.coefficients.pitch_alpha_rate = 0.0;
        },
    },
    Effect {
        name: "apparent mass",
        scenario: "short-gust-with-apparent-mass",
        off: |throw| throw.vehicle.apparent_mass = None,
    },
    Effect {
        name: "ground effect",
        scenario: "low-skim",
        off: |throw| throw.air.ground_effect = 0.0,
    },
    Effect {
        name: "stall and plates beyond it",
        scenario: "hard-throw",
        off: |throw| {
            throw.vehicle.post_stall = PostStall {
                alpha_stall: 1e6,
                beta_stall: 1e6,
                ..throw.vehicle.post_stall.clone()
            }
        },
    },
    Effect {
        name: "damping of the stalled plates",
        scenario: "hard-throw",
        off: |throw| {
            throw.vehicle.post_stall.second = Vector3::zeros();
            throw.vehicle.post_stall.second_roll_upright = 0.0;
        },
    },
    Effect {
        name: "damping that remains at rest",
        scenario: "hard-throw",
        off: |throw| throw.vehicle.post_stall.third = Vector3::zeros(),
    },
    Effect {
        name: "torque reaction and spin of the rotors",
        scenario: "step-same-spin",
        off: |throw| {
            for motor in &mut throw.vehicle.motors {
                motor.spin = 0.0;
            }
        },
    },
    Effect {
        name: "propellers at incidence",
        scenario: "godwit-step",
        off: |throw| {
            for motor in &mut throw.vehicle.motors {
                motor.disc.fin_area = 0.0;
            }
        },
    },
    Effect {
        name: "wash over surfaces behind propellers",
        scenario: "avocet-step-tail-in-the-wash",
        off: |throw| {
            for motor in &mut throw.vehicle.motors {
                motor.disc.wash.0.clear();
            }
        },
    },
    Effect {
        name: "suction on surfaces ahead of propellers",
        scenario: "step-in-calm",
        off: |throw| {
            for motor in &mut throw.vehicle.motors {
                motor.disc.suction.0.clear();
            }
        },
    },
    Effect {
        name: "time a rotor takes to spin up",
        scenario: "step-in-calm",
        off: |throw| {
            for motor in &mut throw.vehicle.motors {
                motor.rotor_inertia *= 1e-2;
            }
        },
    },
    Effect {
        name: "inner resistance of the cell",
        scenario: "step-in-calm",
        off: |throw| throw.vehicle.cell.resistance = 0.0,
    },
    Effect {
        name: "voltage falling with charge",
        scenario: "step-in-calm",
        off: |throw| {
            let full = throw.vehicle.cell.open_voltage.at(1.0);
            throw.vehicle.cell.open_voltage = MonotoneCubic::through(&[(0.0, full), (1.0, full)]);
        },
    },
    Effect {
        name: "rate damper",
        scenario: "damper-in-side-gust",
        off: |throw| throw.pilot.module.damper = None,
    },
    Effect {
        name: "holding pilot",
        scenario: "into-the-wind-turn-downwind",
        off: |throw| throw.pilot.hold = None,
    },
    Effect {
        name: "slew limit of the throttle",
        scenario: "into-the-wind-turn-downwind",
        off: |throw| throw.pilot.slew = Slew::default(),
    },
    Effect {
        name: "cut-off",
        scenario: "flight-to-cut-off",
        off: |throw| throw.pilot.module.cut_off_voltage_v = None,
    },
    Effect {
        name: "power cut",
        scenario: "power-cut-on-the-climb",
        off: |throw| throw.pilot.power_cut_s = None,
    },
];

/// Compares two flights over the time both last.
///
/// # Panics
/// Never for flights of some length.
pub fn difference(with: &Flight, without: &Flight) -> Difference {
    let time_s = with.end_time_s.min(without.end_time_s);
    let away = |t: f64| {
        let (a, b) = (with.state_at(t), without.state_at(t));
        let half = a
            .attitude
            .normalize()
            .dot(&b.attitude.normalize())
            .abs()
            .min(1.0);
        (
            (a.position - b.position).norm(),
            2.0 * half.acos().to_degrees(),
        )
    };
    let looks = (0..=200).map(|i| away(time_s * f64::from(i) / 200.0));
    let (position_m, attitude_deg) = looks.fold((0.0, 0.0), |most: (f64, f64), one| {
        (most.0.max(one.0), most.1.max(one.1))
    });
    Difference {
        time_s,
        position_m,
        attitude_deg,
    }
}
