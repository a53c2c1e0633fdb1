//! Whose hands build and throw: what scatters by how much in the study that is flown where none is given (MODEL.md § 24).

/// Whose hands build and throw.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Hands {
    /// Many hands who build kits and throw for the first time.
    #[default]
    Visitors,
    /// One experienced builder with a jig, who throws what he has built.
    Practised,
}

/// A bell cut on both sides of its mean: standard deviation, and where it is cut.
pub(super) type Cut = (f64, f64);

/// By how much what hands do scatters. Angles in deg, lengths in mm, rates in deg/s, all cut at two standard deviations where one number stands.
pub(super) struct Spread {
    /// Added to the names of studies and reports; nothing for the usual hands.
    pub suffix: &'static str,
    /// Height of the hand over the ground it stands on: least, most likely, largest, m.
    pub hand_m: [f64; 3],
    pub release_speed: Cut,
    pub path_deg: Cut,
    pub nose_deg: Cut,
    pub bank_deg: Cut,
    /// Pitch, roll, yaw.
    pub rates_deg_s: [f64; 3],
    pub least_charge_fraction: f64,
    /// Least, most likely, latest, s.
    pub step_s: [f64; 3],
    /// How far ahead the gust stands, in seconds of the glide: least, most likely, most.
    pub gust_s: [f64; 3],
    /// Correlation of step and gust.
    pub step_with_gust: f64,
    pub areal_density: Cut,
    /// Shares of the mass: least, most.
    pub glue: [f64; 2],
    /// Where it balances: at least so many mm, at least such a share of the chord.
    pub balance_mm: f64,
    pub balance_of_chord: f64,
    /// Each motor.
    pub elevation_deg: f64,
    pub toe_deg: f64,
    pub mount_height_mm: f64,
    pub mount_station_mm: f64,
    /// Left over after test glides: a bent edge; a surface that is the tab.
    pub tab_deg: f64,
    pub whole_tab_deg: f64,
    /// Half difference of incidence, left against right.
    pub warp_deg: Cut,
    pub speed_constant: f64,
    pub speed_constant_each: f64,
    /// Factors: least, most likely, most.
    pub cell_resistance: [f64; 3],
}

const VISITORS: Spread = Spread {
    suffix: "",
    hand_m: [1.2, 1.7, 2.0],
    release_speed: (0.1, 0.25),
    path_deg: (5.0, 12.0),
    nose_deg: (4.0, 10.0),
    bank_deg: (5.0, 15.0),
    rates_deg_s: [20.0, 15.0, 10.0],
    least_charge_fraction: 0.7,
    step_s: [0.5, 1.0, 2.0],
    gust_s: [0.0, 1.5, 3.5],
    step_with_gust: 0.45,
    areal_density: (0.05, 0.1),
    glue: [-0.01, 0.04],
    balance_mm: 1.5,
    balance_of_chord: 0.01,
    elevation_deg: 0.5,
    toe_deg: 1.0,
    mount_height_mm: 0.5,
    mount_station_mm: 1.0,
    tab_deg: 0.7,
    whole_tab_deg: 0.5,
    warp_deg: (0.4, 0.8),
    speed_constant: 0.03,
    speed_constant_each: 0.054,
    cell_resistance: [0.9, 1.1, 1.6],
};

const PRACTISED: Spread = Spread {
    suffix: "-practised",
    hand_m: [1.5, 1.75, 2.0],
    release_speed: (0.06, 0.15),
    path_deg: (3.0, 7.0),
    nose_deg: (2.5, 6.0),
    bank_deg: (3.0, 8.0),
    rates_deg_s: [12.0, 8.0, 6.0],
    least_charge_fraction: 0.85,
    step_s: [0.5, 1.0, 1.5],
    gust_s: [0.0, 1.25, 3.25],
    step_with_gust: 0.3,
    areal_density: (0.02, 0.04),
    glue: [-0.005, 0.02],
    balance_mm: 0.6,
    balance_of_chord: 0.003,
    elevation_deg: 0.3,
    toe_deg: 0.5,
    mount_height_mm: 0.3,
    mount_station_mm: 0.5,
    tab_deg: 0.35,
    whole_tab_deg: 0.25,
    warp_deg: (0.15, 0.3),
    speed_constant: 0.03,
    speed_constant_each: 0.015,
    cell_resistance: [0.9, 1.05, 1.3],
};

impl Hands {
    pub(super) fn spread(self) -> &'static Spread {
        match self {
            Hands::Visitors => &VISITORS,
            Hands::Practised => &PRACTISED,
        }
    }
}
