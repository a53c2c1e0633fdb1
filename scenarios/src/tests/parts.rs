//! Facing, layers, holes and glue, against numbers worked by hand.

use super::{KNOT, airframe, close, with};
use crate::build::PartMass;
use crate::load::LoadedAirframe;
use crate::overrides::Override;
use serde_json::{Value, json};

fn fine(text: &str, overrides: &[(&str, Value)]) -> LoadedAirframe {
    let overrides: Vec<Override> = overrides
        .iter()
        .map(|(path, value)| Override::new(path, value).expect("an override"))
        .collect();
    airframe(text, &overrides).unwrap_or_else(|error| panic!("{error}"))
}

fn part<'a>(loaded: &'a LoadedAirframe, name: &str) -> &'a PartMass {
    let mut parts = loaded.built.parts.iter();
    parts.find(|part| part.name == name).expect("the part")
}

fn faced() -> String {
    with(
        KNOT,
        r#""areal_density_g_m2": 100,"#,
        r#""areal_density_g_m2": 100, "facing_areal_density_g_m2": 15, "faced_sides": 2, "layers": 2,"#,
    )
}

// Both halves are one plate of 100 × 400 mm² = 0.04 m². Two sheets of 100 + 2·15 g/m²: 260 g/m², 10.4 g, 6 mm thick.
// Rectangular plate: m/12 (b² + t²), m/12 (a² + t²), m/12 (a² + b²) (any mechanics handbook).
#[test]
fn a_faced_stack_weighs_foam_and_facings_of_every_layer() {
    let wing = part(&fine(&faced(), &[]), "wing").properties;
    close(wing.mass_kg, 10.4e-3, 1e-15);
    let twelfth = 10.4e-3 / 12.0;
    close(wing.inertia_kg_m2[(0, 0)], twelfth * (0.16 + 36e-6), 1e-15);
    close(wing.inertia_kg_m2[(1, 1)], twelfth * (0.01 + 36e-6), 1e-15);
    close(wing.inertia_kg_m2[(2, 2)], twelfth * 0.17, 1e-15);
}

#[test]
fn stripping_a_facing_is_one_override_and_so_is_another_layer() {
    let mass_g = |path: &str, value: Value| {
        part(&fine(&faced(), &[(path, value)]), "wing")
            .properties
            .mass_kg
            * 1e3
    };
    // 2·115, 2·100, 1·130, 4·130 g/m² over 0.04 m²; a facing of 30 instead of 15 g/m²: 2·160.
    close(mass_g("mass.parts.wing.faced_sides", json!(1)), 9.2, 1e-12);
    close(
        mass_g("mass.parts.wing.faced_sides", json!({"add": -2})),
        8.0,
        1e-12,
    );
    close(mass_g("mass.parts.wing.layers", json!(1)), 5.2, 1e-12);
    close(
        mass_g("mass.parts.wing.layers", json!({"multiply": 2})),
        20.8,
        1e-12,
    );
    let facing = "mass.parts.wing.facing_areal_density_g_m2";
    close(mass_g(facing, json!({"multiply": 2})), 12.8, 1e-12);
    // A sheet that says nothing of layers has one, and it can be doubled all the same.
    let doubled = fine(KNOT, &[("mass.parts.*.layers", json!({"multiply": 2}))]);
    close(part(&doubled, "fin").properties.mass_kg, 0.2e-3, 1e-15);
}

