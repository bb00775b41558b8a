//! Boards for property tests.

use std::collections::BTreeMap;

use fingerpost::{
    Al, Answers, ArmedInRepeat, Arming, Board, DoubleBar, EndRepeat, Ending, Fermata, Fine,
    Fraction, HIGHEST_PASS, Hands, Jump, JumpInRepeat, Landing, LoneEndRepeat, Marking, Meter,
    MeterChange, Nested, Octave, Only, Passes, Place, Plays, Repeats, Shift, Sign, Then, ToCoda,
    Unplaced, When,
};
use proptest::collection::{btree_map, btree_set, vec};
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;

/// Any board: every sign with every key, cut, id and label, on any measure, in the hand too. Most of them are no sound road
/// map; all of them can be built, written and read.
pub fn any_board() -> impl Strategy<Value = Board> {
    vec(1_u16..5, 1..5).prop_flat_map(|systems| {
        let measures = systems.iter().sum();
        (
            Just(systems),
            vec(any_marking(measures), 0..14),
            any_frame(measures),
        )
            .prop_map(|(systems, markings, frame)| frame.around(systems, markings))
    })
}

/// As [`any_board`], but no list of passes has more than 1000 numbers: a board file writes every number out, up to a million of them.
pub fn any_short_board() -> impl Strategy<Value = Board> {
    any_board().prop_filter("a list of passes that takes megabytes", |board| {
        let signs = board.markings().iter().map(Marking::sign);
        let cards = board.unplaced().iter().map(|card| &card.sign);
        let lists = signs.chain(cards).flat_map(lists_of).flatten();
        lists
            .flat_map(Passes::ranges)
            .all(|&(from, to)| to - from < 1000)
    })
}

fn lists_of(sign: &Sign) -> [Option<&Passes>; 2] {
    match sign {
        Sign::Ending(Ending { passes, .. })
        | Sign::Octave(Octave {
            when: When::Passes(passes),
            ..
        })
        | Sign::Fermata(Fermata {
            when: When::Passes(passes),
            ..
        })
        | Sign::Only(Only {
            when: When::Passes(passes),
            ..
        }) => [Some(passes), None],
        Sign::ToCoda(ToCoda { arrivals, .. }) | Sign::Fine(Fine { arrivals }) => {
            [arrivals.as_ref(), None]
        }
        Sign::DaCapo(jump) | Sign::DalSegno(jump) => [jump.arrivals.as_ref(), jump.passes.as_ref()],
        _ => [None, None],
    }
}

/// What a board says beside its measures and markings.
#[derive(Clone, Debug)]
struct Frame {
    texts: [Option<String>; 3],
    levels: Vec<u8>,
    meter: Option<(Meter, BTreeMap<u16, Meter>)>,
    pickup: Option<Fraction>,
    names: Option<Vec<String>>,
    unplaced: Vec<Unplaced>,
    answers: Answers,
}

impl Frame {
    fn around(self, systems: Vec<u16>, markings: Vec<Marking>) -> Board {
        let mut board = Board::builder(systems)
            .markings(markings)
            .levels(self.levels)
            .reading(self.answers);
        let [title, composer, source] = self.texts;
        if let Some(title) = title {
            board = board.title(title);
        }
        if let Some(composer) = composer {
            board = board.composer(composer);
        }
        if let Some(source) = source {
            board = board.source(source);
        }
        if let Some((meter, changes)) = self.meter {
            let changes = changes.into_iter();
            board = board
                .meter(meter)
                .meters(changes.map(|(measure, meter)| MeterChange { measure, meter }));
        }
        if let Some(pickup) = self.pickup {
            board = board.pickup(pickup);
        }
        if let Some(names) = self.names {
            board = board.measure_numbers(names);
        }
        for card in self.unplaced {
            board = board.unplaced(card);
        }
        board.build().expect("what is generated can be built")
    }
}

