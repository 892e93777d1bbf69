//! The action behind each RPC and each page.

use super::Action::{
    self, Assemble, CrewDay, EndKeys, FetchPackage, Links, MakeKeys, Read, ReadSheet, ReadStatus,
    Release, SeePeople, Write, WriteSheet,
};
use Needs::{Act, Key, KindWrite, LinkToken, NotServed, Nothing};

/// What a call asks of its caller.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needs {
    /// Nothing, not even a key.
    Nothing,
    /// Any key; the answer holds only what the caller may see.
    Key,
    /// A role with the action in its row.
    Act(Action<'static>),
    /// A role that may write the collection of the record that is sent.
    KindWrite,
    /// A link's token in the address.
    LinkToken,
    /// Plug-ins answer it, this server does not.
    NotServed,
}

/// Every RPC, by its path without the leading `/obvert.`, or the whole path of another's.
#[rustfmt::skip]
pub const RPCS: &[(&str, Needs)] = &[
    ("project.v1.AccessService/CreateKey", Act(MakeKeys)),
    ("project.v1.AccessService/RotateKey", Act(EndKeys)),
    ("project.v1.AccessService/RevokeKey", Act(EndKeys)),
    ("project.v1.AccessService/ListKeys", Act(EndKeys)),
    ("project.v1.AccessService/CreateCrewKey", Act(CrewDay)),
    ("project.v1.AccessService/CreateLink", Act(Links)),
    ("project.v1.AccessService/ListLinks", Act(Links)),
    ("project.v1.AccessService/RevokeLink", Act(Links)),
    ("project.v1.AccessService/WhoAmI", Key),
    ("project.v1.AttachmentService/BeginUpload", Act(Write("attachments"))),
    ("project.v1.AttachmentService/UploadParts", Act(Write("attachments"))),
    ("project.v1.AttachmentService/FinishUpload", Act(Write("attachments"))),
    ("project.v1.AttachmentService/Download", Act(Read)),
    ("project.v1.PaperService/ShowPaper", Act(SeePeople)),
    ("project.v1.PaperService/CheckPaper", Act(Write("paperChecks"))),
    ("project.v1.PaperService/MakeIssuerLink", Act(Write("issuerLinks"))),
    ("project.v1.PaperService/RevokeIssuerLink", Act(Write("issuerLinks"))),
    ("project.v1.ProjectService/CreateRecord", KindWrite),
    ("project.v1.ProjectService/ReviseRecord", KindWrite),
    ("project.v1.ProjectService/GetRecord", Act(Read)),
    ("project.v1.ProjectService/ListRecords", Act(Read)),
    ("project.v1.ProjectService/ListRevisions", Act(Read)),
    ("project.v1.ProjectService/WatchRecords", Act(Read)),
    ("project.v1.ProjectService/ImportTable", KindWrite),
    ("project.v1.ProjectService/ListProjects", Key),
    ("project.v1.ProjectService/PutParcelSheet", Act(WriteSheet)),
    ("project.v1.ProjectService/GetParcelSheet", Act(ReadSheet)),
    ("project.v1.ProjectService/EraseParcelSheet", Act(WriteSheet)),
    ("design.v1.DesignService/CreateRecord", KindWrite),
    ("design.v1.DesignService/ReviseRecord", KindWrite),
    ("design.v1.DesignService/GetRecord", Act(Read)),
    ("design.v1.DesignService/ListRecords", Act(Read)),
    ("design.v1.DesignService/ListRevisions", Act(Read)),
    ("design.v1.DesignService/WatchRecords", Act(Read)),
    ("design.v1.DesignService/ImportTable", KindWrite),
    ("design.v1.DesignService/CheckWall", Key),
    ("design.v1.DesignService/CheckWalls", Key),
    ("design.v1.DesignService/CheckAsBuilt", Key),
    ("design.v1.DesignService/GetCalculationSheet", Act(ReadStatus)),
    ("material.v1.MaterialService/CreateRecord", KindWrite),
    ("material.v1.MaterialService/ReviseRecord", KindWrite),
    ("material.v1.MaterialService/GetRecord", Act(Read)),
    ("material.v1.MaterialService/ListRecords", Act(Read)),
    ("material.v1.MaterialService/ListRevisions", Act(Read)),
    ("material.v1.MaterialService/WatchRecords", Act(Read)),
    ("material.v1.MaterialService/ImportTable", KindWrite),
    ("installation.v1.InstallationService/CreateRecord", KindWrite),
    ("installation.v1.InstallationService/ReviseRecord", KindWrite),
    ("installation.v1.InstallationService/GetRecord", Act(Read)),
    ("installation.v1.InstallationService/ListRecords", Act(Read)),
    ("installation.v1.InstallationService/ListRevisions", Act(Read)),
    ("installation.v1.InstallationService/WatchRecords", Act(Read)),
    ("installation.v1.InstallationService/ImportTable", KindWrite),
    ("installation.v1.InstallationService/ImportCureLog", Act(Write("cureRecords"))),
    ("installation.v1.InstallationService/ReadCureSamples", Act(Read)),
    ("acceptance.v1.AcceptanceService/CreateRecord", KindWrite),
    ("acceptance.v1.AcceptanceService/ReviseRecord", KindWrite),
    ("acceptance.v1.AcceptanceService/GetRecord", Act(Read)),
    ("acceptance.v1.AcceptanceService/ListRecords", Act(Read)),
    ("acceptance.v1.AcceptanceService/ListRevisions", Act(Read)),
    ("acceptance.v1.AcceptanceService/WatchRecords", Act(Read)),
    ("acceptance.v1.AcceptanceService/ImportTable", KindWrite),
    ("closeout.v1.CloseoutService/CreateRecord", KindWrite),
    ("closeout.v1.CloseoutService/ReviseRecord", KindWrite),
    ("closeout.v1.CloseoutService/GetRecord", Act(Read)),
    ("closeout.v1.CloseoutService/ListRecords", Act(Read)),
    ("closeout.v1.CloseoutService/ListRevisions", Act(Read)),
    ("closeout.v1.CloseoutService/WatchRecords", Act(Read)),
    ("closeout.v1.CloseoutService/ImportTable", KindWrite),
    ("closeout.v1.CloseoutService/CheckPlan", Key),
    ("closeout.v1.CloseoutService/ComparePlans", Key),
    ("closeout.v1.CloseoutService/EvaluateSegment", Act(ReadStatus)),
    ("closeout.v1.CloseoutService/EvaluateProject", Act(ReadStatus)),
    ("closeout.v1.CloseoutService/TraceSegment", Act(ReadStatus)),
    ("closeout.v1.CloseoutService/ListReleases", Act(ReadStatus)),
    ("closeout.v1.CloseoutService/ReleasePoint", Act(Release)),
    ("closeout.v1.CloseoutService/AssemblePackage", Act(Assemble)),
    ("closeout.v1.CloseoutService/StartBuild", Act(Assemble)),
    ("closeout.v1.CloseoutService/WatchBuild", Act(ReadStatus)),
    ("closeout.v1.CloseoutService/CancelBuild", Act(Assemble)),
    ("closeout.v1.CloseoutService/ResumeBuild", Act(Assemble)),
    ("closeout.v1.CloseoutService/DownloadPackage", Act(FetchPackage)),
    ("plugin.v1.EvaluatorService/Describe", NotServed),
    ("plugin.v1.EvaluatorService/Evaluate", NotServed),
    ("plugin.v1.LogReaderService/Describe", NotServed),
    ("plugin.v1.LogReaderService/ReadLog", NotServed),
    ("plugin.v1.PackageSectionService/Describe", NotServed),
    ("plugin.v1.PackageSectionService/WriteSection", NotServed),
    ("/grpc.health.v1.Health/Check", Nothing),
    ("/grpc.health.v1.Health/List", Nothing),
    ("/grpc.health.v1.Health/Watch", Nothing),
    ("/grpc.reflection.v1.ServerReflection/ServerReflectionInfo", Key),
];

