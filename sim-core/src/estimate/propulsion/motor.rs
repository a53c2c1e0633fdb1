//! Constants of a brushed motor from what was measured on it (MODEL.md § 21.3).

use super::PropulsionError;

/// What is known of a motor without its propeller, SI.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Known {
    pub constant: Option<f64>,
    pub resistance: Option<f64>,
    pub no_load_current: Option<f64>,
    /// Voltage and speed without load.
    pub no_load: Option<(f64, f64)>,
    /// Voltage and current held fast.
    pub stall: Option<(f64, f64)>,
    /// I_0/I_stall, used where I_0 is not given.
    pub current_share: f64,
}

/// The motor turning its propeller at rest, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Run {
    pub voltage: f64,
    pub current: f64,
    pub speed: Option<f64>,
    pub shaft_power: Option<f64>,
}

/// How a constant came about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum MotorMethod {
    /// As given.
    Given,
    /// Voltage over current of the motor held fast.
    Stall,
    /// The static run at the speed the motor constant leaves room for.
    StaticSpeed,
    /// The static run and the speed without load.
    StaticAndNoLoad,
    /// The static run and the propeller's power.
    StaticPower,
    /// The speed without load.
    NoLoad,
    /// A usual share of the stall current (measured on single motors of that size; by size or not).
    UsualShare,
}

