//! Runs a case against a subject.

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::case::{Case, Expected, Outcome, ReadingAsked, TermsAsked};
use crate::steps::StepColumns;
use crate::subject::{Answer, Ask, BoardText, Form, RouteAnswer, Subject, SubjectError};

/// Where a subject's answer differs from the case.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub struct Disagreement {
    /// What was asked, in a few words: `order under all-repeats`.
    pub what: String,
    /// What the case says.
    pub expected: String,
    /// What the subject says.
    pub answered: String,
    /// Whether the subject passed the question by; then its reason stands in `answered`.
    pub skipped: bool,
}

impl fmt::Display for Disagreement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.skipped {
            return write!(f, "{}: passed by: {}", self.what, self.answered);
        }
        write!(
            f,
            "{}: the case says {}, the subject says {}",
            self.what, self.expected, self.answered
        )
    }
}

/// Puts everything that a case asks to a subject. An empty list means that they agree.
pub fn run(case: &Case, subject: &mut dyn Subject, form: Form) -> Vec<Disagreement> {
    let board = match (&case.line, form) {
        (Some(line), Form::Line) => BoardText::Line(Cow::Borrowed(line)),
        _ => BoardText::Json(Cow::Borrowed(&case.board)),
    };
    let mut found = Vec::new();
    for route in &case.routes {
        let terms = Cow::Borrowed(&route.terms);
        // A length alone is asked of boards whose route is too long to be written out.
        let long = route.expect.length.is_some() && route.expect.order.is_none();
        let ask = if long {
            Ask::Length {
                board: board.clone(),
                terms,
            }
        } else {
            Ask::Route {
                board: board.clone(),
                terms,
            }
        };
        let mut check = Check {
            on: on(&route.terms),
            found: &mut found,
        };
        match subject.answer(&ask) {
            Ok(answer) => check.outcome(&route.expect, &answer),
            Err(error) => check.unanswered("route", &error),
        }
    }
    if case.settled.is_some() || case.questions.is_some() {
        let mut check = Check {
            on: String::new(),
            found: &mut found,
        };
        match subject.answer(&Ask::Comparison { board }) {
            Ok(answer) => check.comparison(case, &answer),
            Err(error) => check.unanswered("settled", &error),
        }
    }
    found
}

/// The terms in a few words, to stand after what was asked.
fn on(terms: &TermsAsked) -> String {
    let reading = match &terms.reading {
        Some(ReadingAsked::Named(name)) => format!(" under {name}"),
        Some(ReadingAsked::Answers(answers)) => {
            let given: Vec<String> = fingerpost::Question::ALL
                .iter()
                .filter_map(|&question| {
                    Some(format!("{}={}", question.name(), answers.answer(question)?))
                })
                .collect();
            format!(" under {}", given.join(","))
        }
        None => String::new(),
    };
    let omitted = if terms.omit_repeats {
        " with repeats left out"
    } else {
        ""
    };
    let plays = terms
        .open_plays
        .map_or_else(String::new, |plays| format!(" for {plays} plays"));
    format!("{reading}{omitted}{plays}")
}

struct Check<'a> {
    on: String,
    found: &'a mut Vec<Disagreement>,
}

