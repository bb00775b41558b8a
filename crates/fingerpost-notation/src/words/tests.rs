//! Words against what musicians mean by them. Sources: the words of the returns in the handbooks of `spec/sources.md`; the forms of
//! composers from editions of their works; where none is named: common practice, no source.

use super::*;

fn jump(da_capo: bool, al: Option<Al>) -> Jump {
    Jump {
        da_capo,
        back: Return {
            al,
            ..Return::default()
        },
        ..Jump::default()
    }
}

#[test]
fn returns_to_the_beginning_and_to_the_sign() {
    for (text, da_capo, al) in [
        ("D.C.", true, None),
        ("D. C.", true, None),
        ("DC", true, None),
        ("Da Capo", true, None),
        ("D.C. al Fine", true, Some(Al::Fine)),
        ("D.C.\nal Fine", true, Some(Al::Fine)),
        ("Da Capo sin al Fine", true, Some(Al::Fine)),
        ("D.C. al Coda", true, Some(Al::Coda)),
        ("D.C. al \u{1d10c}", true, Some(Al::Coda)),
        ("D.C. al Segno", true, Some(Al::Segno)),
        ("D.S.", false, None),
        ("Dal Segno", false, None),
        ("D.S. al Fine", false, Some(Al::Fine)),
        ("D.S. al Coda", false, Some(Al::Coda)),
        ("D.S. to Coda", false, Some(Al::Coda)),
        ("D.S. alla coda", false, Some(Al::Coda)),
        ("From the beginning to Fine", true, Some(Al::Fine)),
        ("Von Anfang bis Fine", true, Some(Al::Fine)),
        ("Vom Zeichen bis zum Schluß", false, Some(Al::Fine)),
        ("Du début jusqu'à Fin", true, Some(Al::Fine)),
        ("Au signe jusqu'au mot Fin", false, Some(Al::Fine)),
        ("Desde el principio hasta Fin", true, Some(Al::Fine)),
        ("Desde el signo hasta la Coda", false, Some(Al::Coda)),
    ] {
        assert_eq!(phrases(text), [Phrase::Jump(jump(da_capo, al))], "{text}");
    }
}

#[test]
fn the_words_of_composers() {
    let named = |repeats| Jump {
        names_piece: true,
        back: Return {
            repeats,
            ..Return::default()
        },
        ..jump(true, None)
    };
    for text in [
        "M.D.C.",
        "Men. D.C.",
        "Menuetto da capo",
        "Menuetto da capo.",
    ] {
        assert_eq!(phrases(text), [Phrase::Jump(named(None))], "{text}");
    }
    for text in [
        "Menuetto da capo senza Ritornello",
        "Menuet D.C. ohne Wiederholung",
    ] {
        assert_eq!(
            phrases(text),
            [Phrase::Jump(named(Some(Repeats::Skip)))],
            "{text}"
        );
    }
    let coda = Jump {
        back: Return {
            al: None,
            then_coda: true,
            repeats: Some(Repeats::Skip),
            ..Return::default()
        },
        ..jump(true, None)
    };
    assert_eq!(
        phrases("Da Capo ma senza replicarlo, poi segue la Coda"),
        [Phrase::Jump(coda)]
    );
}

#[test]
fn places() {
    for text in [
        "To Coda",
        "to \u{1d10c}",
        "al Coda",
        "alla Coda",
        "Zur Coda",
        "a la Coda",
        "To \u{e048} Coda",
    ] {
        assert_eq!(phrases(text), [Phrase::ToCoda(None, None)], "{text}");
    }
    for text in ["Fine", "FINE.", "fine", "Fin", "Ende", "Schluss"] {
        assert_eq!(phrases(text), [Phrase::Fine(None)], "{text}");
    }
    assert_eq!(phrases("Coda"), [Phrase::Coda(None)]);
    assert_eq!(phrases("\u{1d10c} Coda"), [Phrase::Coda(None)]);
    assert_eq!(phrases("\u{1d10c}"), [Phrase::CodaSign]);
    assert_eq!(phrases("\u{e047}"), [Phrase::SegnoSign]);
    assert_eq!(phrases("Trio"), [Phrase::Trio]);
}

#[test]
fn times() {
    let second = Passes::of([2]).ok();
    for text in [
        "To Coda 2nd time only",
        "2x only to Coda",
        "2. Mal zur Coda",
        "al Coda la 2a volta",
    ] {
        assert_eq!(
            phrases(text),
            [Phrase::ToCoda(None, second.clone())],
            "{text}"
        );
    }
    assert_eq!(phrases("Fine (second time only)"), [Phrase::Fine(second)]);
}

#[test]
fn codas_with_a_number() {
    for text in ["To Coda 2", "to Coda (2)", "Zur Coda 2.", "al Coda 2"] {
        assert_eq!(phrases(text), [Phrase::ToCoda(Some(2), None)], "{text}");
    }
    let second = Passes::of([2]).ok();
    assert_eq!(
        phrases("To Coda 1 (2nd time)"),
        [Phrase::ToCoda(Some(1), second)]
    );
    assert_eq!(phrases("Coda 1"), [Phrase::Coda(Some(1))]);
    let [Phrase::Jump(jump)] = &phrases("D.S. al Coda 2")[..] else {
        panic!("no return");
    };
    assert_eq!((jump.back.al, jump.back.coda), (Some(Al::Coda), Some(2)));
}

#[test]
fn parts_of_a_return_that_stand_alone() {
    let more = |al, repeats| {
        Phrase::More(Return {
            al,
            repeats,
            ..Return::default()
        })
    };
    assert_eq!(phrases("al Fine"), [more(Some(Al::Fine), None)]);
    assert_eq!(phrases("(senza rep.)"), [more(None, Some(Repeats::Skip))]);
    assert_eq!(
        phrases("con ripetizione"),
        [more(None, Some(Repeats::Play))]
    );
}

#[test]
fn other_words_say_nothing() {
    for text in [
        "Allegro",
        "a tempo",
        "dim. al fine della sezione grande",
        "to the hut",
        "cresc. poi dim.",
        "sin fin de cosas",
        "D",
        "c",
        "senza Da Capo",
        "solo",
        "2",
        "",
    ] {
        assert_eq!(phrases(text), [], "{text}");
    }
}

#[test]
fn words_that_speak_of_the_road_and_are_not_read_are_known() {
    for left in [
        "\u{1d10c} 1",
        "last time to Coda",
        "go to Coda",
        "Da Coda",
        "D.C. 2x",
        "D.C. al 2nd ending",
        "D.S. al Coda e Minore",
        "Repeat 4 times",
        "play 3 times",
        "4x",
        "3 volte",
    ] {
        assert!(are_left(left), "{left}");
    }
    for read in [
        "D.C. al Fine",
        "D.S. al Coda",
        "To Coda",
        "To Coda 1",
        "Coda 2",
        "D.S. al Coda 2",
        "Coda",
        "Fine",
        "Menuetto da capo senza replica",
        "2nd time only",
        "D.C. 2nd time only",
        "dim. al Fine",
        "Allegro",
        "rit.",
        "this text is long, and it only mentions that there is a coda",
        "",
    ] {
        assert!(!are_left(read), "{read}");
    }
}
