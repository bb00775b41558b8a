//! The words, and what is written beside them.

use super::super::super::*;
use super::*;

#[test]
fn words_are_free_in_case_and_dots() {
    let kinds = |line: &str| places(line).join(", ");
    assert_eq!(kinds("segno SEGNO"), "segno 1, segno 1");
    assert_eq!(
        kinds("coda Coda To Coda TO CODA to coda"),
        "coda 1, coda 1, to-coda 1, to-coda 1, to-coda 1"
    );
    assert_eq!(
        kinds("D.C. D.C DC d.c. Da Capo"),
        ["da-capo 1"; 5].join(", ")
    );
    assert_eq!(
        kinds("D.S. D.S DS d.s. dal segno"),
        ["dal-segno 1"; 5].join(", ")
    );
    assert_eq!(
        kinds("Fine FINE fermata only"),
        "fine 1, fine 1, fermata 1, only 1"
    );
    let shifts = |line: &str| -> Vec<i8> {
        let board = board(line);
        let shift = |m: &Marking| match m.sign() {
            Sign::Octave(octave) => octave.shift.octaves(),
            other => panic!("{other:?}"),
        };
        board.markings().iter().map(shift).collect()
    };
    assert_eq!(shifts("8va 8vb 8ba 8va bassa 8VA"), [1, -1, -1, -1, 1]);
    assert_eq!(shifts("15ma 15mb 15vb 15ma bassa"), [2, -2, -2, -2]);
}

#[test]
fn unknown_words_are_refused_with_the_nearest_sign() {
    assert_eq!(
        only_complaint("1 | 2 fin"),
        "fin: `fin` is no sign; did you mean `Fine`?"
    );
    assert_eq!(
        only_complaint("1 ToCoda"),
        "ToCoda: `ToCoda` is no sign; did you mean `To Coda`?"
    );
    assert_eq!(
        only_complaint("1 To | 2"),
        "To: `To` alone is no sign; did you mean `To Coda`?"
    );
    assert_eq!(
        only_complaint("1 D. C. al Fine(arrivals 2) | 2"),
        "D. C.: `D. C.` is no sign; did you mean `D.C.`?"
    );
    assert_eq!(
        only_complaint("1 D. S.:A al Coda | 2"),
        "D. S.: `D. S.` is no sign; did you mean `D.S.`?"
    );
    assert_eq!(only_complaint("1 hut"), "hut: `hut` is no sign");
    assert!(only_complaint("1 sengo").contains("`segno`"));
    assert!(only_complaint("1 Fine al").contains("stands after `D.C.` or `D.S.` only"));
    let error = Board::from_line("1 hut").unwrap_err();
    assert!(
        error.complaints()[0]
            .accepted
            .as_ref()
            .unwrap()
            .contains("D.S.")
    );
}

#[test]
fn jumps_say_how_far_and_what_then() {
    let al = |line| jump(line).al;
    assert_eq!(al("D.C."), None);
    assert_eq!(al("D.C. al Fine"), Some(Al::Fine));
    assert_eq!(al("D.S. AL CODA"), Some(Al::Coda));
    assert_eq!(al("D.C. al Segno"), Some(Al::Segno));
    assert_eq!(al("D.C. al End"), Some(Al::End));
    assert_eq!(al("D.S.(al coda)"), Some(Al::Coda));
    let full = Jump {
        al: Some(Al::Coda),
        then: None,
        coda: Some("B".into()),
        label: Some("A".into()),
        repeats: Some(Repeats::Play),
        arrivals: Some(of(&[1, 3])),
        passes: Some(of(&[1, 2])),
    };
    assert_eq!(
        jump("D.S.(al Coda, coda B, arrivals 1 3, passes 1-2, repeats play, label A)"),
        full
    );
    assert_eq!(
        jump("D.S.:A al Coda:B con rep. (arrivals 3 1, pass 1-2)"),
        full
    );
    assert_eq!(
        jump("D.S.:A(arrivals 1 3, passes 2 1) con rep. al Coda:B"),
        full
    );
    let then = |line| (jump(line).al, jump(line).then, jump(line).coda);
    let fine_then_coda = (Some(Al::Fine), Some(Then::Coda), None);
    assert_eq!(then("D.C. al Fine then Coda"), fine_then_coda);
    assert_eq!(then("D.C. al Fine poi la Coda"), fine_then_coda);
    assert_eq!(then("D.C. al Fine e poi la Coda"), fine_then_coda);
    assert_eq!(then("D.C.(then coda, al fine)"), fine_then_coda);
    assert_eq!(then("D.C. al Fine then End").1, Some(Then::End));
    assert_eq!(then("D.C. al Segno then Coda:B").2, Some("B".into()));
    assert_eq!(
        jump("D.C. al Segno:\"the stile\"").label,
        Some("the stile".into())
    );
    assert_eq!(jump("D.C. senza rep").repeats, Some(Repeats::Skip));
    assert_eq!(jump("D.C. senza ripetizione al Fine").al, Some(Al::Fine));
    assert_eq!(places("D.C. al Fine Fine"), ["da-capo 1", "fine 1"]);
}

