//! What becomes of answers.

use std::collections::BTreeMap;

use fingerpost::{
    AnswerVerdict, Backing, Difference, DifferenceKind, Explanation, Fit, Judge, Judgement,
    Misunderstanding, Octaves, Phrasebook, Terms,
};

use crate::error::ComplaintAnswer;
use crate::misread;
use crate::score::ScoreAnswer;
use crate::source::BoardRead;
use crate::terms::ReadingAnswer;
use crate::unroll::StepAnswer;

/// What becomes of answers.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct JudgeAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// The reading whose order is the right one.
    pub reading: ReadingAnswer,
    /// Whether every reading under which the board has no errors gives this order.
    pub settled: bool,
    /// How many steps the right order has. It may be larger than 2^53.
    pub length: u64,
    /// The answers, in their order.
    pub answers: Vec<JudgedAnswer>,
    /// What they show together.
    pub summary: Summary,
    /// The score that the board was read from, when it was read from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub score: Option<ScoreAnswer>,
}

/// One answer.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct JudgedAnswer {
    /// Whose it is, as the request says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pupil: Option<String>,
    /// What becomes of it.
    pub verdict: VerdictOfAnswer,
    /// For an answer that is right under other readings: these, as far as the questions that can matter on this board differ.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub readings: Vec<ReadingAnswer>,
    /// For an answer that is right under other readings: who has published one of them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub backing: Option<BackingName>,
    /// Where it first parts from the right order.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub difference: Option<DifferenceAnswer>,
    /// How much of it is right.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub credit: Option<Credit>,
    /// When it is nearer to the order of another published reading than to the right one, or goes along with it for longer: that reading. It
    /// is not explained then.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub near: Option<NearAnswer>,
    /// The orders of other published readings that are as near as that one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub near_too: Vec<NearAnswer>,
    /// Where the repeats are to be left out: the published reading under which it is right as the signs stand, with its repeats. It is not
    /// explained then.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub with_repeats: Option<ReadingAnswer>,
    /// What explains it: the best explanations, all equally good. Beside an answer that is right under readings which no lesson and no book
    /// has published, the misunderstandings that give the same order.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub explanations: Vec<ExplanationAnswer>,
    /// How many more there are that are as good.
    #[serde(skip_serializing_if = "is_zero")]
    pub more_explanations: usize,
    /// What is said to the teacher.
    pub teacher: Vec<String>,
    /// What is said to the learner.
    pub learner: Vec<String>,
    /// For an answer that cannot be read: why.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub complaint: Option<ComplaintAnswer>,
}

// The signature is serde's.
#[allow(clippy::trivially_copy_pass_by_ref)]
fn is_zero(value: &usize) -> bool {
    *value == 0
}

/// What becomes of an answer.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum VerdictOfAnswer {
    /// It is the order of the reading asked for.
    Right,
    /// It is the order of another reading, and is not wrong; `backing` says who has published that.
    RightUnder,
    /// It is no order that a reading gives.
    Wrong,
    /// It cannot be read.
    NotReadable,
}

/// Who has published a reading.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum BackingName {
    /// Writers on music, lessons or practice.
    Published,
    /// The standard of a file format alone.
    Files,
    /// Nobody: it is what some players do.
    Nobody,
}

/// An order near to an answer, which is right under another published reading.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct NearAnswer {
    /// How many slips lie between them; absent where there are more than a few.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slips: Option<usize>,
    /// Where there are more: for how many steps from the beginning the answer goes along with it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub steps: Option<usize>,
    /// The readings that give it.
    pub readings: Vec<ReadingAnswer>,
    /// How many steps it has. It may be larger than 2^53.
    pub length: u64,
    /// Where the answer first parts from it.
    pub difference: DifferenceAnswer,
}

/// Where an answer parts from the right order.
#[derive(Clone, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct DifferenceAnswer {
    /// The step, counted from 1.
    pub step: usize,
    /// What kind of difference it is.
    pub kind: DifferenceName,
    /// What the answer has there; absent when it has ended.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub given: Option<GivenAnswer>,
    /// What would be right there, with its cause and clause; absent when the music has ended.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expected: Option<StepAnswer>,
}

/// What an answer has at a step.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct GivenAnswer {
    /// The measure, counted from 1; it may lie off the board.
    pub measure: u32,
    /// The octave of each hand, where the answer says it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub octave: Option<Octaves>,
}

/// What kind of difference there is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum DifferenceName {
    /// Nothing was answered.
    Empty,
    /// Another measure of the board.
    OtherMeasure,
    /// A measure that is not on the board.
    OffTheBoard,
    /// The right measure in another octave.
    OtherOctave,
    /// The answer ends before the music does.
    TooShort,
    /// The answer goes on after the music has ended.
    TooLong,
}

