//! What is missing on a board and what speaks against a place, on boards gone through by hand: which cards of the hand are used, what is told.
//! Common practice, no source.

use fingerpost::{Board, DoubleBar, Fermata, Marking, Partner, Place, Sign, missing, places};

fn board(line: &str) -> Board {
    line.parse()
        .unwrap_or_else(|error| panic!("{line}: {error}"))
}

/// A board, and the sets of signs that are missing there.
type MissingRow = (&'static str, &'static [&'static [&'static str]]);

#[rustfmt::skip]
const MISSING: &[MissingRow] = &[
        (
            "{unplaced D.C. al Segno} 1 | segno 2 | 3 | 4 |",
            &[&["D.C. al Segno in hand"], &["D.S."]],
        ),
        (
            "{unplaced To Coda} 1 | 2 | 3 | coda 4 |",
            &[
                &["To Coda in hand", "D.C. al Coda"],
                &["To Coda in hand", ":|"],
            ],
        ),
        (
            "{unplaced D.C.} 1 | 2 | coda 3 |",
            &[
                &["D.C. in hand", "To Coda"],
                &["To Coda", "D.C. al Coda"],
                &[":|", "To Coda"],
            ],
        ),
        ("{unplaced segno} 1 | 2 | 3 D.S. |", &[&["segno in hand"]]),
        ("{unplaced segno:B} 1 | 2 | 3 D.S.:A |", &[&["segno:A"]]),
        (
            "{unplaced Fine} 1 | 2 | 3 D.C. al Fine |",
            &[&["Fine in hand"]],
        ),
        ("{unplaced :|} |: 1 | 2 | 3 |", &[&[":| in hand"]]),
        (
            "{unplaced To Coda} 1 | 2 D.C. al Coda | coda 3 |",
            &[&["To Coda in hand"]],
        ),
        (
            "{unplaced To Coda:B} 1 | 2 D.C.(al Coda, coda B) | coda:B 3 |",
            &[&["To Coda:B in hand"]],
        ),
        (
            "{unplaced To Coda:C} 1 | 2 D.C.(al Coda, coda B) | coda:B 3 |",
            &[&["To Coda:B"]],
        ),
        (
            "{unplaced coda} 1 To Coda | 2 D.C. al Coda | 3 |",
            &[&["coda in hand"]],
        ),
        (
            "{unplaced coda:B} 1 To Coda | 2 D.C. al Coda | 3 |",
            &[&["coda"]],
        ),
        (
            "{unplaced D.C.} 1 | segno 2 | 3 | 4 |",
            &[&["D.S."], &["D.C. al Segno"]],
        ),
        (
            "{unplaced D.C. al Coda} 1 To Coda | 2 | 3 | coda 4 |",
            &[&["D.C. al Coda in hand"], &[":|"]],
        ),
        (
            "{unplaced D.C. al Fine} 1 To Coda | 2 | 3 | coda 4 |",
            &[&["D.C. al Coda"], &[":|"]],
        ),
        (
            "{unplaced D.C. al Fine} 1 | 2 Fine | 3 |",
            &[&["D.C. al Fine in hand"]],
        ),
        (
            "{unplaced D.C. al End} 1 | 2 Fine | 3 |",
            &[&["D.C. al Fine"]],
        ),
        (
            "{unplaced To Coda:B} 1 | 2 | 3 | coda 4 |",
            &[&["To Coda", "D.C. al Coda"], &[":|", "To Coda"]],
        ),
        (
            "{unplaced D.C. al Fine then Coda} 1 | 2 Fine | 3 | coda 4 |",
            &[&["D.C. al Fine then Coda in hand"]],
        ),
        (
            "{unplaced D.C.(al Fine, then Coda, coda B)} 1 | 2 Fine | 3 | coda:C 4 |",
            &[&["D.C. al Fine then Coda:C"]],
        ),
        (
            "{unplaced [2.} |: 1 | [1. 2 :| [3. 3 ] | 4 |",
            &[&["[2. in hand", ":|"], &["[2. in hand", "D.C."]],
        ),
        (
            "{unplaced [4.} |: 1 | [1. 2 :| [3. 3 ] | 4 |",
            &[&["[2.", ":|"], &["[2.", "D.C."]],
        ),
        ("1 | 2 D.C. al Coda | coda:B 3 |", &[&["To Coda:B"]]),
        (
            "1 To Coda:B | 2 | 3 | coda:B 4 |",
            &[&["D.C. al Coda"], &[":|"]],
        ),
        (
            "1 | segno:A 2 | 3 | 4 |",
            &[&["D.S.:A"], &["D.C. al Segno:A"]],
        ),
        ("1 | 2 Fine | coda 3 |", &[&["D.C. al Fine then Coda"]]),
        (
            "|: 1 | [1. 2 :| [3. 3 ] | 4 |",
            &[&["[2.", ":|"], &["[2.", "D.C."]],
        ),
        ("|: 1 | [1. 2 :| [4. 3 ] | 4 |", &[&["[2,3.", ":|"]]),
];

