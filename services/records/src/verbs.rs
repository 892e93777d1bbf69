//! The seven common RPCs, written once for the six services.

use std::pin::Pin;

use futures::{Stream, StreamExt};
use tonic::{Response, Status};

/// Stream of an RPC's messages.
pub type Answers<T> = Pin<Box<dyn Stream<Item = Result<T, Status>> + Send>>;

/// What a unary RPC gives back, as `async_trait` writes it.
pub type Answer<'a, T> = Pin<Box<dyn Future<Output = Result<Response<T>, Status>> + Send + 'a>>;

/// Stream of messages made of the parts of another stream.
pub fn answers<T: 'static, A: 'static>(parts: Answers<T>, message: fn(T) -> A) -> Answers<A> {
    Box::pin(parts.map(move |part| part.map(message)))
}

/// Answers the common RPCs of a service from its `records` field, inside the service's
/// `#[tonic::async_trait] impl`.
///
/// `$v1` is the module of the service's own messages, such as `obvert_proto::design::v1` brought into
/// scope as `v1`. The functions have the form that `async_trait` gives an `async fn`, since that
/// attribute does not look inside a macro.
#[macro_export]
macro_rules! common_verbs {
    ($v1:ident) => {
        type WatchRecordsStream = $crate::Answers<$v1::WatchRecordsResponse>;

        $crate::common_verbs! { @unary create_record($v1::CreateRecordRequest) -> $v1::Record,
            |records, caller, request| {
                let $v1::CreateRecordRequest { write, project, record_id, record } = request;
                let create = $crate::Create { write, project, record_id, record };
                records.create(&caller, create, $crate::now_ms()).await?
            }
        }

        $crate::common_verbs! { @unary revise_record($v1::ReviseRecordRequest) -> $v1::Record,
            |records, caller, request| {
                let $v1::ReviseRecordRequest { write, name, record } = request;
                let revise = $crate::Revise { write, name, record };
                records.revise(&caller, revise, $crate::now_ms()).await?
            }
        }

        $crate::common_verbs! { @unary get_record(obvert_proto::common::v1::GetRecordRequest) -> $v1::Record,
            |records, caller, request| records.get(&caller, request).await?
        }

        $crate::common_verbs! {
            @unary list_records(obvert_proto::common::v1::ListRecordsRequest) -> $v1::ListRecordsResponse,
            |records, caller, request| {
                let page = records.list(&caller, request).await?;
                $v1::ListRecordsResponse {
                    records: page.records,
                    next_page_token: page.next_page_token,
                    revision: page.revision,
                }
            }
        }

        $crate::common_verbs! {
            @unary list_revisions(obvert_proto::common::v1::ListRevisionsRequest) -> $v1::ListRevisionsResponse,
            |records, caller, request| {
                let page = records.list_revisions(&caller, request).await?;
                $v1::ListRevisionsResponse {
                    records: page.records,
                    next_page_token: page.next_page_token,
                }
            }
        }

        $crate::common_verbs! {
            @unary watch_records(obvert_proto::common::v1::WatchRecordsRequest) -> Self::WatchRecordsStream,
            |records, caller, request| {
                let touched = records.watch(&caller, request)?;
                $crate::answers(touched, |t| $v1::WatchRecordsResponse {
                    revision: t.revision,
                    records: t.records,
                })
            }
        }

        $crate::common_verbs! {
            @fn import_table(
                request: tonic::Streaming<obvert_proto::common::v1::ImportTableRequest>
            ) -> obvert_proto::common::v1::ImportTableResponse,
            |records| {
                let caller = obvert_access::Caller::of(&request)?;
                let (header, table) = $crate::collect_table(request.into_inner()).await?;
                records.import(&caller, header, table, $crate::now_ms()).await?
            }
        }
    };
    (@unary $rpc:ident($asked:ty) -> $answered:ty,
        |$records:ident, $caller:ident, $request:ident| $answer:expr) => {
        $crate::common_verbs! { @fn $rpc(request: $asked) -> $answered, |$records| {
            let ($caller, $request) = $crate::opened(request)?;
            $answer
        } }
    };
    (@fn $rpc:ident($request:ident: $asked:ty) -> $answered:ty, |$records:ident| $answer:expr) => {
        fn $rpc<'life0, 'async_trait>(
            &'life0 self,
            $request: tonic::Request<$asked>,
        ) -> $crate::Answer<'async_trait, $answered>
        where
            'life0: 'async_trait,
            Self: 'async_trait,
        {
            Box::pin(async move {
                let $records = &self.records;
                Ok(tonic::Response::new($answer))
            })
        }
    };
}