/// How much of an answer is right.
#[derive(Clone, Copy, PartialEq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct Credit {
    /// How many steps it has.
    pub given: usize,
    /// How many are right from the beginning on.
    pub from_the_beginning: usize,
    /// How many are right when those between them are left out.
    pub in_order: usize,
    /// That number as a share of the longer of the two orders, from 0 to 1.
    pub share: f64,
    /// How many slips lie between it and the right order, when they are few: a step left out, one too many, another in its place, two
    /// neighbours exchanged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slips: Option<usize>,
}

/// What explains an answer.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct ExplanationAnswer {
    /// One misunderstanding, or two at once.
    pub misunderstandings: Vec<MisunderstandingName>,
    /// How much of the answer they explain.
    pub fit: FitName,
    /// For `but-for-slips`: how many slips remain.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slips: Option<usize>,
    /// For `up-to`: how many steps from the beginning are explained.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub steps: Option<usize>,
    /// For `but-for-slips`, and under another reading: whether it shows itself only behind the first wrong step, of which it says nothing then.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub shows_later: bool,
    /// The other published reading under which they explain it; absent where that is the reading asked for. What the answer has of that
    /// reading is no mistake.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reading: Option<ReadingAnswer>,
}

/// A misunderstanding, by its name.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct MisunderstandingName(pub Misunderstanding);

impl serde::Serialize for MisunderstandingName {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.0.name())
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for MisunderstandingName {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "MisunderstandingName".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let names = Misunderstanding::ALL.map(Misunderstanding::name);
        schemars::json_schema!({ "description": "A misunderstanding, by its name.", "enum": names })
    }
}

/// How much of an answer is explained.
#[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum FitName {
    /// All of it.
    Whole,
    /// All but some slips.
    ButForSlips,
    /// Some steps from the beginning.
    UpTo,
}

/// What answers show together.
#[derive(Clone, PartialEq, Eq, Debug, Default, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct Summary {
    /// How many answers are right.
    pub right: usize,
    /// How many are right under another reading.
    pub right_under: usize,
    /// How many of these only under one that nobody has published.
    #[serde(skip_serializing_if = "is_zero")]
    pub published_by_nobody: usize,
    /// How many are wrong.
    pub wrong: usize,
    /// How many cannot be read.
    pub not_readable: usize,
    /// The misunderstandings that explain wrong answers, the commonest first. An answer with several explanations that are equally good
    /// counts for the first alone; one with two misunderstandings at once counts for both.
    pub misunderstandings: Vec<CountedIdea>,
    /// What to teach next: what boards should have that practise the commonest misunderstanding.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub teach_next: Vec<String>,
}

/// A misunderstanding, and how many answers it explains.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct CountedIdea {
    /// Its name.
    pub misunderstanding: MisunderstandingName,
    /// What it is, in one sentence.
    pub what: String,
    /// How many answers it explains.
    pub answers: usize,
    /// Whose they are, as far as the request says.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pupils: Vec<String>,
    /// What to say to them.
    pub say: String,
    /// What to practise next, in words.
    pub practise: String,
    /// The concepts that a board should have for that. The verb `deal`, with this misunderstanding as its `aim`, deals one.
    pub deal: Vec<String>,
}

pub(super) fn not_readable(pupil: Option<String>, complaint: ComplaintAnswer) -> JudgedAnswer {
    JudgedAnswer {
        pupil,
        verdict: VerdictOfAnswer::NotReadable,
        readings: Vec::new(),
        backing: None,
        difference: None,
        credit: None,
        near: None,
        near_too: Vec::new(),
        with_repeats: None,
        explanations: Vec::new(),
        more_explanations: 0,
        teacher: Vec::new(),
        learner: Vec::new(),
        complaint: Some(complaint),
    }
}

pub(super) fn judged_answer(
    read: &BoardRead,
    judge: &Judge,
    terms: &Terms,
    pupil: Option<String>,
    judgement: &Judgement,
) -> JudgedAnswer {
    let (verdict, route) = match judgement.verdict {
        AnswerVerdict::Right => (VerdictOfAnswer::Right, None),
        AnswerVerdict::RightUnder(route) => (VerdictOfAnswer::RightUnder, Some(route)),
        AnswerVerdict::Wrong => (VerdictOfAnswer::Wrong, None),
    };
    let backing = route.map(|route| match judge.backing(route) {
        Backing::Files => BackingName::Files,
        Backing::Nobody => BackingName::Nobody,
        _ => BackingName::Published,
    });
    let readings = |route: usize| {
        let route = judge.comparison().routes.get(route);
        let readings = route.map_or(&[][..], |route| route.readings.as_slice());
        let answers = readings.iter();
        let answers = answers.map(|&reading| ReadingAnswer::new(reading, terms.omit_repeats));
        answers.collect::<Vec<_>>()
    };
    let mut near = judgement.near.iter().map(|near| {
        let (_, slips, steps) = fit_of(near.fit);
        NearAnswer {
            slips,
            steps,
            readings: readings(near.route),
            length: near.length,
            difference: difference(read, &near.difference),
        }
    });
    let words = read.book().judgement(&read.board, judge, judgement);
    let explained = judgement.explanations.iter();
    JudgedAnswer {
        pupil,
        verdict,
        readings: route.map(readings).unwrap_or_default(),
        backing,
        difference: judgement.difference.map(|it| difference(read, &it)),
        credit: Some(Credit {
            given: judgement.given,
            from_the_beginning: judgement.right_from_the_beginning,
            in_order: judgement.right_in_order,
            share: judgement.share(),
            slips: judgement.slips,
        }),
        near: near.next(),
        near_too: near.collect(),
        with_repeats: judgement
            .with_repeats
            .map(|reading| ReadingAnswer::new(reading, false)),
        explanations: explained.map(|it| explanation(it, terms)).collect(),
        more_explanations: judgement.more_explanations,
        teacher: words.teacher,
        learner: words.learner,
        complaint: None,
    }
}

