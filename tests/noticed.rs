//! Small facts that no other test of the quick part looks at: how a file and its edits are laid out, what a complaint proposes, where a finding
//! stands, what may come from the hand. Common practice, no source; the layout of files is a ruling of this project.

use fingerpost::{
    Board, Category, DoubleBar, Edit, EndRepeat, Ending, FindingSide, Fine, Fraction, Landing,
    Marking, Partner, Passes, Place, Plays, Repeats, Roadmap, Sign, Terms, check, edit_json, fixes,
    missing, places, sign_words,
};

fn board(line: &str) -> Board {
    line.parse()
        .unwrap_or_else(|error| panic!("{line}: {error}"))
}

#[test]
fn each_sign_of_a_board_file_has_a_line_of_its_own() {
    let file = board("|: 1 | 2 Fine :| 3 |").to_json();
    let lines: Vec<&str> = file.lines().map(str::trim_start).collect();
    let signs = lines
        .iter()
        .filter(|line| line.starts_with("{ \"mark\":") || line.starts_with("{\"mark\":"));
    assert_eq!(signs.count(), 3, "{file}");
    // A list that holds no signs stays on its line.
    assert!(file.contains("\"systems\": [3]"), "{file}");
}

#[test]
fn a_sign_added_to_a_file_stands_as_the_one_before_it_does() {
    let added = Edit::Add(Marking::new(Sign::Fine(Fine::default()), Place::at(2)));
    for (before, after) in [
        (
            "{ \"board\": 1, \"systems\": [2], \"markings\": [\n  { \"mark\": \"start-repeat\", \"measure\": 1 }\n] }",
            "{ \"board\": 1, \"systems\": [2], \"markings\": [\n  { \"mark\": \"start-repeat\", \"measure\": 1 },\n  { \"mark\": \"fine\", \"measure\": 2 }\n] }",
        ),
        (
            "{ \"board\": 1, \"systems\": [2], \"markings\": [{ \"mark\": \"start-repeat\", \"measure\": 1 }] }",
            "{ \"board\": 1, \"systems\": [2], \"markings\": [{ \"mark\": \"start-repeat\", \"measure\": 1 }, { \"mark\": \"fine\", \"measure\": 2 }] }",
        ),
    ] {
        let edited = edit_json(before, std::slice::from_ref(&added)).unwrap();
        assert_eq!(edited, after);
    }
}

#[test]
fn barlines_of_other_hands_are_read_as_what_they_mean() {
    for (line, accepted) in [
        ("1 :|| 2 |", "`:|`, or `:| ||` for a double bar too"),
        ("1 ||: 2 |", "`|:`, or `|| |:` for a double bar too"),
        ("1 :|] 2 |", "`:|`, or `:| |]` for a final bar too"),
    ] {
        let error = Board::from_line(line).unwrap_err();
        assert_eq!(
            error.complaints()[0].accepted.as_deref(),
            Some(accepted),
            "{line}"
        );
    }
}

#[test]
fn a_landing_sign_cut_at_the_very_start_stands_at_the_start() {
    let segno = Sign::Segno(Landing::default());
    for (point, side) in [
        (Fraction::ZERO, FindingSide::Start),
        ("1/4".parse().unwrap(), FindingSide::Inside),
    ] {
        let board = board("{meter 4/4} 1 | 2 | 3 |").to_builder();
        let board = board.marking(Marking::new(segno.clone(), Place::cutting(2, point)));
        let board = board.build().unwrap();
        let found = check(&board);
        let unused = found.iter().find(|it| it.rule == "segno-unused").unwrap();
        assert_eq!(unused.place(&board).unwrap().side, side);
    }
    // A leaving sign at the very end of its measure stands at the end.
    let fine = Sign::Fine(Fine::default());
    let board = board("{meter 4/4} 1 | 2 | 3 |").to_builder();
    let board = board.marking(Marking::new(
        fine,
        Place::cutting(2, "1/1".parse().unwrap()),
    ));
    let board = board.build().unwrap();
    let found = check(&board);
    let unused = found.iter().find(|it| it.rule == "fine-unused").unwrap();
    assert_eq!(unused.place(&board).unwrap().side, FindingSide::End);
}

