//! What is found on a board, and what is proposed against a finding, and in what order: the whole lists, on boards small enough to be gone through by hand.
//!
//! A proposal is right when the board without the fault is one that a musician may have meant, and the list is whole when no plainer one is
//! missing. Common practice, no source; the order (the musician's ways first) is a ruling of this project.

use fingerpost::{Board, FixKind, check, fixes};

/// The board, the rule, and the boards that the fixes of its first finding give.
type Row = (&'static str, &'static str, &'static [&'static str]);

#[rustfmt::skip]
const ROWS: &[Row] = &[
        (
            "1 | segno:A 2 | segno 3 | segno 4 | 5 D.S. |",
            "label-twice",
            &[
                "1 | segno:A 2 | segno 3 | segno:B 4 | 5 D.S. |]",
                "1 | segno:A 2 | segno 3 | 4 | 5 D.S. |]",
                "1 | segno:A 2 | 3 | segno 4 | 5 D.S. |]",
            ],
        ),
        (
            "1 | segno:A 2 | segno 3 | segno 4 | 5 D.S.:A | 6 D.S. |",
            "label-twice",
            &[
                "1 | segno:A 2 | segno 3 | segno:B 4 | 5 D.S.:A | 6 D.S. |]",
                "1 | segno:A 2 | segno 3 | 4 | 5 D.S.:A | 6 D.S. |]",
                "1 | segno:A 2 | 3 | segno 4 | 5 D.S.:A | 6 D.S. |]",
            ],
        ),
        (
            "|: 1 | [1.(last 3) 2 |: 3 | 4 :| 5 |",
            "start-repeat-in-ending",
            &[
                "|: 1 | [1. 2 |: 3 | 4 :| 5 |]",
                "|: 1 | [1. 2 | 3 |: 4 :| 5 |]",
                "|: 1 | [1. 2 | 3 ] | 4 :| 5 |]",
                "|: 1 | 2 |: 3 | 4 :| 5 |]",
            ],
        ),
        (
            "|: 1 | 2 D.C.(passes 2 5) | 3 :| 4 |",
            "pass-never-reached",
            &[
                "safe: |: 1 | 2 D.C.(passes 2) | 3 :| 4 |]",
                "|: 1 | 2 D.C.(passes 2 5) | 3 :|x5 4 |]",
            ],
        ),
        (
            "|: 1 | 2 :| 8va(pass 1 2)( 3 ) | 4 |",
            "pass-never-reached",
            &[
                "safe: |: 1 | 2 :| 3 8va(pass 1) | 4 |]",
            ],
        ),
        (
            "|: 1 | [1. 2 :|x2 [2,3. 3 ] | 4 |",
            "plays-against-endings",
            &[
                "|: 1 | [1. 2 :|x2 [2. 3 ] | 4 |]",
                "|: 1 | [1. 2 :| [2,3. 3 ] | 4 |]",
                "|: 1 | [1. 2 :|x3 [2,3. 3 ] | 4 |]",
            ],
        ),
        (
            "|: 1 | [1. 2 :| [2. 3 ] |: 4 | [1. 5 :| [3. 6 ] | 7 |",
            "ending-gap",
            &[
                "|: 1 | [1. 2 :| [2. 3 |: 4 | [1. 5 :| [2. 6 ] | 7 |]",
                "|: 1 | [1. 2 :| [2. 3 |: 4 | [1,2. 5 :| [3. 6 ] | 7 |]",
            ],
        ),
        (
            "|: 1 | [1. 2 :| [4. 3 ] | 4 |",
            "ending-gap",
            &[
                "|: 1 | [1. 2 :| [2. 3 ] | 4 |]",
                "|: 1 | [1-3. 2 :| [4. 3 ] | 4 |]",
            ],
        ),
        (
            "1 | segno 2 | segno 3 | 4 D.S.:A | 5 D.S. |",
            "label-twice",
            &[
                "1 | segno 2 | segno:B 3 | 4 D.S.:A | 5 D.S. |]",
                "1 | segno 2 | 3 | 4 D.S.:A | 5 D.S. |]",
                "1 | 2 | segno 3 | 4 D.S.:A | 5 D.S. |]",
            ],
        ),
        (
            "1 | segno 2 | segno 3 | 4 D.S.:A | 5 D.S. |",
            "segno-missing",
            &[
                "1 | segno 2 | segno 3 | 4 D.S. | 5 D.S. |]",
                "1 | segno segno:A 2 | segno 3 | 4 D.S.:A | 5 D.S. |]",
                "1 | segno 2 | segno segno:A 3 | 4 D.S.:A | 5 D.S. |]",
                "1 | segno 2 | segno 3 | 4 D.C. | 5 D.S. |]",
            ],
        ),
        (
            "1 | [2. 2 ] | 3 |",
            "ending-without-repeat",
            &[
                "1 :| [2. 2 ] | 3 |]",
                "1 | [2. 2 :| 3 |]",
                "1 | 2 | 3 |]",
            ],
        ),
        (
            "|: 1 | [1. 2 |: 3 :| [2. 4 ] | 5 |",
            "ending-without-repeat",
            &[
                "|: 1 | [1. 2 :| |: 3 :| [2. 4 ] | 5 |]",
                "1 | 2 |: 3 :| [2. 4 ] | 5 |]",
                "|: 1 | 2 |: 3 :| [2. 4 ] | 5 |]",
            ],
        ),
        (
            "|: 1 | [1. 2 :| [2. 3 | segno 4 ] | 5 D.S. |",
            "landing-in-ending",
            &[
                "|: 1 | [1. 2 :| [2. 3 | 4 ] | segno 5 D.S. |]",
                "|: 1 | [1. 2 :| [2. 3 ] | segno 4 | 5 D.S. |]",
                "|: segno 1 | [1. 2 :| [2. 3 | 4 ] | 5 D.S. |]",
                "|: 1 | [1. 2 :| 3 | segno 4 | 5 D.S. |]",
            ],
        ),
        (
            "|: 1 | [1. 2 | segno 3 :| [2. 4 ] | 5 D.S. |",
            "landing-in-wrong-ending",
            &[
                "|: 1 | [1. 2 | 3 :| [2. 4 ] | segno 5 D.S. |]",
                "|: segno 1 | [1. 2 | 3 :| [2. 4 ] | 5 D.S. |]",
                "|: 1 | [1. 2 | 3 :| [2. 4 ] | 5 |]",
                "|: 1 | [1. 2 | segno 3 :| [2. 4 ] | 5 |]",
            ],
        ),
        (
            "1 | 2 To Coda | coda 3 D.C. | 4 |",
            "coda-run-into",
            &[
                "1 | 2 To Coda | 3 D.C. | coda 4 |]",
                "1 | 2 To Coda D.C. | coda 3 | 4 |]",
            ],
        ),
        (
            "1 | 2 | coda 3 D.C. | 4 |",
            "coda-unused",
            &[
                "1 To Coda | 2 D.C. al Coda | coda 3 D.C. | 4 |]",
                "1 | 2 | 3 D.C. | 4 |]",
            ],
        ),
        (
            "1 | 2 D.C. | coda 3 | 4 |",
            "coda-unused",
            &[
                "1 To Coda | 2 D.C. | coda 3 | 4 |]",
                "1 To Coda | 2 D.C. al Coda | coda 3 | 4 |]",
                "1 | 2 D.C. | 3 | 4 |]",
            ],
        ),
        (
            "1 | coda 2 |",
            "coda-unused",
            &[
                "1 | 2 |]",
            ],
        ),
        (
            "1 To Coda | 2 | coda 3 |",
            "to-coda-unused",
            &[
                "1 To Coda | 2 D.C. al Coda | coda 3 |]",
                "1 | 2 | 3 |]",
                "1 | 2 | coda 3 |]",
            ],
        ),
        (
            "1 | 2 :| 3 | 4 :| 5 |",
            "implied-start-in-doubt",
            &[
                "1 | 2 :| |: 3 | 4 :| 5 |]",
            ],
        ),
        (
            "|: 1 | 2 D.C.(arrivals 1) | 3 :| 4 |",
            "end-repeat-never-made",
            &[
                "1 | 2 D.C.(arrivals 1) | 3 | 4 |]",
                "|: 1 | 2 D.C.(arrivals 1) | 3 | 4 |]",
            ],
        ),
        (
            "|: 1 | 2 D.C. | 3 :| 4 |",
            "jump-in-section",
            &[
                "|: 1 | 2 D.C.(arrivals 2) | 3 :| 4 |]",
                "|: 1 | 2 | 3 D.C. :| 4 |]",
                "|: 1 | 2 | 3 :| 4 |]",
            ],
        ),
        (
            "|: 1 | 2 D.C.(passes 2) | 3 D.C. | 4 :| 5 |",
            "jump-in-section",
            &[
                "|: 1 | 2 D.C.(passes 2) | 3 D.C.(arrivals 2) | 4 :| 5 |]",
                "|: 1 | 2 D.C.(passes 2) | 3 | 4 D.C. :| 5 |]",
                "|: 1 | 2 D.C.(passes 2) | 3 | 4 :| 5 |]",
            ],
        ),
        (
            "|: 1 | 2 D.C.(passes 2) | 3 D.C. | 4 :| 5 |",
            "not-settled",
            &[
                "|: 1 | 2 D.C.(passes 2) senza rep. | 3 D.C. senza rep. | 4 :| 5 |]",
                "|: 1 | 2 D.C.(passes 2) con rep. | 3 D.C. con rep. | 4 :| 5 |]",
            ],
        ),
        (
            "1 | segno 2 To Coda | 3 | 4 D.S. | coda 5 | 6 |",
            "not-settled",
            &[
                "1 | segno 2 To Coda | 3 | 4 D.S. al Coda | coda 5 | 6 |]",
                "1 | segno 2 To Coda(arrivals 2) | 3 | 4 D.S. | coda 5 | 6 |]",
                "1 | segno 2 To Coda(arrivals 2) | 3 | 4 D.S. al Coda | coda 5 | 6 |]",
                "1 | segno 2 To Coda(arrivals 2) | 3 | 4 D.S. al End | coda 5 | 6 |]",
            ],
        ),
        (
            "|: 1 | 2 Fine D.C. al Fine | 8va(on repeat)( 3 ) :| 4 |",
            "octave-never-sounds",
            &[
                "safe: |: 1 | 2 Fine D.C. al Fine | 3 :| 4 |]",
                "|: 1 | 2 Fine D.C. al Fine | 3 8va :| 4 |]",
            ],
        ),
        (
            "|: 1 | 8va(pass 3)( 2 ) :| 3 |",
            "octave-never-sounds",
            &[
                "safe: |: 1 | 2 :| 3 |]",
                "|: 1 | 2 8va :| 3 |]",
            ],
        ),
        (
            "|: 1 | only(R.H., on return)( 2 ) :| 3 |",
            "hand-never-plays",
            &[
                "|: 1 | 2 only(R.H., last pass) :| 3 |]",
                "|: 1 | 2 :| 3 |]",
            ],
        ),
        (
            "|: 1 | 2 :|x1 3 |",
            "plays-once",
            &[
                "|: 1 | 2 :| 3 |]",
                "1 | 2 | 3 |]",
                "|: 1 | 2 | 3 |]",
            ],
        ),
        (
            "1 | 2 D.C. D.S. | 3 |",
            "jumps-together",
            &[
                "1 | 2 D.C.(arrivals 1) D.S.(arrivals 2) | 3 |]",
                "1 | 2 D.C.(arrivals 2) D.S.(arrivals 1) | 3 |]",
                "1 | 2 D.C. | 3 |]",
                "1 | 2 D.S. | 3 |]",
            ],
        ),
        (
            "|: 1 |: 2 :| 3 :| 4 |",
            "nested-sections",
            &[
                "|: 1 :| |: 2 :| |: 3 :| 4 |]",
                "1 |: 2 :| 3 | 4 |]",
                "|: 1 | 2 | 3 :| 4 |]",
            ],
        ),
        (
            "1 | 2 Fine(arrivals 5) | 3 D.C. al Fine | 4 |",
            "fine-never-met",
            &[
                "1 | 2 Fine | 3 D.C. al Fine | 4 |]",
            ],
        ),
        (
            "1 | 2 To Coda(arrivals 7) | 3 D.C. al Coda | coda 4 |",
            "to-coda-never-met",
            &[
                "1 | 2 To Coda | 3 D.C. al Coda | coda 4 |]",
            ],
        ),
        (
            "1 |: 2 Fine(arrivals 1) :| 3 | 4 Fine | 5 D.C. al Fine |",
            "end-repeat-never-made",
            &[
                "1 |: 2 Fine(arrivals 2) :| 3 | 4 Fine | 5 D.C. al Fine |]",
                "1 |: 2 :| 3 | 4 Fine | 5 D.C. al Fine |]",
                "1 | 2 Fine(arrivals 1) | 3 | 4 Fine | 5 D.C. al Fine |]",
                "1 |: 2 Fine(arrivals 1) | 3 | 4 Fine | 5 D.C. al Fine |]",
            ],
        ),
        (
            "|: 1 | [1. 2 :| [2. 3 :| 4 | 5 |",
            "end-repeat-in-last-ending",
            &[
                "|: 1 | [1. 2 :| [2. 3 :| [3. 4 ] | 5 |]",
                "|: 1 | [1. 2 :| [2. 3 ] | 4 | 5 |]",
            ],
        ),
        (
            "1 | segno:A 2 | 3 D.S.:B | 4 |",
            "segno-unused",
            &[
                "1 | segno:A 2 | 3 D.S.:B | 4 D.S.:A |]",
                "1 | 2 | 3 D.S.:B | 4 |]",
            ],
        ),
        (
            "1 | segno:A 2 | 3 D.S.:B | 4 |",
            "segno-missing",
            &[
                "safe: 1 | segno:A 2 | 3 D.S.:A | 4 |]",
                "1 | segno:A segno:B 2 | 3 D.S.:B | 4 |]",
                "1 | segno:A 2 | 3 D.C. | 4 |]",
                "segno:B 1 | segno:A 2 | 3 D.S.:B | 4 |]",
            ],
        ),
        (
            "1 To Coda:A | 2 D.C. al Coda | coda:B 3 |",
            "coda-missing",
            &[
                "safe: 1 To Coda:B | 2 D.C. al Coda | coda:B 3 |]",
                "1 To Coda:A | 2 D.C. al Coda | coda:A coda:B 3 |]",
                "1 | 2 D.C. | coda:B 3 |]",
                "1 To Coda:A | coda:A 2 D.C. al Coda | coda:B 3 |]",
            ],
        ),
        (
            "1 To Coda:A | 2 D.C. al Coda | coda:B 3 |",
            "coda-unused",
            &[
                "1 To Coda:A To Coda:B | 2 D.C. al Coda | coda:B 3 |]",
                "1 To Coda:A | 2 D.C. al Coda | 3 |]",
            ],
        ),
        (
            "1 | 2 | 3 D.S. al Fine | 4 Fine |",
            "segno-missing",
            &[
                "1 | segno 2 | 3 D.S. al Fine | 4 Fine |]",
                "1 | 2 | 3 D.C. al Fine | 4 Fine |]",
                "segno 1 | 2 | 3 D.S. al Fine | 4 Fine |]",
                "1 | 2 | 3 | 4 Fine |]",
            ],
        ),
        (
            "1 | segno 2 | 3 | 4 |",
            "segno-unused",
            &[
                "1 | segno 2 | 3 | 4 D.S. |]",
                "1 | segno 2 | 3 D.S. | 4 |]",
                "1 | 2 | 3 | 4 |]",
            ],
        ),
        (
            "1 | 2 D.C. al Coda | coda 3 |",
            "to-coda-missing",
            &[
                "1 To Coda | 2 D.C. al Coda | coda 3 |]",
                "1 | 2 D.C. | coda 3 |]",
                "1 | 2 | coda 3 |]",
            ],
        ),
        (
            "1 | 2 D.C. al Fine | 3 |",
            "fine-missing",
            &[
                "1 | 2 D.C. | 3 |]",
                "1 Fine | 2 D.C. al Fine | 3 |]",
                "1 | 2 Fine D.C. al Fine | 3 |]",
                "1 | 2 | 3 |]",
            ],
        ),
        (
            "|: 1 | 2 |: 3 :| 4 |",
            "start-repeat-unclosed",
            &[
                "|: 1 | 2 :| |: 3 :| 4 |]",
                "|: 1 :| 2 |: 3 :| 4 |]",
                "1 | 2 |: 3 :| 4 |]",
            ],
        ),
        (
            "|: 1 | [1-3. 2 :| [2. 3 :| [4. 4 ] | 5 |",
            "ending-pass-twice",
            &[
                "|: 1 | [1-3. 2 :| [4. 3 :| [5. 4 ] | 5 |]",
                "|: 1 | [1,3. 2 :| [2. 3 :| [4. 4 ] | 5 |]",
                "|: 1 | [1-3. 2 :| 3 :| [4. 4 ] | 5 |]",
            ],
        ),
        (
            "1 | 2 Fine | 3 D.C. al Fine | fermata(on return) 4 D.C. |",
            "measure-never-played",
            &[
                "1 | 2 Fine | 3 | 4 D.C. fermata(on return) |]",
            ],
        ),
];

