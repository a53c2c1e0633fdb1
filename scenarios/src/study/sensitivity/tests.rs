use super::*;

fn gathered(kind: SensitivityKind, fields: usize, groups: &[Vec<Option<f64>>]) -> Gathered {
    let mut gathered = Gathered::new(kind, fields, groups.len() as u64);
    for (sample, group) in groups.iter().enumerate() {
        gathered.add(sample as u64, group, &vec![0.5; fields]);
    }
    gathered
}

#[test]
fn samples_without_a_number_are_left_out_and_a_column_that_does_not_vary_has_no_shares() {
    let kind = SensitivityKind::SobolIndices;
    let alike = vec![vec![Some(0.1); 3]; 10];
    assert_eq!(gathered(kind, 1, &alike).shares(0.95, 1).fields, None);
    let mut groups: Vec<Vec<Option<f64>>> = (0..10)
        .map(|i| vec![Some(f64::from(i)), Some(f64::from(9 - i)), Some(1.0)])
        .collect();
    groups[3][2] = None;
    let shares = gathered(kind, 1, &groups).shares(0.95, 1);
    assert_eq!((shares.samples, shares.left_out), (9, 1));
    assert!(shares.fields.is_some());
    let none = gathered(kind, 1, &[vec![None, None, None], vec![None; 3]]);
    assert_eq!(none.shares(0.95, 1).fields, None);
}

// By hand: steps of a half, differences 1, −1 and 3: effects 2, −2, 6; sizes 10/3 in the mean, effects 2, spread √(2·16/2) = 4.
#[test]
fn elementary_effects_by_hand() {
    let groups: Vec<Vec<Option<f64>>> = [(5.0, 6.0), (5.0, 4.0), (1.0, 4.0)]
        .iter()
        .map(|&(a, b)| vec![Some(a), Some(b)])
        .collect();
    let shares = gathered(SensitivityKind::ElementaryEffects, 1, &groups).shares(0.95, 1);
    let Some(
        [
            FieldShare::Elementary {
                mean_size,
                mean,
                standard_deviation,
            },
        ],
    ) = shares.fields.as_deref()
    else {
        panic!("one field's effects");
    };
    assert!((mean_size.estimate - 10.0 / 3.0).abs() < 1e-12);
    assert!((mean.estimate - 2.0).abs() < 1e-12);
    assert!((standard_deviation - 4.0).abs() < 1e-12);
}

// A large offset must not cost digits, and the same draws give the same interval.
#[test]
fn an_offset_changes_nothing() {
    let groups = |offset: f64| -> Vec<Vec<Option<f64>>> {
        (0..50)
            .map(|i| {
                let (a, b) = (f64::from(i * 7 % 50), f64::from(i * 11 % 50));
                vec![Some(a + offset), Some(b + offset), Some(b + offset)]
            })
            .collect()
    };
    let of = |offset| gathered(SensitivityKind::SobolIndices, 1, &groups(offset)).shares(0.9, 4);
    assert_eq!(of(0.0), of(1e6));
}

// Known to the last digit: the mean and spread of 1 … 5.
#[test]
fn moments_by_hand() {
    let mut moments = Moments::default();
    assert_eq!(moments.standard_deviation(), 0.0);
    (1..=5).for_each(|x| moments.add(f64::from(x)));
    assert_eq!((moments.mean, moments.squares_about_mean()), (3.0, 10.0));
    assert_eq!(moments.standard_deviation(), 2.5_f64.sqrt());
}