#[test]
fn passes_that_never_come_are_taken_from_a_jump_too() {
    let board = board("|: 1 | 2 D.C.(passes 2 3) :| 3 |");
    let found = check(&board);
    let never = found
        .iter()
        .find(|it| it.rule == "pass-never-reached")
        .unwrap();
    let fixed: Vec<String> = fixes(&board, never)
        .iter()
        .map(|fix| fix.apply(&board).unwrap().to_line())
        .collect();
    assert!(
        fixed
            .iter()
            .any(|line| line.contains("passes 2") && !line.contains("passes 2 3")),
        "{fixed:?}"
    );
}

#[test]
fn the_plain_ways_are_proposed_before_the_special_ones() {
    let first = |line: &str| -> Vec<String> {
        let board = board(line);
        let set = missing(&board).unwrap().sets.swap_remove(0);
        set.signs
            .iter()
            .map(|it| sign_words(&it.card.sign))
            .collect()
    };
    assert_eq!(first("1 | segno 2 | 3 | 4 |"), ["D.S."]);
    assert_eq!(first("1 | segno 2 | 3 Fine | 4 |"), ["D.S. al Fine"]);
    // A To Coda is for a return, as long as nothing asks for a repeat.
    assert_eq!(first("1 To Coda | 2 | coda 3 |"), ["D.C. al Coda"]);
    assert_eq!(first("1 | 2 To Coda | 3 |"), ["coda", "D.C. al Coda"]);
}

/// Of a Fine that nothing calls, only what calls it is proposed: a return that calls nothing is another sign of another board.
#[test]
fn nothing_is_proposed_that_is_not_missing() {
    let sets = |line: &str| -> Vec<Vec<String>> {
        let sets = missing(&board(line)).unwrap().sets;
        let words = |signs: &[Partner]| signs.iter().map(|it| sign_words(&it.card.sign)).collect();
        sets.iter().map(|set| words(&set.signs)).collect()
    };
    assert_eq!(sets("1 | 2 Fine | 3 |"), [["D.C. al Fine"]]);
    assert_eq!(sets("1 | 2 D.S. al Fine |"), [["segno", "Fine"]]);
}

/// Measures with one printed number are told apart by their count.
#[test]
fn a_number_that_is_printed_twice_says_which_it_is() {
    let board = board("11 | 12 | 12 | \"hut\" | \"hut\" |");
    let said = [1, 2, 5].map(|measure| board.measure_words(measure));
    assert_eq!(said, ["11", "12 (#2)", "\"hut\" (#5)"]);
    let typed = [1, 2, 3, 4].map(|measure| board.measure_typed(measure));
    assert_eq!(typed, ["11", "#2", "#3", "#4"]);
}

/// A name of as many letters as are said, and one of one letter more.
#[test]
fn a_long_name_is_said_by_its_count() {
    let board = board("\"to the hut\" | \"to the huts\" |");
    let said = [1, 2].map(|measure| board.measure_words(measure));
    assert_eq!(said, ["\"to the hut\"", "#2"]);
}

/// Read as it stands, the D.C. would have a measure of its own.
#[test]
fn a_jump_behind_its_end_repeat_is_no_measure() {
    let read: Result<Board, _> = "1 |: 2 :| D.C. al Fine | 3 |".parse();
    let said = read.unwrap_err().to_string();
    assert!(
        said.contains("stands in a measure that has no number"),
        "{said}"
    );
}

/// A cut that stands on a beat is told by its beat, another by its fraction of a whole note.
#[test]
fn a_cut_on_a_beat_is_told_by_the_beat() {
    for (cut, beat) in [("Fine@3", Some(3)), ("Fine(cut 3/16)", None)] {
        let board = board(&format!("{{meter 4/4}} 1 | 2 {cut} | 3 |"));
        let found = check(&board);
        let unused = found.iter().find(|it| it.rule == "fine-unused").unwrap();
        assert_eq!(unused.place(&board).unwrap().beat, beat, "{cut}");
    }
}

