//! The files' form: geometry out of the measures, and a note beside each value.

use super::{Measures, Motors};
use serde_json::{Value, json};

/// What is settled by balancing and trimming.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Settled {
    pub pack_station_mm: f64,
    /// Clay: mass (g) and station (mm).
    pub clay: Option<(f64, f64)>,
    pub tailplane_deg: f64,
    /// Height of the motors, mm.
    pub motors_up_mm: f64,
}

/// The airframe's geometry, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Layout {
    /// Half of the span along the foam.
    half: f64,
    root: f64,
    tip: f64,
    pub wing_station: f64,
    pub mean_chord: f64,
    tail_station: f64,
    tail_chord: f64,
    tail_half: f64,
    fin_chord: f64,
    fin_height: f64,
    pub stick_end: f64,
}

const DIHEDRAL_DEG: f64 = 6.0;
/// Thickness of the stick, mm; its middle is the reference line.
const STICK_MM: f64 = 4.0;
/// The nearest the pack's middle comes to the nose, mm.
pub(super) const PACK_FOREMOST_MM: f64 = 20.0;

fn whole(value: f64) -> f64 {
    value.round()
}

/// Rounded to tenths.
pub(super) fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0 + 0.0
}

impl Layout {
    pub fn of(measures: &Measures) -> Self {
        let (root, tip) = (measures.root_chord_mm, measures.tip_chord_mm);
        let mean_chord = 0.5 * (root + tip);
        let area = measures.span_mm * mean_chord;
        let wing_station = whole(1.2 * mean_chord);
        let tail_chord = whole((0.18 * area / 3.0).sqrt());
        let fin_chord = whole((area / 9.0 / 1.2).sqrt());
        let tail_station = whole(wing_station + 0.25 * root + 1.8 * mean_chord - 0.25 * tail_chord);
        Layout {
            half: 0.5 * measures.span_mm,
            root,
            tip,
            wing_station,
            mean_chord,
            tail_station,
            tail_chord,
            tail_half: whole(1.5 * tail_chord),
            fin_chord,
            fin_height: whole(1.2 * fin_chord),
            stick_end: tail_station + tail_chord.max(fin_chord),
        }
    }

    /// Mass of the wing's foam, g.
    pub fn foam_g(&self, measures: &Measures) -> f64 {
        measures.areal_density_g_m2 * 2.0 * self.half * self.mean_chord * 1e-6
    }

    /// Station of the wing's leading edge at the tip: the quarter-chord line runs straight across.
    fn tip_station(&self) -> f64 {
        tenths(self.wing_station + 0.25 * (self.root - self.tip))
    }
}

fn point(station_mm: f64, right_mm: f64, up_mm: f64) -> Value {
    json!({"station_mm": station_mm, "right_mm": right_mm, "up_mm": up_mm})
}

fn level(corners: &[(f64, f64)]) -> Value {
    let corner = |&(station, right): &(f64, f64)| json!({"station_mm": station, "right_mm": right});
    corners.iter().map(corner).collect()
}

fn upright(corners: &[(f64, f64)]) -> Value {
    let corner = |&(station, up): &(f64, f64)| json!({"station_mm": station, "up_mm": up});
    corners.iter().map(corner).collect()
}

/// The airframe file.
pub(super) fn airframe(measures: &Measures, settled: &Settled) -> Value {
    let layout = Layout::of(measures);
    let mut file = json!({
        "tossline": 1,
        "kind": "airframe",
        "name": measures.name,
        "note": "A starting airframe: laid out by rules of thumb from a few measures, not measured on anything built. Replace its numbers by your own, one after the other; each note says how. Stations are mm aft of the nose, the stick's fore end; right and left are the pilot's.",
        "mass": {
            "note": "Weigh every part before it is glued on, on a scale that shows 0.1 g or better. glue_fraction: weigh the bare parts, then the glued airframe without module and clay; what it gained over the weight of sheets and stick.",
            "parts": parts(measures, &layout, settled),
            "glue_fraction": 0.05
        },
        "surfaces": surfaces(measures, &layout),
        "bodies": bodies(measures, &layout, settled),
        "tabs": [{
            "name": "tailplane",
            "note": "How far the rear four tenths of the tailplane are bent; minus is trailing edge up. Bend it along a ruler, and measure at the trailing edge how far it stands above the flat foam: `tossline balance` says it in mm. Worked out for a glide a little faster than the best; set it anew by test glides: nose rises, slows and drops: less up; dives: more up.",
            "setting_deg": settled.tailplane_deg
        }]
    });
    if measures.motors != Motors::None {
        let object = file.as_object_mut().expect("an object");
        object.insert("cell".to_owned(), cell(measures));
        object.insert("propellers".to_owned(), json!([propeller(measures)]));
        object.insert("motors".to_owned(), motors(measures));
    }
    file
}

