//! The second walker against every case of the rulebook: what it says is the rulebook's word, not only its own.

#[path = "support/walker/mod.rs"]
mod walker;

use std::path::Path;

use fingerpost::{Board, Held, NamedReading, Question, Reading, Terms};
use fingerpost_conformance::{
    Answer, Ask, BoardText, Cause, Comparison, Form, Hands, OctaveShift, ReadingAsked, RouteAnswer,
    StepColumns, Subject, SubjectError, Suite, TermsAsked, run,
};
use walker::{Outcome, PlainStep, Walker};

/// Routes of more steps are too long for a walker that takes every one.
const LIMIT: u64 = 1_000_000;

#[test]
fn the_second_walker_plays_every_case_as_the_rulebook_says() {
    let rulebook = Path::new(env!("CARGO_MANIFEST_DIR")).join("spec/rulebook");
    let suite = Suite::read_markdown(&rulebook).expect("the rulebook can be read");
    let (mut cases, mut wrong) = (0, Vec::new());
    for chapter in suite.chapters {
        for mut case in chapter.cases {
            case.routes
                .retain(|route| route.expect.length.is_none_or(|length| length <= LIMIT));
            // A route that is refused for its length would have to be walked to its end.
            case.routes.retain(|route| {
                let errors = route.expect.errors.iter().flatten();
                !errors.into_iter().any(|rule| rule == "route-too-long")
            });
            for found in run(&case, &mut SecondWalker, Form::Line) {
                wrong.push(format!("{}: {found}", case.id));
            }
            cases += 1;
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(cases > 250, "{cases} cases");
}

struct SecondWalker;

impl Subject for SecondWalker {
    fn answer(&mut self, ask: &Ask<'_>) -> Result<Answer, SubjectError> {
        let (Ask::Route { board, .. } | Ask::Length { board, .. } | Ask::Comparison { board }) =
            ask;
        let board = match board {
            BoardText::Line(line) => Board::from_line(line),
            BoardText::Json(file) => {
                Board::from_json(&serde_json::Value::Object(file.clone().into_owned()).to_string())
            }
        };
        let board = board.map_err(|error| SubjectError::new(error.to_string()))?;
        let walker = Walker::new(&board, LIMIT + 1);
        match ask {
            Ask::Route { terms, .. } | Ask::Length { terms, .. } => {
                answer(walker.walk(&terms_of(terms)?))
            }
            Ask::Comparison { .. } => comparison(&board, &walker),
        }
    }
}

fn terms_of(asked: &TermsAsked) -> Result<Terms, SubjectError> {
    let mut terms = match &asked.reading {
        None => Terms::default(),
        Some(ReadingAsked::Named(name)) => Terms::from(
            name.parse::<NamedReading>()
                .map_err(|error| SubjectError::new(error.to_string()))?,
        ),
        Some(ReadingAsked::Answers(answers)) => Terms {
            reading: answers.over(Reading::default()),
            ..Terms::default()
        },
    };
    terms.omit_repeats |= asked.omit_repeats;
    terms.open_plays = asked.open_plays;
    Ok(terms)
}

fn answer(outcome: Outcome) -> Result<Answer, SubjectError> {
    match outcome {
        Outcome::Errors(rules) | Outcome::LeftOut(rules) => Ok(Answer::Errors {
            errors: rules.into_iter().map(str::to_owned).collect(),
        }),
        Outcome::OpenPlays => Ok(Answer::NeedsPlays),
        Outcome::Steps(steps) if steps.len() as u64 > LIMIT => {
            Err(SubjectError::new("the route is too long to walk"))
        }
        Outcome::Steps(steps) => Ok(Answer::Route(RouteAnswer {
            length: steps.len() as u64,
            order: Some(steps.iter().map(|step| step.measure).collect()),
            steps: columns(&steps),
        })),
    }
}

/// Walks under every combination of answers to the questions that the board leaves open. A question matters when two combinations
/// that differ in it alone give routes that sound different; those with errors are left out.
fn comparison(board: &Board, walker: &Walker) -> Result<Answer, SubjectError> {
    let walk = |reading| {
        walker.walk(&Terms {
            reading,
            ..Terms::default()
        })
    };
    let default = walk(Reading::default());
    if !matches!(default, Outcome::Steps(_)) {
        return answer(default);
    }
    let open: Vec<Question> = Question::ALL
        .into_iter()
        .filter(|&question| !board.reading().answers(question))
        .collect();
    let heard: Vec<(Reading, Vec<Sound>)> = Reading::default()
        .varied(&open)
        .into_iter()
        .filter_map(|reading| match walk(reading) {
            Outcome::Steps(steps) => Some((reading, steps.iter().map(sound).collect())),
            _ => None,
        })
        .collect();
    let matters = |question: &&Question| {
        heard.iter().any(|(reading, route)| {
            let others = reading.each_answer(**question);
            heard
                .iter()
                .any(|(other, heard)| others.contains(other) && heard != route)
        })
    };
    Ok(Answer::Comparison(Comparison {
        settled: heard.iter().all(|(_, route)| *route == heard[0].1),
        questions: open
            .iter()
            .filter(matters)
            .map(|question| question.name().to_owned())
            .collect(),
    }))
}

/// What is heard of a step.
type Sound = (u16, Option<[String; 2]>, i8, i8, Held, Held);

fn sound(step: &PlainStep) -> Sound {
    (
        step.measure,
        part(step),
        step.octave_right,
        step.octave_left,
        step.hold,
        step.hands,
    )
}

fn part(step: &PlainStep) -> Option<[String; 2]> {
    step.part
        .map(|(from, to)| [from.to_string(), to.to_string()])
}

fn columns(steps: &[PlainStep]) -> StepColumns {
    let hands = |held: Held| match held {
        Held::Both => Hands::Both,
        Held::Right => Hands::Right,
        Held::Left => Hands::Left,
        Held::None => Hands::None,
    };
    let passes = |step: &PlainStep| {
        let own = std::iter::once(step.pass);
        step.enclosing.iter().copied().chain(own).collect()
    };
    let cause = |step: &PlainStep| match step.cause {
        fingerpost::Cause::Start => Cause::Start,
        fingerpost::Cause::On => Cause::On,
        fingerpost::Cause::PastEnding => Cause::PastEnding,
        fingerpost::Cause::Repeat => Cause::Repeat,
        fingerpost::Cause::DaCapo => Cause::DaCapo,
        fingerpost::Cause::DalSegno => Cause::DalSegno,
        fingerpost::Cause::ToCoda => Cause::ToCoda,
        other => panic!("a cause of its own: {other:?}"),
    };
    let octave = |step: &PlainStep| OctaveShift {
        right: step.octave_right,
        left: step.octave_left,
    };
    StepColumns {
        passes: Some(steps.iter().map(passes).collect()),
        legs: Some(steps.iter().map(|step| step.leg).collect()),
        visits: Some(steps.iter().map(|step| step.visit).collect()),
        causes: Some(steps.iter().map(cause).collect()),
        parts: Some(steps.iter().map(part).collect()),
        octaves: Some(steps.iter().map(octave).collect()),
        holds: Some(steps.iter().map(|step| hands(step.hold)).collect()),
        hands: Some(steps.iter().map(|step| hands(step.hands)).collect()),
    }
}