fn any_frame(measures: u16) -> impl Strategy<Value = Frame> {
    let texts = [(); 3].map(|()| option::weighted(0.2, any_text(500)));
    let levels = option::weighted(0.2, btree_set(1_u8..=99, 1..4));
    let meter = option::weighted(
        0.6,
        (any_meter(), btree_map(1..=measures, any_meter(), 0..3)),
    );
    let pickup = any_fraction().prop_filter("a pickup has a length", |it| *it != Fraction::ZERO);
    let name = prop_oneof![any_text(60), (0_u16..20).prop_map(|n| n.to_string())];
    let names = option::weighted(0.3, vec(name, usize::from(measures)));
    let card = (any_sign(), any_id()).prop_map(|(sign, id)| Unplaced { sign, id });
    (
        (texts, levels, meter, option::weighted(0.2, pickup)),
        (names, vec(card, 0..4), any_answers()),
    )
        .prop_map(
            |((texts, levels, meter, pickup), (names, unplaced, answers))| Frame {
                texts,
                levels: levels.into_iter().flatten().collect(),
                meter,
                pickup,
                names,
                unplaced,
                answers,
            },
        )
}

/// Any marking of a board of so many measures.
pub fn any_marking(measures: u16) -> impl Strategy<Value = Marking> {
    let row = (1..=measures, 1..=measures);
    let cut = option::weighted(0.3, any_fraction());
    (any_sign(), row, cut, any_id()).prop_map(|(sign, (one, other), cut, id)| {
        let place = match cut {
            _ if sign.spans() => Place::over(one.min(other), one.max(other)),
            Some(cut) if sign.may_cut() => Place::cutting(one, cut),
            _ => Place::at(one),
        };
        let marking = Marking::new(sign, place);
        match id {
            Some(id) => marking.with_id(id),
            None => marking,
        }
    })
}

/// Any sign with any of its keys.
pub fn any_sign() -> impl Strategy<Value = Sign> {
    let times = prop_oneof![2_u32..5, 1_u32..=HIGHEST_PASS].prop_map(Plays::Times);
    let plays = prop_oneof![2 => times, 1 => Just(Plays::Open)];
    let end = (option::of(plays), any_repeats());
    let held = || (any_hands(), any_when());
    let shift = select(vec![Shift::Up1, Shift::Up2, Shift::Down1, Shift::Down2]);
    prop_oneof![
        2 => Just(Sign::StartRepeat),
        2 => end.prop_map(|(plays, on_return)| Sign::EndRepeat(EndRepeat { plays, on_return })),
        2 => (any_passes(), any::<bool>())
            .prop_map(|(passes, open)| Sign::Ending(Ending { passes, open })),
        1 => any_label().prop_map(|label| Sign::Segno(Landing { label })),
        1 => any_label().prop_map(|label| Sign::Coda(Landing { label })),
        1 => (any_label(), any_list())
            .prop_map(|(label, arrivals)| Sign::ToCoda(ToCoda { label, arrivals })),
        1 => any_list().prop_map(|arrivals| Sign::Fine(Fine { arrivals })),
        1 => any_jump(true).prop_map(Sign::DaCapo),
        1 => any_jump(false).prop_map(Sign::DalSegno),
        1 => any::<bool>().prop_map(|is_final| Sign::DoubleBar(DoubleBar { is_final })),
        1 => (held(), shift)
            .prop_map(|((hands, when), shift)| Sign::Octave(Octave { hands, shift, when })),
        1 => held().prop_map(|(hands, when)| Sign::Fermata(Fermata { hands, when })),
        1 => held().prop_map(|(hands, when)| Sign::Only(Only { hands, when })),
    ]
}

fn any_jump(da_capo: bool) -> impl Strategy<Value = Jump> {
    let al = vec![
        None,
        Some(Al::Fine),
        Some(Al::Coda),
        Some(Al::Segno),
        Some(Al::End),
    ];
    let then = option::of(select(vec![Then::Coda, Then::End]));
    (
        (select(al), then, any_label(), any_label()),
        (any_repeats(), any_list(), any_list()),
    )
        .prop_map(
            move |((al, then, coda, label), (repeats, arrivals, passes))| {
                // What contradicts itself cannot be built, and is left out.
                let al = al.filter(|&al| da_capo || al != Al::Segno);
                let then = then.filter(|_| matches!(al, Some(Al::Fine | Al::Segno)));
                let to_coda = al == Some(Al::Coda) || then == Some(Then::Coda);
                let labelled = !da_capo || al == Some(Al::Segno);
                Jump {
                    al,
                    then,
                    coda: coda.filter(|_| to_coda),
                    label: label.filter(|_| labelled),
                    repeats,
                    arrivals,
                    passes,
                }
            },
        )
}