#[test]
fn jumps_are_refused_what_they_cannot_have() {
    assert!(only_complaint("D.C. al Fin").contains("did you mean `Fine`?"));
    assert!(only_complaint("D.C. al").contains("lacks its value"));
    assert!(only_complaint("D.C. al Fine(al Coda)").contains("`al` twice"));
    assert!(only_complaint("D.S.:A(label A)").contains("`label` twice"));
    assert!(only_complaint("D.S. al Coda:A(coda B)").contains("`coda` twice"));
    assert!(only_complaint("D.C. con").contains("`rep.` is missing"));
    assert_eq!(
        only_complaint("D.C. al Fine senza replica"),
        "replica: `replica` cannot stand after `senza`; did you mean `senza rep.`?"
    );
    assert!(only_complaint("D.C. con rep. senza rep.").contains("`repeats` twice"));
    assert!(only_complaint("D.S. al Segno").contains("al Segno goes with D.C. only"));
    assert!(only_complaint("D.C.:A al Fine").contains("has no label"));
    assert!(only_complaint("D.C. al Coda then Coda").contains("`then` goes with"));
    assert!(only_complaint("D.C.(coda A)").contains("names the coda"));
    assert!(only_complaint("D.C.(plays 2)").starts_with("plays: `plays` is no key of `D.C.`"));
    assert!(only_complaint("D.C.(arival 2)").contains("did you mean `arrivals`?"));
    assert!(only_complaint("D.C.(arrivals)").contains("lacks its numbers"));
    assert!(only_complaint("D.C.(arrivals one)").contains("`one` is no number"));
    assert!(only_complaint("D.C.(al Fine").contains("are not closed"));
    assert!(only_complaint("D.C.(al Fine | 2 |").contains("are not closed"));
    assert!(only_complaint("D.C.()").contains("a key of `D.C.` is missing"));
    assert!(only_complaint("D.C.(al Fine Coda)").contains("one word too many"));
    assert_eq!(
        complaints("D.C.(al Fin, arrivals 0, id x) | 2 fin").len(),
        3
    );
}

#[test]
fn labels_and_ids() {
    assert_eq!(
        sign("segno:B"),
        Sign::Segno(Landing {
            label: Some("B".into())
        })
    );
    assert_eq!(
        sign("coda:\"\""),
        Sign::Coda(Landing {
            label: Some(String::new())
        })
    );
    assert_eq!(sign("coda(label B)"), sign("coda:B"));
    let to_coda = ToCoda {
        label: Some("B".into()),
        arrivals: Some(of(&[2])),
    };
    assert_eq!(sign("To Coda:B(arrivals 2)"), Sign::ToCoda(to_coda));
    assert_eq!(
        sign("Fine(arrivals 1-3)"),
        Sign::Fine(Fine {
            arrivals: Some(of(&[1, 2, 3]))
        })
    );
    for line in [
        "|:(id x) 1",
        "1 ||(id x) 2",
        "1 :|(id x)",
        "segno(id x)",
        "1 D.C. al Fine(id x)",
        "8va(id \"x\")",
    ] {
        assert_eq!(board(line).markings()[0].id(), Some("x"), "{line}");
    }
    assert!(only_complaint("Fine:B").contains("has no label"));
    assert!(only_complaint("segno: B").contains("no label right after it"));
    assert!(only_complaint("1 segno : | 2").contains("follows no word"));
    let long = format!("segno:{}", "x".repeat(61));
    assert!(only_complaint(&long).contains("`label` has 61 characters"));
}

