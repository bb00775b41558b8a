//! Boards written as MusicXML scores and read back: every board of the rulebook, the pages of which carry their sources.

use std::collections::BTreeSet;

use fingerpost::{Board, Marking, NamedReading, Place, Roadmap, Sign, Terms};
use fingerpost_notation::{ReadOptions, SignsFrom, read, read_with, write_musicxml};

#[path = "support/rulebook.rs"]
mod rulebook;

use rulebook::rulebook;

/// Routes longer than this are compared by their length only.
const WALKED: usize = 10_000;

fn markings(board: &Board) -> Vec<(Sign, Place)> {
    let mut seen = Vec::new();
    for marking in board.canonical().markings() {
        // A landing cut at the very start of its measure cuts nothing (clause 8.5).
        let place = marking.place();
        let cuts = place.cut().is_some_and(|cut| cut.numerator() > 0);
        let lands = matches!(
            marking.sign(),
            Sign::StartRepeat | Sign::Segno(_) | Sign::Coda(_)
        );
        let place = if lands && !cuts {
            Place::at(place.first())
        } else {
            place
        };
        let pair = (marking.sign().clone(), place);
        // The same sign twice at one place is one sign; a final barline at the end of the board is the board's own.
        let is_end =
            matches!(marking.sign(), Sign::DoubleBar(_)) && marking.measure() == board.measures();
        if !seen.contains(&pair) && !is_end {
            seen.push(pair);
        }
    }
    seen
}

/// Whether every label on the board tells signs apart: one name alone is not read back.
fn labels_matter(board: &Board) -> bool {
    let labels = |of: fn(&Sign) -> Option<&Option<String>>| -> usize {
        let signs = board.markings().iter().map(Marking::sign);
        signs.filter_map(of).collect::<BTreeSet<_>>().len()
    };
    let segnos = labels(|sign| match sign {
        Sign::Segno(landing) => Some(&landing.label),
        _ => None,
    });
    let codas = labels(|sign| match sign {
        Sign::Coda(landing) => Some(&landing.label),
        _ => None,
    });
    let has_label = board.markings().iter().any(|marking| match marking.sign() {
        Sign::Segno(landing) | Sign::Coda(landing) => landing.label.is_some(),
        Sign::DalSegno(jump) => jump.label.is_some(),
        Sign::ToCoda(to_coda) => to_coda.label.is_some(),
        _ => false,
    });
    has_label && (segnos < 2 || codas < 2)
}

/// What comes out of a board: the beginning of its order and its length, or the rules that it breaks.
fn outcome(board: &Board) -> Result<(Vec<u16>, u64), Vec<&'static str>> {
    match Roadmap::new(
        board,
        &Terms {
            open_plays: Some(2),
            ..Terms::default()
        },
    ) {
        Ok(roadmap) => {
            let order = roadmap
                .steps()
                .take(WALKED)
                .map(|step| step.measure)
                .collect();
            Ok((order, roadmap.length()))
        }
        Err(_) => Err(fingerpost::check(board)
            .iter()
            .filter(|finding| finding.severity == fingerpost::Severity::Error)
            .map(|finding| finding.rule)
            .collect()),
    }
}