/// Brackets in a text are letters; behind it they are brackets again.
#[test]
fn brackets_in_a_text_do_not_nest() {
    let title = format!("\\\"{}", "[".repeat(100));
    let file =
        |more: &str| format!("{{\"board\": 1, \"systems\": [1], \"title\": \"{title}\"{more}}}");
    assert!(Board::from_json(&file("")).is_ok());
    let deep = format!(", \"x\": {}{}", "[".repeat(70), "]".repeat(70));
    let error = Board::from_json(&file(&deep)).unwrap_err().to_string();
    assert!(error.contains("nested more than 64 deep"), "{error}");
}

#[test]
fn a_jump_in_the_hand_that_names_the_coda_is_used() {
    let board = board("{unplaced D.C.(al Coda, coda B)} 1 To Coda:B | 2 | 3 | coda:B 4 |");
    let sets = missing(&board).unwrap().sets;
    assert_eq!(sets[0].signs[0].card.in_hand, Some(0), "{sets:?}");
    // One that names another coda is not.
    let board = self::board("{unplaced D.C.(al Coda, coda C)} 1 To Coda:B | 2 | 3 | coda:B 4 |");
    let sets = missing(&board).unwrap().sets;
    assert_eq!(sets[0].signs[0].card.in_hand, None, "{sets:?}");
}

/// The names are those of the catalogue's index page.
#[test]
fn the_categories_have_names() {
    let names = Category::ALL.map(Category::name);
    assert_eq!(
        names,
        [
            "pairing", "endings", "jumps", "order", "idle", "hands", "clarity", "place"
        ]
    );
}

#[test]
fn rows_of_a_large_board_are_tried_up_to_a_length_that_is_told() {
    let row = |line: &str| board(line).markings()[0].sign().clone();
    let first = row("[1. 1 :| [2. 2 ] |");
    for (measures, longest) in [(128, None), (129, Some(16))] {
        let board = Board::builder([measures]).build().unwrap();
        let places = places(&board, &first).unwrap();
        assert_eq!(places.longest_row(), longest);
        let rows = places.verdicts().iter().map(|it| it.place);
        let longest_tried = rows.map(|it| it.last() - it.first() + 1).max();
        assert_eq!(longest_tried, Some(longest.unwrap_or(measures)));
    }
}

#[test]
fn arrivals_that_never_come_are_taken_from_a_to_coda() {
    let board = board("1 To Coda(arrivals 3) | 2 D.C. al Coda | coda 3 |");
    let found = check(&board);
    let never = found.iter().find(|it| it.rule == "to-coda-never-met");
    let fixed: Vec<String> = fixes(&board, never.unwrap())
        .iter()
        .map(|fix| fix.apply(&board).unwrap().to_line())
        .collect();
    assert!(
        fixed.iter().any(|line| line.starts_with("1 To Coda |")),
        "{fixed:?}"
    );
}

/// A sign behind the one that is taken away has another number afterwards; its error is the one that was there before.
#[test]
fn an_error_of_a_later_sign_is_not_new_when_an_earlier_one_is_taken_away() {
    for line in [
        "1 D.S.:A | 2 D.S.:B | 3 |",
        "1 D.S.:A | 2 D.S.:B | 3 D.S.:C | 4 |",
        "1 | 2 coda:A | 3 D.S.:B | 4 D.S.:C |",
    ] {
        let board = board(line);
        let found = check(&board);
        for (number, finding) in found.iter().enumerate() {
            let Some(marking) = finding.marking else {
                continue;
            };
            let removes = |edits: &[Edit]| edits == [Edit::Remove(marking)];
            assert!(
                fixes(&board, finding).iter().any(|fix| removes(&fix.edits)),
                "{line}, finding {number}: {}",
                finding.message
            );
        }
    }
}

/// The boards, as lines, that the fixes of the first finding of a rule give.
fn cured(board: &Board, rule: &str) -> Vec<String> {
    let found = check(board);
    let finding = found.iter().find(|it| it.rule == rule);
    let finding = finding.unwrap_or_else(|| panic!("{} has no {rule}", board.to_line()));
    let lines = fixes(board, finding)
        .into_iter()
        .map(|fix| fix.apply(board).unwrap().to_line());
    lines.collect()
}