fn any_repeats() -> impl Strategy<Value = Option<Repeats>> {
    option::weighted(0.3, select(vec![Repeats::Play, Repeats::Skip]))
}

fn any_hands() -> impl Strategy<Value = Hands> {
    select(vec![Hands::Right, Hands::Left, Hands::Both])
}

fn any_when() -> impl Strategy<Value = When> {
    prop_oneof![
        Just(When::EveryPass),
        Just(When::OnRepeat),
        Just(When::LastPass),
        Just(When::OnReturn),
        any_passes().prop_map(When::Passes),
    ]
}

fn any_list() -> impl Strategy<Value = Option<Passes>> {
    option::weighted(0.3, any_passes())
}

/// Any list of passes: mostly small numbers, now and then wide ranges.
pub fn any_passes() -> impl Strategy<Value = Passes> {
    let small = btree_set(1_u32..9, 1..5).prop_map(|numbers| Passes::of(numbers).expect("a set"));
    let wide = (1..=HIGHEST_PASS, 1..=HIGHEST_PASS).prop_map(|(one, other)| {
        Passes::of_ranges([(one.min(other), one.max(other))]).expect("one range")
    });
    prop_oneof![9 => small, 1 => wide]
}

fn any_fraction() -> impl Strategy<Value = Fraction> {
    let unit = select(vec![1, 2, 4, 8, 16]);
    let musical = (0_u32..13, unit).prop_map(|(n, unit)| Fraction::new(n, unit));
    let any = (0_u32..=65_535, 1_u32..=65_535).prop_map(|(n, d)| Fraction::new(n, d));
    prop_oneof![3 => musical, 1 => any].prop_map(|it| it.expect("both numbers are small enough"))
}

fn any_meter() -> impl Strategy<Value = Meter> {
    let common = (1_u8..13, select(vec![2_u8, 4, 8]));
    prop_oneof![3 => common, 1 => (1_u8..=255, 1_u8..=255)]
        .prop_map(|(beats, unit)| Meter::new(beats, unit).expect("neither is 0"))
}

fn any_id() -> impl Strategy<Value = Option<String>> {
    option::weighted(0.2, any_text(60))
}

fn any_label() -> impl Strategy<Value = Option<String>> {
    option::weighted(0.5, any_text(60))
}

/// A text with at most so many characters: plain words, words that the line or JSON might mistake for something else, and
/// any characters but control characters.
pub fn any_text(most: usize) -> impl Strategy<Value = String> {
    let odd = vec![
        "", " ", "-", "\\", "\"", "\"\\\"", "|", "|:", "//", "x3", "@3", "al Fine", "a, b", "a;b",
        "(a)", "1", "007", "1-3", "D.C.", "\u{feff}", "Hütte", "𝄋", "\u{2028}", "a\u{301}",
    ];
    let character =
        any::<char>().prop_filter("a control character", |&c| c >= ' ' && c != '\u{7f}');
    let any = vec(character, 0..=most).prop_map(|chars| chars.into_iter().collect());
    prop_oneof![
        4 => select(vec!["A", "B", "hut", "second-sign", "Over the Stile"]).prop_map(str::to_owned),
        3 => select(odd).prop_map(str::to_owned),
        1 => any,
    ]
}

fn any_answers() -> impl Strategy<Value = Answers> {
    fn answer<A: Copy + std::fmt::Debug + 'static>(
        all: &'static [A],
    ) -> impl Strategy<Value = Option<A>> {
        option::weighted(0.2, select(all))
    }
    (
        (answer(Repeats::ALL), answer(JumpInRepeat::ALL)),
        (answer(ArmedInRepeat::ALL), answer(Arming::ALL)),
        (answer(LoneEndRepeat::ALL), answer(Nested::ALL)),
    )
        .prop_map(|(first, second, third)| Answers {
            repeats_on_return: first.0,
            jump_in_repeat: first.1,
            armed_in_repeat: second.0,
            arming: second.1,
            lone_end_repeat: third.0,
            nested: third.1,
        })
}

