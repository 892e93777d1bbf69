//! What a reader of native cure logs must do.

use bytes::Bytes;
use obvert_proto::installation::v1::{CureColumns, CureHeader};

use super::rows::{Row, mend};
use crate::{Fault, LogPart, Plugin, open_log};

const KIND: &str = "log-reader";

pub(super) async fn rows(plugin: &Plugin, sample: Option<&(String, Vec<u8>)>) -> Vec<Row> {
    let mut rows = vec![
        Row::of(KIND, "refuses an empty file", refused(plugin, b"").await),
        Row::of(
            KIND,
            "refuses bytes that are no log, with INVALID_ARGUMENT",
            refused(plugin, &[0xff; 4_096]).await,
        ),
    ];
    let Some((name, data)) = sample else {
        return rows;
    };
    let whole = read(plugin, name, data).await;
    let again = read(plugin, name, data).await;
    let columns = whole
        .clone()
        .and_then(|(_, columns)| check_columns(&columns));
    let same = whole.clone().and_then(|first| match again {
        Ok(again) if alike(&again, &first) => Ok(()),
        Ok(_) => Err(mend(
            "the same file was read in two ways: read by its bytes alone",
        )),
        Err(fault) => Err(fault),
    });
    let half = read(plugin, name, &data[..data.len() / 2]).await;
    let half = match half {
        Ok((_, columns)) => check_columns(&columns),
        Err(fault) if fault.word == "refused" => Ok(()),
        Err(fault) => Err(fault),
    };
    rows.push(Row::of(KIND, "reads the sample", whole.map(|_| ())));
    rows.push(Row::of(
        KIND,
        "sends columns of equal length, in order of time",
        columns,
    ));
    rows.push(Row::of(KIND, "reads the sample alike twice", same));
    rows.push(Row::of(KIND, "reads or refuses half of the sample", half));
    rows
}

async fn refused(plugin: &Plugin, data: &[u8]) -> Result<(), Fault> {
    match read(plugin, "conformance.log", data).await {
        Err(fault) if fault.word == "refused" => Ok(()),
        Err(fault) => Err(fault),
        Ok(_) => Err(mend(
            "it read a file that is no log: answer INVALID_ARGUMENT with a sentence that names the \
             place",
        )),
    }
}

type Read = (CureHeader, Vec<CureColumns>);

async fn read(plugin: &Plugin, name: &str, data: &[u8]) -> Result<Read, Fault> {
    let (_, input, mut output) = open_log(plugin, name.to_owned()).await?;
    let data = Bytes::copy_from_slice(data);
    let push = async move { input.push(data).await };
    let take = async move {
        let (mut header, mut columns) = (CureHeader::default(), Vec::new());
        while let Some(part) = output.next().await? {
            match part {
                LogPart::Header(read) => header = read,
                LogPart::Columns(read) => columns.push(read),
            }
        }
        Ok((header, columns))
    };
    let (pushed, taken) = tokio::join!(push, take);
    // What the reader said goes before that it took no more.
    taken.and_then(|taken| pushed.map(|()| taken))
}

fn check_columns(parts: &[CureColumns]) -> Result<(), Fault> {
    let mut last = i64::MIN;
    for part in parts {
        let rows = part.time_ms.len();
        let lengths = [
            part.speed_m_per_min.len(),
            part.lamp_mask.len(),
            part.pressure_kpa.len(),
            part.infrared_1_celsius.len(),
            part.infrared_2_celsius.len(),
            part.infrared_3_celsius.len(),
            part.air_celsius.len(),
        ];
        let ragged = lengths.iter().any(|length| *length != rows && *length != 0);
        if ragged || part.position_m.len() != rows {
            return Err(mend(
                "columns of one message differ in length: send one value per time, NaN for what was \
                 not measured",
            ));
        }
        if part
            .time_ms
            .iter()
            .any(|time| std::mem::replace(&mut last, *time) > *time)
        {
            return Err(mend(
                "times go backwards: send the samples in order of time",
            ));
        }
    }
    match last {
        i64::MIN => Err(mend("it sent no samples of the sample file")),
        _ => Ok(()),
    }
}

/// Equal, where two values that were not measured are equal too.
fn alike(one: &Read, other: &Read) -> bool {
    format!("{one:?}") == format!("{other:?}")
}
