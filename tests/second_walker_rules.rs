//! The second walker against orders and errors worked out by hand from the rules, one test a chapter.

#[path = "support/layout.rs"]
mod layout;
#[path = "support/walker/mod.rs"]
mod walker;

use fingerpost::{
    ArmedInRepeat, Arming, Board, Cause, EndRepeat, Ending, Fermata, Fine, Fraction, Hands, Held,
    Jump, JumpInRepeat, LoneEndRepeat, Marking, Meter, Nested, Octave, Only, Passes, Place, Plays,
    Reading, Repeats, Shift, Sign, Terms, ToCoda, When,
};
use layout::board;
use walker::{Outcome, PlainStep, walk};

fn steps(board: &Board, terms: &Terms) -> Vec<PlainStep> {
    match walk(board, terms, 1000) {
        Outcome::Steps(steps) => steps,
        other => panic!("{other:?}"),
    }
}

fn order(board: &Board, reading: Reading) -> String {
    let terms = Terms {
        reading,
        ..Terms::default()
    };
    let measures: Vec<String> = steps(board, &terms)
        .iter()
        .map(|s| s.measure.to_string())
        .collect();
    measures.join(" ")
}

#[track_caller]
fn plays(layout: &str, expected: &str) {
    under(Reading::default(), layout, expected);
}

#[track_caller]
fn under(reading: Reading, layout: &str, expected: &str) {
    assert_eq!(order(&board(layout), reading), expected, "{layout}");
}

#[track_caller]
fn wrong(layout: &str, rules: &str) {
    assert_eq!(errors(&board(layout)), rules, "{layout}");
}

fn errors(board: &Board) -> String {
    match walk(board, &Terms::default(), 1000) {
        Outcome::Errors(rules) => rules.into_iter().collect::<Vec<_>>().join(" "),
        other => panic!("{other:?}"),
    }
}

fn play() -> Reading {
    Reading {
        repeats_on_return: Repeats::Play,
        ..Reading::default()
    }
}

#[test]
fn sections() {
    // The number of passes: `plays`, the closing group, the single first ending.
    plays("start + end x3", "1 1 1");
    plays("start | ending 1,2 + end x9 | ending 3", "1 2 1 2 1 3");
    plays("start | ending 1-3 + end | -", "1 2 1 2 1 2 1 3");
    plays(
        "start | ending 1,3 + end | ending 2,4 + end | -",
        "1 2 1 3 1 2 1 3 4",
    );
    // Endings in the middle of a section, with music of the section after them.
    plays("start | ending 1 | ending 2 | end | -", "1 2 4 1 3 4 5");
    plays("start | ending 3 | end | -", "1 3 1 3 1 2 3 4");
    // An ending right after an end repeat belongs to the section.
    plays("start + end | ending 2 | -", "1 1 2 3");
    plays("start + end | ending 1 | -", "1 1 3");
    // An end repeat in the last ending sends nobody back.
    plays("start | ending 1 + end | ending 2 + end | -", "1 2 1 3 4");
    // A start repeat that is never closed changes nothing.
    plays("- | start | -", "1 2 3");
    // Endings closed by jumps.
    plays("- | ending 1 + dc | ending 2", "1 2 1 3");
    plays("- | ending 1 | -", "1 2 3");
    plays("- | ending 2 | -", "1 3");
    // Nested sections: the counts of the inner one start over.
    plays("start | start + end | end", "1 2 2 3 1 2 2 3");
    let flat = Reading {
        nested: Nested::Flat,
        ..Reading::default()
    };
    under(flat, "start | start + end | end", "1 2 2 3 3");
    // Where a lone end repeat goes back to.
    let lone = |lone_end_repeat| Reading {
        lone_end_repeat,
        ..Reading::default()
    };
    plays("- | end | double | end", "1 2 1 2 3 4 3 4");
    under(
        lone(LoneEndRepeat::AfterDoubleBar),
        "- | end | double | end",
        "1 2 1 2 3 4 4",
    );
    under(
        lone(LoneEndRepeat::Beginning),
        "- | end | end",
        "1 2 1 2 3 1 2 1 2 3",
    );
    under(
        lone(LoneEndRepeat::AfterDoubleBar),
        "- | end + double",
        "1 2 1 2",
    );
}

