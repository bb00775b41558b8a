//! Tunes in ABC against the boards that they must become. Each check names the section of the ABC standard 2.1 (December 2011), or the
//! practice it follows. All tunes are invented.

use fingerpost_notation::{NotationErrorKind, Score, read};

#[path = "support/scores.rs"]
mod scores;

use scores::{names, order};

fn tunes(text: &str) -> Vec<Score> {
    read(text.as_bytes()).unwrap_or_else(|error| panic!("{error}: {text}"))
}

fn tune(music: &str) -> Score {
    tunes(&format!("X:1\nT:Over the Stile\nM:4/4\nK:C\n{music}\n")).remove(0)
}

#[track_caller]
fn becomes(music: &str, line: &str) -> Score {
    let tune = tune(music);
    let wanted = format!("{{meter 4/4; title \"Over the Stile\"}} {line}");
    let wanted: fingerpost::Board = wanted
        .parse()
        .unwrap_or_else(|error| panic!("{line}: {error}"));
    assert_eq!(
        tune.board.canonical().to_line(),
        wanted.canonical().to_line(),
        "{music}"
    );
    tune
}

/// 4.8: barlines; `::`, `:|:` and `:||:` are the same.
#[test]
fn barlines() {
    becomes("C4|D4||E4|F4|]", "1 | 2 || 3 | 4 |");
    becomes("C4|:D4:|E4|]", "1 |: 2 :| 3 |");
    for both in ["::", ":|:", ":||:"] {
        becomes(&format!("|:C4{both}D4:|"), "|: 1 :| |: 2 :|");
    }
    // "The start and end of a section that is repeated three times": played so often, as the step from one pair of dots shows.
    becomes("|::C4::|", "|: 1 :|x3");
}

/// 4.8: an end repeat without a start goes back to the beginning, or to the latest double bar or end of a repeated section.
#[test]
fn implied_starts() {
    let tune = becomes("C4:|D4:|", "1 :| 2 :|");
    assert_eq!(order(&tune.board), [1, 1, 2, 2]);
}

/// 4.9 and 4.10: endings beside a barline or in a bracket, lists and ranges; they end at a repeat, a double or a thick barline.
#[test]
fn endings() {
    for music in [
        "|:C4|1D4:|2E4|]F4|",
        "|:C4|[1D4:|[2E4|]F4|",
        "|:C4| [1D4 :| [2 E4 |] F4 |",
    ] {
        let tune = becomes(music, "|: 1 | [1. 2 :| [2. 3 |] 4 |");
        assert_eq!(order(&tune.board), [1, 2, 1, 3, 4], "{music}");
    }
    let tune = tune("|:C4|[1,3 D4:|[2 E4:|[4-5 F4:|");
    assert_eq!(order(&tune.board), [1, 2, 1, 3, 1, 2, 1, 4, 1, 4]);
}

/// 4.14: decorations, on a note or on a barline, long and short.
#[test]
fn decorations() {
    for music in [
        "C4|!segno!D4|E4!fine!|F4!D.S.!|",
        "C4!segno!|D4|!fine!E4|!D.S.!F4|",
        "C4|S D4|E4 !fine!|F4 !D.S.!|",
        "C4|+segno+D4|E4+fine+|F4+D.S.+|",
    ] {
        becomes(music, "1 | segno 2 | 3 Fine | 4 D.S. |");
    }
    let tune = becomes(
        "C4!dacoda!|D4!D.C.!|!coda!E4|",
        "1 To Coda | 2 D.C. | coda 3 |",
    );
    assert_eq!(order(&tune.board), [1, 2, 1, 3]);
    becomes("HC4|!fermata!D4|", "1 fermata | 2 fermata |");
}

