//! Many throws side by side in SIMD lanes (MODEL.md § 28).
//!
//! The model code is that of [`crate::forces`]; here are the numbers it is worked out in.

mod course;
mod fleet;
mod functions;
// The unit tests of this crate fly nothing side by side: their build does without the wide lanes, which take most of its time.
#[cfg(all(target_arch = "x86_64", not(test)))]
mod intrinsics;
mod looks;
mod number;
mod pair;
mod rates;
mod register;
mod step;

pub use rates::{Beside, Rates, rates};

use crate::air::STANDARD_GRAVITY_M_S2;
use crate::air::atmosphere::{GAS_CONSTANT_J_KG_K, LAPSE_K_M};
use crate::error::LaunchError;
use crate::flight::{End, Flight, Flying, Throw, Trajectory};
use crate::parts::Parts;
use crate::solver::{Counts, Method};
use crate::state::State;
use fleet::{Batch, Flies, Hangar};

/// Density goes with this power of temperature over height, κ − 1 of MODEL.md § 4.1.
pub const DENSITY_POWER: f64 = -STANDARD_GRAVITY_M_S2 / (LAPSE_K_M * GAS_CONSTANT_J_KG_K) - 1.0;

/// How many throws go side by side, and in numbers of how many bits. Of the widths of one kind of number every one gives the same bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Width {
    /// One, on any processor: the slow exact way where it has no fused multiply-add.
    One,
    /// Four, by AVX2.
    Four,
    /// Eight, by AVX-512.
    Eight,
    /// One in numbers of 24 bits.
    OneSingle,
    /// Eight in numbers of 24 bits, by AVX2.
    EightSingle,
    /// Sixteen in numbers of 24 bits, by AVX-512.
    SixteenSingle,
}

impl Width {
    /// All widths.
    pub const ALL: [Width; 6] = [
        Width::One,
        Width::Four,
        Width::Eight,
        Width::OneSingle,
        Width::EightSingle,
        Width::SixteenSingle,
    ];

    /// Throws side by side.
    pub fn lanes(self) -> usize {
        match self {
            Width::One | Width::OneSingle => 1,
            Width::Four => 4,
            Width::Eight | Width::EightSingle => 8,
            Width::SixteenSingle => 16,
        }
    }

    /// Whether its numbers have 24 bits.
    pub fn is_single(self) -> bool {
        matches!(
            self,
            Width::OneSingle | Width::EightSingle | Width::SixteenSingle
        )
    }

    /// Whether this processor has its instructions.
    pub fn is_here(self) -> bool {
        #[cfg(all(target_arch = "x86_64", not(test)))]
        {
            let avx2 = || is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma");
            match self {
                Width::One | Width::OneSingle => true,
                Width::Four | Width::EightSingle => avx2(),
                Width::Eight | Width::SixteenSingle => {
                    avx2() && is_x86_feature_detected!("avx512f")
                }
            }
        }
        #[cfg(not(all(target_arch = "x86_64", not(test))))]
        matches!(self, Width::One | Width::OneSingle)
    }

    /// The widest there is on this processor, of numbers of 53 bits or of 24.
    pub fn widest(single: bool) -> Self {
        let here = |width: &&Width| width.is_single() == single && width.is_here();
        let widest = Width::ALL.iter().filter(here).max_by_key(|w| w.lanes());
        *widest.unwrap_or(if single {
            &Width::OneSingle
        } else {
            &Width::One
        })
    }
}

/// A flight that is over.
#[derive(Clone, Debug)]
pub struct Landed {
    /// How it ended.
    pub end: End,
    /// When, s.
    pub end_time_s: f64,
    /// State then.
    pub state: State<f64>,
    /// Steps and derivative calls.
    pub counts: Counts,
    /// When the driver took the power from the motors, s.
    pub cut_off_time_s: Option<f64>,
    /// The whole solution, where it was to be kept.
    pub trajectory: Option<Trajectory>,
}

/// Storage of trajectories that nobody needs any more, to be used again.
#[derive(Debug, Default)]
pub struct Spare(Vec<Trajectory>);

impl Spare {
    /// Hands in a trajectory that is done with.
    pub fn put(&mut self, trajectory: Trajectory) {
        self.0.push(trajectory);
    }

    fn take(&mut self) -> Trajectory {
        self.0.pop().unwrap_or_default()
    }
}

/// What throws must have in common to fly side by side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Shape {
    parts: Parts,
    lengths: [usize; 11],
}