#[test]
fn leaving_a_measure() {
    // The end repeat comes before the jump on its barline, and before an armed Fine.
    plays("- | end + dc", "1 2 1 2 1 2");
    plays("start + end + fine | dc fine", "1 1 2 1");
    under(play(), "start + end + fine | dc fine", "1 1 2 1 1");
    let first = Reading {
        armed_in_repeat: ArmedInRepeat::FirstArrival,
        ..play()
    };
    under(first, "start + end + fine | dc fine", "1 1 2 1");
    // A mark whose arrivals name this one comes before the end repeat.
    let arrivals = |n: u32| Some(Passes::of([n]).unwrap());
    let fine = Sign::Fine(Fine {
        arrivals: arrivals(3),
    });
    let laid = board("- | end x9").to_builder().mark(fine, 1).build();
    assert_eq!(order(&laid.unwrap(), Reading::default()), "1 2 1 2 1");
    let jump = |passes, arrivals| {
        Sign::DaCapo(Jump {
            passes,
            arrivals,
            ..Jump::default()
        })
    };
    let laid = board("start | end | -").to_builder();
    let once = laid.clone().mark(jump(None, arrivals(1)), 2).build();
    assert_eq!(order(&once.unwrap(), Reading::default()), "1 2 1 2 3");
    // Passes in place of the last one; outside every section they are arrivals.
    let pass = laid.clone().mark(jump(arrivals(1), None), 1).build();
    assert_eq!(order(&pass.unwrap(), play()), "1 1 2 1 2 3");
    let pass = laid.mark(jump(arrivals(2), None), 3).build();
    assert_eq!(order(&pass.unwrap(), Reading::default()), "1 2 1 2 3");
}

#[test]
fn jumps() {
    // Once, and on the last pass.
    plays("start + dc | end", "1 2 1 1 2");
    let first = Reading {
        jump_in_repeat: JumpInRepeat::FirstArrival,
        ..Reading::default()
    };
    under(first, "start + dc | end", "1 1 2");
    // What is armed.
    plays("fine | dc end", "1 2 1 2");
    plays("fine | to-coda | dc | coda", "1 2 3 1");
    plays("to-coda | dc coda | coda | fine | -", "1 2 1 3 4");
    plays("- | fine | dc fine then coda | coda", "1 2 3 1 2 4");
    plays("- | segno | dc segno | -", "1 2 3 1");
    plays("- | to-coda:A | dc coda:A | coda:A", "1 2 3 1 2 4");
    let al_only = Reading {
        arming: Arming::AlOnly,
        ..Reading::default()
    };
    under(al_only, "fine | dc", "1 2 1 2");
    let by_count = Reading {
        arming: Arming::SecondArrival,
        ..Reading::default()
    };
    under(by_count, "to-coda | dc coda | coda", "1 2 1 3");
    under(by_count, "start + to-coda | end | - | coda", "1 2 1 4");
    // A jump without `coda` means the To Codas not obeyed before.
    plays(
        "segno | to-coda:A | - | dc coda:A | coda:A + to-coda:B | ds coda | coda:B",
        "1 2 3 4 1 2 5 6 1 2 3 4 5 7",
    );
    // On a board without any jump a To Coda in a section is obeyed on its last pass.
    plays("start | to-coda | end | coda", "1 2 3 1 2 4");
    plays("to-coda | coda", "1 2");
    plays(
        "start | ending 1 + to-coda + end | ending 2 | coda",
        "1 2 1 3 4",
    );
}

