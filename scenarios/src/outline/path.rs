//! Path data to curves.

use kurbo::{Arc, BezPath, Point, SvgArc, Vec2};
use svgtypes::{PathParser, PathSegment};

/// Largest size of an arc over its tolerance: beyond it, cubics for it would be without number.
pub(super) const LARGEST: f64 = 1e12;

/// Curves of an SVG path's data, in the units it is written in; elliptical arcs as cubics within `arc_tolerance` of them.
///
/// # Errors
/// What is wrong with the data, in words.
pub(super) fn curves_of(data: &str, arc_tolerance: f64) -> Result<BezPath, String> {
    let mut pen = Pen::default();
    for segment in PathParser::from(data) {
        let segment = segment.map_err(|error| error.to_string())?;
        if let PathSegment::EllipticalArc { rx, ry, x, y, .. } = segment {
            let size = [rx, ry, x, y, pen.here.x, pen.here.y];
            if !size.iter().all(|one| one.abs() <= LARGEST * arc_tolerance) {
                return Err("an arc too large for any page".to_owned());
            }
        }
        pen.draw(segment, arc_tolerance);
    }
    if pen.path.is_empty() {
        return Err("an empty path".to_owned());
    }
    Ok(pen.path)
}

/// Where drawing has got to.
#[derive(Default)]
struct Pen {
    path: BezPath,
    here: Point,
    /// Where the piece being drawn began.
    start: Point,
    /// Last control point of the curve just drawn, where the next may take it up.
    cubic_control: Option<Point>,
    quadratic_control: Option<Point>,
    /// A piece was closed and nothing drawn since.
    closed: bool,
}

impl Pen {
    fn draw(&mut self, segment: PathSegment, arc_tolerance: f64) {
        use PathSegment as S;
        let base = if segment.is_abs() {
            Vec2::ZERO
        } else {
            self.here.to_vec2()
        };
        let at = |x: f64, y: f64| Point::new(x, y) + base;
        let (cubic, quadratic) = (self.cubic_control.take(), self.quadratic_control.take());
        // A smooth curve goes on in the direction of the one before, if that was of its kind.
        let here = self.here;
        let mirrored = |control: Option<Point>| control.map_or(here, |c| here + (here - c));
        match segment {
            S::MoveTo { x, y, .. } => {
                self.here = at(x, y);
                self.start = self.here;
                self.closed = false;
                self.path.move_to(self.here);
                return;
            }
            S::ClosePath { .. } => {
                if !self.closed {
                    self.path.close_path();
                }
                self.here = self.start;
                self.closed = true;
                return;
            }
            _ => {}
        }
        if std::mem::take(&mut self.closed) {
            self.path.move_to(self.start);
        }
        match segment {
            S::LineTo { x, y, .. } => self.line(at(x, y)),
            S::HorizontalLineTo { x, .. } => self.line(Point::new(x + base.x, here.y)),
            S::VerticalLineTo { y, .. } => self.line(Point::new(here.x, y + base.y)),
            S::CurveTo {
                x1,
                y1,
                x2,
                y2,
                x,
                y,
                ..
            } => self.cubic(at(x1, y1), at(x2, y2), at(x, y)),
            S::SmoothCurveTo { x2, y2, x, y, .. } => {
                self.cubic(mirrored(cubic), at(x2, y2), at(x, y));
            }
            S::Quadratic { x1, y1, x, y, .. } => self.quadratic(at(x1, y1), at(x, y)),
            S::SmoothQuadratic { x, y, .. } => self.quadratic(mirrored(quadratic), at(x, y)),
            S::EllipticalArc {
                rx,
                ry,
                x_axis_rotation,
                large_arc,
                sweep,
                x,
                y,
                ..
            } => {
                let arc = SvgArc {
                    from: here,
                    to: at(x, y),
                    radii: Vec2::new(rx, ry),
                    x_rotation: x_axis_rotation.to_radians(),
                    large_arc,
                    sweep,
                };
                match Arc::from_svg_arc(&arc) {
                    Some(arc) => self.path.extend(arc.append_iter(arc_tolerance)),
                    None => self.path.line_to(arc.to),
                }
                self.here = arc.to;
            }
            S::MoveTo { .. } | S::ClosePath { .. } => {}
        }
    }

    fn line(&mut self, to: Point) {
        self.path.line_to(to);
        self.here = to;
    }

    fn cubic(&mut self, first: Point, second: Point, to: Point) {
        self.path.curve_to(first, second, to);
        self.here = to;
        self.cubic_control = Some(second);
    }

    fn quadratic(&mut self, control: Point, to: Point) {
        self.path.quad_to(control, to);
        self.here = to;
        self.quadratic_control = Some(control);
    }
}