/// Every page, by method and route.
#[rustfmt::skip]
pub const PAGES: &[(&str, &str, Needs)] = &[
    ("GET", "/", Key),
    ("GET", "/sign-in", Nothing),
    ("POST", "/sign-in", Nothing),
    ("POST", "/sign-out", Nothing),
    ("GET", "/projects/{project}", Act(ReadStatus)),
    ("GET", "/projects/{project}/segments/{segment}", Act(ReadStatus)),
    ("GET", "/projects/{project}/packages/{package}", Act(FetchPackage)),
    ("POST", "/projects/{project}/builds", Act(Assemble)),
    ("GET", "/projects/{project}/builds/{build}", Act(ReadStatus)),
    ("POST", "/projects/{project}/builds/{build}/cancel", Act(Assemble)),
    ("POST", "/projects/{project}/builds/{build}/resume", Act(Assemble)),
    ("GET", "/projects/{project}/designs/{design}", Act(ReadStatus)),
    ("GET", "/projects/{project}/designs/{design}/calculation.pdf", Act(ReadStatus)),
    ("GET", "/projects/{project}/sheets/{collection}/{record}", Act(ReadStatus)),
    ("GET", "/projects/{project}/sheets/{collection}/{record}/calculation.pdf", Act(ReadStatus)),
    ("GET", "/projects/{project}/crew-day", Act(CrewDay)),
    ("POST", "/projects/{project}/crew-day", Act(CrewDay)),
    ("GET", "/links/{link}", LinkToken),
    ("GET", "/links/{link}/packages/{package}", LinkToken),
    ("GET", "/sign-in.js", Nothing),
    ("GET", "/issuer/{link}", LinkToken),
    ("POST", "/issuer/{link}", LinkToken),
    ("GET", "/issuer/{link}/originals/{place}", LinkToken),
    ("GET", "/style.css", Nothing),
    ("GET", "/healthz", Nothing),
];

/// Whole path of an RPC of the table, such as `/obvert.design.v1.DesignService/CheckWall`.
pub fn path(rpc: &str) -> String {
    if rpc.starts_with('/') {
        return rpc.to_owned();
    }
    format!("/obvert.{rpc}")
}
