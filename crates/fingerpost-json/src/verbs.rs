//! The verbs, in one table, and the door itself.

use serde::Serialize;

use crate::deal::{DealRequest, HandRequest};
use crate::error::{ErrorAnswer, ErrorKind};
use crate::game::{GameAction, GameRequest, Seed};
use crate::how_long::HowLongRequest;
use crate::request::{
    BoardRequest, CheckRequest, CompareRequest, Forms, JudgeRequest, MissingRequest, SchemaRequest,
    UnrollRequest, WhereRequest, WriteOutRequest, forms, parse, unknown_verb, verb_of,
};
use crate::score::ScoreAsked;
use crate::source::{BoardRead, Source};
use crate::told::{ExplainRequest, ExplainedAnswer, MOST_TOLD, MeasureName, Voice, explain_board};
use crate::write_out::WriteOutForm;
use crate::{
    check, compare, deal, explain, game, how_long, judge, missing, places, unroll, write_out,
};

/// Every verb.
pub const VERBS: [&str; 14] = [
    "check",
    "unroll",
    "compare",
    "where",
    "missing",
    "judge",
    "board",
    "write-out",
    "game",
    "how-long",
    "deal",
    "hand",
    "explain",
    "schema",
];

/// Answers a request.
///
/// The answer is one JSON object on one line. For a request that cannot be carried out, and for a board that has errors, it has the key
/// `error`, in the shape of `spec/error.schema.json`. It never panics, whatever the request.
///
/// ```
/// let refused = fingerpost_json::answer(r#"{ "verb": "unrol" }"#);
/// assert!(refused.contains("did you mean `unroll`?"));
/// ```
pub fn answer(request: &str) -> String {
    verb_of(request)
        .and_then(|verb| answer_to(&verb, request))
        .unwrap_or_else(|error| text_of(&error))
}

fn answer_to(verb: &str, request: &str) -> Result<String, ErrorAnswer> {
    match verb {
        "check" => to_check(request),
        "unroll" => {
            let asked: UnrollRequest = parse(request)?;
            let (terms, window) = (asked.terms(), asked.window());
            let read = read(
                request,
                forms!(asked).for_reading(terms.reading),
                asked.measures,
            )?;
            unroll::unroll(&read, &terms, &window).map(|answer| text_of(&answer))
        }
        "compare" => {
            let asked: CompareRequest = parse(request)?;
            let (terms, limit) = (asked.terms(), asked.limit);
            let read = read(
                request,
                forms!(asked).for_reading(terms.reading),
                asked.measures,
            )?;
            compare::compare(&read, &terms, limit).map(|answer| text_of(&answer))
        }
        "where" => {
            let asked: WhereRequest = parse(request)?;
            let read = read(request, forms!(asked), asked.measures)?;
            places::places(&read, asked.sign.as_deref()).map(|answer| text_of(&answer))
        }
        "missing" => {
            let asked: MissingRequest = parse(request)?;
            let read = read(request, forms!(asked), asked.measures)?;
            missing::missing(&read).map(|answer| text_of(&answer))
        }
        "judge" => to_judge(request),
        "board" => {
            let asked: BoardRequest = parse(request)?;
            let wanted = asked.musicxml;
            let read = read(request, forms!(asked), asked.measures)?;
            let musicxml = wanted.then(|| crate::board::musicxml(&read));
            Ok(text_of(&crate::board::BoardAnswer {
                musicxml,
                ..crate::board::both_forms(&read)
            }))
        }
        "write-out" => {
            let asked: WriteOutRequest = parse(request)?;
            let (terms, limit) = (asked.terms(), asked.limit);
            let forms = forms!(asked).for_reading(terms.reading);
            let score = forms.asked.clone();
            let (form, tempo) = (asked.form, asked.tempo);
            let read = read(request, forms, asked.measures)?;
            if form == WriteOutForm::Midi {
                let answer = write_out::midi_answer(&read, &terms, tempo, limit);
                return answer.map(|answer| text_of(&answer));
            }
            if tempo.is_some() {
                let message = "a tempo is for a MIDI file: ask for the form `midi`";
                return Err(ErrorAnswer::new(ErrorKind::Request, message));
            }
            write_out::write_out(&read, &score, &terms, limit).map(|answer| text_of(&answer))
        }
        "game" => to_game(request),
        "how-long" => {
            let asked: HowLongRequest = parse(request)?;
            let (terms, wanted) = (asked.terms(), asked.asked());
            let read = read(
                request,
                forms!(asked).for_reading(terms.reading),
                asked.measures,
            )?;
            how_long::how_long(&read, &terms, &wanted).map(|(answer, _)| text_of(&answer))
        }
        "deal" => {
            let asked: DealRequest = parse(request)?;
            let asked = asked.asked()?;
            deal::deal(&asked).map(|answer| text_of(&answer))
        }
        "hand" => {
            let asked: HandRequest = parse(request)?;
            let seed = asked.seed.as_ref().map_or(Ok(1), Seed::number)?;
            let show = asked.show.unwrap_or(1);
            let voice = Voice::of_measures(asked.measure_name);
            let answer = deal::hand(&asked.signs, asked.measures, show, seed, voice);
            answer.map(|answer| text_of(&answer))
        }
        "explain" => {
            let asked: ExplainRequest = parse(request)?;
            to_explain(request, asked).map(|answer| text_of(&answer))
        }
        "schema" => to_schema(request),
        _ => Err(unknown_verb(verb, &VERBS)),
    }
}