#[test]
fn what_is_proposed_is_what_a_musician_may_have_meant() {
    for &(line, rule, expected) in ROWS {
        let board: Board = line.parse().unwrap();
        let found = check(&board);
        let finding = found.iter().find(|it| it.rule == rule);
        let finding = finding.unwrap_or_else(|| panic!("{line} has no {rule}"));
        let proposed: Vec<String> = fixes(&board, finding)
            .iter()
            .map(|fix| {
                let safe = if fix.kind == FixKind::Safe {
                    "safe: "
                } else {
                    ""
                };
                format!("{safe}{}", fix.apply(&board).unwrap().to_line())
            })
            .collect();
        assert_eq!(proposed, expected, "{rule} of {line}");
    }
}

/// The measures and rules of all that is found on a board: nothing else is wrong with it, in doubt or in vain.
#[rustfmt::skip]
const FOUND: &[(&str, &[&str])] = &[
    ("1 |: 2 |: 3 :| 4 :| 5 |", &["3 nested-sections"]),
    ("1 | 2 :| 3 | 4 :| 5 |", &["4 implied-start-in-doubt"]),
    ("1 |: 2 :| 3 | 4 |", &[]),
    ("1 | 8va( 2 | 3 ) | 15ma( 4 ) | 5 |", &[]),
    ("1 | 8va 15ma 2 | 3 |", &["2 octaves-too-far"]),
    ("1 | 8va 8vb 2 | 3 |", &["2 octaves-contradict"]),
    ("1 | 15mb 15mb(L.H.) 2 | 3 |", &["2 octaves-too-far"]),
    ("1 | 15ma 15ma(R.H.) 8vb 2 | 3 |", &["2 octaves-too-far", "2 octaves-contradict"]),
    ("1 | only(R.H.) 8va(L.H.) 2 | 3 |", &["2 only-without-effect"]),
    ("1 |: only(R.H., pass 1) 8va(L.H., pass 1) 2 :| 3 |", &[]),
    ("1 |: only(R.H., pass 1) 8va(L.H., pass 2) 2 :| 3 |", &[]),
    ("1 |: [1. 2 :| [2. fermata(pass 1) 3 ] | 4 |", &["2 start-repeat-in-ending"]),
    ("1 |: 2 | [1. 3 :| [2. fermata(on return) 4 ] | 5 |", &["4 fermata-never-held"]),
    ("1 |: 2 | 3 :|(plays open) 4 |", &["3 no-fixed-length"]),
    ("1 |: 2 | [1. 3 :|(plays open) [2. 4 ] | 5 |", &["3 plays-against-endings"]),
    ("1 |: 2 | [1,2. 3 | 4 ] | 5 :| 6 |", &["3 ending-on-every-pass"]),
    ("1 |: [1,2. 2 ] | 3 | [1. 4 :| [2. 5 ] | 6 |", &["2 start-repeat-in-ending", "2 ending-on-every-pass"]),
    ("1 |: 2 | [1. 3 | 4 | 5 :| [2. 6 ] |", &[]),
    ("1 | 2 D.C. al Fine | 3 D.C. al Coda | 4 |", &["2 fine-missing", "3 to-coda-missing", "3 coda-missing"]),
    ("1 | segno 2 To Coda | 3 Fine | 4 D.S. al Coda | coda 5 |", &["3 fine-never-met"]),
    ("1 | segno 2 | segno:B 3 | 4 D.S. | 5 D.S.:B | 6 |", &[]),
    ("1 To Coda | 2 To Coda | 3 D.C. al Coda | coda 4 | 5 |", &["2 to-coda-never-met"]),
    ("1 | 2 D.C. | 3 D.C. | 4 |", &[]),
    ("1 |: 2 D.C. | 3 :| 4 |", &["2 jump-in-section", "4 not-settled"]),
    ("1 |: 2 To Coda | 3 :| 4 D.C. al Coda | coda 5 |", &["3 not-settled", "5 not-settled"]),
    ("1 |: 2 Fine | 3 :| 4 D.C. al Fine | 5 |", &["2 not-settled", "5 measure-never-played"]),
    ("1 |: 2 | [1. 3 segno :| 4 |", &["3 segno-unused"]),
    ("1 |: 2 | [1. segno 3 :| [2. 4 ] | 5 D.S. | 6 |", &["5 landing-in-wrong-ending"]),
    ("segno 1 | 2 D.S. | 3 |", &["2 dal-segno-to-start"]),
    ("1 | 2 D.S. | segno 3 | 4 |", &["2 segno-after-jump"]),
    ("1 | coda 2 | 3 To Coda | 4 D.C. al Coda | 5 |", &["3 coda-before-to-coda"]),
    ("1 |: 2 :|x1 3 |: 4 :|x2 5 |", &["2 plays-once"]),
    ("1 |: 2 | [1. 3 :|x2 [2. 4 ] | 5 |", &[]),
    ("1 |: 2 | [1. 3 :|x3 [2. 4 ] | 5 |", &["3 plays-against-endings"]),
    ("1 |: 2 | [2. 3 :| [1. 4 :| 5 |", &["3 end-repeat-in-last-ending", "4 endings-out-of-order"]),
    ("1 |: 2 | [1. 3 :| [2. 4 :| [3. 5 :| 6 |", &["5 end-repeat-in-last-ending"]),
    ("1 |: 2 | 3 D.C.(arrivals 9) :| 4 |", &["3 jump-never-obeyed"]),
    ("1 | 2 D.C.(arrivals 2) | 3 |", &["2 jump-never-obeyed"]),
    ("1 | 2 D.C. al Segno | segno 3 | 4 |", &["3-4 measure-never-played"]),
    ("1 | segno 2 | 3 D.C. al Segno | 4 |", &["4 measure-never-played"]),
    ("|: 1 |: 2 |: 3 :| 4 :| 5 :| 6 |", &["2 nested-sections", "3 nested-sections"]),
    ("1 | 2 Fine | 3 |: 4 :| 5 D.C. al Fine |", &[]),
    ("1 |: 2 fermata(last pass) :| fermata(on repeat) 3 |", &["3 fermata-never-held"]),
    ("1 | 2 | 3 :| 4 | 5 :|x3 6 |", &["5 implied-start-in-doubt"]),
    ("1 || 2 :| 3 | 4 :| 5 |", &["2 implied-start-in-doubt", "4 implied-start-in-doubt"]),
    ("1 Fine | 2 D.C. al Fine | 3 | 4 D.C. al Fine | 5 |", &["3-5 measure-never-played"]),
    ("1 | segno 2 :| 3 Fine | 4 D.S. al Fine |", &["3 not-settled"]),
];

#[test]
fn what_is_found_is_all_that_there_is_to_say() {
    for &(line, expected) in FOUND {
        let board: Board = line.parse().unwrap();
        let found: Vec<String> = check(&board)
            .iter()
            .map(|it| match (it.measure, it.last) {
                (Some(first), Some(last)) => format!("{first}-{last} {}", it.rule),
                (Some(measure), None) => format!("{measure} {}", it.rule),
                _ => it.rule.to_owned(),
            })
            .collect();
        assert_eq!(found, expected, "{line}");
    }
}