/// A card of the hand that does what is missing is used before one is asked for.
#[test]
fn what_lies_in_the_hand_is_used() {
    for &(line, sets) in MISSING {
        let found = missing(&board(line)).unwrap().sets;
        let words = |it: &Partner| {
            let in_hand = if it.card.in_hand.is_some() {
                " in hand"
            } else {
                ""
            };
            format!("{}{in_hand}", it.card.sign.to_line())
        };
        let found: Vec<Vec<String>> = found
            .iter()
            .map(|set| set.signs.iter().map(words).collect())
            .collect();
        assert_eq!(found, sets, "{line}");
    }
}

/// Up to 1000 measures and 200 signs are looked through for places and for what is missing.
#[test]
fn boards_are_looked_through_up_to_a_size() {
    let sized = |measures: u16, signs: u16| {
        let bar = Sign::DoubleBar(DoubleBar::default());
        let bars = (1..=signs).map(|at| Marking::new(bar.clone(), Place::at(at)));
        Board::builder([measures]).markings(bars).build().unwrap()
    };
    let fermata = Sign::Fermata(Fermata::default());
    for (measures, signs, fits) in [(1_000, 200, true), (1_001, 0, false), (300, 201, false)] {
        let board = sized(measures, signs);
        assert_eq!(missing(&board).is_ok(), fits, "{measures} {signs}");
        assert_eq!(places(&board, &fermata).is_ok(), fits, "{measures} {signs}");
    }
}

/// What speaks against a place: there is no repeat behind the end repeat, so that an octave sign for the repeat says nothing there.
#[test]
fn what_speaks_against_a_place_is_told() {
    let repeated = board("|: 1 :| 2 |");
    let octave = Sign::from_line("8va(on repeat)").unwrap();
    let places_of_octave = places(&repeated, &octave).unwrap();
    let told = |place| {
        let found = places_of_octave.findings(place);
        found
            .iter()
            .map(|it| (it.rule, it.marking))
            .collect::<Vec<_>>()
    };
    assert_eq!(told(Place::at(1)), []);
    assert_eq!(told(Place::at(2)), [("octave-never-sounds", Some(2))]);
    // Where it may stand, the new warnings are told; where a partner is missing, that.
    for (line, sign, place, rules) in [
        (
            "|: 1 | 2 D.C. al Fine | 3 | 4 |",
            "Fine",
            1,
            &["measure-never-played"][..],
        ),
        ("|: 1 | 2 D.C. al Fine | 3 | 4 |", "Fine", 4, &[]),
        ("1 | 2 D.C. | 3 |", "coda", 3, &["coda-unused"]),
        ("1 | segno 2 | 3 D.S. | 4 |", "D.C.", 3, &["jumps-together"]),
        ("1 | segno 2 | 3 D.S. | 4 |", "D.C.", 4, &[]),
    ] {
        let board = board(line);
        let sign = Sign::from_line(sign).unwrap();
        let found = places(&board, &sign).unwrap().findings(Place::at(place));
        let found: Vec<&str> = found.iter().map(|it| it.rule).collect();
        assert_eq!(found, rules, "{sign:?} at {place} of {line}");
    }
}