fn to_game(request: &str) -> Result<String, ErrorAnswer> {
    let asked: GameRequest = parse(request)?;
    asked.fits_its_action()?;
    let (terms, rules) = (asked.terms(), asked.rules.unwrap_or_default());
    let seed = asked.seed.as_ref().map(Seed::number).transpose()?;
    let players = asked.players.clone().unwrap_or_default();
    let (action, player, thrown) = (asked.action, asked.player, asked.thrown);
    let kept = asked.game.clone();
    let board = forms!(asked).for_reading(terms.reading);
    if action != GameAction::Start {
        let before = if board.is_empty() {
            None
        } else {
            Some(read(request, board, asked.measures)?)
        };
        let voice = Voice::of_measures(asked.measures);
        let going = (kept.as_ref(), before.as_ref());
        let answer = game::go_on(action, going, player, thrown, &voice)?;
        return Ok(text_of(&answer));
    }
    let read = read(request, board, asked.measures)?;
    let game = game::start(&read, &terms, players, rules, seed)?;
    Ok(text_of(&game::shown(&game, None, &read.voice)))
}

fn to_explain(request: &str, asked: ExplainRequest) -> Result<ExplainedAnswer, ErrorAnswer> {
    let (terms, voice, name) = (asked.terms(), asked.voice()?, asked.name.clone());
    let forms = forms!(asked);
    let Some(name) = name else {
        if forms.is_empty() {
            return Err(ErrorAnswer::new(
                ErrorKind::Request,
                "the request has neither `name` nor a board: give `name`, or the board as `board`, `line`, `text` or `score`",
            ));
        }
        let read = read(request, forms.for_reading(terms.reading), asked.measures)?;
        let answer = explain_board(&read, &terms, &voice, MOST_TOLD)?;
        return Ok(ExplainedAnswer::Board(Box::new(answer)));
    };
    if !forms.is_empty() {
        return Err(ErrorAnswer::new(
            ErrorKind::Request,
            "the request has `name` and a board: give either",
        ));
    }
    let answer = explain::explain(&name)?;
    Ok(ExplainedAnswer::Name(Box::new(answer)))
}

fn read<'a>(
    request: &'a str,
    forms: Forms<'a>,
    measures: MeasureName,
) -> Result<BoardRead<'a>, ErrorAnswer> {
    let (source, asked) = forms.source(request)?;
    let read = source.read_as(&asked);
    let read = read.map_err(|no_board| no_board.answer)?;
    Ok(read.spoken(Voice::of_measures(measures)))
}

fn to_judge(request: &str) -> Result<String, ErrorAnswer> {
    let mut asked: JudgeRequest = parse(request)?;
    let terms = asked.terms();
    let given = (asked.answer.take(), asked.answers.take());
    let read = read(
        request,
        forms!(asked).for_reading(terms.reading),
        asked.measures,
    )?;
    let judged = match given {
        (Some(one), None) => judge::judge_one(&read, &terms, one),
        (None, Some(many)) => judge::judge(&read, &terms, many),
        (None, None) => Err(ErrorAnswer::new(
            ErrorKind::Request,
            "the request has no answer: give one as `answer`, or many as `answers`",
        )),
        (Some(_), Some(_)) => Err(ErrorAnswer::new(
            ErrorKind::Request,
            "the request has `answer` and `answers`: give either",
        )),
    };
    judged.map(|answer| text_of(&answer))
}

fn to_check(request: &str) -> Result<String, ErrorAnswer> {
    let asked: CheckRequest = parse(request)?;
    let voice = Voice::of_measures(asked.measures);
    let one = forms!(asked);
    let Some(many) = asked.boards else {
        // A lone board that cannot be read leaves nothing to answer with.
        let (source, asked) = one.source(request)?;
        let read = read_all(source, &asked, voice)?;
        return Ok(text_of(&check::check([(None, Ok(read))])));
    };
    if !one.is_empty() {
        return Err(ErrorAnswer::new(
            ErrorKind::Request,
            "the request has `boards` and one board more: give either",
        ));
    }
    let mut sources: Vec<(Option<String>, (Source, ScoreAsked))> = Vec::with_capacity(many.len());
    for (index, item) in many.into_iter().enumerate() {
        let source = forms!(item).source(request).map_err(|mut error| {
            error.error.message = format!("board {index} of `boards`: {}", error.error.message);
            error
        })?;
        sources.push((item.file, source));
    }
    let read = sources
        .into_iter()
        .map(|(file, (source, asked))| (file, read_all(source, &asked, voice)));
    Ok(text_of(&check::check(read)))
}

fn read_all<'a>(
    source: Source<'a>,
    asked: &ScoreAsked,
    voice: Voice,
) -> Result<Vec<BoardRead<'a>>, ErrorAnswer> {
    let read = source.read_all(asked);
    let read = read.map_err(|no_board| no_board.answer)?;
    Ok(read.into_iter().map(|one| one.spoken(voice)).collect())
}

#[cfg(feature = "schema")]
fn to_schema(request: &str) -> Result<String, ErrorAnswer> {
    let asked: SchemaRequest = parse(request)?;
    let name = asked.name.as_deref().unwrap_or("board");
    crate::schema::schema_answer(name).map(|answer| text_of(&answer))
}

#[cfg(not(feature = "schema"))]
fn to_schema(request: &str) -> Result<String, ErrorAnswer> {
    let _: SchemaRequest = parse(request)?;
    Err(ErrorAnswer::new(
        ErrorKind::Request,
        "this build carries no schemas; they are in spec/*.schema.json",
    ))
}

fn text_of(answer: &impl Serialize) -> String {
    // cannot fail: answers have only keys that are texts, and writing to memory does not fail.
    serde_json::to_string(answer).unwrap_or_default()
}
