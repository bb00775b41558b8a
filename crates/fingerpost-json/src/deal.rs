//! The verbs `deal` and `hand`: boards made from a seed, and the signs of a hand laid in every way.

use fingerpost::{
    Board, Concept, Dealt, Difficulty, HandPlaced, Impossible, Levels, LevelsFile,
    Misunderstanding, Phrasebook, Roadmap, Severity, Sign, Terms, Wish,
};

use serde::Deserialize;

use crate::VERSION;
use crate::error::{ErrorAnswer, ErrorKind};
use crate::findings::FindingAnswer;
use crate::game::Seed;
use crate::places::RoadAnswer;
use crate::signs::read_sign;
use crate::source::Source;
use crate::told::{MeasureName, Voice};

/// `deal`: one board from a seed, or a practice set.
#[derive(Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(crate) struct DealRequest {
    #[serde(rename = "verb")]
    #[cfg_attr(feature = "schema", schemars(extend("const" = "deal")))]
    _verb: String,
    /// How many measures each board has, exactly.
    #[cfg_attr(feature = "schema", schemars(range(min = 1, max = 512)))]
    pub(crate) measures: u16,
    /// The level: a board shows some of what is new there and of what is known before, and nothing else.
    #[serde(default)]
    pub(crate) level: Option<u8>,
    /// The concepts that the board, or the boards of the set together, must show.
    #[serde(default)]
    pub(crate) concepts: Vec<fingerpost::Concept>,
    /// The name of the misunderstanding that each board must tell apart from the right reading.
    #[serde(default)]
    pub(crate) aim: Option<String>,
    /// How many boards make a practice set; absent: one board.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schemars(range(min = 1, max = 200)))]
    pub(crate) count: Option<usize>,
    /// The seed: the same request with the same seed has the same answer.
    pub(crate) seed: Seed,
    /// A levels file in place of the levels that come along; its schema is `levels.schema.json`.
    #[serde(default)]
    pub(crate) levels: Option<fingerpost::LevelsFile>,
    /// What a measure is called in the key and in a refusal.
    #[serde(default)]
    pub(crate) measure_name: MeasureName,
}

/// `hand`: the signs of a hand, laid on an empty board in every way.
#[derive(Debug, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(crate) struct HandRequest {
    #[serde(rename = "verb")]
    #[cfg_attr(feature = "schema", schemars(extend("const" = "hand")))]
    _verb: String,
    /// The signs, each in the notation of the board line: `segno`, `D.S. al Fine`, `[1.`; at most 8.
    pub(crate) signs: Vec<String>,
    /// How many measures the board has.
    #[cfg_attr(feature = "schema", schemars(range(min = 1, max = 64)))]
    pub(crate) measures: u16,
    /// How many of the ways are shown; 1 when absent, at most 12.
    #[serde(default)]
    pub(crate) show: Option<usize>,
    /// The seed by which ways are chosen; 1 when absent.
    #[serde(default)]
    pub(crate) seed: Option<Seed>,
    /// What a measure is called in warnings and in a refusal.
    #[serde(default)]
    pub(crate) measure_name: MeasureName,
}

impl DealRequest {
    pub(crate) fn asked(self) -> Result<DealAsked, ErrorAnswer> {
        Ok(DealAsked {
            seed: self.seed.number()?,
            measures: self.measures,
            level: self.level,
            concepts: self.concepts,
            aim: self.aim,
            count: self.count,
            levels: self.levels,
            measure_name: self.measure_name,
        })
    }
}

/// What is wished of a board, or of each board of a set.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct DealAsked {
    /// How many measures.
    pub measures: u16,
    /// The level.
    pub level: Option<u8>,
    /// The concepts.
    pub concepts: Vec<Concept>,
    /// The name of the misunderstanding to tell apart.
    pub aim: Option<String>,
    /// How many boards make a set; absent for one board.
    pub count: Option<usize>,
    /// The seed.
    pub seed: u64,
    /// The levels that are meant, when they are not those that come along.
    pub levels: Option<LevelsFile>,
    /// What a measure is called.
    pub measure_name: MeasureName,
}

/// Boards that have been dealt.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DealAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// The seed that gives the same boards again. It may be larger than 2^53.
    pub seed: u64,
    /// The boards: one, or those of the set, the easiest first.
    pub boards: Vec<DealtAnswer>,
}