// Fin: triangle (60, 0), (100, 0), (100, 50), 1000 mm², 100 g/m². A hole of 10 × 10 mm at station 80 to 90, up 5 to 15, leaves 900 mm²:
// 0.09 g. Centroid: station (1000·86.6667 − 100·85)/900 = 86.85185; up (1000·16.66667 − 100·10)/900 = 17.40741.
// ∫s² about it: triangle 40³·50/36 + 1000·0.18518²; hole 10·10³/12 + 100·1.85185² taken away; the same for up with 40·50³/36 and
// 0.74074, 7.40741; product of the triangle +40²·50²/72 (its long side rises aft), hole none of its own.
#[test]
fn a_hole_is_cut_out_of_mass_balance_and_inertia() {
    let hole = r#""holes": [[ { "station_mm": 80, "up_mm": 5 }, { "station_mm": 90, "up_mm": 5 },
        { "station_mm": 90, "up_mm": 15 }, { "station_mm": 80, "up_mm": 15 } ]],
        "right_mm": 0,
        "outline""#;
    let text = with(KNOT, "\"right_mm\": 0,\n        \"outline\"", hole);
    let fin = part(&fine(&text, &[]), "fin").properties;
    close(fin.mass_kg, 0.09e-3, 1e-15);
    close(fin.balance.station_m, 86.85185e-3, 1e-8);
    close(fin.balance.up_m, 17.40741e-3, 1e-8);
    let mm4 = 100e-3 * 1e-12; // 100 g/m² in kg/m², mm⁴ in m⁴
    let along =
        88_888.889 + 1000.0 * 0.185_185_f64.powi(2) - 833.333 - 100.0 * 1.851_852_f64.powi(2);
    let up = 138_888.889 + 1000.0 * 0.740_741_f64.powi(2) - 833.333 - 100.0 * 7.407_407_f64.powi(2);
    let product = 55_555.556 + 1000.0 * 0.185_185 * 0.740_741 - 100.0 * 1.851_852 * 7.407_407;
    let thin = 0.09e-3 * 9e-6 / 12.0;
    // Body axes: x forward, z down; the product of station and up keeps its sign. Pitch is ∫(x² + z²) dm.
    close(fin.inertia_kg_m2[(1, 1)], mm4 * (along + up), 1e-14);
    close(fin.inertia_kg_m2[(0, 0)], mm4 * up + thin, 1e-14);
    close(-fin.inertia_kg_m2[(0, 2)], mm4 * product, 1e-14);
    // Moved by an override, the hole stays whole or is refused.
    let moved = fine(
        &text,
        &[("mass.parts.fin.holes.*.*.up_mm", json!({"add": 1}))],
    );
    close(part(&moved, "fin").properties.mass_kg, 0.09e-3, 1e-15);
}

// In g and mm: wing 4.0 at 50, fin 0.1 at 86.66667, edge 0.8 at 0, spar 1.0 at 30: 5.9 at 238.66667/5.9 = 40.45198.
// A tenth of it is 0.59; with points 15.9 + 0.59 = 16.49.
#[test]
fn glue_is_a_row_of_its_own_and_spreads_like_what_it_holds() {
    let loaded = fine(KNOT, &[("mass.glue_fraction", json!(0.1))]);
    let glue = part(&loaded, "glue");
    assert_eq!(loaded.built.parts.last(), Some(glue));
    close(glue.properties.mass_kg, 0.59e-3, 1e-15);
    close(glue.properties.balance.station_m, 40.45198e-3, 1e-8);
    close(loaded.built.mass.mass_kg, 16.49e-3, 1e-15);
    // The same as everything glued being a tenth heavier.
    let heavier = json!({"multiply": 1.1});
    let all = fine(
        KNOT,
        &[
            ("mass.parts.*.areal_density_g_m2", heavier.clone()),
            ("mass.parts.edge.linear_density_g_m", heavier.clone()),
            ("mass.parts.spar.mass_g", heavier),
        ],
    );
    let (found, expected) = (loaded.built.mass, all.built.mass);
    close(found.balance.station_m, expected.balance.station_m, 1e-15);
    close(found.balance.up_m, expected.balance.up_m, 1e-15);
    assert!((found.inertia_kg_m2 - expected.inertia_kg_m2).norm() < 1e-18);
    // No glue, no row.
    let none = fine(KNOT, &[("mass.glue_fraction", json!(0))]);
    assert_eq!(none.built.parts.len(), 6);
    assert_eq!(none.built.mass, fine(KNOT, &[]).built.mass);
}
