//! The line as it is written.

use super::*;

#[test]
fn a_line_in_its_written_form_stays_as_it_is() {
    for line in [
        "|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |]",
        "1 | 2 | // |: 3 | 4 :|x3 // |: 5 :| || 6 |] |]",
        "1 | [1. 2 | 3 ] | 4 || [1.(last 6) [2.(open) 5 || 6 ||",
        "[1.(last 2) 1 | [2.(id x) 2 | 3 |] 4 |](id y)",
        "1 :|(plays open, on-return skip, cut 3/8, id gate) |:(cut 1/8) 2 |]",
        "segno:B 1 To Coda:\"second coda\"(arrivals 2) | 2 D.S.:B(arrivals 1 3, passes 1-3) al Coda:\"a \\\"b\\\"\" con rep. | coda 3 |]",
        "1 Fine | 2 D.C. al Fine then Coda senza rep. | coda 3 D.C. al Segno:B then End |]",
        "{meter 6/8; meters 2 3/4} segno@4 1 Fine@3 | 2 To Coda(cut 1/16) Fine@3 |]",
        "8va(R.H., on repeat)( 1 | only(L.H., passes 1 3)( 2 fermata(pass 2) | 3 ) | 4 8vb 15mb 15ma ) |]",
        "8va( 1 | only(last 4) 2 | 3 8vb(id x) ) | 4 |]",
        "0 | 1 | \"\" | \"hut\" |]",
        "{title \"Over the Stile\"; composer \"\"; source \"own\"; levels 2 1; meter 4/4; pickup 1/4; repeats-on-return play; nested flat; unplaced Fine, [1., :|x3} 0 |]",
    ] {
        assert_eq!(board(line).to_line(), line);
    }
}

#[test]
fn one_board_has_one_line() {
    let one = board("| FINE(id a) fermata D.C. al fine poi la coda | 2 |");
    let other = board("1 fermata(both) DC(then Coda, al Fine) Fine(id a) | -");
    assert_eq!(one.to_line(), other.to_line());
    assert_eq!(
        one.to_line(),
        "1 Fine(id a) D.C. al Fine then Coda fermata | 2 |]"
    );
}
