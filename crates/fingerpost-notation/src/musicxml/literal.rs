//! A score at its word: what is printed is passed over where the format gives it no meaning for playing.
//!
//! Source: MusicXML 4.0, elements `sound`, `words`, `segno`, `coda`: the printed signs and words are visual, and a `sound` element guides
//! playback.

use fingerpost::Repeats;

use crate::notices::{Notice, Rule};
use crate::words::{self, Jump, Phrase, Return};
use crate::written::{Mark, What, Written};

/// Takes away the words and the drawn signs of the road, and says where they say more than the instructions for playing.
pub(super) fn pass_over_words(written: &mut Written, notices: &mut Vec<Notice>) {
    let mut repeats = written.marks.iter().filter_map(|mark| match &mark.what {
        What::EndRepeat(repeat) => Some(repeat.after_jump),
        _ => None,
    });
    let plays_repeats = repeats.all(|plays| plays == Some(true));
    for marks in written.marks.chunk_by(|a, b| a.measure == b.measure) {
        let heard = marks.iter().any(|mark| matches!(mark.what, What::Sound(_)));
        let mut printed = marks
            .iter()
            .filter_map(|mark| Some((mark, said(mark, plays_repeats)?)));
        let found = if heard {
            printed.find(|(_, said)| *said == Said::More)
        } else {
            printed.next()
        };
        let Some((mark, _)) = found else { continue };
        let (message, help) = if heard {
            (
                "the words say more than the instruction for playing",
                "the instruction was read at its word, as the reading musicxml asks",
            )
        } else {
            (
                "what is printed here says nothing for playing and was passed over",
                "the reading musicxml goes by the instructions for playing; there is none here",
            )
        };
        let (line, measure) = (mark.line, Some(mark.measure));
        notices.push(Notice::new(
            Rule::WordsPassedOver,
            line,
            measure,
            message,
            help,
        ));
    }
    written
        .marks
        .retain(|mark| !matches!(mark.what, What::Words(_) | What::SegnoSign | What::CodaSign));
}

/// What a printed mark says of the road.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Said {
    /// What an instruction for playing can say too.
    Plain,
    /// How far a return goes, and whether it makes the repeats: no instruction says it, but for "con rep." where each end repeat does.
    More,
}

fn said(mark: &Mark, plays_repeats: bool) -> Option<Said> {
    let text = match &mark.what {
        What::SegnoSign | What::CodaSign => return Some(Said::Plain),
        What::Words(text) => text,
        _ => return None,
    };
    let mut said = None;
    for phrase in words::phrases(text) {
        match phrase {
            Phrase::Jump(Jump { back, .. }) | Phrase::More(back) => {
                let con_rep = Return {
                    repeats: Some(Repeats::Play),
                    ..Return::default()
                };
                let is_plain = back.is_empty() || (plays_repeats && back == con_rep);
                said = if is_plain {
                    said.or(Some(Said::Plain))
                } else {
                    Some(Said::More)
                };
            }
            Phrase::Trio | Phrase::Piece => {}
            _ => said = said.or(Some(Said::Plain)),
        }
    }
    said
}
