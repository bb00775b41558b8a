//! The SARIF log: the results of all boards in one run.

use fingerpost_json::{CheckAnswer, sarif_board, sarif_log};

use super::{Kept, Make, Part, Seen};
use crate::Streams;
use crate::report;

pub(super) struct Sarif;

impl Make for Sarif {
    fn part(&self, seen: &Seen<'_>) -> Part {
        let path = seen.reported();
        Part {
            now: String::new(),
            kept: Kept::Sarif(sarif_board(path.as_deref(), seen.board, seen.read)),
        }
    }

    fn end(
        &self,
        streams: &mut Streams<'_>,
        _: &CheckAnswer,
        kept: Vec<Kept>,
    ) -> std::io::Result<()> {
        let boards = kept.into_iter().filter_map(|kept| match kept {
            Kept::Sarif(board) => Some(board),
            _ => None,
        });
        report::answer(streams, &sarif_log(boards))
    }
}