impl Check<'_> {
    fn differ(&mut self, what: &str, expected: &dyn fmt::Display, answered: &dyn fmt::Display) {
        self.found.push(Disagreement {
            what: format!("{what}{}", self.on),
            expected: expected.to_string(),
            answered: answered.to_string(),
            skipped: false,
        });
    }

    fn unanswered(&mut self, what: &str, error: &SubjectError) {
        self.found.push(Disagreement {
            what: format!("{what}{}", self.on),
            expected: "an answer".to_owned(),
            answered: error.to_string(),
            skipped: error.is_skip(),
        });
    }

    fn outcome(&mut self, expected: &Expected, answer: &Answer) {
        match (expected.outcome(), answer) {
            (Some(Outcome::Route), Answer::Route(route)) => self.route(expected, route),
            (Some(Outcome::Errors), Answer::Errors { errors }) => {
                let names =
                    |list: &[String]| -> BTreeSet<String> { list.iter().cloned().collect() };
                let wanted = names(expected.errors.as_deref().unwrap_or_default());
                let given = names(errors);
                if wanted != given {
                    self.differ("errors", &worded(&wanted), &worded(&given));
                }
            }
            (Some(Outcome::NeedsPlays), Answer::NeedsPlays) => {}
            (None, _) => self.differ("case", &"nothing, or two things at once", &"nothing"),
            (Some(_), answer) => {
                let wanted = match &expected.order {
                    Some(order) => worded(order),
                    None => match &expected.errors {
                        Some(errors) => format!("errors {}", worded(errors)),
                        None if expected.needs_plays => "a number of plays is needed".to_owned(),
                        None => "a route".to_owned(),
                    },
                };
                self.differ("outcome", &wanted, &answer_worded(answer));
            }
        }
    }

    fn route(&mut self, expected: &Expected, route: &RouteAnswer) {
        if let Some(order) = &expected.order {
            match &route.order {
                Some(given) if given == order => {}
                Some(given) => self.differ("order", &worded(order), &worded(given)),
                None => self.differ("order", &worded(order), &"nothing"),
            }
        }
        let length = expected.length.or(expected
            .order
            .as_ref()
            .and_then(|order| u64::try_from(order.len()).ok()));
        if let Some(length) = length.filter(|&length| length != route.length) {
            self.differ("length", &length, &route.length);
        }
        self.steps(&expected.steps, &route.steps);
    }

    fn steps(&mut self, expected: &StepColumns, given: &StepColumns) {
        self.column("passes", expected.passes.as_ref(), given.passes.as_ref());
        self.column("legs", expected.legs.as_ref(), given.legs.as_ref());
        self.column("visits", expected.visits.as_ref(), given.visits.as_ref());
        self.column("causes", expected.causes.as_ref(), given.causes.as_ref());
        self.column("parts", expected.parts.as_ref(), given.parts.as_ref());
        self.column("octaves", expected.octaves.as_ref(), given.octaves.as_ref());
        self.column("holds", expected.holds.as_ref(), given.holds.as_ref());
        self.column("hands", expected.hands.as_ref(), given.hands.as_ref());
    }

    fn column<T: PartialEq + fmt::Debug>(
        &mut self,
        name: &str,
        expected: Option<&Vec<T>>,
        given: Option<&Vec<T>>,
    ) {
        if let Some(expected) = expected.filter(|&expected| Some(expected) != given) {
            let given = given.map_or_else(|| "nothing".to_owned(), |given| format!("{given:?}"));
            self.differ(name, &format!("{expected:?}"), &given);
        }
    }

    fn comparison(&mut self, case: &Case, answer: &Answer) {
        let Answer::Comparison(comparison) = answer else {
            return self.differ("settled", &"a comparison", &answer_worded(answer));
        };
        if let Some(settled) = case.settled.filter(|&s| s != comparison.settled) {
            self.differ("settled", &settled, &comparison.settled);
        }
        if let Some(questions) = &case.questions {
            let wanted: BTreeSet<&String> = questions.iter().collect();
            let given: BTreeSet<&String> = comparison.questions.iter().collect();
            if wanted != given {
                self.differ("questions", &worded(&wanted), &worded(&given));
            }
        }
    }
}

fn worded<T: fmt::Display>(list: impl IntoIterator<Item = T>) -> String {
    let words: Vec<String> = list.into_iter().map(|item| item.to_string()).collect();
    if words.is_empty() {
        "none".to_owned()
    } else {
        words.join(" ")
    }
}

fn answer_worded(answer: &Answer) -> String {
    match answer {
        Answer::Route(route) => match &route.order {
            Some(order) => worded(order),
            None => format!("a route of {} steps", route.length),
        },
        Answer::Errors { errors } => format!("errors {}", worded(errors)),
        Answer::NeedsPlays => "a number of plays is needed".to_owned(),
        Answer::Comparison(comparison) => format!("settled {}", comparison.settled),
    }
}

#[cfg(test)]
mod tests {
    use super::{Disagreement, run};
    use crate::case::Case;
    use crate::markdown::chapter_from_markdown;
    use crate::steps::{Cause, Hands, StepColumns};
    use crate::subject::{Answer, Ask, Comparison, Form, RouteAnswer, Subject, SubjectError};

    /// A subject that gives every question the same answer.
    struct Always(Result<Answer, SubjectError>);

