//! The verb `unroll`.

use fingerpost::{Cause, Comparison, Held, Octaves, Question, Roadmap, Step, Terms};

use crate::VERSION;
use crate::error::{ErrorAnswer, ErrorKind};
use crate::score::ScoreAnswer;
use crate::source::BoardRead;
use crate::terms::{ReadingAnswer, TermsAsked};

/// The most steps written out when a request sets no limit.
const LIMIT: u64 = 1_000_000;

/// Which steps of a route are to be written out.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug)]
pub struct Window {
    /// The most steps; 1 000 000 when absent.
    pub limit: Option<u64>,
    /// The first step, counted from 1.
    pub from: Option<u64>,
    /// How many.
    pub count: Option<u64>,
}

/// The order in which the measures of a board are played.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct UnrollAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// The measures in the order in which they are played, counted from 1 in written order. A cut measure stands once for each part played.
    pub order: Vec<u16>,
    /// The steps, one for each entry of `order`.
    pub steps: Vec<StepAnswer>,
    /// The number of steps of the whole route. It may be larger than 2^53.
    pub length: u64,
    /// The reading under which the board was read: its own answers, and those asked for where it has none.
    pub reading: ReadingAnswer,
    /// Whether every reading under which the board has no errors gives this route.
    pub settled: bool,
    /// The questions whose answer changes the route; none for a settled board.
    pub questions: Vec<Question>,
    /// The number of plays asked for, for sections that are open.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plays: Option<u32>,
    /// Whether repeats were left out, as asked for.
    #[serde(rename = "omit-repeats", skip_serializing_if = "is_false")]
    pub omit_repeats: bool,
    /// There when `order` and `steps` do not hold the whole route: what they hold.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub truncated: Option<Truncated>,
    /// The score that the board was read from, when it was read from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score: Option<ScoreAnswer>,
}

// The signature is serde's.
#[allow(clippy::trivially_copy_pass_by_ref)]
fn is_false(value: &bool) -> bool {
    !value
}

/// What an answer holds of a route that it does not hold whole.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Truncated {
    /// The first step that is written out, counted from 1.
    pub from: u64,
    /// How many steps are written out.
    pub count: u64,
    /// Why, and how to ask for the others.
    pub message: String,
}

/// One measure, or one part of a cut measure, played once.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct StepAnswer {
    /// The measure, counted from 1 in written order.
    pub measure: u16,
    /// Where the part begins, as a fraction of a whole note from the measure's start (`0/1`, `3/8`); only for a cut measure.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// Where the part ends; only for a cut measure.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
    /// Which time through the innermost section that holds it, from 1; 1 in no section.
    pub pass: u32,
    /// The passes of the sections around that one, outermost first; absent when there are none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub enclosing: Vec<u32>,
    /// Which trip: 1 from the beginning, one more after each D.C. or D.S. obeyed.
    pub leg: u32,
    /// How many times this measure, or this part of it, has sounded, this time included. It may be larger than 2^53.
    pub visit: u64,
    /// The octave shift of each hand.
    pub octave: Octaves,
    /// The hands that hold a fermata.
    pub hold: Held,
    /// The hands that play.
    pub hands: Held,
    /// How the road comes here.
    pub cause: Cause,
    /// The marking that sends it here: its index in `markings`, counted from 0. For `past-ending` the first ending passed over.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marking: Option<u32>,
    /// The id of that marking, when it has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// The line of the score from which that marking was read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<u32>,
    /// The clause of the rulebook by which the road comes here.
    pub clause: String,
}

