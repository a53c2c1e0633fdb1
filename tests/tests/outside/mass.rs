//! Mass properties of solids with known answers.

use nalgebra::{Matrix3, Rotation3, Vector3};
use sim_core::frames::BuilderPoint;
use sim_core::mass::{MassProperties, PartShape, SheetPlane, combine, inertia_is_physical};
use tossline_tests::known::spinning_box::{BRICK_MASS_KG, BRICK_MOMENTS_KG_M2};

// NASA's brick is even: a slab of 8 × 4 in and 2.25 in thickness has the published moments of inertia
// (NASA/TM-2015-218675, tables 4-5).
#[test]
fn a_slab_of_nasas_size_has_nasas_moments() {
    let [x, y, z] = [0.2032, 0.1016, 0.05715];
    let corner = |station: f64, right: f64| BuilderPoint::new(station, right, 0.3);
    let slab = PartShape::Sheet {
        outline: vec![
            corner(1.0, 0.0),
            corner(1.0 + x, 0.0),
            corner(1.0 + x, y),
            corner(1.0, y),
        ],
        holes: vec![],
        plane: SheetPlane::Level,
        areal_density_kg_m2: BRICK_MASS_KG / (x * y),
        thickness_m: z,
    }
    .mass_properties();
    for (i, published) in BRICK_MOMENTS_KG_M2.iter().enumerate() {
        assert!(
            (slab.inertia_kg_m2[(i, i)] / published - 1.0).abs() < 1e-6,
            "{slab:?}"
        );
    }
    assert!((slab.balance.station_m - 1.1016).abs() < 1e-15);
    assert!((slab.balance.right_m - 0.0508).abs() < 1e-15);
}

/// The glider as parts: two sheets, a boom, a battery, a crooked strip.
fn parts(shift: BuilderPoint) -> Vec<PartShape> {
    let at = |station: f64, right: f64, up: f64| {
        BuilderPoint::new(
            station + shift.station_m,
            right + shift.right_m,
            up + shift.up_m,
        )
    };
    vec![
        PartShape::Sheet {
            outline: vec![
                at(0.0, -0.3, 0.01),
                at(0.12, -0.3, 0.01),
                at(0.15, 0.25, 0.01),
                at(0.02, 0.2, 0.01),
            ],
            holes: vec![],
            plane: SheetPlane::Level,
            areal_density_kg_m2: 0.1,
            thickness_m: 0.003,
        },
        PartShape::Sheet {
            outline: vec![
                at(0.3, 0.02, 0.0),
                at(0.38, 0.02, 0.0),
                at(0.36, 0.02, 0.09),
            ],
            holes: vec![],
            plane: SheetPlane::Upright,
            areal_density_kg_m2: 0.1,
            thickness_m: 0.003,
        },
        PartShape::Rod {
            from: at(-0.05, 0.0, -0.01),
            to: at(0.4, 0.01, 0.02),
            mass_kg: 0.006,
        },
        PartShape::Point {
            at: at(-0.03, 0.004, -0.02),
            mass_kg: 0.009,
        },
        PartShape::Strip {
            path: vec![at(0.0, 0.0, 0.0), at(0.1, 0.1, 0.0), at(0.1, 0.2, 0.05)],
            linear_density_kg_m: 0.02,
        },
    ]
}

fn whole(shift: BuilderPoint) -> MassProperties {
    combine(
        &parts(shift)
            .iter()
            .map(PartShape::mass_properties)
            .collect::<Vec<_>>(),
    )
}

// Where the datum lies is nobody's business: the balance point moves with it and the tensor about the balance point
// stays.
#[test]
fn the_datum_does_not_matter() {
    let here = whole(BuilderPoint::default());
    let there = whole(BuilderPoint::new(0.7, -0.2, 0.4));
    assert!((here.inertia_kg_m2 - there.inertia_kg_m2).norm() < 1e-16);
    let moved = there.balance.in_body(&here.balance);
    assert!((moved - Vector3::new(-0.7, -0.2, -0.4)).norm() < 1e-14);
    assert!(inertia_is_physical(&here.inertia_kg_m2, 0.0));
}

// A sheet is the sum of its crumbs: point masses at the middles of a fine grid over the same outline, summed by
// definition (mass, ∫r dm, I = ∫(r² 1 − r rᵀ) dm). The grid's error is of the size of a cell at the outline.
#[test]
fn a_sheet_is_the_sum_of_its_crumbs() {
    let outline = [(0.0, -0.3), (0.12, -0.3), (0.15, 0.25), (0.02, 0.2)];
    let (density, cells) = (0.1, 1500);
    let sheet = parts(BuilderPoint::default())[0].mass_properties();
    let (low, high) = ((0.0, -0.3), (0.15, 0.25));
    let cell = (
        (high.0 - low.0) / f64::from(cells),
        (high.1 - low.1) / f64::from(cells),
    );
    let (mut mass, mut first, mut second) = (0.0, Vector3::zeros(), Matrix3::<f64>::zeros());
    for i in 0..cells {
        for j in 0..cells {
            let x = low.0 + (f64::from(i) + 0.5) * cell.0;
            let y = low.1 + (f64::from(j) + 0.5) * cell.1;
            let inside = (0..4).all(|k| {
                let (a, b) = (outline[k], outline[(k + 1) % 4]);
                (b.0 - a.0) * (y - a.1) - (b.1 - a.1) * (x - a.0) >= 0.0
            });
            if inside {
                let dm = density * cell.0 * cell.1;
                let r = Vector3::new(-x, y, -0.01);
                mass += dm;
                first += r * dm;
                second += r * r.transpose() * dm;
            }
        }
    }
    let centre = first / mass;
    let about = second - centre * centre.transpose() * mass;
    let inertia = Matrix3::identity() * about.trace() - about;
    assert!((sheet.mass_kg / mass - 1.0).abs() < 2e-4);
    assert!((sheet.balance.in_body(&BuilderPoint::default()) - centre).norm() < 2e-5);
    assert!(
        (sheet.inertia_kg_m2 - inertia).norm() / inertia.norm() < 2e-4,
        "{inertia}"
    );
    assert!(sheet.inertia_kg_m2[(0, 1)] * inertia[(0, 1)] > 0.0);
}

// A part and its mirror image have no products with y; turning a body by half a turn about z keeps its xy product and
// its principal moments (any textbook of mechanics).
#[test]
fn symmetry_kills_products_and_turning_keeps_principal_moments() {
    let one = whole(BuilderPoint::default());
    let flip = Matrix3::from_diagonal(&Vector3::new(1.0, -1.0, 1.0));
    let other = MassProperties {
        balance: one.balance.mirrored(),
        inertia_kg_m2: flip * one.inertia_kg_m2 * flip,
        ..one
    };
    let pair = combine(&[one, other]);
    assert!(pair.inertia_kg_m2[(0, 1)].abs() < 1e-18 && pair.inertia_kg_m2[(1, 2)].abs() < 1e-18);
    assert!(
        one.inertia_kg_m2[(0, 1)].abs() > 1e-6,
        "the single one is lopsided"
    );
    let turn = Rotation3::from_euler_angles(0.3, 1.0, -2.0);
    let turned = turn.matrix() * one.inertia_kg_m2 * turn.matrix().transpose();
    let sorted = |m: &Matrix3<f64>| {
        let mut values: Vec<f64> = m.symmetric_eigenvalues().iter().copied().collect();
        values.sort_by(f64::total_cmp);
        values
    };
    for (a, b) in sorted(&one.inertia_kg_m2).iter().zip(sorted(&turned)) {
        assert!((a - b).abs() < 1e-16);
    }
}
