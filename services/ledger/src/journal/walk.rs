//! Reads the journal in order, group by group, up to the last whole one.

use super::frame::{self, HEAD_BYTES, Kind};
use super::{Position, recover, volume};
use crate::error::OpenError;
use bytes::Bytes;
use obvert_proto::common::v1::Commit;
use prost::Message;
use std::fs::File;
use std::io::{self, BufReader, Read, Seek, SeekFrom};
use std::path::Path;

/// Where a walk begins: the start of a group, and how many commits stand before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Start {
    pub(crate) at: Position,
    pub(crate) commits: u64,
}

/// A whole group.
pub(crate) struct Group {
    /// Its first frame, and the running number of commits before it.
    pub(crate) start: Start,
    /// First byte after its end mark.
    pub(crate) end: Position,
    /// Stored bytes of each commit and where its frame begins.
    pub(crate) commits: Vec<(Position, Bytes)>,
}

/// What the last volume ends with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Ending {
    /// A group, or nothing at all.
    Open,
    /// The mark of a clean stop.
    Closed,
    /// The mark of a full volume whose successor was not created yet.
    Sealed,
    /// Bytes of a group that was never finished; says what is wrong with them.
    Tail { bytes: u64, what: String },
}

/// How far the journal reaches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct End {
    /// First byte after the last whole group or mark; none when there is no volume.
    pub(crate) at: Option<Position>,
    /// Commits up to there.
    pub(crate) commits: u64,
    pub(crate) ending: Ending,
}

impl Start {
    /// The very first group.
    pub(crate) const FIRST: Start = Start {
        at: Position::FIRST,
        commits: 0,
    };
}

type Visit<'a> = &'a mut dyn FnMut(Group) -> Result<(), OpenError>;

/// Hands every whole group from `start` on to `visit`.
pub(crate) fn walk(ledger: &Path, start: Start, visit: Visit<'_>) -> Result<End, OpenError> {
    let volumes = volume::count(ledger)?;
    if volumes == 0 && start == Start::FIRST {
        return Ok(End {
            at: None,
            commits: 0,
            ending: Ending::Open,
        });
    }
    let mut end = End {
        at: None,
        commits: start.commits,
        ending: Ending::Open,
    };
    for number in 1..=volumes {
        let (file, length, commits_before) = volume::open(ledger, number)?;
        if number < start.at.volume() {
            continue;
        }
        let mut from = Start {
            at: Position::new(number, volume::HEADER_BYTES as u64),
            ..start
        };
        if number == start.at.volume() {
            from.at = start.at;
        } else if commits_before != end.commits {
            let before = end.commits;
            let what = format!("the header counts {commits_before} commits before, not {before}");
            return Err(OpenError::Corrupt {
                volume: number,
                offset: 0,
                revision: None,
                what,
            });
        }
        from.commits = end.commits;
        if from.at.offset() > length {
            break;
        }
        end = walk_volume(Source::open(ledger, file, from.at, length)?, from, visit)?;
        if number < volumes && end.ending != Ending::Sealed {
            return Err(not_sealed(&end));
        }
    }
    match end.at {
        Some(_) => Ok(end),
        None => Err(OpenError::Corrupt {
            volume: start.at.volume(),
            offset: start.at.offset(),
            revision: None,
            what: "the index has read to here, but the journal ends before".to_string(),
        }),
    }
}

fn not_sealed(end: &End) -> OpenError {
    let at = end.at.unwrap_or(Position::FIRST);
    let what = match &end.ending {
        Ending::Tail { what, .. } => what.clone(),
        _ => "another volume follows, but this one has no sealed mark".to_string(),
    };
    OpenError::Corrupt {
        volume: at.volume(),
        offset: at.offset(),
        revision: None,
        what,
    }
}

