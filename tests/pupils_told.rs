//! What a pupil is told of an answer: of the sign that is misread, and of no other.

mod support {
    pub(crate) mod answers;
    pub(crate) mod judging;
}

use serde_json::json;

use support::judging::{ask, explained, to_the_learner};

/// From memory: a sentence about a sign is said where that sign stands.
#[test]
fn the_learner_hears_of_no_sign_that_does_not_stand_there() {
    for (line, order, said) in [
        (
            "1 | 2 | segno 3 | 4 Fine | 5 D.S. al Fine |",
            "1-5 1 3-5",
            "S is for segno",
        ),
        // The D.C. is obeyed on another pass than the one it names.
        (
            "|: 1 | 2 D.C.(passes 2) | 3 :| 4 |",
            "1 2 1-4",
            "which time through the repeat it counts",
        ),
        (
            "1 | 2 Fine | 3 D.C. al Fine then Coda | 4 | coda 5 |",
            "1-3 5",
            "play up to the Fine. From there go on to the coda",
        ),
        (
            "1 | segno 2 | 3 D.C. al Segno then Coda | 4 | coda 5 |",
            "1-3 5",
            "play up to the segno. From there go on to the coda",
        ),
        (
            "|: 1 | 2 D.C.(passes 1-2) | 3 :| 4 |",
            "1 2 1 2 1 2 1 2",
            "which time through the repeat it counts",
        ),
        (
            "1 | 2 Fine | 3 D.C. al End | 4 |",
            "1 2",
            "walk past it every time",
        ),
        // The road ends at the segno (4.7), and not at the Fine before it.
        (
            "1 | 2 Fine | segno 3 | 4 D.C. al Segno |",
            "1 2",
            "walk past it every time",
        ),
        // Outside every section passes are arrivals (4.9).
        ("1 | 2 D.C.(passes 1 2) | 3 |", "1 2 3", "Count how often"),
        // The Fine passed by is further on.
        (
            "1 | 2 | 3 Fine | 4 D.C. al Fine then Coda | coda 5 | 6 |",
            "1 3 4 1 2 3 4 5 6",
            "Walk the way once more",
        ),
        ("1 | 2 Fine | 3 D.C. al Fine |", "1 2", "asleep until"),
        (
            "|: 1 | 2 Fine | 3 :| 4 D.C. al Fine |",
            "1-3 1 2",
            "asleep until",
        ),
        (
            "1 | 2 Fine(arrivals 3) | 3 D.C.(arrivals 1 2) | 4 |",
            "1-3 1 2",
            "Count how often",
        ),
    ] {
        let told = to_the_learner(line, order);
        assert!(told.contains(said), "{line} {order}: {told}");
    }
}

/// From memory: where nothing explains the answer, what stands there is still to be looked at.
#[test]
fn the_learner_hears_of_a_sign_that_is_passed_by_or_obeyed_at_another_time() {
    for (line, order, said) in [
        (
            "1 | 2 To Coda(arrivals 3) | 3 D.C.(arrivals 1 2) | coda 4 | 5 |",
            "1-3 1 2 4 5",
            "Count how often you come here",
        ),
        (
            "1 | 2 D.C.(arrivals 1 2) | 3 |",
            "1 2 1-3",
            "Count how often you come here",
        ),
        (
            "|: 1 | 2 :| segno 3 |: 4 | 5 :| 6 Fine | 7 D.S. al Fine |",
            "1 2 1-7 3-6",
            "Look for the two dots",
        ),
        (
            "|: 1 | 2 :| 3 D.C. | 4 |",
            "1 2 1-4 1-3",
            "The letters D.C. and D.S. tell you",
        ),
        (
            "|: 1 | [1. 2 :| [2. 3 :| [3. 4 ] | 5 |",
            "1 2 1 3 1 3 5",
            "is the number of this time on it",
        ),
        // On this return no pass is counted.
        (
            "|: 1 | [1. 2 :| [2. 3 ] | 4 D.C. | 5 |",
            "1 2 1 3 4 1 2 3 4 5",
            "On the way back take the last bracket",
        ),
        // No sign is passed by: another measure is left out.
        (
            "1 | 2 | 3 | 4 :| 5 |",
            "1 2 4 1 3 4 5",
            "Walk the way once more",
        ),
    ] {
        assert_eq!(explained(line, order).0, [] as [&str; 0], "{line}");
        let told = to_the_learner(line, order);
        assert!(told.contains(said), "{line} {order}: {told}");
    }
}

