//! The library itself as the subject.

use fingerpost::{Board, Held, NamedReading, Reading, Refusal, Roadmap, Step, Terms};

use crate::case::{ReadingAsked, TermsAsked};
use crate::steps::{Cause, Hands, OctaveShift, StepColumns};
use crate::subject::{Answer, Ask, BoardText, Comparison, RouteAnswer, Subject, SubjectError};

/// The `fingerpost` library as the program under test.
#[derive(Clone, Copy, Default, Debug)]
pub struct Library;

impl Subject for Library {
    fn answer(&mut self, ask: &Ask<'_>) -> Result<Answer, SubjectError> {
        match ask {
            Ask::Route { board, terms } => {
                let board = read(board)?;
                Ok(route(&board, &terms_of(terms)?, true)?)
            }
            Ask::Length { board, terms } => {
                let board = read(board)?;
                Ok(route(&board, &terms_of(terms)?, false)?)
            }
            Ask::Comparison { board } => {
                match fingerpost::compare(&read(board)?, &Terms::default()) {
                    Ok(comparison) => Ok(Answer::Comparison(Comparison {
                        settled: comparison.settled(),
                        questions: comparison
                            .questions
                            .iter()
                            .map(|question| question.name().to_owned())
                            .collect(),
                    })),
                    Err(refusal) => refused(refusal),
                }
            }
        }
    }
}

fn read(board: &BoardText<'_>) -> Result<Board, SubjectError> {
    let read = match board {
        BoardText::Line(line) => Board::from_line(line),
        BoardText::Json(file) => {
            let text = serde_json::to_string(file).map_err(|error| {
                SubjectError::new(format!("the board cannot be written: {error}"))
            })?;
            Board::from_json(&text)
        }
    };
    read.map_err(|error| SubjectError::new(format!("the board cannot be read: {error}")))
}

fn terms_of(asked: &TermsAsked) -> Result<Terms, SubjectError> {
    let mut terms = match &asked.reading {
        None => Terms::default(),
        Some(ReadingAsked::Named(name)) => {
            let named: NamedReading = name
                .parse()
                .map_err(|error| SubjectError::new(format!("{error}")))?;
            Terms::from(named)
        }
        Some(ReadingAsked::Answers(answers)) => Terms::from(answers.over(Reading::default())),
    };
    terms.omit_repeats |= asked.omit_repeats;
    terms.open_plays = asked.open_plays;
    Ok(terms)
}

fn route(board: &Board, terms: &Terms, written_out: bool) -> Result<Answer, SubjectError> {
    let roadmap = match Roadmap::new(board, terms) {
        Ok(roadmap) => roadmap,
        Err(refusal) => return refused(refusal),
    };
    let mut answer = RouteAnswer {
        length: roadmap.length(),
        ..RouteAnswer::default()
    };
    if written_out {
        let steps: Vec<Step> = roadmap.steps().collect();
        answer.order = Some(steps.iter().map(|step| step.measure).collect());
        answer.steps = columns(&steps)?;
    }
    Ok(Answer::Route(answer))
}

fn refused(refusal: Refusal) -> Result<Answer, SubjectError> {
    match refusal {
        Refusal::Errors(findings) => Ok(Answer::Errors {
            errors: findings
                .iter()
                .map(|finding| finding.rule.to_owned())
                .collect(),
        }),
        Refusal::OpenPlays { .. } => Ok(Answer::NeedsPlays),
        other => Err(SubjectError::new(other.to_string())),
    }
}

fn columns(steps: &[Step]) -> Result<StepColumns, SubjectError> {
    let passes = |step: &Step| {
        let mut passes = step.enclosing.as_slice().to_vec();
        passes.push(step.pass);
        passes
    };
    let part = |step: &Step| {
        step.part
            .map(|part| [part.from.to_string(), part.to.to_string()])
    };
    Ok(StepColumns {
        passes: Some(steps.iter().map(passes).collect()),
        legs: Some(steps.iter().map(|step| step.leg).collect()),
        visits: Some(steps.iter().map(|step| step.visit).collect()),
        causes: Some(
            steps
                .iter()
                .map(|step| cause(step.cause))
                .collect::<Result<_, _>>()?,
        ),
        parts: Some(steps.iter().map(part).collect()),
        octaves: Some(
            steps
                .iter()
                .map(|step| OctaveShift {
                    right: step.octave.right,
                    left: step.octave.left,
                })
                .collect(),
        ),
        holds: Some(steps.iter().map(|step| hands(step.hold)).collect()),
        hands: Some(steps.iter().map(|step| hands(step.hands)).collect()),
    })
}

fn cause(cause: fingerpost::Cause) -> Result<Cause, SubjectError> {
    match cause {
        fingerpost::Cause::Start => Ok(Cause::Start),
        fingerpost::Cause::On => Ok(Cause::On),
        fingerpost::Cause::PastEnding => Ok(Cause::PastEnding),
        fingerpost::Cause::Repeat => Ok(Cause::Repeat),
        fingerpost::Cause::DaCapo => Ok(Cause::DaCapo),
        fingerpost::Cause::DalSegno => Ok(Cause::DalSegno),
        fingerpost::Cause::ToCoda => Ok(Cause::ToCoda),
        other => Err(SubjectError::new(format!(
            "`{other:?}` is no cause that the rulebook knows"
        ))),
    }
}

fn hands(held: Held) -> Hands {
    match held {
        Held::Both => Hands::Both,
        Held::Right => Hands::Right,
        Held::Left => Hands::Left,
        Held::None => Hands::None,
    }
}
