//! The answer of the JSON door.

use fingerpost_json::CheckAnswer;

use super::{Kept, Make, Part, Seen};
use crate::Streams;
use crate::report;

pub(super) struct Json;

impl Make for Json {
    fn part(&self, _: &Seen<'_>) -> Part {
        Part::default()
    }

    fn end(
        &self,
        streams: &mut Streams<'_>,
        answer: &CheckAnswer,
        _: Vec<Kept>,
    ) -> std::io::Result<()> {
        report::answer(streams, answer)
    }
}