/// Under another reading a sign stands where it stands: what is said of it there is said as under the reading asked for.
#[test]
fn under_another_reading_the_learner_hears_of_the_sign_that_is_misread() {
    for (line, order, said) in [
        (
            "|: 1 | 2 :| 3 Fine | 4 D.C. al Fine then Coda | coda 5 |",
            "1 2 1-4 1 2 1-5",
            ["in another way, as you do", "From there go on to the coda"],
        ),
        (
            "|: 1 | 2 :| 3 Fine(arrivals 2) | 4 D.C. | 5 |",
            "1 2 1-4 1 2 1-5",
            ["in another way, as you do", "Count how often you come here"],
        ),
        // The answer parts from both orders at the D.S. that is misread, and that no book reads so.
        (
            "|: 1 | 2 :| segno 3 |: 4 | 5 :| 6 Fine | 7 D.S. al Fine |",
            "1 2 1-5 4-7 1 2 1-5 4-6",
            [
                "look at what stands at the end of measure 7",
                "Further on you play as some teachers and books do",
            ],
        ),
    ] {
        let told = to_the_learner(line, order);
        assert!(
            said.iter().all(|it| told.contains(it)),
            "{line} {order}: {told}"
        );
    }
}

/// MusicXML alone obeys a To Coda the second time whatever has happened; for a lesson the pupil has come to it too soon.
#[test]
fn beside_a_reading_of_files_alone_the_tip_fits_the_arrival() {
    let line = "|: 1 | 2 To Coda :| 3 | 4 D.C. al Coda | coda 5 |";
    let told = to_the_learner(line, "1 2 1 2 5");
    assert!(told.contains("A computer file may mean it so"), "{told}");
    assert!(told.contains("stays locked until a D.C."), "{told}");
}

/// Rulebook, 4.4 and 6.4: where no D.C. or D.S. has sent back there is no way back to speak of.
#[test]
fn of_a_to_coda_that_waits_for_no_return_the_learner_hears_of_none() {
    for (line, order) in [
        ("|: 1 To Coda | 2 :|x3 coda 3 |", "1 2 1 2 1 2 3"),
        // Right for MusicXML alone.
        (
            "|: 1 | [1. 2 :| [2. 3 To Coda ] | 4 | coda 5 |",
            "1 2 1 3 4 5",
        ),
    ] {
        let told = to_the_learner(line, order);
        assert!(told.contains("When its turn comes"), "{line}: {told}");
        assert!(!told.contains("way back"), "{line}: {told}");
    }
    let told = to_the_learner("1 | 2 To Coda | 3 D.C. al Coda | coda 4 |", "1-3 1-4");
    assert!(told.contains("On the way back"), "{told}");
}

/// Rulebook, 6.8: where the repeats are left out no time has a number, and nobody is to look for dots.
#[test]
fn the_learner_hears_of_the_last_bracket_where_repeats_are_left_out() {
    let line = "|: 1 | [1. 2 :| [2. 3 ] | 4 Fine | 5 D.C. al Fine |";
    for order in ["1-5 1-4", "1 2 4 5 1 2 4", "1 2 4"] {
        let asked =
            json!({ "verb": "judge", "line": line, "answer": order, "reading": "examination" });
        let told = ask(&asked)["answers"][0]["learner"].to_string();
        assert!(told.contains("with the last bracket"), "{order}: {told}");
    }
}

/// Rulebook, 4.3, 4.11 and 4.6.
#[test]
fn the_learner_hears_which_goal_the_return_has() {
    let board = "1 | 2 To Coda | 3 Fine | 4 D.C. al Coda | coda 5 | 6 D.C. al Fine |";
    let codas = "1 | 2 To Coda:A | 3 To Coda:B | 4 D.C.(al Coda, coda A) | coda:A 5 | 6 D.C.(al Coda, coda B) | coda:B 7 |";
    for (line, order, said) in [
        (board, "1-4 1 2 5 6 1 2 5", "it names the place to look for"),
        (
            codas,
            "1-4 1 2 5 6 1 2 5 6 7",
            "it names the place to look for",
        ),
        // The Fine stands before the To Coda.
        (
            "1 | 2 Fine | 3 To Coda | 4 D.C. al Coda | coda 5 | 6 D.C. al Fine |",
            "1-4 1 2",
            "it names the place to look for",
        ),
        (board, "1-4 1 2 5 6 1-4 1-3", "Fine is your goal"),
    ] {
        let told = to_the_learner(line, order);
        assert!(told.contains(said), "{line} {order}: {told}");
    }
}

