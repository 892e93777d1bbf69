//! What each mistake is, which point must hold it and by which finding.

use crate::mistake::Mistake::{self, *};

/// A mistake in words, and how closeout must meet it.
pub(crate) struct Kind {
    pub(crate) mistake: Mistake,
    /// Point that must hold it, as the plan of Marrowby calls it.
    pub(crate) held_by: &'static str,
    /// Word of the finding; empty where several may tell it.
    pub(crate) code: &'static str,
    pub(crate) words: &'static str,
}

const fn kind(
    mistake: Mistake,
    held_by: &'static str,
    code: &'static str,
    words: &'static str,
) -> Kind {
    Kind {
        mistake,
        held_by,
        code,
        words,
    }
}

/// Every kind, the ten stories first.
#[rustfmt::skip]
pub(crate) const KINDS: [Kind; 36] = [
    kind(SwappedLiner, "liner-identity", "serial-differs",
        "The crew took the thinner liner that was left over from Q-020; its serial was read at \
         pull-in and stands in the cure log."),
    kind(ForeignCureLog, "cure-log", "cure-log-of-other-manholes",
        "The cure log of Q-004, lined the same day by the other crew, was exported again and filed \
         here."),
    kind(UntracedSample, "sample-trace", "report-names-other-sample",
        "The laboratory's report names the manhole instead of the sample's number."),
    kind(MissingReport, "laboratory-report", "missing-laboratory-report",
        "The laboratory's report has not come."),
    kind(WallBasis, "measured-wall", "thickness-basis-differs",
        "The laboratory measured the wall with its films; the design counts the composite wall \
         only."),
    kind(StationDatum, "lateral-stations", "",
        "The counter of the survey after lining was zeroed at the manhole's centre, its sheet says \
         inside wall: every opening lies 2 ft off."),
    kind(ClosedLateral, "laterals-reopened", "",
        "One lateral was registered as dead by an old record, so the day could be closed; nobody \
         opened it or has the owner's word to leave it closed."),
    kind(OldDesign, "ordered-wall", "",
        "The design was issued again with more groundwater after the liner was ordered; the order \
         stayed at the old wall."),
    kind(OverAge, "shelf-life", "liner-past-its-date",
        "The liner was handed to the crew on its last day but one, rain came between, and it was \
         pulled in three days past its date."),
    kind(LateLeakTest, "leak-test", "leak-test-after-reopening",
        "The leak test was made after the laterals were cut open."),
    kind(UnfitOrder, "host-diameter", "host-diameter-outside",
        "The order's range of diameters was copied from a liner of the size below."),
    kind(NoFieldSurvey, "field-survey", "missing-field-survey",
        "The wall was designed on the drawings; nobody measured the pipe."),
    kind(NoCertificate, "certified-wall", "missing-liner-certificate",
        "The maker's certificate was never filed, and the liner left the store without a record."),
    kind(UncomparedCertificate, "certified-wall", "paper-grade-too-low",
        "The office typed the maker's certificate and nobody compared it with the original."),
    kind(UnsignedRegister, "lateral-register", "missing-lateral-register",
        "The laterals were counted and nobody signed for them, so no register could be filed."),
    kind(NoNotice, "resident-notice", "missing-resident-notice",
        "One home was not told of its outage."),
    kind(NoPermit, "right-of-entry", "missing-access-permit",
        "The pipe crosses a lot that nobody had the right to enter."),
    kind(ShutOverNight, "laterals-reopened", "lateral-shut-over-night",
        "One lateral was cut open in the evening, and its flow was seen the next morning only."),
    kind(WeakLaminate, "laboratory-report", "strength-below-design",
        "The specimens broke below the strength that the design takes."),
    kind(TooFast, "cure-log", "outside-tolerance",
        "The light train ran faster than the maker's sheet allows for this wall."),
    kind(NoFinalSurvey, "post-lining-cctv", "missing-cctv-survey",
        "The finished liner was not seen by a camera."),
    kind(OpenDeviation, "nonconformances", "nonconformance-open",
        "The inspector wrote up a deviation that nobody decided."),
    kind(DraftDesign, "sealed-design", "design-not-sealed",
        "The wall was ordered on a draft that no engineer sealed."),
    kind(NoHoopMark, "sample-trace", "hoop-direction-not-marked",
        "Nobody marked on the sample which way round the pipe was."),
    kind(WarmVan, "shelf-life", "storage-temperature-outside",
        "The liner got warmer in the crew's van than the maker's sheet allows."),
    kind(HardPull, "pull-in", "pull-force-above",
        "The winch pulled harder than the maker allows."),
    kind(UnfitPipe, "ready-to-line", "not-ready-to-line",
        "The survey before pull-in called the pipe unfit, and it was lined all the same."),
    kind(UntickedLateral, "pre-cure-cctv", "lateral-not-ticked",
        "One lateral was not ticked off in the film before the lamps, and nobody said why."),
    kind(ShortOrder, "ordered-length", "ordered-length-too-short",
        "The length was ordered from wall to wall; packer grips, sample and trim were forgotten."),
    kind(TornPacking, "received-liner", "packing-damaged",
        "The light-tight packing came torn, and the liner left the store without a record."),
    kind(HotFilm, "step-order", "steps-out-of-order",
        "The inner film was pulled while the liner was still cooling."),
    kind(ShortLeakTest, "leak-test", "leak-test-failed",
        "The pressure fell by more than the time on the tester's card is for."),
    kind(UntestedBatch, "batch-coverage", "missing-laboratory-report",
        "The liner is the only one of its batch of resin, and its sample was lost on the way to the \
         laboratory."),
    kind(ShortSurvey, "length-closure", "length-differs",
        "The camera turned back four metres before the manhole, and its sheet calls the survey whole."),
    kind(LateSeal, "date-order", "dates-out-of-order",
        "The liner was ordered a week before the engineer sealed its design."),
    kind(NoYardRelease, "property-release", "missing-property-release",
        "One yard was put right and photographed, and its owner's release was never asked for."),
];
