//! The verb `where`: the places of a sign on a board, each with its verdict.

use fingerpost::{Partner, Place, PlaceVerdict, Places, Question, Roadmap, Sign, Terms, Verdict};

use crate::VERSION;
use crate::error::{ComplaintAnswer, ErrorAnswer, ErrorKind};
use crate::findings::FindingAnswer;
use crate::score::ScoreAnswer;
use crate::signs::read_sign;
use crate::source::BoardRead;

/// The most measures of an order that are written out.
const MOST_STEPS: u64 = 1_000;

/// Where signs may go.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WhereAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// The signs asked about: the one named in the request, or each sign in the board's hand.
    pub signs: Vec<SignPlacesAnswer>,
    /// The score that the board was read from, when it was read from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score: Option<ScoreAnswer>,
}

/// The places of one sign.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SignPlacesAnswer {
    /// The sign, in the notation of the board line.
    pub sign: String,
    /// Its index in `unplaced`, counted from 0, for a sign in the hand.
    #[serde(rename = "in-hand", skip_serializing_if = "Option::is_none")]
    pub in_hand: Option<usize>,
    /// Every place in board order. Places inside a measure are not looked at.
    pub places: Vec<PlaceVerdictAnswer>,
    /// The longest row of measures that was looked at, when longer ones were left out.
    #[serde(rename = "longest-row", skip_serializing_if = "Option::is_none")]
    pub longest_row: Option<u16>,
}

/// One place and what would become of the sign there.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PlaceVerdictAnswer {
    /// The first and the last measure, counted from 1; the same for a sign that stands at one.
    pub measures: [u16; 2],
    /// The verdict, judged in the default reading or as the board says itself, open sections played twice.
    pub verdict: VerdictName,
    /// For a legal place of a board without errors: the road it would then have.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub road: Option<RoadAnswer>,
    /// For a sign that needs partners: the ways to give it those; of each way all signs are needed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub partners: Vec<Vec<PartnerAnswer>>,
    /// For a legal place of a board with errors: the ways to give the board what it lacks besides; of each way all signs are needed. Absent
    /// when no way is known.
    #[serde(rename = "still-missing", skip_serializing_if = "Vec::is_empty")]
    pub still_missing: Vec<Vec<PartnerAnswer>>,
    /// What is new on the board with the sign there: errors, signs that lack their partner; for a legal place warnings; for an idle sign the
    /// finding that says so. The sign's own index is that after the markings of the board.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub findings: Vec<FindingAnswer>,
}

/// The verdicts on a place.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum VerdictName {
    /// It may stand there, and changes what is played.
    Legal,
    /// It may stand there once its partners do.
    NeedsPartner,
    /// It must not stand there.
    NotLegal,
    /// It may stand there, and changes nothing that is played.
    Idle,
}

/// The road of a board.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct RoadAnswer {
    /// The measures in the order in which they are played, at most 1 000 of them.
    pub order: Vec<u16>,
    /// The number of steps of the whole road. It may be larger than 2^53.
    pub length: u64,
    /// Whether every reading under which the board has no errors gives this road.
    pub settled: bool,
    /// The questions whose answer changes the road.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub questions: Vec<Question>,
}

/// A sign that is missing, and where it may go.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PartnerAnswer {
    /// The sign, in the notation of the board line.
    pub sign: String,
    /// Its index in `unplaced`, counted from 0, when it is in the hand.
    #[serde(rename = "in-hand", skip_serializing_if = "Option::is_none")]
    pub in_hand: Option<usize>,
    /// Its places in board order: the first and the last measure of each, the same for a sign that stands at one.
    pub places: Vec<[u16; 2]>,
}

impl PartnerAnswer {
    pub(crate) fn new(partner: &Partner) -> PartnerAnswer {
        PartnerAnswer {
            sign: partner.card.sign.to_line(),
            in_hand: partner.card.in_hand,
            places: partner.places.iter().copied().map(measures).collect(),
        }
    }
}