/// Short boards as people lay them, rightly and wrongly: strains with repeats and endings, jumps with their partners or without, marks that
/// hold at some times only. About half of them have no error.
pub fn any_laid_board() -> impl Strategy<Value = Board> {
    (2_u16..9).prop_flat_map(|measures| {
        let laid = prop_oneof![
            3 => any_strain(measures),
            2 => any_return(measures),
            2 => any_mark(measures),
            1 => any_stray(measures),
        ];
        let own = prop_oneof![3 => Just(Answers::default()), 1 => any_answers()];
        (vec(laid, 1..5), own, any::<bool>()).prop_map(move |(laid, own, two_rows)| {
            let systems = if two_rows {
                vec![measures / 2, measures - measures / 2]
            } else {
                vec![measures]
            };
            let mut markings: Vec<Marking> = laid.into_iter().flatten().collect();
            // Endings that overlap are errors: of two the first stays.
            let mut taken: Vec<(u16, u16)> = Vec::new();
            markings.retain(|marking| {
                let (first, last) = (marking.place().first(), marking.place().last());
                let ending = matches!(marking.sign(), Sign::Ending(_));
                let free = taken.iter().all(|&(from, to)| last < from || to < first);
                if ending && free {
                    taken.push((first, last));
                }
                !ending || free
            });
            let board = Board::builder(systems).markings(markings).reading(own);
            board.build().expect("what is generated can be built")
        })
    })
}

fn at(sign: Sign, measure: u16) -> Marking {
    Marking::new(sign, Place::at(measure))
}

fn ending_over(passes: &[u32], first: u16, last: u16) -> Marking {
    let passes = Passes::of(passes.iter().copied()).expect("passes");
    let open = false;
    Marking::new(
        Sign::Ending(Ending { passes, open }),
        Place::over(first, last),
    )
}

/// A repeat, often with endings.
fn any_strain(measures: u16) -> impl Strategy<Value = Vec<Marking>> {
    let plays = prop_oneof![
        6 => Just(None),
        1 => (1_u32..4).prop_map(|times| Some(Plays::Times(times))),
        1 => Just(Some(Plays::Open)),
    ];
    let on_return = option::weighted(0.2, select(vec![Repeats::Play, Repeats::Skip]));
    let end = (plays, on_return).prop_map(|(plays, on_return)| EndRepeat { plays, on_return });
    let first = select(vec![vec![1], vec![1], vec![1, 2], vec![2], vec![1, 3]]);
    let second = select(vec![vec![2], vec![2], vec![3], vec![2, 3]]);
    (
        (1..=measures, 1..=measures, option::weighted(0.8, Just(()))),
        (0_u8..5, first, second, end, any::<bool>()),
    )
        .prop_map(
            move |((one, other, start), (shape, first, second, end, twice))| {
                let (from, to) = (one.min(other), one.max(other));
                let mut markings = Vec::new();
                markings.extend(start.map(|()| at(Sign::StartRepeat, from)));
                markings.push(at(Sign::EndRepeat(end.clone()), to));
                if shape >= 1 {
                    // Now and then it stands over two measures.
                    let begins = if twice && from < to { to - 1 } else { to };
                    markings.push(ending_over(&first, begins, to));
                }
                if shape >= 2 && to < measures {
                    markings.push(ending_over(&second, to + 1, to + 1));
                    markings.extend(twice.then(|| at(Sign::EndRepeat(end), to + 1)));
                }
                if shape == 4 && from < to {
                    markings.push(ending_over(&[1, 2], from, from));
                }
                markings
            },
        )
}