#[test]
fn an_ending_that_begins_too_soon_is_moved_behind_the_other() {
    let board = board("1 |: 2 | [1.(last 4) 3 | [2.(last 5) 4 :| 5 | 6 |");
    let lines = cured(&board, "endings-overlap");
    assert!(
        lines.contains(&"1 |: 2 | [1. 3 | 4 :| [2. 5 ] | 6 |]".to_owned()),
        "{lines:?}"
    );
}

#[test]
fn a_second_segno_gets_a_name_and_its_caller_too() {
    let board = board("1 | segno 2 | segno 3 | 4 D.S. | 5 D.S. |");
    let lines = cured(&board, "label-twice");
    assert!(
        lines
            .iter()
            .any(|it| it.contains("segno:") && it.contains("D.S.:")),
        "{lines:?}"
    );
}

/// The first ending is played on passes 1 to 3, so that the other two are both at odds with it.
#[test]
fn a_second_coda_gets_a_name_and_its_to_coda_too() {
    let board = board("1 To Coda | 2 To Coda | 3 D.C. | coda 4 | coda 5 |");
    let lines = cured(&board, "label-twice");
    let named = |it: &String| it.contains("| coda:A 5") && it.contains("2 To Coda:A |");
    assert!(lines.iter().any(named), "{lines:?}");
}

#[test]
fn each_pass_that_is_played_twice_is_told() {
    let board = board("|: 1 | [1-3. 2 :| [2. 3 :| [3. 4 ] | 5 |");
    let found = check(&board);
    let twice = found.iter().filter(|it| it.rule == "ending-pass-twice");
    assert_eq!(twice.count(), 2, "{found:?}");
}

/// Of two end repeats at one place neither is the other once more where each says something of its own.
#[test]
fn end_repeats_that_say_different_things_are_not_the_same_twice() {
    let mut repeat = [EndRepeat::default(), EndRepeat::default()];
    repeat[0].plays = Some(Plays::Times(3));
    repeat[1].on_return = Some(Repeats::Play);
    for order in [[0, 1], [1, 0]] {
        let signs = order.map(|at| Marking::new(Sign::EndRepeat(repeat[at].clone()), Place::at(2)));
        let board = Board::builder([3]).markings(signs).build().unwrap();
        let found = check(&board);
        assert!(
            found.iter().all(|it| it.rule != "same-sign-twice"),
            "{found:?}"
        );
    }
}

/// A section of which nothing says how often it is played does not hide what else is not settled.
#[test]
fn a_board_with_an_open_section_is_compared_too() {
    let board = board("1 |: 2 :|(plays open) 3 |: 4 :| 5 D.C. |");
    assert!(check(&board).iter().any(|it| it.rule == "not-settled"));
}

#[test]
fn a_sign_over_a_measure_that_is_never_played_belongs_to_the_finding() {
    let board = board("1 | 2 Fine | 3 D.C. al Fine | fermata 4 |");
    let found = check(&board);
    let never = found
        .iter()
        .find(|it| it.rule == "measure-never-played")
        .unwrap();
    let is_fermata = |&index: &usize| matches!(board.markings()[index].sign(), Sign::Fermata(_));
    assert!(never.related.iter().any(is_fermata), "{never:?}");
}

#[test]
fn one_sign_alone_is_read_and_two_are_not() {
    assert_eq!(Sign::from_line("Fine").unwrap().to_line(), "Fine");
    let error = Sign::from_line("Fine Fine").unwrap_err().to_string();
    assert!(
        error.contains("there is more than one sign here"),
        "{error}"
    );
}

#[test]
fn a_beat_touches_its_sign_and_is_counted_from_1() {
    assert!(Board::from_line("{meter 4/4} 1 Fine@3 | 2 |").is_ok());
    for line in ["{meter 4/4} 1 Fine@0 | 2 |", "{meter 4/4} 1 Fine@ 3 | 2 |"] {
        let error = Board::from_line(line).unwrap_err().to_string();
        assert!(error.contains("has no beat after it"), "{line}: {error}");
    }
}