#[test]
fn passes_on_a_return() {
    let layout = "start | - | ending 1 + end | ending 2 + fine | dc fine";
    plays(layout, "1 2 3 1 2 4 5 1 2 4");
    under(play(), layout, "1 2 3 1 2 4 5 1 2 3 1 2 4");
    // What was not met before is repeated in full.
    plays("to-coda | dc coda | coda + start + end", "1 2 1 3 3");
    // Endings closed by a jump go on counting, also where repeats are played again.
    under(play(), "segno | ending 1 + ds | ending 2", "1 2 1 3");
    let examination = Terms {
        omit_repeats: true,
        ..Terms::default()
    };
    let measures = |layout: &str| -> Vec<u16> {
        steps(&board(layout), &examination)
            .iter()
            .map(|s| s.measure)
            .collect()
    };
    assert_eq!(measures(layout), [1, 2, 4, 5, 1, 2, 4]);
    assert_eq!(measures("segno | ending 1 + ds | ending 2"), [1, 2, 1, 3]);
    // The end repeat outranks the jump, the jump the reading.
    let end = |on_return| {
        Sign::EndRepeat(EndRepeat {
            plays: None,
            on_return,
        })
    };
    let jump = |repeats| {
        Sign::DaCapo(Jump {
            repeats,
            ..Jump::default()
        })
    };
    for (on_return, repeats, expected) in [
        (None, None, "1 1 2 1 2"),
        (None, Some(Repeats::Play), "1 1 2 1 1 2"),
        (Some(Repeats::Play), Some(Repeats::Skip), "1 1 2 1 1 2"),
    ] {
        let laid = Board::builder([2])
            .mark(end(on_return), 1)
            .mark(jump(repeats), 2);
        assert_eq!(order(&laid.build().unwrap(), Reading::default()), expected);
    }
    // Played until a signal.
    let vamp = board("- | end xopen");
    assert_eq!(walk(&vamp, &Terms::default(), 9), Outcome::OpenPlays);
    let three = Terms {
        open_plays: Some(3),
        ..Terms::default()
    };
    assert_eq!(steps(&vamp, &three).len(), 6);
}

#[test]
fn what_a_step_carries() {
    let octave = |when| {
        Sign::Octave(Octave {
            hands: Hands::Left,
            shift: Shift::Down1,
            when,
        })
    };
    let only = Sign::Only(Only {
        hands: Hands::Right,
        when: When::LastPass,
    });
    let fermata = Sign::Fermata(Fermata {
        hands: Hands::Both,
        when: When::OnReturn,
    });
    let laid = board("start | start + end | end + fine | dc fine")
        .to_builder()
        .over(octave(When::OnRepeat), 2, 3)
        .over(octave(When::EveryPass), 2, 2)
        .over(only, 2, 2)
        .mark(fermata, 3)
        .build()
        .unwrap();
    let steps = steps(&laid, &Terms::default());
    let seen: Vec<_> = steps
        .iter()
        .map(|s| (s.measure, s.pass, s.enclosing.clone(), s.leg, s.visit))
        .collect();
    assert_eq!(
        seen[..5],
        [
            (1, 1, vec![], 1, 1),
            (2, 1, vec![1], 1, 1),
            (2, 2, vec![1], 1, 2),
            (3, 1, vec![], 1, 1),
            (1, 2, vec![], 1, 2),
        ]
    );
    assert_eq!(seen.last().unwrap(), &(3, 2, vec![], 2, 3));
    let octaves: Vec<i8> = steps.iter().map(|s| s.octave_left).collect();
    assert_eq!(octaves[..5], [0, -1, -2, 0, 0]);
    assert!(steps.iter().all(|s| s.octave_right == 0));
    assert_eq!((steps[1].hands, steps[2].hands), (Held::Left, Held::Both));
    let holds: Vec<Held> = steps.iter().map(|s| s.hold).collect();
    assert_eq!(holds.iter().filter(|&&h| h == Held::Both).count(), 1);
    assert_eq!((steps[4].cause, steps[4].marking), (Cause::Repeat, Some(3)));
    let past = walk(
        &board("start | ending 1 + end | ending 2"),
        &Terms::default(),
        9,
    );
    let Outcome::Steps(past) = past else { panic!() };
    assert_eq!(
        (past[3].cause, past[3].marking),
        (Cause::PastEnding, Some(2))
    );
}

#[test]
fn inside_a_measure() {
    let half = Fraction::new(1, 2).unwrap();
    let fine = Marking::new(Sign::Fine(Fine::default()), Place::cutting(1, half));
    let laid = board("- | dc")
        .to_builder()
        .meter(Meter::new(3, 4).unwrap())
        .marking(fine)
        .build()
        .unwrap();
    let steps = steps(&laid, &Terms::default());
    let parts: Vec<_> = steps.iter().map(|s| (s.measure, s.part, s.visit)).collect();
    let whole = Fraction::new(3, 4).unwrap();
    let (front, back) = (Some((Fraction::ZERO, half)), Some((half, whole)));
    assert_eq!(
        parts,
        [(1, front, 1), (1, back, 1), (2, None, 1), (1, front, 2)]
    );
}

