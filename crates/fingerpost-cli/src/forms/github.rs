//! Workflow commands: what `fingerpost_json` makes of a board is printed at once.

use fingerpost_json::{CheckAnswer, github_lines};

use super::{Kept, Make, Part, Seen};
use crate::Streams;

pub(super) struct Github;

impl Make for Github {
    fn part(&self, seen: &Seen<'_>) -> Part {
        Part {
            now: github_lines(seen.reported().as_deref(), seen.board),
            kept: Kept::Nothing,
        }
    }

    fn end(&self, _: &mut Streams<'_>, _: &CheckAnswer, _: Vec<Kept>) -> std::io::Result<()> {
        Ok(())
    }
}
