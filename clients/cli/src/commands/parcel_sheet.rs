//! Personal data of a parcel, kept outside the journal.

use clap::ArgMatches;
use obvert_proto::{
    pool,
    project::v1::{
        EraseParcelSheetRequest, GetParcelSheetRequest, ParcelSheet, PutParcelSheetRequest,
        project_service_client::ProjectServiceClient,
    },
};
use prost::Name;
use prost_reflect::DynamicMessage;

use super::{Session, file, read_message, text, write};
use crate::{Exit, Failure};

pub(crate) async fn run(session: &Session, verb: &str, given: &ArgMatches) -> Result<(), Failure> {
    let parcel = text(given, "name").to_owned();
    let unread = |error: String| Failure::new(Exit::Failure, error);
    let shape = pool().get_message_by_name(&ParcelSheet::full_name());
    let shape = shape.ok_or_else(|| unread("the schema has no parcel sheet".to_owned()))?;
    let mut client = ProjectServiceClient::new(session.channel.clone());
    match verb {
        "put" => {
            let sheet = read_message(file(given, "file")?, &shape)?;
            let sheet = sheet
                .transcode_to()
                .map_err(|error| unread(error.to_string()))?;
            let write = Some(write::envelope(given));
            client
                .put_parcel_sheet(PutParcelSheetRequest {
                    write,
                    parcel,
                    sheet: Some(sheet),
                })
                .await?;
            session.output.say("the sheet is kept")
        }
        "get" => {
            let answer = client
                .get_parcel_sheet(GetParcelSheetRequest { parcel })
                .await?
                .into_inner();
            let mut sheet = DynamicMessage::new(shape);
            let filled = sheet.transcode_from(&answer.sheet.unwrap_or_default());
            filled.map_err(|error| unread(error.to_string()))?;
            session.output.message(&sheet)
        }
        _ => {
            let reason = text(given, "reason").to_owned();
            let request = EraseParcelSheetRequest { parcel, reason };
            let erased = client
                .erase_parcel_sheet(request)
                .await?
                .into_inner()
                .erased;
            session.output.say(if erased {
                "the sheet is erased"
            } else {
                "there was no sheet"
            })
        }
    }
}