impl RoadAnswer {
    pub(crate) fn new(board: &fingerpost::Board, roadmap: &Roadmap) -> RoadAnswer {
        let terms = Terms {
            open_plays: Some(2),
            ..Terms::default()
        };
        let compared = fingerpost::compare(board, &terms);
        let most = usize::try_from(MOST_STEPS).unwrap_or(usize::MAX);
        RoadAnswer {
            order: roadmap
                .steps()
                .take(most)
                .map(|step| step.measure)
                .collect(),
            length: roadmap.length(),
            settled: compared.as_ref().is_ok_and(fingerpost::Comparison::settled),
            questions: compared.map_or_else(|_| Vec::new(), |it| it.questions),
        }
    }
}

pub(crate) fn measures(place: Place) -> [u16; 2] {
    [place.first(), place.last()]
}

/// The places of a sign, or of each sign in the hand.
///
/// # Errors
/// A text that is no sign, an empty hand when no sign is named, a board that is too large.
pub fn places(read: &BoardRead, sign: Option<&str>) -> Result<WhereAnswer, ErrorAnswer> {
    let mut signs = Vec::new();
    for (in_hand, sign) in asked(read, sign)? {
        let places = fingerpost::places(&read.board, &sign)
            .map_err(|error| ErrorAnswer::new(ErrorKind::Request, error.to_string()))?;
        let verdicts = places.verdicts().iter();
        signs.push(SignPlacesAnswer {
            sign: sign.to_line(),
            in_hand,
            places: verdicts.map(|it| verdict(read, &places, it)).collect(),
            longest_row: places.longest_row(),
        });
    }
    Ok(WhereAnswer {
        version: VERSION,
        signs,
        score: read.score(),
    })
}

/// The signs that are asked about, each with its index in the hand: the one named, or all of the hand; of equal ones the first.
///
/// # Errors
/// A text that is no sign, or an empty hand.
pub fn asked(
    read: &BoardRead,
    sign: Option<&str>,
) -> Result<Vec<(Option<usize>, Sign)>, ErrorAnswer> {
    let Some(text) = sign else {
        let mut signs: Vec<(Option<usize>, Sign)> = Vec::new();
        for (index, card) in read.board.unplaced().iter().enumerate() {
            if signs.iter().all(|(_, known)| *known != card.sign) {
                signs.push((Some(index), card.sign.clone()));
            }
        }
        if signs.is_empty() {
            let message = "no sign is named, and the board has none in its hand";
            return Err(ErrorAnswer::new(ErrorKind::Request, message));
        }
        return Ok(signs);
    };
    let sign = read_sign(text).map_err(|error| {
        let complaints: Vec<ComplaintAnswer> = error
            .complaints()
            .iter()
            .map(|complaint| ComplaintAnswer {
                message: complaint.message.clone(),
                accepted: complaint.accepted.clone(),
                pointer: Some("/sign".to_owned()),
                line: None,
                column: None,
            })
            .collect();
        let first = complaints.first().map(|it| it.message.clone());
        let message = first.unwrap_or_else(|| "this is no sign".to_owned());
        ErrorAnswer::new(ErrorKind::Request, message).with_complaints(complaints)
    })?;
    Ok(vec![(None, sign)])
}

fn verdict(read: &BoardRead, places: &Places<'_>, it: &PlaceVerdict) -> PlaceVerdictAnswer {
    let mut answer = PlaceVerdictAnswer {
        measures: measures(it.place),
        verdict: VerdictName::Legal,
        road: None,
        partners: Vec::new(),
        still_missing: Vec::new(),
        findings: Vec::new(),
    };
    let way = |way: &Vec<Partner>| way.iter().map(PartnerAnswer::new).collect();
    answer.verdict = match &it.verdict {
        Verdict::NeedsPartner(ways) => {
            answer.partners = ways.iter().map(way).collect();
            VerdictName::NeedsPartner
        }
        Verdict::NotLegal { .. } => VerdictName::NotLegal,
        Verdict::Idle => VerdictName::Idle,
        Verdict::Legal { route, missing } => {
            answer.still_missing = missing.iter().map(way).collect();
            let board = places.board_with(it.place).filter(|_| *route);
            let played = |board| Some(RoadAnswer::new(&board, &places.roadmap(it.place).ok()?));
            answer.road = board.and_then(played);
            VerdictName::Legal
        }
        _ => VerdictName::Legal,
    };
    answer.findings = read.findings(&places.findings(it.place));
    answer
}