/// 4.14: "decorations may be applied to notes, rests, note groups, and bar lines". A coda sign on the barline that ends a measure is where the road
/// is left when a later one is there to go to; otherwise the coda begins behind that barline (common practice, no source).
#[test]
fn coda_signs_on_barlines() {
    for sign in ["!coda!", "+coda+", "O", "O "] {
        for bar in ["|", "||", "|\n"] {
            let music = format!("C4|!segno!D4|E4{sign}{bar}F4|G4!D.S.alcoda!|!coda!A4|B4|]");
            let tune = tune(&music);
            assert_eq!(order(&tune.board), [1, 2, 3, 4, 5, 2, 3, 6, 7], "{music}");
            assert_eq!(names(&tune), ["coda-sign-guessed"; 2], "{music}");
        }
    }
    // Both of them on barlines, and the word in place of the second sign.
    for coda in ["!coda!|A4", "|\"^Coda\"A4"] {
        let music = format!("C4|D4!coda!|E4|F4!D.C.alcoda!{coda}|B4|]");
        becomes(&music, "1 | 2 To Coda | 3 | 4 D.C. al Coda | coda 5 | 6 |");
    }
    // A sign beside the words belongs to them.
    for words in ["\"To Coda\" O", "O \"To Coda\"", "!dacoda! O"] {
        let music = format!("C4|D4{words}|E4|F4!D.C.alcoda!|O A4|B4|]");
        let tune = becomes(&music, "1 | 2 To Coda | 3 | 4 D.C. al Coda | coda 5 | 6 |");
        assert!(!names(&tune).contains(&"left-out"), "{music}");
    }
    // Before the notes of a measure, or with no later sign, it is where the coda begins.
    becomes(
        "C4!dacoda!|D4!D.C.!!coda!|E4|",
        "1 To Coda | 2 D.C. | coda 3 |",
    );
    becomes(
        "C4!dacoda!|D4!D.C.!|\nO|E4|",
        "1 To Coda | 2 D.C. | // coda 3 |",
    );
}

/// 4.19: annotations carry the words that no decoration has; books write them where chord symbols stand, too (common practice, no source).
#[test]
fn words() {
    let tune = becomes(
        "C4|\"^Fine\"D4|\"D.C. al Fine\"E4|",
        "1 | 2 Fine | 3 D.C. al Fine |",
    );
    assert_eq!(names(&tune), ["words-read", "words-read"]);
    becomes("\"Am\"C4|\"^slowly\"D4|", "1 | 2 |");
}

/// 3.1.9: the order of the parts; a part with endings that is played several times takes them in turn (4.10).
#[test]
fn parts() {
    let read = |music: &str, order: &str| {
        tunes(&format!("X:1\nT:A\nM:4/4\nP:{order}\nK:C\n{music}\n")).remove(0)
    };
    let tune = read("P:A\nC4|D4|\nP:B\nE4|", "ABA");
    assert_eq!(
        tune.board.measure_numbers().unwrap_or_default().concat(),
        "12312"
    );
    assert_eq!(order(&tune.board), [1, 2, 3, 4, 5]);
    assert_eq!(names(&tune), ["parts-order"]);
    let tune = read("P:A\nC4|[1D4||[2E4||\nP:B\nF4|", "A2B");
    assert_eq!(order(&tune.board), [1, 2, 1, 3, 4]);
    // An end repeat alone goes back no further than to where its part begins (a part is played with the repeats it has of its own;
    // abc2midi plays it so: tests/oracles).
    let tune = read("P:A\nC4|D4:|\nP:B\nE4|F4||", "ABA");
    assert_eq!(order(&tune.board), [1, 2, 1, 2, 3, 4, 5, 6, 5, 6]);
    let tune = read("P:A\nC4|D4:|\nP:B\nE4|F4||", "BA");
    assert_eq!(order(&tune.board), [1, 2, 3, 4, 3, 4]);
    // Laid out in that order, a tune keeps its number.
    for order in ["AB", "A(AB)3"] {
        let book = format!("X:12\nT:Stride\nP:{order}\nK:C\nP:A\nC4|\nP:B\nD4|\n");
        let numbers: Vec<_> = tunes(&book).iter().map(|tune| tune.number).collect();
        assert_eq!(numbers, [Some(12)], "{order}");
    }
    let tune = read("P:A\nC4|", "AB");
    assert_eq!(order(&tune.board), [1]);
    assert_eq!(names(&tune), ["parts-order"]);
}