/// A board that has been dealt.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DealtAnswer {
    /// The seed that gives this board again, alone, with the `wished` concepts in place of those of the request.
    pub seed: u64,
    /// The concepts that were wished of this board.
    pub wished: Vec<Concept>,
    /// The JSON of its board file.
    #[cfg_attr(feature = "schema", schemars(with = "crate::schema::BoardFile"))]
    pub board: serde_json::Value,
    /// Its board line.
    pub line: String,
    /// The key: the measures in the order in which they are played.
    pub order: Vec<u16>,
    /// The key in words: how the road goes, move by move, and why.
    pub why: Vec<String>,
    /// How hard it is.
    pub difficulty: DifficultyAnswer,
}

/// How hard a board is, in its parts.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct DifficultyAnswer {
    /// The sum of the parts: the levels of the concepts, 1 for each move, 1 for every four measures of the longest jump, 1 for each misunderstanding
    /// told apart. A ruling of ours, good for putting boards in an order.
    pub score: u32,
    /// The concepts on the board, in the order of teaching.
    pub concepts: Vec<GradedAnswer>,
    /// How often the road does not simply go on.
    pub moves: u32,
    /// Over how many measures the longest of these moves goes.
    #[serde(rename = "longest-jump")]
    pub longest_jump: u16,
    /// The misunderstandings that give another answer than the right one.
    #[serde(rename = "told-apart")]
    pub told_apart: Vec<&'static str>,
    /// Those that give the right answer although signs of their kind are on the board: about them it teaches nothing.
    #[serde(rename = "not-told-apart")]
    pub not_told_apart: Vec<&'static str>,
}

/// A concept with its level.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GradedAnswer {
    /// The concept.
    pub concept: Concept,
    /// The level that teaches it; 0 when none does.
    pub level: u8,
}

/// What can be done with the signs of a hand.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HandAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// The signs, in the notation of the board line.
    pub signs: Vec<String>,
    /// The number of measures.
    pub measures: u16,
    /// The seed that gives the same boards again. It may be larger than 2^53.
    pub seed: u64,
    /// In how many ways all the signs can be laid so that the board has no error, every measure is played, and every sign plays its part. It
    /// may be larger than 2^53.
    pub arrangements: u64,
    /// Some of the ways.
    pub shown: Vec<HandBoardAnswer>,
    /// When there is no way on so few measures, and one on more: how many are needed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub needed: Option<u16>,
    /// When there is no way at all: the plain signs any one of which makes one possible; or, when no single sign does, one list of two that do together.
    pub missing: Vec<Vec<String>>,
    /// For each entry of `missing`: how many measures are needed at least when it is added.
    #[serde(rename = "missing-measures")]
    pub missing_measures: Vec<u16>,
    /// Whether all that may be missing was looked at to the end. If not, signs may be enough that are not named: with some there were more
    /// orders than are looked at for this.
    #[serde(rename = "missing-is-whole")]
    pub missing_is_whole: bool,
}

/// One way to lay a hand.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HandBoardAnswer {
    /// The board, as a board line.
    pub line: String,
    /// Its road.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub road: Option<RoadAnswer>,
    /// The warnings on it, with their places in the line.
    pub warnings: Vec<FindingAnswer>,
}

/// The wish of a request.
///
/// # Errors
/// Levels that cannot be used; a misunderstanding that there is not.
pub fn wish(asked: &DealAsked) -> Result<Wish, ErrorAnswer> {
    let refuse = |kind, message: String| ErrorAnswer::new(kind, message);
    let aim = match &asked.aim {
        None => None,
        Some(name) => Some(
            name.parse::<Misunderstanding>()
                .map_err(|error| refuse(ErrorKind::UnknownName, error.to_string()))?,
        ),
    };
    let levels = match asked.levels.clone() {
        None => Levels::built_in(),
        Some(file) => Levels::from_file(file)
            .map_err(|error| refuse(ErrorKind::Request, error.to_string()))?,
    };
    Ok(Wish {
        level: asked.level,
        aim,
        levels,
        ..Wish::concepts(asked.measures, asked.concepts.iter().copied())
    })
}

/// Deals one board, or a set.
///
/// # Errors
/// Why the wish cannot be met.
pub fn deal(asked: &DealAsked) -> Result<DealAnswer, ErrorAnswer> {
    let wish = wish(asked)?;
    let book = Voice::of_measures(asked.measure_name).book();
    let impossible =
        |why: Impossible| ErrorAnswer::new(ErrorKind::Impossible, book.message(&why.to_string()));
    let boards = match asked.count {
        None => {
            let dealt = fingerpost::deal(&wish, asked.seed).map_err(impossible)?;
            let hard = fingerpost::difficulty(&dealt.board, &dealt.roadmap, &wish.levels);
            vec![DealtAnswer::new(&book, &dealt, &wish, &hard)]
        }
        Some(count) => {
            let set = fingerpost::practice(&wish, count, asked.seed).map_err(impossible)?;
            let boards = set.boards.iter();
            boards
                .map(|it| DealtAnswer::new(&book, &it.dealt, &it.wish, &it.difficulty))
                .collect()
        }
    };
    Ok(DealAnswer {
        version: VERSION,
        seed: asked.seed,
        boards,
    })
}

