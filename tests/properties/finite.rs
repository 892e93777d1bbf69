//! No formula gives a number that is none, whatever it is fed.

use obvert_engineering::{Field, formulas};
use proptest::prelude::{Strategy, any, prop_oneof};
use proptest::test_runner::{TestCaseError, TestRunner};

use super::cases;

/// Every kind of double: ordinary, subnormal, infinite, not a number, both zeros; and values in the
/// range of a field or at its ends, so that some cases get past the check.
fn value(field: &'static Field) -> impl Strategy<Value = f64> {
    let odd = prop_oneof![
        proptest::num::f64::ANY,
        proptest::num::f64::SUBNORMAL,
        any::<bool>().prop_map(|negative| if negative { -0.0 } else { 0.0 }),
        any::<bool>().prop_map(|least| if least {
            f64::MIN_POSITIVE
        } else {
            f64::EPSILON
        }),
    ];
    prop_oneof![
        1 => odd,
        2 => any::<bool>().prop_map(|low| if low { field.min } else { field.max }),
        17 => field.min..=field.max,
    ]
}

#[test]
fn no_formula_gives_what_is_no_finite_number_whatever_it_is_fed() {
    for formula in formulas() {
        let values: Vec<_> = formula.inputs.iter().map(value).collect();
        let told = |values: &Vec<f64>, results: Option<Vec<Option<f64>>>| {
            let all = results.unwrap_or_default();
            let odd = all.iter().flatten().find(|result| !result.is_finite());
            odd.map(|odd| TestCaseError::fail(format!("{}: {odd} of {values:?}", formula.name)))
        };
        let ran = TestRunner::new(cases()).run(&values, |values| {
            let notes = |results: &Vec<Option<f64>>| formula.notes(&values, results).len();
            let results = (formula.run)(&values).ok();
            let _ = results.as_ref().map(notes);
            told(&values, results).map_or(Ok(()), Err)?;
            told(&values, formula.run_entered(&values).ok()).map_or(Ok(()), Err)
        });
        ran.unwrap_or_else(|failure| panic!("{failure}"));
    }
}