/// 2.2: a book of tunes, with text between them; 4.5: rests of several measures; 6.1.1: lines that go on; 7: voices.
#[test]
fn books_and_lines() {
    let book = "%abc-2.1\nSome words | with bars | between.\n\nX:1\nT:Stile\nK:C\nC4|D4:|\n\nwords\n\nX:2\nT:Hut\nK:C\nZ3|C4|\\\nD4|\nE4|\n";
    let tunes = tunes(book);
    let lines: Vec<String> = tunes.iter().map(|tune| tune.board.to_line()).collect();
    assert_eq!(
        lines,
        [
            "{title \"Stile\"} 1 | 2 :|",
            "{title \"Hut\"} 1 | 2 | 3 | 4 | // 5 | // 6 |]"
        ]
    );
    let voices = tune("V:1\nC4|D4:|\nV:2\nE4|F4|G4|\nV:1\nE4|");
    assert_eq!(voices.board.measures(), 3);
    assert_eq!(tune("[V:1] C4|D4:|\n[V:2] E4|F4|G4|").board.measures(), 2);
    assert_eq!(tune("C4 % the stile | the hut\n|D4|").board.measures(), 2);
}

/// A pickup after an end repeat lies inside a measure of the beat; on the board each stretch between barlines is a measure (13.1).
#[test]
fn pickups() {
    let tune = tune("G|C3:|G|C3:|");
    assert_eq!(order(&tune.board), [1, 2, 1, 2, 3, 4, 3, 4]);
}

#[test]
fn faults() {
    let error = read(b"X:1\nK:C\n%nothing\n")
        .map(|_| ())
        .expect_err("no music");
    assert_eq!(error.kind(), NotationErrorKind::NoMusic);
    let long = format!("X:1\nK:C\n{}", "C|".repeat(65_536));
    let error = read(long.as_bytes()).map(|_| ()).expect_err("too long");
    assert_eq!(
        (error.kind(), error.line()),
        (NotationErrorKind::TooLarge, Some(3))
    );
    let rests = read(b"X:1\nK:C\nZ4000000000|")
        .map(|_| ())
        .expect_err("too long");
    assert_eq!(rests.kind(), NotationErrorKind::TooLarge);
    // Latin 1, as older books have it (2.2.2).
    assert!(read(b"X:1\nT:caf\xe9\nK:C\nC4|").is_ok());
}

/// Older books quote an S for the segno where a D.S. is (common practice, no source; the section on annotations, 4.19, has no such sign). It is
/// read only where nothing else could be meant, and it is told.
#[test]
fn a_quoted_s_is_the_segno_of_a_tune_with_a_ds() {
    for s in ["S", "^S"] {
        let tune = becomes(
            &format!("C4|\"{s}\"D4|E4\"D.S.\"|F4|]"),
            "1 | segno 2 | 3 D.S. | 4 |",
        );
        assert_eq!(order(&tune.board), [1, 2, 3, 2, 3, 4]);
        assert_eq!(names(&tune), ["words-read", "words-read"]);
        assert!(tune.notices[0].message.contains("the letter S"));
    }
    // The word at the D.S. itself is not where it goes to.
    let tune = becomes(
        "C2 \"S\"|D4|E4\"D.S.\"\"Segno\"|]",
        "1 | segno 2 | 3 D.S. |",
    );
    assert_eq!(names(&tune), ["words-read", "words-read", "left-out"]);
    // Beside a segno, or without a D.S., a letter is a letter.
    becomes("!segno!C4|\"S\"D4|E4\"D.S.\"|]", "segno 1 | 2 | 3 D.S. |");
    let plain = becomes("C4|\"S\"D4|E4|]", "1 | 2 | 3 |");
    assert_eq!(names(&plain), [""; 0]);
}