fn parts(measures: &Measures, layout: &Layout, settled: &Settled) -> Value {
    let foam = "areal_density_g_m2: cut a rectangle of this sheet, say 200 by 300 mm, weigh it and divide by its area in m²: 6.6 g / 0.06 m² = 110. thickness_mm: a stack of ten, divided by ten.";
    let sheet = |name: &str, more: &str| {
        json!({
            "name": name,
            "note": format!("{foam} {more}"),
            "form": "sheet",
            "areal_density_g_m2": measures.areal_density_g_m2,
            "thickness_mm": measures.thickness_mm,
        })
    };
    let with = |mut part: Value, more: Value| {
        let (Value::Object(part_fields), Value::Object(more)) = (&mut part, more) else {
            unreachable!("both are objects");
        };
        part_fields.extend(more);
        part
    };
    let (half, t) = (layout.half, layout.tail_station);
    let wing_up = STICK_MM / 2.0 + measures.thickness_mm / 2.0;
    // Of a trapezoid's area the centroid lies so far out, as a fraction of the half span.
    let out = (layout.root + 2.0 * layout.tip) / (3.0 * (layout.root + layout.tip));
    let raised = half * out * DIHEDRAL_DEG.to_radians().sin();
    let wing = with(
        sheet(
            "wing",
            "outline: stations and distances from the centre line measured on the cut foam, one half. up_mm: the wing is tilted up, so its sheet counts at the height of its own middle.",
        ),
        json!({
            "plane": "level",
            "up_mm": tenths(wing_up + raised),
            "outline": level(&[
                (layout.wing_station, 0.0),
                (layout.tip_station(), half),
                (layout.tip_station() + layout.tip, half),
                (layout.wing_station + layout.root, 0.0),
            ]),
            "mirrored": true
        }),
    );
    let tailplane = with(
        sheet("tailplane", "outline: as the wing's, one half."),
        json!({
            "plane": "level",
            "up_mm": wing_up,
            "outline": level(&[
                (t, 0.0),
                (t, layout.tail_half),
                (t + layout.tail_chord, layout.tail_half),
                (t + layout.tail_chord, 0.0),
            ]),
            "mirrored": true
        }),
    );
    let fin = with(
        sheet(
            "fin",
            "outline: stations and heights over the stick's middle line.",
        ),
        json!({
            "plane": "upright",
            "right_mm": 0,
            "outline": upright(&fin_corners(layout)),
            "mirrored": false
        }),
    );
    let mut parts = vec![
        wing,
        tailplane,
        fin,
        json!({
            "name": "stick",
            "note": "linear_density_g_m: weigh a metre of the stick. Its two ends: the nose datum is its fore end.",
            "form": "strip",
            "linear_density_g_m": 4,
            "path": [point(0.0, 0.0, 0.0), point(layout.stick_end, 0.0, 0.0)],
            "mirrored": false
        }),
    ];
    let module = measures.module_mass_g;
    let (share, carrier) = match measures.motors {
        Motors::None => (0.0, None),
        Motors::One => (
            0.3,
            Some(("motor", 5.0, "the motor with its propeller and mount")),
        ),
        Motors::Two => (
            0.45,
            Some((
                "motor-bridge",
                bridge_station(layout),
                "both motors with propellers, mounts and the bridge that carries them",
            )),
        ),
    };
    if let Some((name, station, what)) = carrier {
        let mass_g = tenths(share * module);
        parts.push(json!({
            "name": "pack",
            "note": "mass_g: weigh cell, board, plug and holder together; here the rest of the module. at: where the pack balances on the edge of a ruler, and how far its middle lies under the stick's. Slide it to move the balance point.",
            "form": "point",
            "mass_g": tenths(module - mass_g),
            "at": point(settled.pack_station_mm, 0.0, -6.0),
            "mirrored": false
        }));
        parts.push(json!({
            "name": name,
            "note": format!("mass_g: weigh {what}; here a usual share of the module. at: its middle. Moving this part moves mass and thrust together."),
            "form": "point",
            "mass_g": mass_g,
            "at": point(station, 0.0, settled.motors_up_mm),
            "mirrored": false
        }));
    }
    if let Some((mass_g, station_mm)) = settled.clay {
        parts.push(json!({
            "name": "clay",
            "note": "mass_g: what it takes until the airframe balances at the mark `tossline balance` gives; then weigh the lump. at: its middle.",
            "form": "point",
            "mass_g": mass_g,
            "at": point(station_mm, 0.0, 0.0),
            "mirrored": false
        }));
    }
    Value::Array(parts)
}