/// Rulebook, 6.8: who plays a repeat that is to be left out has read the dots.
#[test]
fn the_learner_hears_that_the_repeats_are_left_out_as_asked() {
    let asked = json!({ "verb": "judge", "line": "|: 1 | 2 :| 3 |", "answer": "1 2 1-3", "reading": "examination" });
    let told = ask(&asked)["answers"][0]["learner"].to_string();
    assert!(told.contains("leave the repeats out"), "{told}");
}

/// Rulebook, 3.9, 4.2, 4.8 and 4.9: who obeys a sign at another time than its own is told of that sign, and not of one that stands elsewhere.
#[test]
fn the_learner_hears_what_the_sign_waits_for() {
    let last_time = "this sign waits for the last time through";
    let of_passes = "which time through the repeat it counts";
    for (line, order, reading, said) in [
        (
            "|: 1 | 2 D.C. | 3 :|x3 4 |",
            "1 2 1-4",
            "handbook",
            last_time,
        ),
        (
            "|: 1 | 2 D.C. | 3 :|x3 4 |",
            "1 2 1 2 1-4",
            "handbook",
            last_time,
        ),
        (
            "1 |: segno 2 | 3 D.S. | 4 :|x3 5 |",
            "1-3 2-5",
            "handbook",
            last_time,
        ),
        (
            "|: 1 To Coda | 2 :|x3 coda 3 |",
            "1 3",
            "handbook",
            last_time,
        ),
        (
            "|: 1 | 2 To Coda | 3 :| 4 D.C. al Coda con rep. | coda 5 |",
            "1-3 1-4 1 2 5 5",
            "handbook",
            last_time,
        ),
        // Right for a computer file, and for a lesson too soon.
        ("|: 1 D.C. | 2 :| 3 |", "1 1-3", "handbook", last_time),
        (
            "|: 1 | 2 D.C.(passes 3) | 3 :|x3 4 |",
            "1 2 1-4",
            "handbook",
            of_passes,
        ),
        (
            "|: 1 | 2 To Coda(arrivals 3) | 3 :|x3 coda 4 | 5 |",
            "1 2 4 5 5",
            "handbook",
            "Count how often you come here",
        ),
        // The pupil has overlooked no end repeat at measure 2, for there is none.
        (
            "|: 1 | 2 Fine | 3 :|x3 4 D.C. al Fine |",
            "1 2",
            "handbook",
            "asleep until",
        ),
    ] {
        let asked = json!({ "verb": "judge", "line": line, "answer": order, "reading": reading });
        let told = ask(&asked)["answers"][0]["learner"].to_string();
        assert!(told.contains(said), "{line} {order}: {told}");
        assert!(!told.contains("two dots"), "{line} {order}: {told}");
    }
}

/// Rulebook, 3.2 and 3.5: the last measure of the board is not the end where a sign sends on from it.
#[test]
fn the_learner_hears_that_the_last_measure_is_not_the_end() {
    let last = |measure: u8| {
        format!("Measure {measure} is the last one, but the sign there sends you on.")
    };
    for (line, order, place, tip) in [
        ("|: 1 | 2 :| 3 |: 4 | 5 :|", "1 2 1-5", last(5), "two dots"),
        (
            "|: 1 | 2 D.C. :| 3 | 4 D.C. |",
            "1 2 1 2 1-4",
            last(4),
            "Read them aloud",
        ),
        // Here it stops at the D.C., as a misunderstanding has it.
        (
            "1 | 2 Fine | 3 D.C. al Fine |",
            "1-3",
            last(3),
            "They say: go back",
        ),
        (
            "|: 1 | 2 :|x3 3 |: 4 | 5 :|x3",
            "1 2 1 2 1-5 4 5",
            last(5),
            "count each time aloud",
        ),
        (
            "1 |: 2 | 3 :| 4 |: 5 | 6 :| 7 |",
            "1-3 2-6",
            "there is more to play".to_owned(),
            "two dots",
        ),
        (
            "1 |: 2 | 3 :| 4 |",
            "1 2",
            "there is more to play".to_owned(),
            "Walk the way once more",
        ),
    ] {
        let told = to_the_learner(line, order);
        assert!(told.contains(&place), "{line} {order}: {told}");
        assert!(told.contains(tip), "{line} {order}: {told}");
    }
}

