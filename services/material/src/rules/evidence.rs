//! What a release of a liner rests on, gathered from the records that name it and that it names.

use obvert_ledger::{Assert, Expect};
use obvert_proto::{
    common::v1::RecordRef,
    dates::unix_ms,
    material::v1::{
        Liner, LinerCertificate, LinerMovement, LinerOrder, MakerSheet, ReceivingCheck,
    },
    project::v1::Document,
};
use obvert_records::{Named, names};

/// Papers of one liner as they stand now.
pub(super) struct Evidence {
    pub(super) liner: Option<Liner>,
    pub(super) order: Option<LinerOrder>,
    pub(super) sheet: Option<MakerSheet>,
    pub(super) certificate: Option<(RecordRef, LinerCertificate)>,
    /// The latest check: the last look at the crate decides.
    pub(super) receiving: Option<(RecordRef, ReceivingCheck)>,
    /// The other movements of the liner.
    pub(super) movements: Vec<(RecordRef, LinerMovement)>,
    pub(super) extension: Option<Document>,
    pub(super) order_name: String,
    sheet_name: String,
}

impl Evidence {
    pub(super) fn of(movement: &LinerMovement, named: &Named) -> Self {
        let name = movement.liner.as_str();
        let liner: Option<Liner> = named.get(name);
        let order_name = liner
            .as_ref()
            .map_or_else(String::new, |liner| liner.order.clone());
        let order: Option<LinerOrder> = named.get(&order_name);
        let sheet_name = order
            .as_ref()
            .map_or_else(String::new, |o| o.maker_sheet.clone());
        let certificates = named.all::<LinerCertificate>();
        let checks = named
            .all::<ReceivingCheck>()
            .into_iter()
            .filter(|(_, c)| c.liner == name);
        let received = |check: &ReceivingCheck| check.received_time.as_ref().map(unix_ms);
        let own = named.before::<LinerMovement>().map(|(own, _)| own.name);
        let movements = named.all::<LinerMovement>().into_iter();
        Self {
            sheet: named.get(&sheet_name),
            certificate: certificates.into_iter().find(|(_, c)| c.liner == name),
            receiving: checks.max_by_key(|(record, check)| (received(check), record.revision)),
            movements: movements
                .filter(|(record, m)| m.liner == name && own.as_ref() != Some(&record.name))
                .collect(),
            extension: named.get(&movement.extension_document),
            liner,
            order,
            order_name,
            sheet_name,
        }
    }

    /// Conditions that everything the release rests on stays as it was read until it is written.
    /// Makers' sheets in `office` are left out, since a commit asserts records of its own project.
    pub(super) fn asserts(&self, movement: &LinerMovement, named: &Named) -> Vec<Assert> {
        let home = names::parse(&movement.liner).map(|parts| parts.project);
        let papers = [
            Some(movement.liner.as_str()),
            Some(self.order_name.as_str()),
            Some(self.sheet_name.as_str()),
            self.certificate
                .as_ref()
                .map(|(record, _)| record.name.as_str()),
            self.receiving
                .as_ref()
                .map(|(record, _)| record.name.as_str()),
            Some(movement.extension_document.as_str()),
        ];
        let moved = self
            .movements
            .iter()
            .map(|(record, _)| record.name.as_str());
        let names = papers.into_iter().flatten().chain(moved);
        let names = names.filter(|name| names::parse(name).map(|parts| parts.project) == home);
        let assert = |name: &str| Assert {
            name: name.to_owned(),
            expect: Expect::Revision(named.revision(name)),
        };
        names.map(assert).collect()
    }
}
