//! The pages of the misunderstandings hold: on each page's board the pupil's order is explained by just that misunderstanding.

mod support {
    pub(crate) mod answers;
    pub(crate) mod fresh;
    pub(crate) mod pages;
    pub(crate) mod words;
}

use std::collections::BTreeSet;
use std::fs;

use fingerpost::{
    Answer, AnswerVerdict, Board, Fit, Judge, Misunderstanding, Phrasebook, Terms, check,
};
use serde_json::json;

use support::answers::valid;
use support::fresh::{fresh, root};
use support::pages::Page;
use support::words::kind;

/// The headings of a page, in their order.
const HEADINGS: [&str; 6] = [
    "What it is",
    "The board",
    "What the pupil does",
    "What to say",
    "Practise next",
    "Sources",
];

/// The page of a misunderstanding.
struct Read {
    page: Page,
    board: Board,
}

impl Read {
    fn of(idea: Misunderstanding) -> Read {
        let path = root(&format!("spec/misunderstandings/{idea}.md"));
        let text = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{idea}: {error}"));
        let page = Page::read(&text);
        let lines = page.boards("The board");
        assert_eq!(lines.len(), 1, "{idea}");
        let board = lines[0]
            .parse()
            .unwrap_or_else(|error| panic!("{idea}: {error}"));
        Read { page, board }
    }

    /// What stands behind `- KEY: ` under a heading, a line each.
    fn values(&self, heading: &str, key: &str) -> Vec<&str> {
        let lines = self.page.under(heading).lines();
        lines
            .filter_map(|line| {
                line.strip_prefix("- ")?
                    .strip_prefix(key)?
                    .strip_prefix(": ")
            })
            .collect()
    }

    fn value(&self, heading: &str, key: &str) -> &str {
        let values = self.values(heading, key);
        assert_eq!(values.len(), 1, "{key}");
        values[0]
    }

    fn head(&self, key: &str) -> &str {
        let mut head = self.page.head.iter();
        head.find(|(other, _)| other == key)
            .map_or("", |(_, value)| value)
    }

    /// The text under a heading without its lists.
    fn prose(&self, heading: &str) -> String {
        let lines = self.page.under(heading).lines();
        let lines: Vec<&str> = lines.filter(|line| !line.starts_with("- ")).collect();
        lines.join("\n").trim().to_owned()
    }

    fn sources(&self) -> Vec<&str> {
        self.page.sources()
    }
}

fn each_page(mut look: impl FnMut(Misunderstanding, &Read)) {
    for idea in Misunderstanding::ALL {
        look(idea, &Read::of(idea));
    }
}

