//! By when the plan wants a point past.
//!
//! Being late holds nothing: it is a note beside the point, and a day that the status carries.

use jiff::{ToSpan, civil::Date};
use obvert_proto::{dates::unix_ms, installation::v1::StepKind};

use crate::{
    plan::{DueEvent, Operator, PlanText, Point},
    segment_file::{SegmentFile, step_start_ms},
};

/// Day by which a point is due; none where the plan asks for no day, or before its event.
pub(crate) fn due_date(plan: &PlanText, point: &Point, file: &SegmentFile) -> Option<Date> {
    let due = point.due.as_ref()?;
    let days = plan.limit(&due.limit, Operator::AtMost)?.number();
    let event = event_date(due.after, file)?;
    event.checked_add((days as i64).days()).ok()
}

fn event_date(event: DueEvent, file: &SegmentFile) -> Option<Date> {
    match event {
        DueEvent::Order => {
            let orders = file.orders_in_force();
            let dates = orders.iter().filter_map(|order| order.order_date.as_ref());
            dates.filter_map(|date| date.to_civil()).max()
        }
        DueEvent::Receipt => {
            let liners = file.liner_names_in_force();
            let own = file
                .receiving_checks
                .iter()
                .filter(|c| liners.contains(&c.liner));
            let times = own.filter_map(|check| check.received_time.as_ref());
            times.map(|time| file.local_date(unix_ms(time))).max()
        }
        DueEvent::PullIn => {
            let runs = file.lining_runs();
            let times = runs
                .iter()
                .filter_map(|run| step_start_ms(run, StepKind::PullIn));
            times.map(|ms| file.local_date(ms)).max()
        }
        DueEvent::PostLiningCctv => {
            let survey = file.last_post_survey()?;
            survey
                .start_time
                .as_ref()
                .map(|time| file.local_date(unix_ms(time)))
        }
    }
}