impl Shape {
    fn of(throw: &Throw) -> Self {
        let (vehicle, air) = (&throw.vehicle, &throw.air);
        let motor = |i: usize| vehicle.motors.get(i).map(|motor| &motor.propeller);
        let knots =
            |i: usize| motor(i).map_or((0, 0), |p| (p.thrust.knots.len(), p.torque.knots.len()));
        Shape {
            parts: Parts::of(vehicle, air),
            lengths: [
                vehicle.motors.len(),
                vehicle.coefficients.tabs.len(),
                vehicle.outline.len(),
                usize::from(vehicle.apparent_mass.is_some()),
                vehicle.cell.open_voltage.knots.len(),
                knots(0).0,
                knots(1).0,
                air.gusts.len(),
                usize::from(air.profile.is_some()),
                air.turbulence
                    .as_ref()
                    .map_or(0, |turbulence| turbulence.waves.len()),
                throw.pilot.tabs.len(),
            ],
        }
    }
}

/// Lanes that fly throws, one lot after another. What they allocate for throws of one shape they keep for the next of that shape.
#[derive(Debug)]
pub struct Fleet {
    width: Width,
    hangars: Vec<(Shape, Box<dyn Flies>)>,
    spare: Spare,
    waiting: Vec<usize>,
    alike: Vec<usize>,
}

/// Shapes a fleet keeps lanes for at a time.
const MOST_SHAPES: usize = 16;

impl Fleet {
    /// One of a width; none where the processor does not have it.
    pub fn new(width: Width) -> Option<Self> {
        width.is_here().then(|| Fleet {
            width,
            hangars: Vec::new(),
            spare: Spare::default(),
            waiting: Vec::new(),
            alike: Vec::new(),
        })
    }

    /// Flies throws, told by their numbers, and hands over what became of each as it lands. A flight's bytes depend neither on the others nor
    /// on the width; `keep` writes down whole trajectories, whose storage `take` may hand back.
    pub fn fly<'t>(
        &mut self,
        numbers: impl Iterator<Item = usize>,
        flying: impl Fn(usize) -> Flying<'t>,
        keep: bool,
        mut take: impl FnMut(usize, Result<Landed, LaunchError>, &mut Spare),
    ) {
        self.waiting.clear();
        self.waiting.extend(numbers);
        while let Some(&first) = self.waiting.first() {
            let first = flying(first);
            let shape = Shape::of(first.throw);
            let alike = &mut self.alike;
            alike.clear();
            self.waiting.retain(|&i| {
                let is_alike = Shape::of(flying(i).throw) == shape;
                if is_alike {
                    alike.push(i);
                }
                !is_alike
            });
            let batch = Batch {
                flying: &flying,
                numbers: &self.alike,
                keep,
            };
            let known = self.hangars.iter().position(|(one, _)| *one == shape);
            let hangar = known.unwrap_or_else(|| {
                if self.hangars.len() == MOST_SHAPES {
                    self.hangars.remove(0);
                }
                self.hangars.push((shape, hangar(self.width, &first)));
                self.hangars.len() - 1
            });
            self.hangars[hangar]
                .1
                .fly(&batch, &mut self.spare, &mut take);
        }
    }
}

/// Lanes of a width for throws shaped like one.
fn hangar(width: Width, flying: &Flying<'_>) -> Box<dyn Flies> {
    #[cfg(all(target_arch = "x86_64", not(test)))]
    {
        use intrinsics::{Eight, EightSingle, Four, SixteenSingle};
        match width {
            Width::Four => return Box::new(Hangar::<Four>::new(flying)),
            Width::Eight => return Box::new(Hangar::<Eight>::new(flying)),
            Width::EightSingle => return Box::new(Hangar::<EightSingle>::new(flying)),
            Width::SixteenSingle => return Box::new(Hangar::<SixteenSingle>::new(flying)),
            _ => {}
        }
    }
    if width.is_single() {
        Box::new(Hangar::<register::OneSingle>::new(flying))
    } else {
        Box::new(Hangar::<register::One>::new(flying))
    }
}

/// Flies throws side by side and hands over what became of each, by its number in the list, as it lands. A flight's bytes depend neither
/// on the others nor on the width; `keep` writes down whole trajectories. None, and nothing flown, where the processor does not have the
/// width.
pub fn fly(
    width: Width,
    throws: &[&Throw],
    keep: bool,
    mut take: impl FnMut(usize, Result<Landed, LaunchError>),
) -> Option<()> {
    let flying = |i: usize| Flying::from(throws[i]);
    Fleet::new(width)?.fly(0..throws.len(), flying, keep, |i, landed, _| {
        take(i, landed);
    });
    Some(())
}

/// One throw by the method of its tolerance, kept whole.
pub(crate) fn fly_one(throw: &Throw) -> Result<Flight, LaunchError> {
    let single = throw.tolerance.method == Method::LanesSingle;
    let mut flown = None;
    // The narrowest: the others would stand still beside it.
    let widths = if single {
        [Width::EightSingle, Width::OneSingle]
    } else {
        [Width::Four, Width::One]
    };
    for width in widths {
        let done = fly(width, &[throw], true, |_, landed| flown = Some(landed));
        if done.is_some() {
            break;
        }
    }
    let landed = flown.expect("width one is on every processor")?;
    let trajectory = landed.trajectory.expect("it was to be kept");
    Ok(Flight::new(throw.clone(), trajectory))
}
