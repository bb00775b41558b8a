//! What to write on a board that is not settled. Every proposal is tried before it is made.

use super::phrases::{Desk, fill};
use super::places::{place_of, start_place};
use crate::board::{Al, Board, Edit, Marking, Repeats, Sign};
use crate::compare::{Comparison, compare, same_route};
use crate::legality::settling::{Page, obeyed_at};
use crate::legality::sign_words;
use crate::reading::{Answers, Question, Reading};
use crate::roadmap::Terms;

/// One thing to write so that a question of the reading no longer changes the route.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Settling {
    /// The question that it settles.
    pub question: Question,
    /// What to write, in words.
    pub write: String,
    /// The board with this written on it, and with everything proposed before.
    pub board: Board,
}

pub(super) fn settling(
    desk: &Desk,
    board: &Board,
    terms: &Terms,
    comparison: &Comparison,
) -> Vec<Settling> {
    let mut written = Vec::new();
    let Some(wanted) = comparison.routes.first().map(|route| &route.roadmap) else {
        return written;
    };
    let mut board = board.clone();
    let mut open = comparison.questions.clone();
    if open.is_empty() {
        return written;
    }
    let obeyed = obeyed_at(wanted);
    // Where the sections are is settled first: it often leaves nothing else to settle.
    let mut order = Question::ALL;
    order.sort_by_key(|question| match question {
        Question::Nested => 0,
        Question::LoneEndRepeat => 1,
        _ => 2,
    });
    for question in order {
        if !open.contains(&question) {
            continue;
        }
        let page = Page {
            board: &board,
            roadmap: wanted,
            obeyed: &obeyed,
        };
        let proposals = proposals(desk, &page, question).into_iter();
        let tried = proposals.into_iter().find_map(|proposal| {
            let compared = compare(&proposal.board, terms).ok()?;
            let first = compared.routes.first()?;
            let kept = same_route(wanted, &first.roadmap)
                && !compared.questions.contains(&question)
                && compared.questions.iter().all(|other| open.contains(other));
            kept.then_some((proposal, compared.questions))
        });
        if let Some((proposal, left)) = tried {
            board = proposal.board.clone();
            open = left;
            written.push(proposal);
        }
    }
    written
}

/// What could settle a question, the musician's ways first; the board's own answer is the last.
fn proposals(desk: &Desk, page: &Page<'_>, question: Question) -> Vec<Settling> {
    let ways = page.ways(question).into_iter();
    let by_signs = ways.filter_map(|way| {
        let sentences = way.iter().map(|edit| sentence(desk, page.board, edit));
        Some(Settling {
            question,
            write: sentences.collect::<Option<Vec<_>>>()?.join(" "),
            board: page.board.edited(&way).ok()?,
        })
    });
    by_signs.chain(own_answer(desk, page, question)).collect()
}

/// What an edit writes, in words.
fn sentence(desk: &Desk, board: &Board, edit: &Edit) -> Option<String> {
    let words = &desk.settling;
    let (old, new) = match edit {
        Edit::Add(marking) => {
            let point = marking.place().cut();
            let place = start_place(desk.words, board, marking.measure(), point);
            return Some(fill(words.start_repeat, &[("place", &place)]));
        }
        Edit::Replace(index, marking) => (board.markings().get(*index)?, marking),
        Edit::Remove(_) => return None,
    };
    let (sign, place) = (sign_words(old.sign()), place_of(desk.words, board, old));
    let filled = |template: &str, name: &'static str, word: &str| {
        let words = [("sign", sign.as_str()), ("place", &place), (name, word)];
        fill(template, &words)
    };
    let arrivals = |marking: &Marking| match marking.sign() {
        Sign::ToCoda(to_coda) => to_coda.arrivals.clone(),
        Sign::Fine(fine) => fine.arrivals.clone(),
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => jump.arrivals.clone(),
        _ => None,
    };
    if let Some(arrivals) = arrivals(new).filter(|new| arrivals(old).as_ref() != Some(new)) {
        let arrivals = arrivals.to_string();
        return Some(filled(words.arrivals, "arrivals", &arrivals));
    }
    let ((Sign::DaCapo(was), Sign::DaCapo(jump)) | (Sign::DalSegno(was), Sign::DalSegno(jump))) =
        (old.sign(), new.sign())
    else {
        return None;
    };
    if was.al != jump.al {
        let al = match jump.al? {
            Al::Fine => "al Fine",
            Al::Coda => "al Coda",
            Al::Segno => "al Segno",
            Al::End => "al End",
        };
        let instead = format!("{sign} {al}");
        return Some(filled(words.al, "instead", &instead));
    }
    let template = match jump.repeats? {
        Repeats::Play => words.con,
        Repeats::Skip => words.senza,
    };
    Some(filled(template, "", ""))
}

/// The board's own answer.
fn own_answer(desk: &Desk, page: &Page<'_>, question: Question) -> Option<Settling> {
    let reading = page.roadmap.reading();
    let answers = answered(*page.board.reading(), question, reading);
    let words = [
        ("question", question.name()),
        ("answer", reading.answer(question)),
    ];
    Some(Settling {
        question,
        write: fill(desk.settling.answer, &words),
        board: page.board.to_builder().reading(answers).build().ok()?,
    })
}

/// Answers with that of a reading to one question added.
fn answered(mut answers: Answers, question: Question, reading: Reading) -> Answers {
    match question {
        Question::RepeatsOnReturn => answers.repeats_on_return = Some(reading.repeats_on_return),
        Question::JumpInRepeat => answers.jump_in_repeat = Some(reading.jump_in_repeat),
        Question::ArmedInRepeat => answers.armed_in_repeat = Some(reading.armed_in_repeat),
        Question::Arming => answers.arming = Some(reading.arming),
        Question::LoneEndRepeat => answers.lone_end_repeat = Some(reading.lone_end_repeat),
        Question::Nested => answers.nested = Some(reading.nested),
    }
    answers
}