fn difference(read: &BoardRead, difference: &Difference) -> DifferenceAnswer {
    DifferenceAnswer {
        step: difference.index + 1,
        kind: match difference.kind {
            DifferenceKind::Empty => DifferenceName::Empty,
            DifferenceKind::OffTheBoard => DifferenceName::OffTheBoard,
            DifferenceKind::OtherOctave => DifferenceName::OtherOctave,
            DifferenceKind::TooShort => DifferenceName::TooShort,
            DifferenceKind::TooLong => DifferenceName::TooLong,
            _ => DifferenceName::OtherMeasure,
        },
        given: difference.given.map(|given| GivenAnswer {
            measure: given.measure,
            octave: given.octave,
        }),
        expected: difference.expected.map(|step| StepAnswer::new(read, &step)),
    }
}

/// How much of an answer is explained: the name, how many slips remain, how many steps are explained.
fn fit_of(fit: Fit) -> (FitName, Option<usize>, Option<usize>) {
    match fit {
        Fit::Whole => (FitName::Whole, None, None),
        Fit::ButForSlips(slips) => (FitName::ButForSlips, Some(slips), None),
        Fit::UpTo(steps) => (FitName::UpTo, None, Some(steps)),
    }
}

fn explanation(explanation: &Explanation, terms: &Terms) -> ExplanationAnswer {
    let (fit, slips, steps) = fit_of(explanation.fit);
    let reading = explanation.under;
    ExplanationAnswer {
        misunderstandings: explanation
            .ideas
            .iter()
            .map(|&idea| MisunderstandingName(idea))
            .collect(),
        fit,
        slips,
        steps,
        shows_later: explanation.shows_later,
        reading: reading.map(|reading| ReadingAnswer::new(reading, terms.omit_repeats)),
    }
}

pub(super) fn summary(book: &Phrasebook, answers: &[JudgedAnswer]) -> Summary {
    let by_nobody = answers.iter();
    let by_nobody = by_nobody.filter(|it| it.backing == Some(BackingName::Nobody));
    let count = |verdict| answers.iter().filter(|it| it.verdict == verdict).count();
    let mut explained: BTreeMap<Misunderstanding, (usize, Vec<String>)> = BTreeMap::new();
    let wrong = |it: &&JudgedAnswer| it.verdict == VerdictOfAnswer::Wrong;
    for answer in answers.iter().filter(wrong) {
        let first = answer.explanations.first();
        for idea in first.iter().flat_map(|first| &first.misunderstandings) {
            let (answers, pupils) = explained.entry(idea.0).or_default();
            *answers += 1;
            let pupil = answer.pupil.clone();
            pupils.extend(pupil.filter(|pupil| !pupil.trim().is_empty()));
        }
    }
    let mut ideas: Vec<CountedIdea> = explained
        .into_iter()
        .map(|(idea, (answers, pupils))| {
            // cannot fail: a test demands a page of every misunderstanding.
            let page = misread::page(idea).map(|(_, page)| page);
            // The lines of a page are broken where the page is.
            let said =
                |text: Option<&str>| book.message(&text.unwrap_or_default().replace('\n', " "));
            CountedIdea {
                misunderstanding: MisunderstandingName(idea),
                what: book.misunderstanding(idea).into_owned(),
                answers,
                pupils,
                say: said(page.as_ref().map(|page| page.say.as_str())),
                practise: said(page.as_ref().map(|page| page.practise.as_str())),
                deal: page.map(|page| page.deal).unwrap_or_default(),
            }
        })
        .collect();
    // Those that come up equally often stay in the order of the catalogue, which is that of teaching.
    ideas.sort_by_key(|idea| std::cmp::Reverse(idea.answers));
    let commonest = ideas.first().map(|idea| idea.deal.clone());
    Summary {
        right: count(VerdictOfAnswer::Right),
        right_under: count(VerdictOfAnswer::RightUnder),
        published_by_nobody: by_nobody.count(),
        wrong: count(VerdictOfAnswer::Wrong),
        not_readable: count(VerdictOfAnswer::NotReadable),
        misunderstandings: ideas,
        teach_next: commonest.unwrap_or_default(),
    }
}
