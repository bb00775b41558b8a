//! The code quality report: the issues of all boards in one JSON array.

use fingerpost_json::{CheckAnswer, quality_issues, quality_report};

use super::{Kept, Make, Part, Seen};
use crate::Streams;
use crate::report;

pub(super) struct Gitlab;

impl Make for Gitlab {
    fn part(&self, seen: &Seen<'_>) -> Part {
        Part {
            now: String::new(),
            kept: Kept::Quality(quality_issues(seen.reported().as_deref(), seen.board)),
        }
    }

    fn end(
        &self,
        streams: &mut Streams<'_>,
        _: &CheckAnswer,
        kept: Vec<Kept>,
    ) -> std::io::Result<()> {
        let issues = kept.into_iter().flat_map(|kept| match kept {
            Kept::Quality(issues) => issues,
            _ => Vec::new(),
        });
        report::answer(streams, &quality_report(issues))
    }
}