    impl Subject for Always {
        fn answer(&mut self, _: &Ask<'_>) -> Result<Answer, SubjectError> {
            self.0.clone()
        }
    }

    fn case(fields: &str) -> Case {
        let text = format!(
            "# 1. T\n\n### 1.1 C\n\nSource: abc\n\n```board\nid: 1.1-a\ntitle: t\nboard: |: 1 :|\n{fields}\nsource: abc\nstatus: ruling\n```\n"
        );
        let chapter = chapter_from_markdown("1-t.md", &text).unwrap();
        chapter.cases.into_iter().next().unwrap()
    }

    fn found(fields: &str, answer: &Answer) -> Vec<Disagreement> {
        run(&case(fields), &mut Always(Ok(answer.clone())), Form::Line)
    }

    fn route(order: &[u16], steps: StepColumns) -> Answer {
        Answer::Route(RouteAnswer {
            length: order.len() as u64,
            order: Some(order.to_vec()),
            steps,
        })
    }

    #[test]
    fn a_wrong_order_is_found_and_a_right_one_is_not() {
        let right = route(&[1, 1], StepColumns::default());
        assert!(found("order: 1 1", &right).is_empty());
        assert!(found("length: 2", &right).is_empty());
        let wrong = found("order: 1\nreading mnx: 1 1", &right);
        assert_eq!(
            wrong[0].to_string(),
            "order: the case says 1, the subject says 1 1"
        );
        assert_eq!(
            (wrong[1].what.as_str(), wrong.len()),
            ("length", 2),
            "the length of the route is asked with its order"
        );
        let wrong = found("reading nested=flat,arming=al-only: 1", &right);
        assert_eq!(wrong[0].what, "order under arming=al-only,nested=flat");
        assert_eq!(found("length: 3", &right).len(), 1);
        assert_eq!(found("errors: fine-missing", &right).len(), 1);
        assert_eq!(found("needs-plays: yes", &right).len(), 1);
    }

    #[test]
    fn each_list_of_the_steps_is_compared() {
        let answer = route(
            &[1, 1],
            StepColumns {
                passes: Some(vec![vec![1], vec![2]]),
                causes: Some(vec![Cause::Start, Cause::Repeat]),
                holds: Some(vec![Hands::None, Hands::None]),
                ..StepColumns::default()
            },
        );
        assert!(found("order: 1 1\npasses: 1 2\ncauses: start repeat", &answer).is_empty());
        for fields in [
            "passes: 1 1",
            "causes: start on",
            "holds: none both",
            // What the subject does not tell is not taken as told.
            "legs: 1 1",
            "visits: 1 2",
            "hands: both both",
            "octaves: 0 0",
            "parts: whole whole",
        ] {
            let fields = format!("order: 1 1\n{fields}");
            assert_eq!(found(&fields, &answer).len(), 1, "{fields}");
        }
    }

    #[test]
    fn errors_are_compared_as_sets() {
        let errors = |names: &[&str]| Answer::Errors {
            errors: names.iter().map(|&name| name.to_owned()).collect(),
        };
        let fields = "errors: fine-missing segno-missing";
        let twice = errors(&["segno-missing", "fine-missing", "segno-missing"]);
        assert!(found(fields, &twice).is_empty());
        assert_eq!(found(fields, &errors(&["segno-missing"])).len(), 1);
        assert_eq!(found("order: 1 1", &errors(&["segno-missing"])).len(), 1);
    }

    #[test]
    fn a_comparison_is_compared() {
        let route = "length: 2";
        let answer = Answer::Comparison(Comparison {
            settled: true,
            questions: Vec::new(),
        });
        // The same answer is no route.
        assert_eq!(found(&format!("{route}\nsettled: yes"), &answer).len(), 1);
        assert_eq!(found(&format!("{route}\nsettled: no"), &answer).len(), 2);
        let questions = format!("{route}\nsettled: yes\nquestions: nested");
        assert_eq!(found(&questions, &answer).len(), 2);
    }

    #[test]
    fn a_subject_without_an_answer_disagrees() {
        let mut silent = Always(Err(SubjectError::new("it broke down")));
        let found = run(&case("order: 1 1\nsettled: yes"), &mut silent, Form::Json);
        assert_eq!(found.len(), 2);
        assert_eq!(found[0].answered, "it broke down");
    }
}
