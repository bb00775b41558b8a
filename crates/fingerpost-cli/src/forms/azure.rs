//! Logging commands: what `fingerpost_json` makes of a board is printed at once.

use fingerpost_json::{CheckAnswer, azure_lines};

use super::{Kept, Make, Part, Seen};
use crate::Streams;

pub(super) struct Azure;

impl Make for Azure {
    fn part(&self, seen: &Seen<'_>) -> Part {
        Part {
            now: azure_lines(seen.reported().as_deref(), seen.board),
            kept: Kept::Nothing,
        }
    }

    fn end(&self, _: &mut Streams<'_>, _: &CheckAnswer, _: Vec<Kept>) -> std::io::Result<()> {
        Ok(())
    }
}