/// A D.C. or D.S. and some of what belongs to it.
fn any_return(measures: u16) -> impl Strategy<Value = Vec<Marking>> {
    let al = vec![
        None,
        Some(Al::Fine),
        Some(Al::Coda),
        Some(Al::Segno),
        Some(Al::End),
    ];
    let small = || option::weighted(0.15, select(vec![1_u32, 2, 3]));
    (
        (1..=measures, 1..=measures, 1..=measures, 1..=measures),
        (any::<bool>(), select(al), any::<bool>(), any_repeats()),
        (small(), small(), small(), 0_u8..10),
    )
        .prop_map(
            move |((a, b, c, d), (da_capo, al, then, repeats), (arrivals, passes, own, lacks))| {
                let mut places = [a, b, c, d];
                places.sort_unstable();
                let [segno, leave, jump_at, coda] = places;
                let list = |number: Option<u32>| number.map(|n| Passes::of([n]).expect("a pass"));
                let al = al.filter(|&al| da_capo || al != Al::Segno);
                let then = (then && matches!(al, Some(Al::Fine | Al::Segno))).then_some(Then::Coda);
                let jump = Jump {
                    al,
                    then,
                    repeats,
                    arrivals: list(arrivals),
                    passes: list(passes),
                    ..Jump::default()
                };
                let mut markings = Vec::new();
                let own = list(own);
                if !da_capo || al == Some(Al::Segno) {
                    markings.push(at(Sign::Segno(Landing::default()), segno));
                }
                if al == Some(Al::Fine) || al.is_none() && lacks > 4 {
                    let fine = Fine {
                        arrivals: own.clone(),
                    };
                    markings.push(at(Sign::Fine(fine), leave));
                }
                if al == Some(Al::Coda) {
                    let to_coda = ToCoda {
                        label: None,
                        arrivals: own,
                    };
                    markings.push(at(Sign::ToCoda(to_coda), leave));
                }
                if al == Some(Al::Coda) || then.is_some() {
                    markings.push(at(Sign::Coda(Landing::default()), coda));
                }
                markings.push(at(
                    if da_capo {
                        Sign::DaCapo(jump)
                    } else {
                        Sign::DalSegno(jump)
                    },
                    jump_at,
                ));
                // Now and then a partner is missing.
                match lacks {
                    0 => drop(markings.pop()),
                    1 => drop(markings.remove(0)),
                    _ => {}
                }
                markings
            },
        )
}

/// A mark that changes no order.
fn any_mark(measures: u16) -> impl Strategy<Value = Vec<Marking>> {
    let small = select(vec![vec![1], vec![2], vec![1, 2], vec![3], vec![2, 3]]);
    let when = prop_oneof![
        Just(When::EveryPass),
        Just(When::OnRepeat),
        Just(When::LastPass),
        Just(When::OnReturn),
        small.prop_map(|passes| When::Passes(Passes::of(passes).expect("passes"))),
    ];
    let shift = select(vec![Shift::Up1, Shift::Up2, Shift::Down1, Shift::Down2]);
    ((1..=measures, 0_u16..3), any_hands(), when, shift, 0_u8..4).prop_map(
        move |((first, more), hands, when, shift, kind)| {
            let last = (first + more).min(measures);
            let marking = match kind {
                0 => at(Sign::Fermata(Fermata { hands, when }), first),
                1 => Marking::new(Sign::Only(Only { hands, when }), Place::over(first, last)),
                _ => Marking::new(
                    Sign::Octave(Octave { hands, shift, when }),
                    Place::over(first, last),
                ),
            };
            vec![marking]
        },
    )
}

/// A sign by itself.
fn any_stray(measures: u16) -> impl Strategy<Value = Vec<Marking>> {
    let sign = select(vec![
        Sign::StartRepeat,
        Sign::EndRepeat(EndRepeat::default()),
        Sign::Segno(Landing::default()),
        Sign::Coda(Landing::default()),
        Sign::ToCoda(ToCoda::default()),
        Sign::Fine(Fine::default()),
        Sign::DaCapo(Jump::default()),
        Sign::DoubleBar(DoubleBar::default()),
    ]);
    (sign, 1..=measures).prop_map(|(sign, measure)| vec![at(sign, measure)])
}