impl StepAnswer {
    /// A step of a board's route as answers hold it.
    pub fn new(read: &BoardRead, step: &Step) -> StepAnswer {
        let marking = step
            .marking
            .and_then(|index| read.board.markings().get(usize::try_from(index).ok()?));
        StepAnswer {
            measure: step.measure,
            from: step.part.map(|part| part.from.to_string()),
            to: step.part.map(|part| part.to.to_string()),
            pass: step.pass,
            enclosing: step.enclosing.as_slice().to_vec(),
            leg: step.leg,
            visit: step.visit,
            octave: step.octave,
            hold: step.hold,
            hands: step.hands,
            cause: step.cause,
            marking: step.marking,
            id: marking.and_then(|marking| marking.id()).map(str::to_owned),
            line: read.line(step.marking.and_then(|index| usize::try_from(index).ok())),
            clause: step
                .cause
                .clause(marking.map(fingerpost::Marking::sign))
                .to_owned(),
        }
    }
}

/// Unrolls a board.
///
/// # Errors
/// A board with errors, an open section without a number of plays, a window beyond the route or above the limit.
pub fn unroll(
    read: &BoardRead,
    asked: &TermsAsked,
    window: &Window,
) -> Result<UnrollAnswer, ErrorAnswer> {
    let terms = Terms::from(*asked);
    let compared = fingerpost::compare(&read.board, &terms)
        .map_err(|refusal| ErrorAnswer::refused(read, &refusal))?;
    unrolled(read, asked, window, &compared)
}

fn unrolled(
    read: &BoardRead,
    asked: &TermsAsked,
    window: &Window,
    compared: &Comparison,
) -> Result<UnrollAnswer, ErrorAnswer> {
    let terms = Terms::from(*asked);
    // cannot fail: a comparison holds at least the route asked for.
    let Some(first) = compared.routes.first() else {
        return Err(ErrorAnswer::new(ErrorKind::Request, "there is no route"));
    };
    let roadmap = &first.roadmap;
    let (from, count, truncated) = cut(roadmap.length(), window)?;
    let steps = steps(roadmap, from, count);
    Ok(UnrollAnswer {
        version: VERSION,
        order: steps.iter().map(|step| step.measure).collect(),
        steps: steps
            .iter()
            .map(|step| StepAnswer::new(read, step))
            .collect(),
        length: roadmap.length(),
        reading: ReadingAnswer::new(roadmap.reading(), terms.omit_repeats),
        settled: compared.settled(),
        questions: compared.questions.clone(),
        plays: asked.plays,
        omit_repeats: terms.omit_repeats,
        truncated,
        score: read.score(),
    })
}

/// Which steps to write out: the first, counted from 0, and how many.
fn cut(length: u64, window: &Window) -> Result<(u64, u64, Option<Truncated>), ErrorAnswer> {
    let bad = |message: String| Err(ErrorAnswer::new(ErrorKind::Request, message));
    let limit = window.limit.unwrap_or(LIMIT);
    if window.from.is_none() && window.count.is_none() {
        if length <= limit {
            return Ok((0, length, None));
        }
        let truncated = Truncated {
            from: 1,
            count: 0,
            message: format!(
                "the route has {length} steps and the most to be written out is {limit}: ask for a part of it with `from` and `count`"
            ),
        };
        return Ok((0, 0, Some(truncated)));
    }
    let from = window.from.unwrap_or(1);
    if from == 0 {
        return bad("`from` counts steps from 1".to_owned());
    }
    if from > length {
        return bad(format!(
            "the route has {length} steps; there is no step {from}"
        ));
    }
    let left = length - (from - 1);
    let count = window.count.unwrap_or(left).min(left);
    if count > limit {
        return bad(format!(
            "{count} steps are asked for and the most to be written out is {limit}"
        ));
    }
    let truncated = (count < length).then(|| Truncated {
        from,
        count,
        message: format!("{count} of {length} steps are written out, as asked for"),
    });
    Ok((from - 1, count, truncated))
}

fn steps(roadmap: &Roadmap, from: u64, count: u64) -> Vec<Step> {
    if from == 0 {
        let most = usize::try_from(count).unwrap_or(usize::MAX);
        return roadmap.steps().take(most).collect();
    }
    (from..from.saturating_add(count))
        .map_while(|index| roadmap.step(index))
        .collect()
}