#[test]
fn an_ending_over_nothing_is_told() {
    let error = Board::from_line("|: 1 | [1. | 2 :|")
        .unwrap_err()
        .to_string();
    assert!(
        error.contains("the ending holds no measure here"),
        "{error}"
    );
}

/// A D.S. in the hand that names the segno of the board is what is missing; one that names another is not.
#[test]
fn a_return_in_the_hand_that_names_the_segno_is_used() {
    let in_hand = |line: &str| {
        let sets = missing(&board(line)).unwrap().sets;
        assert!(
            sets[0].signs.len() == 1 && sets[0].arrangements == 3,
            "{sets:?}"
        );
        sets[0].signs[0].card.in_hand
    };
    assert_eq!(
        in_hand("{unplaced D.S.:A} 1 | segno:A 2 | 3 | 4 |"),
        Some(0)
    );
    assert_eq!(in_hand("{unplaced D.S.:B} 1 | segno:A 2 | 3 | 4 |"), None);
}

#[test]
fn an_empty_system_is_told_what_would_be_accepted() {
    let error = Board::from_json("{\"board\": 1, \"systems\": [4, 0]}").unwrap_err();
    let accepted = error.complaints()[0].accepted.as_deref();
    assert_eq!(accepted, Some("a whole number of measures from 1 to 65535"));
}

/// A finding over several measures says the last of them, one over a single measure none.
#[test]
fn measures_that_are_never_played_are_told_from_first_to_last() {
    for (line, last) in [
        ("1 | 2 Fine | 3 D.C. al Fine | 4 | 5 |", Some(5)),
        ("1 | 2 Fine | 3 D.C. al Fine | 4 |", None),
    ] {
        let found = check(&board(line));
        let never = found.iter().find(|it| it.rule == "measure-never-played");
        let never = never.unwrap();
        assert_eq!((never.measure, never.last), (Some(4), last), "{line}");
    }
}

#[test]
fn a_double_bar_stands_at_the_end_of_its_measure() {
    let bar = || Marking::new(Sign::DoubleBar(DoubleBar::default()), Place::at(1));
    let board = Board::builder([2])
        .markings([bar(), bar()])
        .build()
        .unwrap();
    let found = check(&board);
    let twice = found
        .iter()
        .find(|it| it.rule == "same-sign-twice")
        .unwrap();
    assert_eq!(twice.place(&board).unwrap().side, FindingSide::End);
}

/// A bracket over several measures with no end repeat at its end probably runs too far; one over a single measure does not.
#[test]
fn a_bracket_that_runs_on_to_the_next_is_told() {
    for (first_of_long, helps) in [(2, true), (3, false)] {
        let ending = |passes: &[u32], first, last| {
            let passes = Passes::of(passes.iter().copied()).unwrap();
            let open = false;
            Marking::new(
                Sign::Ending(Ending { passes, open }),
                Place::over(first, last),
            )
        };
        let end = |at| Marking::new(Sign::EndRepeat(EndRepeat::default()), Place::at(at));
        let signs = [
            ending(&[1], first_of_long, 3),
            ending(&[1], 4, 4),
            end(4),
            ending(&[2], 5, 5),
        ];
        let board = Board::builder([6]).markings(signs).build().unwrap();
        let found = check(&board);
        let twice = found.iter().find(|it| it.rule == "ending-pass-twice");
        let twice = twice.unwrap_or_else(|| panic!("{found:?}"));
        // The other ending belongs to it, once.
        assert_eq!((twice.marking, &twice.related[..]), (Some(1), &[0][..]));
        let help = &twice.help;
        let told = help.contains("the ending at measure 2 runs to measure 3");
        assert_eq!(told, helps, "{help}");
    }
}

/// 1 000 000 times: three measures, 999 998 times a measure, a million times another and a third, and one more measure. That is
/// 1 000 000 x (4 + 999 998 x 1 000 002) = 10^18, the longest route that there is.
#[test]
fn the_longest_route_is_a_route_and_one_step_more_is_not() {
    let line = "|: 1 | 2 | 3 |: 4 |: 5 :|x1000000 6 :|x999998 7 :|x1000000";
    let longest = Roadmap::new(&board(line), &Terms::default()).unwrap();
    assert_eq!(longest.length(), 1_000_000_000_000_000_000);
    let longer = board(&format!("{line} 8 |"));
    assert!(Roadmap::new(&longer, &Terms::default()).is_err());
}