#[test]
fn errors_by_name() {
    wrong("- | ds", "segno-missing");
    wrong("dc segno | segno:A", "segno-missing");
    wrong("- | dc fine", "fine-missing");
    wrong("dc coda | coda", "to-coda-missing");
    wrong("to-coda | dc coda", "coda-missing");
    wrong("to-coda | dc", "coda-missing");
    wrong("start | to-coda + end", "coda-missing");
    wrong("fine | dc fine then coda", "coda-missing");
    wrong("segno | segno | ds", "label-twice");
    wrong("coda | coda", "label-twice");
    wrong("start | ending 1 + end | ending 3", "ending-gap");
    wrong(
        "start | ending 1,2 + end | ending 2,3 + end",
        "ending-pass-twice",
    );
    wrong("- | ending 1 + start", "start-repeat-in-ending");
    wrong("- | ending 1 | ending 2 + end", "ending-not-closed");
    wrong("ds | segno", "segno-after-jump");
    wrong("coda | to-coda | dc", "coda-before-to-coda");
    wrong(
        "- | coda | segno | dc segno then coda",
        "coda-before-to-coda",
    );
    wrong("- | coda | fine | dc fine then coda", "coda-before-to-coda");
    wrong(
        "- | segno + ending 1 + end | ending 2 | ds",
        "landing-in-wrong-ending",
    );
    wrong("- | dc + dc fine | fine", "jumps-together");
    let nine = "start | start | start | start | start | start | start | start";
    plays(
        &format!("{nine} | {}", ["end"; 8].join(" | ")).replace("end", "end x1"),
        "1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16",
    );
    wrong(
        &format!("{nine} | start | {}", ["end"; 9].join(" | ")),
        "nesting-too-deep",
    );

    let ending = |pass| {
        Sign::Ending(Ending {
            passes: Passes::of([pass]).unwrap(),
            open: false,
        })
    };
    let past = board("- | end | -").to_builder().over(ending(1), 2, 3);
    assert_eq!(errors(&past.build().unwrap()), "ending-past-section");
    let overlapping = board("- | end | -")
        .to_builder()
        .over(ending(1), 2, 2)
        .over(ending(2), 2, 2);
    assert_eq!(errors(&overlapping.build().unwrap()), "endings-overlap");

    let end = |on_return| {
        Sign::EndRepeat(EndRepeat {
            plays: Some(Plays::Times(2)),
            on_return: Some(on_return),
        })
    };
    let two = Board::builder([1])
        .mark(end(Repeats::Play), 1)
        .mark(end(Repeats::Skip), 1);
    assert_eq!(errors(&two.build().unwrap()), "on-return-contradicts");

    let cut = |numerator| {
        let cut = Fraction::new(numerator, 4).unwrap();
        Marking::new(Sign::Fine(Fine::default()), Place::cutting(1, cut))
    };
    for (meter, numerator) in [(None, 1), (Meter::new(4, 4), 0), (Meter::new(4, 4), 5)] {
        let mut laid = Board::builder([1]).marking(cut(numerator));
        if let Some(meter) = meter {
            laid = laid.meter(meter);
        }
        assert_eq!(errors(&laid.build().unwrap()), "cut-outside-measure");
    }
}

#[test]
fn combinations_that_are_left_out() {
    // By count the To Coda would be obeyed, and it has no coda.
    let by_count = Terms {
        reading: Reading {
            arming: Arming::SecondArrival,
            ..Reading::default()
        },
        ..Terms::default()
    };
    let outcome = walk(&board("to-coda | dc end"), &by_count, 9);
    assert!(matches!(outcome, Outcome::LeftOut(rules) if rules.contains("coda-missing")));
    // Its own arrivals have a To Coda obeyed whatever is armed.
    let arrivals = Sign::ToCoda(ToCoda {
        label: None,
        arrivals: Some(Passes::of([1]).unwrap()),
    });
    let laid = board("- | -").to_builder().mark(arrivals, 1).build();
    assert_eq!(errors(&laid.unwrap()), "coda-missing");
    // Played again, the pass at the segno is the first.
    let played = Terms {
        reading: play(),
        ..Terms::default()
    };
    let layout = "- | ending 1 + end | ending 2 + segno | ds";
    plays(layout, "1 2 1 3 4 3 4");
    let outcome = walk(&board(layout), &played, 99);
    assert!(
        matches!(outcome, Outcome::LeftOut(rules) if rules.contains("landing-in-wrong-ending"))
    );
}