#[test]
fn beats_cut_measures() {
    assert_eq!(
        places("{meter 4/4} segno@3 | 2 Fine@3"),
        ["segno 1 cut 1/2", "fine 2 cut 3/4"]
    );
    assert_eq!(
        places("{meter 6/8} coda:B@1 To Coda:B@6"),
        ["coda 1 cut 0/1", "to-coda 1 cut 3/4"]
    );
    assert_eq!(
        places("{meter 4/4; meters 2 6/8} D.C.@1 | D.S.:B@1 al Fine"),
        ["da-capo 1 cut 1/4", "dal-segno 2 cut 1/8"]
    );
    assert_eq!(
        places("|:(cut 3/8) 1 | 2 :|(cut 5/8) Fine(cut 1/4)"),
        [
            "start-repeat 1 cut 3/8",
            "end-repeat 2 cut 5/8",
            "fine 3 cut 1/4",
        ]
    );
    assert!(only_complaint("Fine@3").contains("the board has no meter"));
    assert!(only_complaint("{meter 4/4} Fine@0").contains("no beat after it"));
    assert!(only_complaint("{meter 4/4} Fine@").contains("no beat after it"));
    assert!(only_complaint("{meter 4/4} Fine@x").contains("no beat after it"));
    assert!(only_complaint("{meter 4/4} Fine@99999").contains("no beat of a measure"));
    assert!(only_complaint("{meter 4/4} fermata@2").contains("cannot cut a measure"));
    assert!(only_complaint("{meter 4/4} Fine@2(cut 1/4)").contains("`cut` twice"));
    assert!(only_complaint("{meter 4/x} 1 Fine@2").contains("is not a meter"));
    assert!(only_complaint("Fine(cut half)").contains("not a fraction"));
    assert!(only_complaint("1 @3").contains("follows no sign"));
}

#[test]
fn hands_and_times() {
    let octave = |line: &str| match sign(line) {
        Sign::Octave(octave) => (octave.hands, octave.when),
        other => panic!("{other:?}"),
    };
    assert_eq!(octave("8va"), (Hands::Both, When::EveryPass));
    assert_eq!(octave("8va(R.H.)"), (Hands::Right, When::EveryPass));
    assert_eq!(
        octave("8va(l.h., on repeat)"),
        (Hands::Left, When::OnRepeat)
    );
    assert_eq!(
        octave("8va(both, last pass)"),
        (Hands::Both, When::LastPass)
    );
    assert_eq!(octave("8va(on return)"), (Hands::Both, When::OnReturn));
    assert_eq!(octave("8va(every pass)"), (Hands::Both, When::EveryPass));
    assert_eq!(octave("8va(on-return, RH)"), (Hands::Right, When::OnReturn));
    assert_eq!(octave("8va(passes 1 3)").1, When::Passes(of(&[1, 3])));
    let fermata = Fermata {
        hands: Hands::Right,
        when: When::Passes(of(&[2])),
    };
    assert_eq!(sign("fermata(R.H., pass 2)"), Sign::Fermata(fermata));
    let only = Only {
        hands: Hands::Right,
        when: When::Passes(of(&[1])),
    };
    assert_eq!(sign("only(R.H., pass 1)"), Sign::Only(only));
    assert_eq!(
        only_complaint("8va(R.H., L.H.)"),
        "L.H.: `8va` is given the hand twice"
    );
    assert!(only_complaint("8va(pass 1, on repeat)").contains("the time"));
    assert!(only_complaint("8va(on)").contains("lacks its second word"));
    assert!(only_complaint("8va(on top)").contains("lacks its second word"));
    assert!(only_complaint("8va(pass)").contains("lacks its numbers"));
    assert!(only_complaint("fermata(last 2) | 2").contains("no key of `fermata`"));
}
