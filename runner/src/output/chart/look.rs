//! What tells curves apart: a colour, a dash (both by class) and a shape.

use super::way;
use svg::node::element::{Group, Path};

/// How many looks there are; Okabe & Ito's eight colours (2008), told apart by colour-blind readers.
pub const LOOKS: u8 = 8;

/// How a curve looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    number: u8,
    is_twin: bool,
}

impl Look {
    /// The look with a number, counted from 0 and going round.
    pub fn of(number: usize) -> Self {
        Look {
            number: (number % usize::from(LOOKS)) as u8,
            is_twin: false,
        }
    }

    /// That of its twin: the same colour, thin and dotted, without shapes.
    pub fn twin(self) -> Self {
        Look {
            is_twin: true,
            ..self
        }
    }

    /// Whether it is a twin's.
    pub fn is_twin(self) -> bool {
        self.is_twin
    }

    pub(super) fn number(self) -> u8 {
        self.number
    }

    pub(super) fn has_shapes(self) -> bool {
        !self.is_twin
    }

    /// Its class.
    pub fn class(self) -> String {
        let twin = if self.is_twin { " twin" } else { "" };
        format!("look-{}{twin}", self.number + 1)
    }

    /// Its shape about a place, of a size in px.
    pub(super) fn shape(self, place: (f64, f64), size: f64) -> Path {
        Path::new().set("d", self.outline(place, size))
    }

    /// The same as a path's data.
    pub(super) fn outline(self, (x, y): (f64, f64), size: f64) -> String {
        let corners = |list: &[(f64, f64)]| {
            let places: Vec<(f64, f64)> = list
                .iter()
                .map(|(dx, dy)| (x + dx * size, y + dy * size))
                .collect();
            way(&places) + "Z"
        };
        match self.number {
            0 => format!(
                "M{:.1} {y:.1}a{size} {size} 0 1 0 {} 0a{size} {size} 0 1 0 -{} 0Z",
                x - size,
                2.0 * size,
                2.0 * size
            ),
            1 => corners(&[(-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)]),
            2 => corners(&[(0.0, -1.1), (1.1, 0.9), (-1.1, 0.9)]),
            3 => corners(&[(0.0, -1.3), (1.3, 0.0), (0.0, 1.3), (-1.3, 0.0)]),
            4 => corners(&[(0.0, 1.1), (1.1, -0.9), (-1.1, -0.9)]),
            5 => corners(&[
                (-0.4, -1.2),
                (0.4, -1.2),
                (0.4, -0.4),
                (1.2, -0.4),
                (1.2, 0.4),
                (0.4, 0.4),
                (0.4, 1.2),
                (-0.4, 1.2),
                (-0.4, 0.4),
                (-1.2, 0.4),
                (-1.2, -0.4),
                (-0.4, -0.4),
            ]),
            6 => corners(&[(-1.2, -0.5), (1.2, -0.5), (1.2, 0.5), (-1.2, 0.5)]),
            _ => corners(&[(-0.5, -1.2), (0.5, -1.2), (0.5, 1.2), (-0.5, 1.2)]),
        }
    }
}

/// What a legend shows of a look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sample {
    /// A piece of a curve, with its shape.
    Curve,
    /// A value with its interval, filled.
    Filled,
    /// The same, hollow.
    Hollow,
}

/// A sample of a look for a legend: 34 px long and 16 high.
pub fn sample(look: Look, what: Sample) -> Group {
    let d = match what {
        Sample::Curve => "M1 8H33",
        Sample::Filled | Sample::Hollow => "M17 1V15",
    };
    let class = match what {
        Sample::Curve => "line",
        Sample::Filled | Sample::Hollow => "bar",
    };
    let line = Path::new().set("class", class).set("d", d);
    let group = Group::new().set("class", look.class()).add(line);
    if look.is_twin {
        return group;
    }
    let class = match what {
        Sample::Hollow => "mark hollow",
        Sample::Curve | Sample::Filled => "mark",
    };
    group.add(look.shape((17.0, 8.0), 4.0).set("class", class))
}