impl MotorMethod {
    /// The method in words.
    pub fn words(self) -> &'static str {
        match self {
            MotorMethod::Given => "given",
            MotorMethod::Stall => "voltage over current held fast",
            MotorMethod::StaticSpeed => {
                "static run: the voltage its speed leaves over, over the current"
            }
            MotorMethod::StaticAndNoLoad => "static run and speed without load",
            MotorMethod::StaticPower => {
                "static run: current and the power of the propeller, loaded beyond its best efficiency (assumed)"
            }
            MotorMethod::NoLoad => "speed without load",
            MotorMethod::UsualShare => "assumed: a usual share of the stall current for its size",
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Constants {
    pub constant: (f64, MotorMethod),
    pub resistance: (f64, MotorMethod),
    pub no_load_current: (f64, MotorMethod),
}

impl Known {
    /// k and R as far as the motor alone gives them.
    pub fn alone(&self) -> (Option<f64>, Option<f64>) {
        let resistance = self
            .resistance
            .or(self.stall.map(|(voltage, current)| voltage / current));
        let constant = self.constant.or_else(|| {
            let (voltage, speed) = self.no_load?;
            let drop = match self.no_load_current {
                Some(current) => resistance? * current,
                None => self.current_share * voltage,
            };
            Some((voltage - drop) / speed)
        });
        (constant, resistance)
    }

    /// All three constants.
    pub fn solve(&self, run: Option<&Run>) -> Result<Constants, PropulsionError> {
        let resistance = self.resistance_by(run)?;
        let (no_load_current, current_method) = match self.no_load_current {
            Some(given) => (given, MotorMethod::Given),
            None => {
                let reference = match resistance.1 {
                    MotorMethod::Stall => self.stall.map(|(voltage, _)| voltage),
                    MotorMethod::StaticPower | MotorMethod::StaticSpeed => {
                        run.map(|run| run.voltage)
                    }
                    _ => None,
                };
                let voltage = reference
                    .or(self.no_load.map(|(voltage, _)| voltage))
                    .or(run.map(|run| run.voltage))
                    .ok_or(PropulsionError::NotEnough {
                        missing: "a current without load, or a voltage the motor ran at",
                    })?;
                (
                    self.current_share * voltage / resistance.0,
                    MotorMethod::UsualShare,
                )
            }
        };
        if let Some(run) = run {
            run.check(resistance.0, no_load_current)?;
        }
        let constant = if let Some(given) = self.constant {
            (given, MotorMethod::Given)
        } else if let Some((voltage, speed)) = self.no_load {
            (
                (voltage - resistance.0 * no_load_current) / speed,
                MotorMethod::NoLoad,
            )
        } else if let Some((run, speed)) = run.and_then(|run| Some((run, run.speed?))) {
            let back = run.voltage - resistance.0 * run.current;
            (back / speed, MotorMethod::StaticSpeed)
        } else {
            return Err(PropulsionError::NotEnough {
                missing: "the speed constant: a speed without load, or thrust or speed with the propeller on",
            });
        };
        if constant.0 <= 0.0 {
            return Err(PropulsionError::CurrentAtStall {
                current_a: no_load_current,
                stall_a: self
                    .no_load
                    .map_or(0.0, |(voltage, _)| voltage / resistance.0),
            });
        }
        Ok(Constants {
            constant,
            resistance,
            no_load_current: (no_load_current, current_method),
        })
    }

    fn resistance_by(&self, run: Option<&Run>) -> Result<(f64, MotorMethod), PropulsionError> {
        if let Some(given) = self.resistance {
            return Ok((given, MotorMethod::Given));
        }
        if let Some((voltage, current)) = self.stall {
            return Ok((voltage / current, MotorMethod::Stall));
        }
        let Some(run) = run else {
            return Err(PropulsionError::NotEnough {
                missing: "the resistance: measured, or voltage and current held fast, or voltage and current with the propeller on",
            });
        };
        if let Some(no_load_a) = self.no_load_current.filter(|&one| one >= run.current) {
            return Err(PropulsionError::NoLoadCurrentTooLarge {
                no_load_a,
                running_a: run.current,
            });
        }
        if let (Some(constant), Some(speed)) = (self.constant, run.speed) {
            return left_over(run, constant, speed).map(|r| (r, MotorMethod::StaticSpeed));
        }
        if let (Some((voltage, free)), Some(speed)) = (self.no_load, run.speed) {
            let resistance = match self.no_load_current {
                Some(current) => {
                    let (numerator, denominator) = (
                        run.voltage / speed - voltage / free,
                        run.current / speed - current / free,
                    );
                    if numerator <= 0.0 {
                        return Err(PropulsionError::FasterThanFree {
                            speed_rad_s: speed,
                            free_rad_s: free * run.voltage / voltage,
                        });
                    }
                    numerator / denominator
                }
                None => left_over(run, voltage * (1.0 - self.current_share) / free, speed)?,
            };
            return Ok((resistance, MotorMethod::StaticAndNoLoad));
        }
        let Some(power) = run.shaft_power else {
            return Err(PropulsionError::NotEnough {
                missing: "the resistance: measured, or held fast, or thrust or speed with the propeller on",
            });
        };
        let share = self.stall_share(run, power)?;
        Ok((share * run.voltage / run.current, MotorMethod::StaticPower))
    }

    /// x = R I/U of the static run by its power.
    fn stall_share(&self, run: &Run, power: f64) -> Result<f64, PropulsionError> {
        let efficiency = power / (run.voltage * run.current);
        let beyond = |best| PropulsionError::EfficiencyBeyondMotor { efficiency, best };
        match self.no_load_current {
            Some(current) => {
                let most = 1.0 - current / run.current;
                let share = 1.0 - efficiency / most;
                if share > 0.0 {
                    Ok(share)
                } else {
                    Err(beyond(most))
                }
            }
            None => {
                let b = 1.0 + self.current_share - efficiency;
                let square = b * b - 4.0 * self.current_share;
                if square < 0.0 {
                    return Err(beyond((1.0 - self.current_share.sqrt()).powi(2)));
                }
                Ok(0.5 * (b + square.sqrt()))
            }
        }
    }
}

/// (U − kΩ)/I.
fn left_over(run: &Run, constant: f64, speed: f64) -> Result<f64, PropulsionError> {
    let left = run.voltage - constant * speed;
    if left > 0.0 {
        Ok(left / run.current)
    } else {
        Err(PropulsionError::FasterThanFree {
            speed_rad_s: speed,
            free_rad_s: run.voltage / constant,
        })
    }
}

impl Run {
    fn check(&self, resistance: f64, no_load_current: f64) -> Result<(), PropulsionError> {
        let stall_a = self.voltage / resistance;
        if self.current >= stall_a {
            return Err(PropulsionError::CurrentAtStall {
                current_a: self.current,
                stall_a,
            });
        }
        if no_load_current >= self.current {
            return Err(PropulsionError::NoLoadCurrentTooLarge {
                no_load_a: no_load_current,
                running_a: self.current,
            });
        }
        Ok(())
    }
}

/// I_0/I_stall by the diameter of the can (m), and the factor of one sigma. Didel, measured on single motors; 0.06 without a size:
/// common practice, no source.
pub(super) fn usual_current_share(can_diameter_m: Option<f64>) -> (f64, f64) {
    const MEASURED: [(f64, f64); 4] = [(4e-3, 0.30), (6e-3, 0.17), (8e-3, 0.02), (26e-3, 0.01)];
    let Some(diameter) = can_diameter_m else {
        return (0.06, 2.0);
    };
    let diameter = diameter.clamp(MEASURED[0].0, MEASURED[3].0);
    let pair = MEASURED
        .windows(2)
        .find(|pair| diameter <= pair[1].0)
        .expect("inside the table");
    let [(d0, s0), (d1, s1)] = [pair[0], pair[1]];
    let way = libm::log(diameter / d0) / libm::log(d1 / d0);
    (s0 * libm::exp(way * libm::log(s1 / s0)), 1.7)
}

#[cfg(test)]
mod tests {
    use super::*;

    // The worked example of the outside checks: 12 V, 25 Ω, k 0.014 N m/A, I0 0.02 A: stall 0.48 A, without load 821.43 rad/s. A
    // run at 0.25 A: speed (12 − 6.25)/0.014 = 410.714 rad/s, shaft power 5.75 · 0.23 = 1.3225 W (also the most power published).
    fn run() -> Run {
        Run {
            voltage: 12.0,
            current: 0.25,
            speed: Some(410.714_286),
            shaft_power: Some(1.3225),
        }
    }

    fn same(found: &Constants) {
        assert!((found.constant.0 / 0.014 - 1.0).abs() < 1e-4, "{found:?}");
        assert!((found.resistance.0 / 25.0 - 1.0).abs() < 1e-4, "{found:?}");
        assert!(
            (found.no_load_current.0 / 0.02 - 1.0).abs() < 1e-4,
            "{found:?}"
        );
    }

    #[test]
    fn every_way_leads_to_the_worked_examples_constants() {
        let share = 0.02 / 0.48;
        let none = Known {
            current_share: share,
            ..Known::default()
        };
        let free = Some((12.0, 821.43));
        for (known, run) in [
            (
                Known {
                    stall: Some((12.0, 0.48)),
                    no_load: free,
                    no_load_current: Some(0.02),
                    ..none
                },
                None,
            ),
            (
                Known {
                    stall: Some((12.0, 0.48)),
                    no_load: free,
                    ..none
                },
                None,
            ),
            (
                Known {
                    no_load: free,
                    no_load_current: Some(0.02),
                    ..none
                },
                Some(run()),
            ),
            (
                Known {
                    no_load: free,
                    ..none
                },
                Some(run()),
            ),
            (
                Known {
                    constant: Some(0.014),
                    ..none
                },
                Some(run()),
            ),
            (
                Known {
                    resistance: Some(25.0),
                    ..none
                },
                Some(run()),
            ),
            (none, Some(run())),
            (
                Known {
                    no_load_current: Some(0.02),
                    ..none
                },
                Some(run()),
            ),
        ] {
            same(&known.solve(run.as_ref()).unwrap());
        }
    }

    #[test]
    fn what_cannot_be_is_said_with_numbers() {
        let known = Known {
            resistance: Some(60.0),
            current_share: 0.04,
            ..Known::default()
        };
        assert_eq!(
            known.solve(Some(&run())),
            Err(PropulsionError::CurrentAtStall {
                current_a: 0.25,
                stall_a: 0.2
            })
        );
        let known = Known {
            constant: Some(0.03),
            current_share: 0.04,
            ..Known::default()
        };
        assert_eq!(
            known.solve(Some(&run())),
            Err(PropulsionError::FasterThanFree {
                speed_rad_s: 410.714_286,
                free_rad_s: 400.0
            })
        );
        let known = Known {
            no_load_current: Some(0.3),
            current_share: 0.04,
            ..Known::default()
        };
        assert!(matches!(
            known.solve(Some(&run())),
            Err(PropulsionError::NoLoadCurrentTooLarge { .. })
        ));
        // η_max = (1 − √(I0/I_stall))² = 0.63342 for the example; 2 W of 3 W is 0.6667.
        let known = Known {
            current_share: 0.02 / 0.48,
            ..Known::default()
        };
        let Err(PropulsionError::EfficiencyBeyondMotor { efficiency, best }) =
            known.solve(Some(&Run {
                shaft_power: Some(2.0),
                ..run()
            }))
        else {
            panic!("an error")
        };
        assert!((efficiency - 2.0 / 3.0).abs() < 1e-12 && (best - 0.633_42).abs() < 1e-5);
        assert!(matches!(
            Known::default().solve(None),
            Err(PropulsionError::NotEnough { .. })
        ));
    }

    // Read in the source by size; in between it must lie between its neighbours.
    #[test]
    fn the_usual_share_falls_with_size() {
        for (mm, share) in [(4.0, 0.30), (6.0, 0.17), (8.0, 0.02), (26.0, 0.01)] {
            assert!((usual_current_share(Some(mm * 1e-3)).0 - share).abs() < 1e-12);
        }
        let seven = usual_current_share(Some(7e-3)).0;
        assert!(seven > 0.02 && seven < 0.17);
        assert!((usual_current_share(Some(1.0)).0 - 0.01).abs() < 1e-12);
    }
}