impl DealtAnswer {
    fn new(book: &Phrasebook, dealt: &Dealt, wish: &Wish, hard: &Difficulty) -> DealtAnswer {
        DealtAnswer {
            seed: dealt.seed,
            wished: wish.concepts.clone(),
            // cannot fail: a board writes itself as JSON.
            board: serde_json::from_str(&dealt.board.to_json()).unwrap_or_default(),
            line: dealt.board.to_line(),
            order: dealt.roadmap.steps().map(|step| step.measure).collect(),
            why: why(book, &dealt.board, &dealt.roadmap),
            difficulty: DifficultyAnswer::new(hard),
        }
    }
}

/// The route of a board in words, a line for each move.
fn why(book: &Phrasebook, board: &Board, roadmap: &Roadmap) -> Vec<String> {
    let moves = book.moves(board, roadmap).map(|step| {
        let mut sentence = format!("{} {}", step.why, step.play);
        for note in &step.notes {
            sentence.push(' ');
            sentence.push_str(note);
        }
        sentence
    });
    moves.chain([book.ending(board, roadmap)]).collect()
}

impl DifficultyAnswer {
    fn new(hard: &Difficulty) -> DifficultyAnswer {
        let names = |ideas: &[Misunderstanding]| ideas.iter().map(|it| it.name()).collect();
        let graded = hard.concepts.iter();
        DifficultyAnswer {
            score: hard.score,
            concepts: graded
                .map(|&(concept, level)| GradedAnswer { concept, level })
                .collect(),
            moves: hard.moves,
            longest_jump: hard.longest_jump,
            told_apart: names(&hard.told_apart),
            not_told_apart: names(&hard.not_told_apart),
        }
    }
}

/// The signs of a hand.
///
/// # Errors
/// The first part that is no sign.
fn signs(hand: &[String]) -> Result<Vec<Sign>, ErrorAnswer> {
    let read = hand.iter().map(|text| {
        read_sign(text.trim()).map_err(|error| {
            let text: String = text.trim().chars().take(60).collect();
            let why = error
                .complaints()
                .first()
                .map_or_else(|| error.to_string(), |it| it.message.clone());
            ErrorAnswer::new(
                ErrorKind::Request,
                format!("`{text}` is no sign for a hand: {why}"),
            )
        })
    });
    read.collect()
}

/// Lays the signs of a hand.
///
/// # Errors
/// A text that is no sign; a hand that is too large.
pub fn hand(
    hand: &[String],
    measures: u16,
    show: usize,
    seed: u64,
    voice: Voice,
) -> Result<HandAnswer, ErrorAnswer> {
    let signs = signs(hand)?;
    let placed = fingerpost::place_hand(&signs, measures, show, seed).map_err(|error| {
        let message = voice.book().message(&error.to_string());
        ErrorAnswer::new(ErrorKind::Request, message)
    })?;
    Ok(answer(&signs, (measures, seed), &placed, voice))
}

fn answer(
    signs: &[Sign],
    (measures, seed): (u16, u64),
    placed: &HandPlaced,
    voice: Voice,
) -> HandAnswer {
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    let shown = placed.shown.iter().map(|board| HandBoardAnswer {
        line: board.to_line(),
        road: Roadmap::new(board, &terms)
            .ok()
            .map(|roadmap| RoadAnswer::new(board, &roadmap)),
        warnings: warnings(board, voice),
    });
    let single = placed.missing.iter().map(|sign| vec![sign.to_line()]);
    let pair = placed.missing_pair.iter();
    let pair = pair.map(|(one, other)| vec![one.to_line(), other.to_line()]);
    HandAnswer {
        version: VERSION,
        signs: signs.iter().map(Sign::to_line).collect(),
        measures,
        seed,
        arrangements: placed.arrangements,
        shown: shown.collect(),
        needed: placed.needed,
        missing: single.chain(pair).collect(),
        missing_measures: placed.missing_measures.clone(),
        missing_is_whole: placed.missing_is_whole,
    }
}

/// The warnings on a board, as they stand in its line.
fn warnings(board: &Board, voice: Voice) -> Vec<FindingAnswer> {
    let mut found = fingerpost::check(board);
    found.retain(|it| it.severity == Severity::Warning);
    // cannot fail: a board reads its own line.
    let read = Source::line(board.to_line()).read();
    read.map_or_else(|_| Vec::new(), |read| read.spoken(voice).findings(&found))
}