/// Rulebook, 4.8 and 4.9: who stops at a sign that names its times, or obeys it at another, is to count how often the sign is come to.
#[test]
fn the_learner_hears_to_count_where_the_sign_names_its_times() {
    let arrivals = "Count how often you come here";
    for (line, order, said) in [
        // At the arrival that is named, and at others.
        ("|: 1 | 2 D.C.(arrivals 2) | 3 :| 4 |", "1-3 1 2", arrivals),
        ("|: 1 | 2 D.C.(arrivals 2) | 3 :| 4 |", "1 2", arrivals),
        (
            "|: 1 | 2 D.C.(arrivals 3) | 3 :|x3 4 |",
            "1-3 1 2",
            arrivals,
        ),
        (
            "1 |: segno 2 | 3 D.S.(arrivals 2) | 4 :| 5 |",
            "1-4 2 3",
            arrivals,
        ),
        (
            "|: 1 | 2 To Coda(arrivals 3) | 3 :|x3 4 | coda 5 |",
            "1-3 1 2",
            arrivals,
        ),
        (
            "|: 1 | 2 To Coda(arrivals 2) | 3 :|x3 4 | coda 5 |",
            "1-3 1 2",
            arrivals,
        ),
        (
            "|: 1 | 2 Fine(arrivals 3) | 3 :|x3 4 |",
            "1-3 1 2",
            arrivals,
        ),
        // The D.S. is taken for a D.C. as well.
        (
            "1 |: segno 2 | 3 D.S.(arrivals 2) | 4 :|x3 5 |",
            "1-3 1-5",
            arrivals,
        ),
        (
            "|: 1 | 2 D.C.(passes 2) | 3 :| 4 |",
            "1 2",
            "which time through the repeat it counts",
        ),
    ] {
        let told = to_the_learner(line, order);
        assert!(told.contains(said), "{line} {order}: {told}");
    }
    let told = to_the_learner("|: 1 | 2 D.C.(arrivals 2) | 3 :| 4 |", "1-3 1 2");
    assert!(told.contains("They say: go back"), "{told}");
}

/// Rulebook, 5.3: where the repeats are made again on the return the dots have been seen already.
#[test]
fn the_learner_hears_that_the_repeats_are_made_again() {
    let line = "|: 1 | 2 :| 3 |: 4 | 5 :| 6 Fine | 7 D.C. al Fine |";
    // The first repeat is made again, as another published reading has it, and the second is not.
    let order = "1 2 1-5 4-7 1 2 1-6";
    assert_eq!(explained(line, order).0, [] as [&str; 0]);
    let told = to_the_learner(line, order);
    assert!(told.contains("made again after D.C. or D.S."), "{told}");
}

/// From memory: where nothing explains the answer, the sign that sends on there, or the bracket that is meant, is still to be read.
#[test]
fn the_learner_hears_of_the_sign_that_sends_elsewhere_than_the_answer_goes() {
    let board = "1 |: 2 | 3 :| 4 | 5 Fine | 6 D.C. al Fine |";
    let endings = "1 |: 2 | [1. 3 :| [2. 4 ] | 5 | 6 |";
    let coda = "1 |: 2 | 3 :| 4 | 5 To Coda | 6 D.C. al Coda | 7 | 8 | coda 9 |";
    for (line, order, said) in [
        (board, "1-3 2-6 2-5", "from the very beginning"),
        (board, "1-3 2-6 4-5", "from the very beginning"),
        (
            "1 |: 2 | 3 | 4 :| 5 | 6 |",
            "1-4 3-6",
            "Find the place you are sent to",
        ),
        (coda, "1-3 2-6 9 9 9", "First go back"),
        (coda, "1-3 2-6 1-5 7", "Find the place you are sent to"),
        (coda, "1-3 2-6 8 8 2 2", "Read them aloud"),
        (
            endings,
            "1 2 4 2 3 5 6",
            "Take the bracket with the number of this time",
        ),
        (
            endings,
            "1-3 2 5 6",
            "Take the bracket with the number of this time",
        ),
        (endings, "1-3 2 4 2 5 6", "Walk the way once more"),
    ] {
        let told = to_the_learner(line, order);
        assert!(told.contains(said), "{line} {order}: {told}");
    }
}