#[test]
fn every_misunderstanding_has_a_page_and_no_other_page_is_there() {
    each_page(|idea, read| {
        assert_eq!(read.page.headings(), HEADINGS, "{idea}");
        assert_eq!(read.head("name"), idea.name());
        assert_eq!(read.head("since"), "0.1", "{idea}");
        let clause = read.head("clause");
        assert!(fingerpost_json::explain(clause).is_ok(), "{idea}: {clause}");
        for heading in HEADINGS {
            assert!(!read.page.under(heading).is_empty(), "{idea}: {heading}");
        }
        assert!(!read.values("Practise next", "deal").is_empty(), "{idea}");
    });
    let there: BTreeSet<String> = fs::read_dir(root("spec/misunderstandings"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    let known = Misunderstanding::ALL.map(|idea| format!("{idea}.md"));
    let known: BTreeSet<String> = known.into_iter().chain(["README.md".to_owned()]).collect();
    assert_eq!(there, known);
}

#[test]
fn the_pupil_of_a_page_has_just_its_misunderstanding() {
    each_page(|idea, read| {
        let judge = Judge::new(&read.board, &Terms::default()).unwrap();
        let answer = |key| Answer::read(&read.board, read.value("The board", key)).unwrap();
        let right = judge.judge(&answer("right"));
        assert_eq!(right.verdict, AnswerVerdict::Right, "{idea}: {right:?}");
        let pupil = judge.judge(&answer("the pupil"));
        assert_eq!(pupil.verdict, AnswerVerdict::Wrong, "{idea}");
        assert_eq!(pupil.explanations.len(), 1, "{idea}: {pupil:?}");
        assert_eq!(pupil.explanations[0].ideas, [idea], "{pupil:?}");
        assert_eq!(pupil.explanations[0].fit, Fit::Whole, "{pupil:?}");
    });
}

#[test]
fn the_board_of_a_page_is_in_order_and_read_in_one_way() {
    each_page(|idea, read| {
        let graver = check(&read.board)
            .into_iter()
            .filter(|finding| finding.severity != fingerpost::Severity::Advice)
            // A measure stands between the D.C. and the coda so that playing on is something else.
            .filter(|finding| {
                idea != Misunderstanding::StraightToCoda || finding.rule != "measure-never-played"
            });
        let graver: Vec<_> = graver.map(|finding| finding.message).collect();
        assert_eq!(graver, [""; 0], "{idea}");
    });
}

#[test]
fn a_page_speaks_kindly_and_in_short_sentences() {
    each_page(|idea, read| {
        for heading in ["What the pupil does", "What to say", "Practise next"] {
            let text = read.prose(heading);
            kind(idea.name(), &text);
            for sentence in text.split(['.', '!', '?', ':', ';', '\n']) {
                let words = sentence.split_whitespace().count();
                assert!(words <= 24, "{idea}: {sentence}");
            }
        }
    });
}

#[test]
fn every_source_of_a_page_is_listed() {
    let listed = fs::read_to_string(root("spec/sources.md")).unwrap();
    each_page(|idea, read| {
        for source in read.sources() {
            let key = source.split(", ").next().unwrap();
            let plain = source == "common practice, no source"
                || source == "ruling of this catalogue: which rule is changed, and how";
            assert!(
                plain || listed.contains(&format!("- `{key}`: ")),
                "{idea}: {source}"
            );
        }
    });
}

#[test]
fn the_pages_that_the_door_carries_are_those_of_the_misunderstandings() {
    let mut pages = Vec::new();
    each_page(|idea, read| {
        pages.push(json!({
            "name": idea.name(),
            "clause": read.head("clause"),
            "what": read.page.under("What it is"),
            "board": read.page.boards("The board")[0],
            "right": read.value("The board", "right"),
            "pupil": read.value("The board", "the pupil"),
            "does": read.page.under("What the pupil does"),
            "say": read.page.under("What to say"),
            "practise": read.prose("Practise next"),
            "deal": read.values("Practise next", "deal"),
            "sources": read.sources(),
        }));
    });
    let text = serde_json::to_string_pretty(&pages).unwrap() + "\n";
    fresh(&root("crates/fingerpost-json/src/misread.json"), &text);
    for page in pages {
        let request = json!({ "verb": "explain", "name": page["name"] }).to_string();
        let answer = valid("explain", &fingerpost_json::answer(&request));
        assert_eq!(answer["kind"], "misunderstanding");
        let shown = answer["misunderstanding"].as_object().unwrap();
        let given = page.as_object().unwrap().iter();
        for (key, value) in given.filter(|(key, _)| !["name", "clause"].contains(&key.as_str())) {
            assert_eq!(shown[key], *value, "{}: {key}", page["name"]);
        }
    }
}

#[test]
fn the_index_of_the_pages_is_fresh() {
    let mut text = "# The misunderstandings\n\n\
        Generated from the pages beside it; `UPDATE=1 cargo test --test misread` writes it anew.\n\n\
        What is known of them, and what is our ruling, is in [teaching.md](../teaching.md).\n\
        A name is for ever; the sentences are not.\n\
        Every page shows a board on which a pupil with this misunderstanding, and with no other, gives the order that stands there.\n\n\
        | misunderstanding | | breaks clause |\n|---|---|---|\n"
        .to_owned();
    each_page(|idea, read| {
        let what = Phrasebook::default().misunderstanding(idea);
        let clause = read.head("clause");
        let row = format!("| [{idea}]({idea}.md) | {what} | {clause} |\n");
        text.push_str(&row);
    });
    fresh(&root("spec/misunderstandings/README.md"), &text);
}

/// What is said of an answer on each page's board, to the teacher and to the learner.
#[test]
fn what_is_said_of_an_answer_is_kind_and_short() {
    let book = Phrasebook::default();
    each_page(|idea, read| {
        let judge = Judge::new(&read.board, &Terms::default()).unwrap();
        let told = |text: &str| {
            let judgement = judge.judge(&Answer::read(&read.board, text).unwrap());
            book.judgement(&read.board, &judge, &judgement)
        };
        let pupil = read.value("The board", "the pupil");
        for answer in [
            pupil,
            "",
            "1",
            "1 1 1",
            "1-2 9",
            read.value("The board", "right"),
        ] {
            let words = told(answer);
            assert!(
                !words.teacher.is_empty() && !words.learner.is_empty(),
                "{idea}"
            );
            for text in words.teacher.iter().chain(&words.learner) {
                // Names are names, also those that have `wrong` in them.
                let spoken = Misunderstanding::ALL
                    .iter()
                    .fold(text.clone(), |text, other| text.replace(other.name(), ""));
                kind(idea.name(), &spoken);
                assert!(text.ends_with(['.', '!']), "{text}");
                assert!(text.chars().count() <= 200, "{text}");
                assert!(!text.contains(['{', '}']), "{text}");
            }
            for text in &words.learner {
                assert!(text.chars().count() <= 110, "{text}");
            }
        }
        let teacher = told(pupil).teacher.join(" ");
        assert!(teacher.contains(idea.name()), "{teacher}");
    });
}

/// An ending may be for several times, and may be the only one: what is said of brackets holds on every board.
#[test]
fn what_is_said_of_brackets_names_no_number() {
    let of_endings = [
        Misunderstanding::FirstEndingAgain,
        Misunderstanding::SecondEndingAtOnce,
        Misunderstanding::EndingsInARow,
    ];
    each_page(|idea, read| {
        if of_endings.contains(&idea) {
            without_number(&read.prose("What to say"));
        }
    });
    for (line, answer, idea) in [
        ("|: 1 | [1,2. 2 :| [3. 3 ] | 4 |", "1 2 1 2 1 2 4", 0),
        ("|: 1 | [1. 2 :| 3 | 4 |", "1 2 1 2 3 4", 0),
        ("|: 1 | [1,2. 2 :| [3. 3 ] | 4 |", "1 3 4", 1),
        ("|: 1 | [1,2. 2 :| [3. 3 ] | 4 |", "1 2 1-2 1-4", 2),
    ] {
        let (ideas, tip) = tip_for(line, answer);
        assert_eq!(ideas, [of_endings[idea]], "{line}");
        without_number(&tip);
    }
}

fn without_number(text: &str) {
    let numbers = ["first", "second", "third"];
    let mut words = text.split(|c: char| !c.is_alphanumeric());
    assert!(
        !words.any(|word| numbers.contains(&word) || word.parse::<u32>().is_ok()),
        "{text}"
    );
}

/// The misunderstandings behind an answer, and the last thing that the learner is told.
fn tip_for(line: &str, answer: &str) -> (Vec<Misunderstanding>, String) {
    let board: Board = line.parse().unwrap();
    let judge = Judge::new(&board, &Terms::default()).unwrap();
    let judgement = judge.judge(&Answer::read(&board, answer).unwrap());
    let words = Phrasebook::default().judgement(&board, &judge, &judgement);
    let ideas = judgement.explanations[0].ideas.clone();
    (ideas, words.learner.last().unwrap().clone())
}

/// Who has been told to stop at a Fine that leads on to the coda gives the next answer that is not right.
#[test]
fn a_fine_that_leads_on_to_the_coda_is_no_place_to_stop() {
    let stop = "When D.C. or D.S. has sent you back, Fine is your goal. Stop there.";
    let go_on =
        "When D.C. or D.S. has sent you back, play up to the Fine. From there go on to the coda.";
    for (line, answer, told) in [
        ("1 | 2 Fine | 3 D.C. al Fine |", "1-3 1-3", stop),
        (
            "1 | 2 Fine | 3 D.C. al Fine poi la Coda | 4 | coda 5 | 6 |",
            "1-3 1-6",
            go_on,
        ),
        (
            "1 | segno 2 | 3 Fine | 4 D.S. al Fine poi la Coda | 5 | coda 6 | 7 |",
            "1-4 2-7",
            go_on,
        ),
    ] {
        let (ideas, tip) = tip_for(line, answer);
        assert_eq!(ideas, [Misunderstanding::FineIgnored], "{line}");
        assert_eq!(tip, told, "{line}");
    }
    let page = Read::of(Misunderstanding::FineIgnored);
    assert!(page.prose("What to say").contains("go on to the coda"));
}

/// The last thing that the learner is told.
fn last_told(line: &str, answer: &str) -> String {
    let board: Board = line.parse().unwrap();
    let judge = Judge::new(&board, &Terms::default()).unwrap();
    let judgement = judge.judge(&Answer::read(&board, answer).unwrap());
    let words = Phrasebook::default().judgement(&board, &judge, &judgement);
    words.learner.last().unwrap().clone()
}

/// Who stops at the Fine or before the segno has followed the words of the jump half way.
#[test]
fn who_stops_where_the_road_goes_on_to_the_coda_is_told_so() {
    for (line, answer, told) in [
        (
            "1 | 2 Fine | 3 D.C. al Fine poi la Coda | coda 4 |",
            "1-3 1 2",
            "When D.C. or D.S. has sent you back, play up to the Fine. From there go on to the coda.",
        ),
        (
            "1 | 2 | segno 3 | 4 D.C. al Segno poi la Coda | 5 | coda 6 |",
            "1-4 1 2",
            "When D.C. has sent you back, play up to the segno. From there go on to the coda.",
        ),
    ] {
        assert_eq!(last_told(line, answer), told, "{line}");
    }
}

/// A Fine that names its arrivals is the end whatever the jump says (rulebook 4.8): the coda is not what was missed.
#[test]
fn a_fine_with_arrivals_is_the_end_also_before_the_coda() {
    let line = "1 Fine(arrivals 2) | 2 Fine | 3 D.C. al Fine poi la Coda | coda 4 |";
    let told = last_told(line, "1 2 3 1 2 4");
    assert!(!told.contains("coda"), "{told}");
}

/// A sign with arrivals is never armed, and is obeyed at those arrivals only (rulebook 4.8): what helps is to count them.
#[test]
fn where_a_sign_names_its_arrivals_they_are_to_be_counted() {
    for (line, answer) in [
        (
            "1 | 2 D.C.(arrivals 1 3) | 3 Fine(arrivals 2) | 4 |",
            "1 2 1 2 3",
        ),
        ("|: 1 | 2 Fine(arrivals 2) | 3 :| 4 |", "1 2"),
        ("|: 1 | 2 Fine(arrivals 2) | 3 :| 4 |", "1 2 3 1 2 3 4"),
        (
            "|: 1 | 2 To Coda(arrivals 1) | 3 :| coda 4 |",
            "1 2 3 1 2 3 4",
        ),
    ] {
        let told = last_told(line, answer);
        assert!(
            told.starts_with("Count how often you come here"),
            "{line} {answer}: {told}"
        );
    }
}

/// What has left something out before, and ends where the music ends, does not break off.
#[test]
fn what_ends_where_the_music_ends_does_not_break_off() {
    for (line, answer, breaks_off) in [
        ("1 | 2 D.C.(arrivals 1 2) | 3 |", "1 2 1 2 3", false),
        ("1 | 2 D.C.(arrivals 1 2) | 3 |", "1 2 1 2 1", true),
        (
            "1 | segno 2 | 3 D.C.(arrivals 1) D.S.(arrivals 2) | 4 |",
            "1-3 1-4",
            false,
        ),
    ] {
        let board: Board = line.parse().unwrap();
        let judge = Judge::new(&board, &Terms::default()).unwrap();
        let judgement = judge.judge(&Answer::read(&board, answer).unwrap());
        assert_eq!(
            judgement.breaks_off.is_some(),
            breaks_off,
            "{line} {answer}"
        );
    }
}

/// No misunderstanding of the catalogue passes the segno by, so the words of the jump say what to do.
#[test]
fn who_passes_the_segno_of_al_segno_by_is_told_how_far_to_play() {
    let go_on = "When D.C. has sent you back, play up to the segno. From there go on to the coda.";
    let stop = "When D.C. has sent you back, play up to the segno. Stop before it.";
    for (line, answer, told) in [
        (
            "1 | segno 2 | 3 D.C. al Segno poi la Coda | 4 | coda 5 | 6 |",
            "1-3 1-6",
            go_on,
        ),
        (
            "1 | 2 | segno 3 | 4 D.C. al Segno poi la Coda | 5 | coda 6 | 7 |",
            "1-4 1-7",
            go_on,
        ),
        ("1 | 2 | segno 3 | 4 D.C. al Segno | 5 |", "1-4 1-5", stop),
    ] {
        assert_eq!(last_told(line, answer), told, "{line}");
    }
}
