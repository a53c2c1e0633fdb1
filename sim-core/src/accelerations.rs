//! From force and moment to accelerations, of the airframe alone or with the air it carries (MODEL.md § 3, 5.4).

use crate::aero::apparent_mass::{ApparentMass, CarriedModes, Joined};
use crate::number::Number;
use crate::parts::Constants;
use crate::state::State;
use crate::vector::{cross, minus, plus, scaled, scaled_plus, turned};
use crate::vehicle::Vehicle;
use crate::wrench::{Motion, Wrench};
use nalgebra::Vector3;

/// What forces accelerate: the airframe, with the air it carries where that is flown with (MODEL.md § 5.4).
pub(crate) struct Body<'a, T> {
    vehicle: &'a Vehicle<T>,
    /// 1/mass, where the number type wants it.
    over_mass: T,
    density: T,
    /// n: what the wind and turning in it add to v̇ and ω̇ for the rates relative to the air.
    wind_part: &'a Motion<T>,
    carried: Carried<'a, T>,
}

/// How the air carried along is solved for.
enum Carried<'a, T> {
    /// None is.
    Nothing,
    /// By its matrix with the body's, in number types that divide.
    Joined(&'a ApparentMass<T>, Joined<T>),
    /// By the modes of both.
    Modes(&'a CarriedModes<T>, [T; 6]),
}

impl<'a, T: Number> Body<'a, T> {
    #[inline(always)]
    pub(crate) fn of(
        vehicle: &'a Vehicle<T>,
        constants: &'a Constants<T>,
        density: T,
        wind_part: &'a Motion<T>,
    ) -> Self {
        let carried = if T::FUSED {
            match &constants.modes {
                Some(modes) => Carried::Modes(modes, modes.softness(density)),
                None => Carried::Nothing,
            }
        } else {
            match &vehicle.apparent_mass {
                Some(air) => {
                    let joined = air.joined(density, vehicle.mass, &vehicle.inertia);
                    Carried::Joined(air, joined)
                }
                None => Carried::Nothing,
            }
        };
        Body {
            vehicle,
            over_mass: constants.over_mass,
            density,
            wind_part,
            carried,
        }
    }

    /// force/m.
    #[inline(always)]
    fn over_mass(&self, force: &Vector3<T>) -> Vector3<T> {
        let (mass, over) = (self.vehicle.mass, self.over_mass);
        Vector3::new(
            force.x.over(mass, over),
            force.y.over(mass, over),
            force.z.over(mass, over),
        )
    }

    /// v̇ and ω̇ under a total force and moment; the rotors' angular momentum is `spin` where it is not in the moment yet.
    #[inline(always)]
    pub(crate) fn accelerations(
        &self,
        state: &State<T>,
        total: &Wrench<T>,
        spin: Option<&Vector3<T>>,
    ) -> Motion<T> {
        let vehicle = self.vehicle;
        let turning = cross(&state.rates, &state.velocity);
        let mut momentum = turned(&vehicle.inertia, &state.rates);
        if let Some(spin) = spin {
            momentum = plus(&momentum, spin);
        }
        let moment = minus(&total.moment, &cross(&state.rates, &momentum));
        match &self.carried {
            Carried::Nothing => Motion {
                velocity: minus(&self.over_mass(&total.force), &turning),
                rates: turned(&vehicle.inverse_inertia, &moment),
            },
            Carried::Joined(air, joined) => {
                let wind = air.reaction(self.density, self.wind_part);
                let own = Wrench {
                    force: minus(&total.force, &scaled(&turning, vehicle.mass)),
                    moment,
                };
                joined.accelerations(&(own + wind))
            }
            Carried::Modes(modes, softness) => {
                // (D + ρA)(ν̇ + n) = f + D n, D = diag(m, m, m, I).
                let wind = self.wind_part;
                let turning = minus(&wind.velocity, &turning);
                let whole = Wrench {
                    force: scaled_plus(&turning, vehicle.mass, &total.force),
                    moment: plus(&moment, &turned(&vehicle.inertia, &wind.rates)),
                };
                let relative = modes.accelerations(softness, &whole);
                Motion {
                    velocity: minus(&relative.velocity, &wind.velocity),
                    rates: minus(&relative.rates, &wind.rates),
                }
            }
        }
    }

    /// What one more force and moment changes of them.
    #[inline(always)]
    pub(crate) fn response(&self, wrench: &Wrench<T>) -> Motion<T> {
        match &self.carried {
            Carried::Nothing => Motion {
                velocity: self.over_mass(&wrench.force),
                rates: turned(&self.vehicle.inverse_inertia, &wrench.moment),
            },
            Carried::Joined(_, joined) => joined.accelerations(wrench),
            Carried::Modes(modes, softness) => modes.accelerations(softness, wrench),
        }
    }
}
