//! `AccessService`: keys, links, and who the caller is.

use obvert_access::{Action, Caller, Grant, Keys, OFFICE};
use obvert_ledger::Ledger;
use obvert_proto::{
    Problem,
    dates::from_unix_ms,
    project::v1::{
        ApiKey, CreateCrewKeyRequest, CreateCrewKeyResponse, CreateKeyRequest, CreateKeyResponse,
        CreateLinkRequest, CreateLinkResponse, ListKeysRequest, ListKeysResponse, ListLinksRequest,
        ListLinksResponse, RevokeKeyRequest, RevokeLinkRequest, RevokeLinkResponse,
        RotateKeyRequest, RotateKeyResponse, WhoAmIRequest, WhoAmIResponse,
        access_service_server::AccessService,
    },
};
use obvert_records::{check_request, check_write, meta, names, now_ms, opened};
use tonic::{Request, Response, Status};

use super::random;
use crate::{Links, crew_day, keys::KeyRing};

/// Keys and links of a ledger.
#[derive(Clone)]
pub struct Access {
    ring: KeyRing,
    links: Links,
}

impl Access {
    /// Keys and links over a ledger. Keys are made by one such value and its clones only, which
    /// count them in turn.
    pub fn new(ledger: Ledger, keys: Keys, links: Links) -> Self {
        Self {
            ring: KeyRing::new(ledger, keys),
            links,
        }
    }

    /// Makes the key of a crew's day, for the RPC and for the page that shows it.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED`, `FIELDS_INVALID`, or the ledger's refusal.
    pub async fn crew_day(
        &self,
        caller: &Caller,
        mut request: CreateCrewKeyRequest,
    ) -> Result<CreateCrewKeyResponse, Problem> {
        let role = caller.may(Action::CrewDay, &request.project)?;
        check_request(&request)?;
        let write = check_write(request.write.take())?;
        let by = (caller, whole(role));
        let chance = (random()?, now_ms());
        let made = crew_day::create(&self.ring, by, &write, &request, chance).await?;
        let (name, secret, key, sign_in_path) = made;
        Ok(CreateCrewKeyResponse {
            name,
            secret,
            key: Some(key),
            sign_in_path,
        })
    }
}

#[tonic::async_trait]
impl AccessService for Access {
    async fn create_key(
        &self,
        request: Request<CreateKeyRequest>,
    ) -> Result<Response<CreateKeyResponse>, Status> {
        let (caller, mut request) = opened(request)?;
        let role = caller.may(Action::MakeKeys, OFFICE)?;
        check_request(&request)?;
        let write = check_write(request.write.take())?;
        let by = (&caller, whole(role));
        let chance = (random()?, now_ms());
        let (name, secret, key) = self.ring.create(by, &write, &request, chance).await?;
        let key = Some(key);
        Ok(Response::new(CreateKeyResponse { name, secret, key }))
    }

    async fn rotate_key(
        &self,
        request: Request<RotateKeyRequest>,
    ) -> Result<Response<RotateKeyResponse>, Status> {
        let (caller, mut request) = opened(request)?;
        let grant = caller.may_own(Action::EndKeys, OFFICE)?;
        self.ring.reaches(&caller, grant, &request.name).await?;
        check_request(&request)?;
        let write = check_write(request.write.take())?;
        let chance = (random()?, now_ms());
        let made = self.ring.rotate((&caller, grant), &write, &request, chance);
        let (name, secret, key, old_end_ms) = made.await?;
        Ok(Response::new(RotateKeyResponse {
            name,
            secret,
            key: Some(key),
            old_expire_time: Some(from_unix_ms(old_end_ms)),
        }))
    }

    async fn revoke_key(
        &self,
        request: Request<RevokeKeyRequest>,
    ) -> Result<Response<ApiKey>, Status> {
        let (caller, mut request) = opened(request)?;
        let grant = caller.may_own(Action::EndKeys, OFFICE)?;
        self.ring.reaches(&caller, grant, &request.name).await?;
        check_request(&request)?;
        let write = check_write(request.write.take())?;
        let by = (&caller, grant);
        let key = self
            .ring
            .revoke(by, &write, &request.name, now_ms())
            .await?;
        Ok(Response::new(key))
    }

    async fn list_keys(
        &self,
        request: Request<ListKeysRequest>,
    ) -> Result<Response<ListKeysResponse>, Status> {
        let (caller, _) = opened(request)?;
        let grant = caller.may_own(Action::EndKeys, OFFICE)?;
        let keys = self.ring.list(&caller, grant).await?;
        Ok(Response::new(ListKeysResponse { keys }))
    }

    async fn create_crew_key(
        &self,
        request: Request<CreateCrewKeyRequest>,
    ) -> Result<Response<CreateCrewKeyResponse>, Status> {
        let (caller, request) = opened(request)?;
        Ok(Response::new(self.crew_day(&caller, request).await?))
    }

    async fn create_link(
        &self,
        request: Request<CreateLinkRequest>,
    ) -> Result<Response<CreateLinkResponse>, Status> {
        let (caller, mut request) = opened(request)?;
        let role = caller.may(Action::Links, names::project_of(&request.target))?;
        check_request(&request)?;
        let write = check_write(request.write.take())?;
        let made = self
            .links
            .create((&caller, role), &write, &request, now_ms());
        let (stored, link, path) = made.await?;
        Ok(Response::new(CreateLinkResponse {
            meta: stored.as_ref().map(meta),
            link: Some(link),
            path,
        }))
    }

    async fn list_links(
        &self,
        request: Request<ListLinksRequest>,
    ) -> Result<Response<ListLinksResponse>, Status> {
        let (caller, request) = opened(request)?;
        caller.may(Action::Links, &request.project)?;
        check_request(&request)?;
        let links = self.links.list(&request.project).await?;
        Ok(Response::new(ListLinksResponse { links }))
    }

    async fn revoke_link(
        &self,
        request: Request<RevokeLinkRequest>,
    ) -> Result<Response<RevokeLinkResponse>, Status> {
        let (caller, mut request) = opened(request)?;
        let role = caller.may(Action::Links, names::project_of(&request.name))?;
        check_request(&request)?;
        let write = check_write(request.write.take())?;
        let by = (&caller, role);
        let link = self
            .links
            .revoke(by, &write, &request.name, now_ms())
            .await?;
        Ok(Response::new(RevokeLinkResponse { link: Some(link) }))
    }

    async fn who_am_i(
        &self,
        request: Request<WhoAmIRequest>,
    ) -> Result<Response<WhoAmIResponse>, Status> {
        let (caller, _) = opened(request)?;
        Ok(Response::new(WhoAmIResponse {
            expire_time: Some(from_unix_ms(caller.expire_time_ms)),
            principal: caller.principal,
            key_id: caller.key_id,
            bindings: caller.bindings,
        }))
    }
}

/// Grant without bounds.
fn whole(role: obvert_proto::project::v1::Role) -> Grant {
    Grant {
        role,
        own_only: false,
    }
}
