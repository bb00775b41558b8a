//! How much has to be looked at to compile a route: time grows with the signs of a board, not with how often it is played.

use super::{Compiled, MOST_WORK, WalkFault, compile_within};
use crate::board::{Board, EndRepeat, Jump, Plays, Sign};
use crate::reading::Reading;
use crate::roadmap::paths::Paths;
use crate::roadmap::{Ground, Terms};

/// The route of a board when no more than so much may be looked at.
fn within(board: &Board, reading: Reading, most_work: usize) -> Result<Compiled, WalkFault> {
    let ground = Ground::new(board, &Terms::from(reading));
    let (laid, sections) = (&ground.laid, &ground.sections);
    let paths = Paths::new(laid, sections, ground.row.length(), false).unwrap();
    let route = compile_within(laid, sections, &paths, ground.reading, most_work);
    route.map(|(compiled, _)| compiled)
}

#[test]
fn a_board_without_signs_is_one_look() {
    let board: Board = "1 | 2 |".parse().unwrap();
    assert!(within(&board, Reading::default(), 1).is_ok());
    let too_few = within(&board, Reading::default(), 0);
    assert_eq!(too_few.err(), Some(WalkFault::TooLong));
}

/// `N` stands for the number of passes, `H` for half of it and `M` for one less.
const SECTIONS: [&str; 25] = [
    "|: 1 | 2 :|xN 3 D.C. |",
    "|: 1 | 2 Fine | 3 :|xN 4 D.C. al Fine |",
    "1 |: 2 Fine | [1-M. 3 :| [N. 4 ] | 5 D.C. al Fine |",
    "1 |: 2 | [1-M. 3 :| [N. 4 Fine ] | 5 D.C. al Fine |",
    "|: 1 | [1-M. 2 :| [N. 3 To Coda ] | 4 D.C. al Coda | coda 5 |",
    "|: 1 To Coda | 2 :|xN 3 D.C. al Coda | coda 4 |",
    "|: 1 To Coda:A | 2 To Coda | 3 :|xN 4 D.C.(al Coda, coda A) | coda 5 | coda:A 6 |",
    "|: 1 | 2 To Coda :|xN coda 3 |",
    "1 |: 2 | segno 3 | 4 :|xN 5 D.C. al Segno |",
    "1 | segno 2 |: 3 | 4 :|xN 5 D.S. |",
    "|: 1 D.C. | 2 :|xN 3 |",
    "|: 1 | 2 D.C. :|xN 3 |",
    "|: 1 | 2 D.C.(passes H) | 3 :|xN 4 |",
    "|: 1 | 2 D.C.(passes H M) | 3 D.C.(passes M) | 4 :|xN 5 |",
    "|: 1 | [1-3. 2 D.C.(passes 2) :| [4-M. 3 D.C.(passes H) :| [N. 4 ] | 5 |",
    "|: 1 | 2 Fine(arrivals M) | 3 :|xN 4 |",
    "|: 1 | 2 To Coda(arrivals H) | 3 :|xN coda 4 |",
    "|: 1 | 2 D.C.(arrivals 3 H) | 3 :|xN 4 |",
    "|: 1 |: 2 :|xN 3 :|xN 4 D.C. |",
    "|: 1 |: 2 Fine :|xN 3 :| 4 D.C. al Fine |",
    "|: 1 |: 2 | 3 D.C. | 4 :|xN 5 :|x4 6 |",
    "|: 1 |: 2 | 3 :|xN 4 D.C. | 5 :| 6 |",
    "|: 1 |: 2 | 3 Fine(arrivals M) | 4 :|x4 5 :|xN 6 |",
    "|: 1 |: 2 | 3 D.C.(passes 2) | 4 :| 5 :|xN 6 |",
    "1 |: 2 :|xN 3 |: 4 | 5 :|xN 6 |: 7 | 8 Fine :|xN 9 D.C. al Fine |",
];
const MILLION: i128 = 1_000_000;
/// Hand counts of such boards come to a dozen or two; a look at every pass would be a million.
const FEW_LOOKS: usize = 40;

/// Whatever acts in a section, and on whichever pass: the passes on which nothing does are taken at once, under every reading; and a route of
/// a million passes is as long as those of some passes let expect.
#[test]
fn a_section_of_a_million_passes_takes_few_looks() {
    for template in SECTIONS {
        let board = |passes: i128| -> Board {
            let line = template.replace('N', &passes.to_string());
            let line = line.replace('M', &(passes - 1).to_string());
            let line = line.replace('H', &(passes / 2).to_string());
            line.parse().unwrap()
        };
        let boards = [8, 16, 24].map(board);
        let large = board(MILLION);
        for reading in Reading::all() {
            let length = |board: &Board, work: usize| -> i128 {
                let route = within(board, reading, work);
                let route = route.unwrap_or_else(|_| panic!("{template} under {reading:?}"));
                route.length.into()
            };
            // Of sections inside sections the lengths grow with the square of the passes, and no further.
            let [a, b, c] = [0, 1, 2].map(|at| length(&boards[at], MOST_WORK));
            let steps = (MILLION - 8) / 8;
            let expected = a + steps * (b - a) + steps * (steps - 1) / 2 * (c - 2 * b + a);
            let found = length(&large, FEW_LOOKS);
            assert_eq!(found, expected, "{template} under {reading:?}");
        }
    }
}

/// Many sections in each of which a jump leads back, so that each is followed pass by pass once.
#[test]
fn many_sections_with_jumps_take_looks_in_proportion() {
    let count: u16 = 150;
    for inner in [false, true] {
        let mut board = Board::builder([count * 4]);
        for number in 0..count {
            let first = number * 4 + 1;
            let end = Sign::EndRepeat(EndRepeat {
                plays: Some(Plays::Times(3)),
                on_return: None,
            });
            board = board
                .mark(Sign::StartRepeat, first)
                .mark(Sign::DaCapo(Jump::default()), first + 2)
                .mark(end.clone(), first + 3);
            if inner {
                board = board
                    .mark(Sign::StartRepeat, first + 1)
                    .mark(end, first + 1);
            }
        }
        let most = usize::from(count) * 20;
        let route = within(&board.build().unwrap(), Reading::default(), most);
        assert!(route.is_ok(), "{inner}");
    }
}
