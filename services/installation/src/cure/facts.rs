//! What the ledger knows of the run that a log is filed for.

use obvert_ledger::{Ledger, Stored};
use obvert_proto::{
    Problem, Violation,
    common::v1::RecordRef,
    installation::v1::Run,
    material::v1::{Liner, LinerOrder, MakerSheet},
    project::v1::Segment,
};
use obvert_records::{names, refusal};
use prost::{Message, Name};

/// A run with the records that its log is held against.
pub(super) struct RunFacts {
    pub(super) record: RecordRef,
    pub(super) run: Run,
    /// Segments in order of travel.
    pub(super) segments: Vec<(String, Segment)>,
    pub(super) liner: Option<Liner>,
    pub(super) order: Option<LinerOrder>,
    pub(super) sheet: Option<(RecordRef, MakerSheet)>,
}

impl RunFacts {
    /// Reads them.
    ///
    /// # Errors
    ///
    /// `FIELDS_INVALID` when the name is not that of a run of the project.
    pub(super) async fn load(ledger: &Ledger, project: &str, run: &str) -> Result<Self, Problem> {
        let home =
            |parts: names::NameParts<'_>| parts.project == project && parts.collection == "runs";
        if !names::parse(run).is_some_and(home) {
            let message = format!("is \"{run}\": write projects/{project}/runs/{{id}}");
            return Err(Problem::fields(vec![Violation::new("header.run", message)]));
        }
        let found = read(ledger, vec![run.to_owned()]).await?;
        let Some((record, run)) = found.first().and_then(decoded::<Run>) else {
            let message = format!("names {run}, which does not exist: write it first");
            return Err(Problem::fields(vec![Violation::new("header.run", message)]));
        };
        let wanted = run.segments.iter().chain([&run.liner]).cloned().collect();
        let found = read(ledger, wanted).await?;
        let of_name = |name: &String| found.iter().find(|stored| stored.name == *name);
        let segment = |name: &String| {
            let (_, segment) = of_name(name).and_then(decoded::<Segment>)?;
            Some((name.clone(), segment))
        };
        let segments = run.segments.iter().filter_map(segment).collect();
        let liner = of_name(&run.liner)
            .and_then(decoded::<Liner>)
            .map(|(_, liner)| liner);
        let order = match &liner {
            Some(liner) => read(ledger, vec![liner.order.clone()]).await?,
            None => Vec::new(),
        };
        let order = order
            .first()
            .and_then(decoded::<LinerOrder>)
            .map(|(_, order)| order);
        let sheet = match &order {
            Some(order) => read(ledger, vec![order.maker_sheet.clone()]).await?,
            None => Vec::new(),
        };
        let sheet = sheet.first().and_then(decoded::<MakerSheet>);
        Ok(Self {
            record,
            run,
            segments,
            liner,
            order,
            sheet,
        })
    }
}

async fn read(ledger: &Ledger, names: Vec<String>) -> Result<Vec<Stored>, Problem> {
    ledger.get_many(names, 0).await.map_err(refusal)
}

fn decoded<M: Message + Name + Default>(stored: &Stored) -> Option<(RecordRef, M)> {
    let record = RecordRef {
        name: stored.name.clone(),
        revision: stored.revision,
    };
    let same = stored.type_name == M::full_name();
    same.then(|| M::decode(stored.body.clone()).ok())
        .flatten()
        .map(|message| (record, message))
}