#[test]
fn a_score_reads_back_as_its_board() {
    let (mut same, mut wrong) = (0, Vec::new());
    for (id, board) in rulebook() {
        let written = write_musicxml(&board);
        let scores = match read(written.text.as_bytes()) {
            Ok(scores) => scores,
            Err(error) => {
                wrong.push(format!("{id}: {error}"));
                continue;
            }
        };
        let [score] = scores.as_slice() else {
            wrong.push(format!("{id}: {} scores", scores.len()));
            continue;
        };
        // What is written in words only is read from them.
        let in_words = |message: &str| message.ends_with("in words only");
        if !written
            .notices
            .iter()
            .all(|notice| in_words(&notice.message))
        {
            continue;
        }
        same += 1;
        if outcome(&score.board) != outcome(&board) {
            wrong.push(format!(
                "{id}: {:?} and not {:?}\n  {}\n  {}",
                outcome(&score.board),
                outcome(&board),
                score.board.to_line(),
                board.to_line()
            ));
        } else if !labels_matter(&board) && markings(&score.board) != markings(&board) {
            wrong.push(format!(
                "{id}:\n  {}\n  {}",
                score.board.to_line(),
                board.to_line()
            ));
        }
    }
    assert!(
        wrong.is_empty(),
        "{} of {same}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
    assert!(same > 250, "{same} boards");
}

/// A program that goes by the instructions for playing plays the written score as the board is played under the reading `musicxml`, or it is told
/// what no instruction says.
#[test]
fn instructions_say_the_order_or_it_is_told() {
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::from(NamedReading::MusicXml)
    };
    let mut literal = ReadOptions::default();
    literal.signs_from = SignsFrom::Sound;
    let mut wrong = Vec::new();
    let lines = [
        "1 | 2 :| 3 D.C. con rep. |",
        "1 | 2 :| 3 Fine | 4 D.C. al Fine con rep. | 5 |",
        "1 Fine | 2 D.C. al Fine then Coda | coda 3 |",
        "1 To Coda | 2 Fine | 3 D.C. al Fine | coda 4 |",
        "1 | 2 :|(on-return play) 3 D.C. senza rep. |",
        "|: 1 :| 2 D.C. con rep. | |: 3 :| 4 D.C. |",
        "|: 1 :| |: 2 :|(on-return skip) 3 D.C. con rep. |",
    ];
    let by_hand = lines.iter().map(|line| {
        let board: Board = line.parse().expect("a board");
        ((*line).to_owned(), board)
    });
    for (id, board) in by_hand.chain(rulebook()) {
        let written = write_musicxml(&board);
        let Ok(roadmap) = Roadmap::new(&board, &terms) else {
            continue;
        };
        let scores = read_with(written.text.as_bytes(), &literal).expect("a score");
        let told = !written.notices.is_empty();
        let heard = Roadmap::new(&scores[0].board, &terms)
            .map(|roadmap| {
                roadmap
                    .steps()
                    .take(WALKED)
                    .map(|step| step.measure)
                    .collect::<Vec<_>>()
            })
            .unwrap_or_default();
        let meant: Vec<_> = roadmap
            .steps()
            .take(WALKED)
            .map(|step| step.measure)
            .collect();
        if heard != meant && !told {
            let show = |order: &[u16]| format!("{:?}", order.iter().take(40).collect::<Vec<_>>());
            wrong.push(format!(
                "{id}: {}\n  {} and not {}",
                board.to_line(),
                show(&heard),
                show(&meant)
            ));
        }
    }
    assert!(wrong.is_empty(), "{}:\n{}", wrong.len(), wrong.join("\n"));
}

/// Where each end repeat says it too, "con rep." says no more than the instructions do.
#[test]
fn a_program_that_reads_no_words_is_told_of_con_rep() {
    let mut literal = ReadOptions::default();
    literal.signs_from = SignsFrom::Sound;
    for (line, says_more) in [
        ("1 | 2 :| 3 D.C. con rep. |", false),
        ("1 | 2 :| 3 Fine | 4 D.C. al Fine con rep. |", true),
        ("|: 1 :| 2 D.C. con rep. | |: 3 :| 4 D.C. |", true),
    ] {
        let board: Board = line.parse().expect("a board");
        let text = write_musicxml(&board).text;
        let scores = read_with(text.as_bytes(), &literal).expect("a score");
        assert_eq!(!scores[0].notices.is_empty(), says_more, "{line}");
    }
}

/// A cut that the board has no room for (clause 10.17) and brackets that overlap are not passed over in silence; a landing at the very
/// start is no cut.
#[test]
fn signs_that_no_score_can_have_are_told() {
    for (line, told) in [
        ("1 | 2 :|(cut 1/2) 3 |", true),
        ("{meter 4/4} 1 | 2 :|(cut 5/4) 3 |", true),
        ("{meter 4/4} 1 | 2 :|(cut 0/1) 3 |", true),
        ("{meter 4/4} 1 | 2 :|(cut 1/2) 3 |", false),
        ("{meter 4/4} 1 |:(cut 0/1) 2 | 3 :|", false),
        ("|: 1 | [1.(last 4) 2 | [2. 3 :| 4 |", true),
        ("1 Fine Fine(arrivals 1) | 2 D.C. al Fine |", true),
        (
            "|: 1 | 2 D.C.(passes 1) D.C. con rep.(passes 2) | 3 :|",
            true,
        ),
        ("|: 1 | 2 D.C.(passes 1) D.S.(passes 2) | segno 3 :|", false),
        ("1 | 2 :| 3 D.C. con rep. |", false),
        ("1 | 2 :| 3 Fine | 4 D.C. al Fine con rep. | 5 |", false),
        ("1 | 2 :|(on-return play) 3 D.C. con rep. |", true),
        ("1 | 2 :|(on-return play) 3 D.C. senza rep. |", true),
        ("1 Fine | 2 D.C. al Fine then Coda | coda 3 |", true),
        ("1 | 2 To Coda | 3 D.C. al Coda | coda 4 Fine |", false),
    ] {
        let board: Board = line.parse().expect("a board");
        let written = write_musicxml(&board);
        assert_eq!(!written.notices.is_empty(), told, "{line}");
        let scores = read(written.text.as_bytes()).expect("a score");
        if !told {
            assert_eq!(outcome(&scores[0].board), outcome(&board), "{line}");
        }
    }
}
