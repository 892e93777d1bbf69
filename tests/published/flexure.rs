//! EPA/600/R-12/004, A Retrospective Evaluation of Cured-in-Place Pipe, 2012, Table 4-18: five
//! specimens of a 48-in liner, read from the file beside this one.

use obvert_engineering::flexure::SpecimenStatistics;

use super::assert_near;

const TABLE_4_18: &str = include_str!("epa_r12_004_flexure.csv");

/// Values of one property in the order of the specimens.
fn values(property: &str) -> Vec<f64> {
    let rows = TABLE_4_18.lines().filter(|line| !line.starts_with('#'));
    let cells = rows.map(|row| row.split(',').collect::<Vec<_>>());
    cells
        .filter(|row| row[3] == property)
        .map(|row| row[4].parse().unwrap())
        .collect()
}

fn assert_printed(property: &str, mean: f64, deviation: f64) {
    let found = SpecimenStatistics::of(&values(property)).unwrap();
    assert_eq!(found.specimen_count, 5, "{property}");
    assert_near(found.mean, mean, 0.5);
    assert_near(found.sample_standard_deviation.unwrap(), deviation, 0.5);
}

#[test]
fn means_and_sample_deviations_of_table_4_18_match() {
    assert_printed("peak_bending_stress", 6117.0, 888.0);
    assert_printed("peak_shear_stress", 541.0, 41.0);
    assert_printed("flexural_modulus", 263_707.0, 70_398.0);
}

/// With n instead of n − 1 the modulus would scatter by 62 966 psi; the report prints 70 398.
#[test]
fn the_report_divides_by_n_minus_one() {
    let found = SpecimenStatistics::of(&values("flexural_modulus")).unwrap();
    let population = found.sample_standard_deviation.unwrap() * (4.0_f64 / 5.0).sqrt();
    assert_near(population, 62_966.0, 0.5);
    assert!((population - 70_398.0).abs() > 7000.0);
}

#[test]
fn one_specimen_has_no_deviation_and_none_is_refused() {
    assert_eq!(
        SpecimenStatistics::of(&[5.0])
            .unwrap()
            .sample_standard_deviation,
        None
    );
    assert!(SpecimenStatistics::of(&[]).is_err());
    let both = SpecimenStatistics::of(&[-1.0, 3.0, f64::NAN]).expect_err("two are out of range");
    assert_eq!(both.0.len(), 2);
    assert_eq!(both.0[1].field, "specimens[2]");
}