/// A sign that goes to a cut is told by the beat on which what follows begins.
#[test]
fn a_landing_on_a_beat_is_told_by_that_beat() {
    let board = board("{meter 4/4} 1 | segno@3 2 | 3 |");
    let found = check(&board);
    let unused = found.iter().find(|it| it.rule == "segno-unused").unwrap();
    assert_eq!(unused.place(&board).unwrap().beat, Some(3));
}

#[test]
fn a_pass_that_never_comes_is_told_by_how_often_it_is_played() {
    for (line, message) in [
        (
            "|: 1 | 2 :| 8va(pass 1 2)( 3 ) | 4 |",
            "pass 2 never comes: this is played once",
        ),
        (
            "|: 1 | 2 D.C.(passes 2 5) | 3 :| 4 |",
            "pass 5 never comes: this repeat is played 2 times",
        ),
    ] {
        let found = check(&board(line));
        let never = found.iter().find(|it| it.rule == "pass-never-reached");
        assert_eq!(never.unwrap().message, message, "{line}");
    }
}

/// The D.C. in the ending leads back to the beginning of its section, wherever a segno stands; so it is played again.
#[test]
fn an_ending_to_which_a_da_capo_comes_back_needs_no_end_repeat() {
    let found = check(&board("1 | [1. 2 D.C. ] | segno 3 | 4 D.S. |"));
    assert!(
        found.iter().all(|it| it.rule != "ending-without-repeat"),
        "{found:?}"
    );
}

/// An end repeat that says less than another at its place says nothing; it is the other once more.
#[test]
fn an_end_repeat_that_says_less_than_another_is_the_same_twice() {
    let more = EndRepeat {
        plays: Some(Plays::Times(3)),
        on_return: None,
    };
    let most = EndRepeat {
        on_return: Some(Repeats::Play),
        ..more.clone()
    };
    for pair in [
        [EndRepeat::default(), more.clone()],
        [more.clone(), most.clone()],
        [EndRepeat::default(), most],
    ] {
        for order in [[0, 1], [1, 0]] {
            let signs = order
                .map(|at: usize| Marking::new(Sign::EndRepeat(pair[at].clone()), Place::at(2)));
            let board = Board::builder([3]).markings(signs).build().unwrap();
            let found = check(&board);
            let twice: Vec<_> = found
                .iter()
                .filter(|it| it.rule == "same-sign-twice")
                .collect();
            assert_eq!(twice.len(), 1, "{found:?}");
            let less = order.iter().position(|&at| at == 0);
            assert_eq!(twice[0].marking, less, "{order:?}");
        }
    }
}

/// A key that is missing is told at the brace of the object that should have it.
#[test]
fn a_missing_key_is_told_at_its_brace() {
    let file = "{\"board\": 1, \"systems\": [2], \"markings\": [{\"mark\": \"fine\"}]}";
    let error = Board::from_json(file).unwrap_err();
    let missing = error
        .complaints()
        .iter()
        .find(|it| it.message.contains("is missing"));
    let bytes = missing.unwrap().bytes.clone();
    let brace = file.find("{\"mark\"").unwrap();
    assert_eq!(bytes, brace..brace + 1);
}

#[test]
fn levels_and_barlines_that_stand_nowhere_are_refused() {
    assert_eq!(board("{levels 1 99} 1 |").levels(), [1, 99]);
    for (line, told) in [
        ("{levels 0} 1 |", "is not a level"),
        ("{levels 100} 1 |", "is not a level"),
        ("{levels 2 2} 1 |", "is not a level"),
        (":| 1 |", "no measure stands before this `:|`"),
        ("|| 1 |", "no measure stands before this `||`"),
    ] {
        let error = Board::from_line(line).unwrap_err().to_string();
        assert!(error.contains(told), "{line}: {error}");
    }
    assert!(Board::from_line("|: 1 :|").is_ok());
}
