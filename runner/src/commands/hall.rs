//! Whether steady turns fit a hall (MODEL.md § 9.1).

use scenarios::load::LoadedScenario;
use serde::Serialize;
use sim_core::trim::SteadyFlight;
use sim_core::vehicle::Vehicle;

/// The free room of a hall and the turns in it.
#[derive(Debug, Serialize)]
pub struct HallFit {
    scenario: String,
    /// Radius of the largest circle inside the walls, m.
    largest_circle_radius_m: f64,
    /// How far the airframe reaches from its balance point, m.
    airframe_reach_m: f64,
    turns: Vec<TurnFit>,
}

#[derive(Debug, Serialize)]
struct TurnFit {
    flight: String,
    turn_radius_m: f64,
    /// Room left between the airframe and the walls, the turn in the middle of the circle, m; negative where it does not fit.
    to_spare_m: f64,
    fits: bool,
}

impl HallFit {
    /// Of a scenario's hall; none where it has none.
    pub fn new<'a>(
        scenario: &LoadedScenario,
        vehicle: &Vehicle<f64>,
        found: impl Iterator<Item = (&'a str, &'a SteadyFlight)>,
    ) -> Option<Self> {
        let hall = scenario.built.throw.site.hall.as_ref()?;
        let (room, reach) = (hall.largest_circle_m(), vehicle.farthest_reach_m());
        let turns = found.filter_map(|(name, steady)| {
            // Straight flight has a turn radius only by rounding.
            let turns = steady.left_minus_right_fraction != 0.0;
            let radius = steady.turn_radius_m().filter(|_| turns)?;
            let to_spare_m = room - radius - reach;
            Some(TurnFit {
                flight: name.to_owned(),
                turn_radius_m: radius,
                to_spare_m,
                fits: to_spare_m > 0.0,
            })
        });
        Some(HallFit {
            scenario: scenario.file.name.clone(),
            largest_circle_radius_m: room,
            airframe_reach_m: reach,
            turns: turns.collect(),
        })
    }

    /// In words.
    pub fn text(&self) -> String {
        let mut text = format!(
            "hall of {}: the largest circle inside its walls has a radius of {:.2} m; the airframe reaches {:.2} m from its balance point\n",
            self.scenario, self.largest_circle_radius_m, self.airframe_reach_m
        );
        for turn in &self.turns {
            text += &if turn.fits {
                format!(
                    "{}: radius {:.2} m fits, {:.2} m to spare for who flies it\n",
                    turn.flight, turn.turn_radius_m, turn.to_spare_m
                )
            } else {
                format!(
                    "{}: radius {:.2} m does NOT fit, {:.2} m too much\n",
                    turn.flight, turn.turn_radius_m, -turn.to_spare_m
                )
            };
        }
        if self.turns.is_empty() {
            text += "no steady turn was found to fit in it\n";
        }
        text
    }
}