/// From memory: what helps with an octave that nothing explains, and with repeats and brackets of which the usual words say too little.
#[test]
fn the_learner_hears_what_helps_there() {
    let octave = "|: 1 | 8va(R.H., on repeat)( 2 ) | 3 :| 4 |";
    let endings = "|: 1 | 2 | [1. 3 :| [2. 4 Fine ] | 5 D.C. al Fine |";
    let nested = "|: 1 |: 2 :| 3 :|x3 4 |";
    for (line, order, said) in [
        (
            octave,
            "1-3 1 2(8va R.H.) 3(8va R.H.) 4",
            ["Play measure 3 as it is written", "the hand goes home"],
        ),
        (
            octave,
            "1-3 1 2 3 4(8va)",
            ["Look which hand moves in measure 2", "Read the small words"],
        ),
        (
            octave,
            "1-3 1 2(8va L.H.) 3 4(8va)",
            ["Look which hand moves in measure 2", "that hand moves"],
        ),
        (
            endings,
            "1-3 1 2 4 5 1-4",
            [
                "comes after measure 2",
                "On the way back take the last bracket",
            ],
        ),
        (
            nested,
            "1 2 2 3 1 2 3 1 2 3 4",
            ["the end of measure 2", "made anew each time you come to it"],
        ),
        // As another published reading has it the bracket of this time counts on the way back, too.
        (
            "|: 1 | 2 | [1,2. 3 :| [3. 4 ] | 5 | 6 D.C. |",
            "1-3 1-3 1 2 4 5 6 1-3 1 2 4 5 6",
            [
                "comes after measure 2",
                "Take the bracket with the number of this time",
            ],
        ),
        // The Fine is taken for the way to the coda already on the first leg.
        (
            "1 | segno 2 | 3 Fine | 4 | 5 D.S. al Fine then Coda | coda 6 | 7 |",
            "1-3 6 7",
            ["the end of measure 3", "asleep until"],
        ),
        (
            nested,
            "1 2 2 3 2 2 3 4",
            ["the end of measure 3", "Find the place you are sent to"],
        ),
    ] {
        let told = to_the_learner(line, order);
        let has = said.iter().all(|it| told.contains(it));
        assert!(has, "{line} {order}: {told}");
    }
}

/// From memory: a tip sends nobody to look for what is not there, and to nothing that has been done rightly.
#[test]
fn the_tip_holds_on_the_board_at_hand() {
    let not_told = [
        // Outside a repeat no sign waits for its last time through; there the other jump counts.
        (
            "1 | segno 2 | 3 D.S. D.C.(arrivals 1) | 4 |",
            "1 2 3 2 3 4",
            "Inside a repeat",
        ),
        (
            "1 | segno 2 | 3 D.C. D.S.(arrivals 1) | 4 |",
            "1-3 1-4",
            "Inside a repeat",
        ),
        // On this way back both brackets are played.
        (
            "|: 1 | [1. 2 :| [2. 3 ] | 4 D.C. con rep. | 5 |",
            "1 2 1 3 4 1 2 1 2 3 4 5",
            "last bracket",
        ),
        // The repeat goes back to the beginning, where no dots look at anyone.
        ("1 | 2 | 3 | 4 :| 5 | 6 |", "1-4 3 4 6", "dots"),
    ];
    for (line, order, never) in not_told {
        let told = to_the_learner(line, order);
        assert!(!told.contains(never), "{line}: {told}");
    }
    // There is no later bracket to be played.
    let request = json!({
        "verb": "judge", "line": "|: 1 | [1. 2 :| 3 | 4 |", "answer": "1 2 4", "omit-repeats": true,
    });
    let told = ask(&request)["answers"][0]["learner"].to_string();
    assert!(!told.contains("last bracket"), "{told}");
}

/// A board with a Fine in each measure is told of as fast as another: the end of the road is looked for once.
#[test]
fn who_plays_on_past_one_of_many_fines_is_told_so() {
    let fines = (1..=4_000).map(|it| format!("{it} Fine |"));
    let fines = fines.collect::<Vec<_>>().join(" ");
    let line = format!("{fines} segno 4001 | 4002 Fine | 4003 D.S. al Fine | 4004 |");
    let told = to_the_learner(&line, "1-4003 4001 4002 9 7 5 3 1 9 7 5 3 1 9 7 5 3 1");
    assert!(told.contains("Fine is your goal. Stop there."), "{told}");
}
