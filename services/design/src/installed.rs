//! What an installed liner bears, asked without storing it: beside a design on file, or beside the
//! inputs of one.

use obvert_access::Caller;
use obvert_proto::{
    Problem, Violation,
    common::v1::{GetRecordRequest, RecordRef},
    design::v1::{
        AsBuiltInputs, CheckAsBuiltRequest, CheckAsBuiltResponse, WallDesign, WallInputs,
        record::Body,
    },
};
use obvert_records::{Records, check_request};

use crate::{
    record::{check_inputs, ovality_as_fraction},
    rules::{DesignRegister, as_built_result, wall_result},
};

/// Works the answer out.
///
/// # Errors
///
/// `NOT_ALLOWED` and `RECORD_NOT_FOUND` for the design, and `FIELDS_INVALID` with everything that is
/// wrong with what was measured or with the design.
pub(crate) async fn bears(
    records: &Records<DesignRegister>,
    caller: &Caller,
    request: CheckAsBuiltRequest,
) -> Result<CheckAsBuiltResponse, Problem> {
    check_request(&request)?;
    let measured = request.inputs.unwrap_or_default();
    let fraction = measured.ovality_percent.and_then(ovality_as_fraction);
    if let Some(wrong) = fraction {
        return Err(below("inputs", vec![wrong]));
    }
    match (request.design.as_str(), request.design_inputs) {
        ("", Some(inputs)) => beside_inputs(&measured, inputs),
        ("", None) => Err(one_of_two("is missing")),
        (name, None) => {
            let name = name.to_owned();
            let read = GetRecordRequest { name, revision: 0 };
            let record = records.get(caller, read).await?;
            let meta = record.meta.unwrap_or_default();
            let named = RecordRef {
                name: meta.name,
                revision: meta.revision,
            };
            beside_record(&measured, record.body, named)
        }
        (_, Some(_)) => Err(one_of_two("and design_inputs are both given")),
    }
}

fn one_of_two(what: &str) -> Problem {
    let message = format!("{what}: name a stored wall design, or give the inputs of one");
    Problem::fields(vec![Violation::new("design", message)])
}

fn beside_inputs(
    measured: &AsBuiltInputs,
    inputs: WallInputs,
) -> Result<CheckAsBuiltResponse, Problem> {
    let wrong = check_inputs(&inputs);
    if !wrong.is_empty() {
        return Err(below("design_inputs", wrong));
    }
    let result = wall_result(&inputs).map_err(|wrong| below("design_inputs", wrong))?;
    let required_mm = result.required_wall_thickness_mm;
    Ok(CheckAsBuiltResponse {
        result: Some(as_built_result(measured, inputs, required_mm, "inputs")?),
        design: None,
    })
}

fn beside_record(
    measured: &AsBuiltInputs,
    body: Option<Body>,
    named: RecordRef,
) -> Result<CheckAsBuiltResponse, Problem> {
    let Some(Body::WallDesign(WallDesign { inputs, result, .. })) = body else {
        let message = format!(
            "is \"{}\", which is no wall design: name projects/{{project}}/designs/{{id}}",
            named.name
        );
        return Err(Problem::fields(vec![Violation::new("design", message)]));
    };
    let required_mm = result.unwrap_or_default().required_wall_thickness_mm;
    let inputs = inputs.unwrap_or_default();
    Ok(CheckAsBuiltResponse {
        result: Some(as_built_result(measured, inputs, required_mm, "inputs")?),
        design: Some(named),
    })
}

fn below(field: &str, wrong: Vec<Violation>) -> Problem {
    let place = |v: Violation| Violation::new(format!("{field}.{}", v.field), v.message);
    Problem::fields(wrong.into_iter().map(place).collect())
}