fn fin_corners(layout: &Layout) -> [(f64, f64); 4] {
    let (fore, foot) = (layout.tail_station, STICK_MM / 2.0);
    let (aft, top) = (fore + layout.fin_chord, foot + layout.fin_height);
    [(fore, foot), (fore, top), (aft, top), (aft, foot)]
}

/// Station of the bridge: a quarter of a chord ahead of the wing.
fn bridge_station(layout: &Layout) -> f64 {
    whole(layout.wing_station - 0.25 * layout.mean_chord)
}

/// Distance of each of two motors from the centre line, mm.
const MOTOR_RIGHT_MM: f64 = 40.0;

fn surfaces(measures: &Measures, layout: &Layout) -> Value {
    let up = STICK_MM / 2.0 + measures.thickness_mm / 2.0;
    let sweep = (0.25 * (layout.root - layout.tip) / layout.half).atan();
    json!([
        {
            "name": "wing",
            "note": "Measure one half on the cut foam: chord at the centre line and at the tip, half_span_mm from root to tip along the foam. leading_edge_sweep_deg: how far the leading edge runs back, as an angle. dihedral_deg: lay one half flat and measure how high the other tip stands; twice the dihedral is that height over the half span, as an angle. twist_deg, thickness_mm and edges may be added.",
            "root_leading_edge": point(layout.wing_station, 0.0, up),
            "root_chord_mm": layout.root,
            "tip_chord_mm": layout.tip,
            "half_span_mm": layout.half,
            "leading_edge_sweep_deg": tenths(sweep.to_degrees()),
            "dihedral_deg": DIHEDRAL_DEG,
            "mirrored": true
        },
        {
            "name": "tailplane",
            "note": "As the wing. bends: which part of it the tab `tailplane` bends, as fractions of span and chord.",
            "root_leading_edge": point(layout.tail_station, 0.0, up),
            "root_chord_mm": layout.tail_chord,
            "tip_chord_mm": layout.tail_chord,
            "half_span_mm": layout.tail_half,
            "leading_edge_sweep_deg": 0,
            "dihedral_deg": 0,
            "mirrored": true,
            "bends": [{"tab": "tailplane", "from_span_fraction": 0, "to_span_fraction": 1, "chord_fraction": 0.4}]
        },
        {
            "name": "fin",
            "note": "As the wing, standing up from the stick: half_span_mm is its height.",
            "root_leading_edge": point(layout.tail_station, 0.0, STICK_MM / 2.0),
            "root_chord_mm": layout.fin_chord,
            "tip_chord_mm": layout.fin_chord,
            "half_span_mm": layout.fin_height,
            "leading_edge_sweep_deg": 0,
            "dihedral_deg": 90,
            "mirrored": false
        }
    ])
}

fn bodies(measures: &Measures, layout: &Layout, settled: &Settled) -> Value {
    let block = |name: &str, note: &str, size: [f64; 3], at: Value, mirrored: bool| {
        json!({
            "name": name,
            "note": note,
            "form": "block",
            "width_mm": size[0],
            "height_mm": size[1],
            "length_mm": size[2],
            "at": at,
            "mirrored": mirrored
        })
    };
    let mut bodies = vec![block(
        "stick",
        "Width and height of the stick, and its length, with a ruler; at: its middle.",
        [STICK_MM, STICK_MM, layout.stick_end],
        point(tenths(0.5 * layout.stick_end), 0.0, 0.0),
        false,
    )];
    if measures.motors != Motors::None {
        bodies.push(block(
            "pack",
            "Width, height and length of cell and board as they hang in the wind, with a ruler.",
            [14.0, 8.0, 34.0],
            point(settled.pack_station_mm, 0.0, -6.0),
            false,
        ));
    }
    let motor = "Width, height and length of a motor's can, with a ruler.";
    let size = [7.0, 7.0, 20.0];
    match measures.motors {
        Motors::None => {}
        Motors::One => bodies.push(block(
            "motor",
            motor,
            size,
            point(5.0, 0.0, settled.motors_up_mm),
            false,
        )),
        Motors::Two => bodies.push(block(
            "motor",
            motor,
            size,
            point(
                bridge_station(layout),
                motor_right_mm(measures),
                settled.motors_up_mm,
            ),
            true,
        )),
    }
    Value::Array(bodies)
}

