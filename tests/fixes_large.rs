//! Fixes of large boards: how many findings get any, and that none takes long.

use fingerpost::{
    Al, Board, CheckOptions, EndRepeat, Ending, FULLY_FIXED, Fermata, Fine, Jump, Landing,
    MOST_FINDINGS_FIXED, Passes, Plays, Sign, When, check, fixes_of_all, safe_fix, safe_fixes,
};

#[test]
fn only_the_first_findings_of_a_large_board_get_fixes() {
    let only_fines = |measures: u16| {
        let builder = Board::builder([measures]);
        let board = (1..measures).fold(builder, |board, at| {
            board.mark(Sign::Fine(Fine::default()), at)
        });
        board.build().unwrap()
    };
    let fixed = |board: &Board| {
        let findings = check(board);
        let fixes = fixes_of_all(board, &findings, &CheckOptions::default());
        assert_eq!(fixes.len(), findings.len());
        let count = fixes.iter().take_while(|fixes| !fixes.is_empty()).count();
        assert!(fixes.iter().skip(count).all(Vec::is_empty));
        count
    };
    let full = u16::try_from(FULLY_FIXED / 2).unwrap();
    assert_eq!(fixed(&only_fines(full)), MOST_FINDINGS_FIXED);
    assert_eq!(fixed(&only_fines(4 * full)), MOST_FINDINGS_FIXED / 4);
    assert_eq!(fixed(&only_fines(18 * full)), MOST_FINDINGS_FIXED / 18);
}

/// Boards of the worst kinds get their fixes in no time.
#[test]
fn fixes_of_large_boards_are_found() {
    const MEASURES: u16 = 40_000;
    let all = |sign: &dyn Fn(u16) -> Sign| {
        let builder = Board::builder([MEASURES]).mark(Sign::StartRepeat, 1);
        let board = (2..MEASURES).fold(builder, |board, at| board.mark(sign(at), at));
        board.build().unwrap()
    };
    let jump = |_| Sign::DaCapo(Jump::default());
    let end = |_| {
        Sign::EndRepeat(EndRepeat {
            plays: Some(Plays::Times(1_000_000)),
            on_return: None,
        })
    };
    let segno = |at: u16| {
        Sign::DalSegno(Jump {
            label: Some(at.to_string()),
            al: Some(Al::Coda),
            ..Jump::default()
        })
    };
    let ending = |at: u16| {
        Sign::Ending(Ending {
            passes: Passes::of([u32::from(at) - 1]).unwrap(),
            open: false,
        })
    };
    for board in [all(&jump), all(&end), all(&segno), all(&ending)] {
        let findings = check(&board);
        let fixes = fixes_of_all(&board, &findings, &CheckOptions::default());
        assert_eq!(fixes.len(), findings.len());
        let _ = safe_fix(&board, &findings);
        let _ = safe_fixes(&board);
    }
}

/// Safe fixes are made at once, however many there are.
#[test]
fn thousands_of_safe_fixes_are_made_at_once() {
    let equal = (0..10_000).fold(Board::builder([4]), |board, _| {
        board.mark(Sign::Fine(Fine::default()), 2)
    });
    // No return comes by the fermatas: the D.S. goes back to its own measure.
    let there = Board::builder([10_001])
        .mark(Sign::Segno(Landing::default()), 10_001)
        .mark(Sign::DalSegno(Jump::default()), 10_001);
    let idle = (1..=10_000).fold(there, |board, at| {
        let fermata = Fermata {
            when: When::OnReturn,
            ..Fermata::default()
        };
        board.mark(Sign::Fermata(fermata), at)
    });
    for (board, safe) in [(equal, 9_999), (idle, 10_000)] {
        let found = safe_fixes(&board.build().unwrap());
        assert_eq!((found.fixes.len(), found.broken_off), (safe, false));
    }
}