fn walk_volume(mut source: Source, start: Start, visit: Visit<'_>) -> Result<End, OpenError> {
    let mut end = End {
        at: Some(start.at),
        commits: start.commits,
        ending: Ending::Open,
    };
    let mut group_at = start.at;
    let mut group: Vec<(Position, Bytes)> = Vec::new();
    let mut last = None;
    loop {
        let at = source.at;
        let frame = match source
            .next()
            .map_err(OpenError::io("reading the journal"))?
        {
            Ok(None) if group.is_empty() => return Ok(end),
            Ok(None) => Err("the journal ends within a group".to_string()),
            Ok(Some(frame)) => Ok(frame),
            Err(what) => Err(what),
        };
        let checked = frame.and_then(|(kind, payload)| {
            let expected = match kind {
                Kind::Commit => None,
                Kind::GroupEnd => {
                    let count = group.len() as u64;
                    Some(vec![count, group_at.offset(), end.commits + count])
                }
                Kind::Closed | Kind::Sealed => Some(vec![end.commits]),
            };
            check_mark(kind, &payload, group.is_empty(), expected)?;
            Ok((kind, payload))
        });
        match checked {
            Err(what) => return source.judge(group_at, at, &end, last.as_ref(), what),
            Ok((Kind::Commit, payload)) => group.push((at, payload)),
            Ok((Kind::GroupEnd, _)) => {
                let start = Start {
                    at: group_at,
                    commits: end.commits,
                };
                end.commits += group.len() as u64;
                last = group.last().map(|(_, bytes)| bytes.clone());
                let commits = std::mem::take(&mut group);
                visit(Group {
                    start,
                    end: source.at,
                    commits,
                })?;
                end.ending = Ending::Open;
            }
            Ok((Kind::Closed, _)) => end.ending = Ending::Closed,
            Ok((Kind::Sealed, _)) => end.ending = Ending::Sealed,
        }
        if group.is_empty() {
            end.at = Some(source.at);
            group_at = source.at;
        }
    }
}

/// Marks stand where they may and repeat the numbers the walk has counted itself.
fn check_mark(
    kind: Kind,
    payload: &[u8],
    between_groups: bool,
    expected: Option<Vec<u64>>,
) -> Result<(), String> {
    let Some(expected) = expected else {
        return Ok(());
    };
    if between_groups == (kind == Kind::GroupEnd) {
        return Err(format!("a mark of kind {kind:?} stands where none may"));
    }
    let written: Vec<u8> = expected
        .iter()
        .flat_map(|number| number.to_le_bytes())
        .collect();
    if written != payload {
        return Err(format!(
            "a mark of kind {kind:?} does not repeat the numbers {expected:?}"
        ));
    }
    Ok(())
}

/// One volume, read frame by frame.
struct Source {
    file: BufReader<File>,
    at: Position,
    length: u64,
    last_volume: bool,
}

type Read1 = Result<Option<(Kind, Bytes)>, String>;

impl Source {
    fn open(ledger: &Path, file: File, at: Position, length: u64) -> Result<Source, OpenError> {
        let mut file = BufReader::with_capacity(1 << 18, file);
        file.seek(SeekFrom::Start(at.offset()))
            .map_err(OpenError::io("reading the journal"))?;
        let last_volume = !volume::path(ledger, at.volume() + 1).exists();
        Ok(Source {
            file,
            at,
            length,
            last_volume,
        })
    }

    /// The next frame, none at the end of the file, or what is wrong here.
    fn next(&mut self) -> io::Result<Read1> {
        let left = self.length.saturating_sub(self.at.offset());
        if left == 0 {
            return Ok(Ok(None));
        }
        if left < HEAD_BYTES as u64 {
            return Ok(Err("the journal ends within a frame".to_string()));
        }
        let mut fixed = [0; HEAD_BYTES];
        self.file.read_exact(&mut fixed)?;
        let head = match frame::head(&fixed) {
            Ok(head) => head,
            Err(what) => return Ok(Err(what)),
        };
        if ((HEAD_BYTES + head.length) as u64) > left {
            return Ok(Err("the journal ends within a frame".to_string()));
        }
        let mut payload = vec![0; head.length];
        self.file.read_exact(&mut payload)?;
        if let Err(what) = head.check(self.at, &payload) {
            return Ok(Err(what));
        }
        self.at = self.at.plus(HEAD_BYTES + head.length);
        Ok(Ok(Some((head.kind, Bytes::from(payload)))))
    }

    /// Decides whether what is wrong at `bad` is an unfinished group or damage.
    fn judge(
        mut self,
        group: Position,
        bad: Position,
        end: &End,
        last: Option<&Bytes>,
        what: String,
    ) -> Result<End, OpenError> {
        let mut rest = Vec::new();
        self.file
            .seek(SeekFrom::Start(group.offset()))
            .and_then(|_| {
                (&mut self.file)
                    .take(self.length - group.offset())
                    .read_to_end(&mut rest)
            })
            .map_err(OpenError::io("reading the journal"))?;
        let unfinished = recover::is_unfinished(group, bad, &rest);
        if self.last_volume && unfinished {
            let ending = Ending::Tail {
                bytes: rest.len() as u64,
                what,
            };
            return Ok(End {
                ending,
                ..end.clone()
            });
        }
        let revision = last.and_then(|bytes| {
            let commit = Commit::decode(bytes.clone()).ok()?;
            Some(format!("after {}@{}", commit.project, commit.revision))
        });
        let named = recover::revision_at(&rest[(bad.0 - group.0) as usize..]).or(revision);
        Err(OpenError::Corrupt {
            volume: bad.volume(),
            offset: bad.offset(),
            revision: named,
            what,
        })
    }
}