/// The usual module's size, times: its thrust over that of the smallest usual one. Like modules have discs loaded alike, so that current and
/// the cell go with the thrust, diameter with its root, and a rotor's inertia with the fifth power of that. Common practice, no source.
fn size(measures: &Measures) -> f64 {
    measures.static_thrust_g / 8.0
}

/// Diameter of the propellers, mm.
fn diameter_mm(measures: &Measures) -> f64 {
    tenths(45.0 * size(measures).sqrt())
}

/// Distance of each of two motors from the centre line, mm: room for the discs and a finger's breadth between them.
fn motor_right_mm(measures: &Measures) -> f64 {
    MOTOR_RIGHT_MM.max(whole(0.5 * diameter_mm(measures) + 10.0))
}

fn cell(measures: &Measures) -> Value {
    let size = size(measures);
    json!({
        "note": "capacity_mAh: printed on the cell. internal_resistance_ohm: voltage lost when the motors run at full throttle, over the current then. electronics_current_A: current with the motors off. Never charge it unwatched, and never use a swollen one.",
        "capacity_mAh": whole(150.0 * size),
        "internal_resistance_ohm": (150.0 / size).round() / 1000.0,
        "electronics_current_A": 0.05
    })
}

fn propeller(measures: &Measures) -> Value {
    json!({
        "name": "propeller",
        "note": "diameter_mm: tip to tip with a ruler, motor unplugged. measured: stand the motor upright on a heavy block on a kitchen scale so that the air goes up, tare, full throttle for a few seconds, and read grams, current and voltage at the motor. It cuts: glasses on, fingers, hair and faces out of its plane, unplug before touching.",
        "diameter_mm": diameter_mm(measures),
        "measured": {
            "static_thrust_g": measures.static_thrust_g,
            "at_current_A": (450.0 * size(measures)).round() / 1000.0,
            "at_voltage_V": 3.8
        }
    })
}

fn motors(measures: &Measures) -> Value {
    let motor = |name: &str, spin: &str, mount: Value| {
        json!({
            "name": name,
            "note": "measured: no_load_rpm with no_load_voltage_V, and stall_current_A, make it surer; empty, it is worked out from the propeller's weighing. rotor_inertia_g_mm2: a usual one. thrust_elevation_deg: lay a straight edge along the shaft and measure its slope against the stick; positive pulls up, so the propeller blows its air down.",
            "propeller": "propeller",
            "measured": {},
            "rotor_inertia_g_mm2": tenths(50.0 * size(measures).powf(2.5)),
            "spin": spin,
            "thrust_elevation_deg": 0,
            "mount": mount
        })
    };
    let mount = |carrier: &str, ahead: f64, right: f64| {
        json!({
            "carried_by": carrier,
            "station_from_carrier_mm": -ahead,
            "right_from_carrier_mm": right,
            "up_from_carrier_mm": 0
        })
    };
    let right = motor_right_mm(measures);
    match measures.motors {
        Motors::None => json!([]),
        Motors::One => json!([motor("nose", "clockwise", mount("motor", 15.0, 0.0))]),
        Motors::Two => json!([
            motor("left", "clockwise", mount("motor-bridge", 14.0, -right)),
            motor(
                "right",
                "counterclockwise",
                mount("motor-bridge", 14.0, right)
            ),
        ]),
    }
}

/// The scenario file of a test glide at the glide's own speed and path, motors off, from hand height.
pub(super) fn test_glide(
    name: &str,
    airframe: &str,
    speed_m_s: f64,
    path_deg: f64,
    alpha_deg: f64,
) -> Value {
    json!({
        "tossline": 1,
        "kind": "scenario",
        "name": name,
        "note": "First throw: motors off, from hand height over soft grass, at the airframe's own gliding speed and along its own glide path. Level wings, no run-up.",
        "airframe": format!("{airframe}.json"),
        "launch": {
            "release_speed_m_s": tenths(speed_m_s),
            "release_height_m": 1.7,
            "path_angle_deg": tenths(path_deg),
            "nose_above_path_deg": tenths(alpha_deg)
        },
        "end": {"time_limit_s": 10}
    })
}
