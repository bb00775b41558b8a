//! Boards with every key that a file can have, and JSON values that are nearly such boards.

use fingerpost::{
    Al, Answers, ArmedInRepeat, Arming, Board, DoubleBar, EndRepeat, Ending, Fermata, Fine,
    Fraction, Hands, Jump, JumpInRepeat, Landing, LoneEndRepeat, Marking, Meter, MeterChange,
    Nested, Octave, Only, Passes, Place, Plays, Repeats, Shift, Sign, Then, ToCoda, Unplaced, When,
};
use proptest::collection::{btree_set, vec};
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;

/// A text of one line, now and then with characters that JSON escapes or that take several bytes.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => "[a-zA-Z0-9 ]{0,12}",
        1 => "[\"\\\\/éß𝄋\u{2028}'{}\\[\\],:]{1,8}",
    ]
}

fn passes() -> impl Strategy<Value = Passes> {
    let number = prop_oneof![8 => 1..6_u32, 1 => 1..=1_000_000_u32];
    btree_set(number, 1..5).prop_map(|numbers| Passes::of(numbers).unwrap())
}

fn fraction() -> impl Strategy<Value = Fraction> {
    (0..40_u32, 1..33_u32).prop_map(|(upper, lower)| Fraction::new(upper, lower).unwrap())
}

fn meter() -> impl Strategy<Value = Meter> {
    (1..=255_u8, 1..=255_u8).prop_map(|(beats, unit)| Meter::new(beats, unit).unwrap())
}

fn repeats() -> impl Strategy<Value = Option<Repeats>> {
    option::of(select(Repeats::ALL))
}

fn hands() -> impl Strategy<Value = Hands> {
    select(vec![Hands::Both, Hands::Left, Hands::Right])
}

fn when() -> impl Strategy<Value = When> {
    prop_oneof![
        Just(When::EveryPass),
        Just(When::OnRepeat),
        Just(When::LastPass),
        Just(When::OnReturn),
        passes().prop_map(When::Passes),
    ]
}

/// A jump whose keys go together.
fn jump(dal_segno: bool) -> impl Strategy<Value = Jump> {
    let al = option::of(select(vec![Al::Fine, Al::Coda, Al::Segno, Al::End]));
    let then = option::of(select(vec![Then::Coda, Then::End]));
    let labels = (option::of(text()), option::of(text()));
    let lists = (option::of(passes()), option::of(passes()));
    (al, then, labels, repeats(), lists).prop_map(
        move |(al, then, (label, coda), repeats, (arrivals, passes))| {
            let al = al.filter(|&al| !(dal_segno && al == Al::Segno));
            let then = then.filter(|_| matches!(al, Some(Al::Fine | Al::Segno)));
            Jump {
                al,
                then,
                coda: coda.filter(|_| al == Some(Al::Coda) || then == Some(Then::Coda)),
                label: label.filter(|_| dal_segno || al == Some(Al::Segno)),
                repeats,
                arrivals,
                passes,
            }
        },
    )
}

fn sign() -> impl Strategy<Value = Sign> {
    let plays = option::of(prop_oneof![
        (1..=1_000_000_u32).prop_map(Plays::Times),
        Just(Plays::Open)
    ]);
    let landing = || option::of(text()).prop_map(|label| Landing { label });
    let shift = select(vec![Shift::Up1, Shift::Up2, Shift::Down1, Shift::Down2]);
    prop_oneof![
        Just(Sign::StartRepeat),
        (plays, repeats())
            .prop_map(|(plays, on_return)| Sign::EndRepeat(EndRepeat { plays, on_return })),
        (passes(), any::<bool>()).prop_map(|(passes, open)| Sign::Ending(Ending { passes, open })),
        landing().prop_map(Sign::Segno),
        landing().prop_map(Sign::Coda),
        (option::of(text()), option::of(passes()))
            .prop_map(|(label, arrivals)| Sign::ToCoda(ToCoda { label, arrivals })),
        option::of(passes()).prop_map(|arrivals| Sign::Fine(Fine { arrivals })),
        jump(false).prop_map(Sign::DaCapo),
        jump(true).prop_map(Sign::DalSegno),
        any::<bool>().prop_map(|is_final| Sign::DoubleBar(DoubleBar { is_final })),
        (hands(), shift, when()).prop_map(|(hands, shift, when)| Sign::Octave(Octave {
            hands,
            shift,
            when
        })),
        (hands(), when()).prop_map(|(hands, when)| Sign::Fermata(Fermata { hands, when })),
        (hands(), when()).prop_map(|(hands, when)| Sign::Only(Only { hands, when })),
    ]
}

fn marking(measures: u16) -> impl Strategy<Value = Marking> {
    let place = (1..=measures, 1..=measures, option::of(fraction()));
    (sign(), place, option::of(text())).prop_map(|(sign, (a, b, cut), id)| {
        let place = match cut {
            _ if sign.spans() => Place::over(a.min(b), a.max(b)),
            Some(cut) if sign.may_cut() => Place::cutting(a, cut),
            _ => Place::at(a),
        };
        let marking = Marking::new(sign, place);
        match id {
            Some(id) => marking.with_id(id),
            None => marking,
        }
    })
}

fn answers() -> impl Strategy<Value = Answers> {
    (
        repeats(),
        option::of(select(JumpInRepeat::ALL)),
        option::of(select(ArmedInRepeat::ALL)),
        option::of(select(Arming::ALL)),
        option::of(select(LoneEndRepeat::ALL)),
        option::of(select(Nested::ALL)),
    )
        .prop_map(|(a, b, c, d, e, f)| Answers {
            repeats_on_return: a,
            jump_in_repeat: b,
            armed_in_repeat: c,
            arming: d,
            lone_end_repeat: e,
            nested: f,
        })
}

/// Boards with up to eight signs on the board and two in the hand; every key of the format comes up.
pub(crate) fn file_board() -> impl Strategy<Value = Board> {
    let systems = prop_oneof![8 => vec(1..6_u16, 1..4), 1 => vec(1..20_000_u16, 1..4)];
    systems.prop_flat_map(|systems| {
        let measures: u16 = systems.iter().sum();
        let texts = (option::of(text()), option::of(text()), option::of(text()));
        let levels = btree_set(1..=99_u8, 0..3);
        let changes = btree_set(1..=measures, 0..3);
        let meters = option::of((meter(), changes, meter()));
        let pickup = option::of(fraction().prop_filter("no length", |&f| f != Fraction::ZERO));
        let names = option::weighted(0.2, vec(text(), usize::from(measures.min(40))));
        let signs = vec(marking(measures), 0..8);
        let cards = vec((sign(), option::of(text())), 0..3);
        (
            texts,
            levels,
            meters,
            pickup,
            names,
            signs,
            cards,
            answers(),
        )
            .prop_map(
                move |(
                    (title, composer, source),
                    levels,
                    meters,
                    pickup,
                    names,
                    signs,
                    cards,
                    reading,
                )| {
                    let mut builder = Board::builder(systems.clone())
                        .levels(levels)
                        .markings(signs)
                        .reading(reading);
                    if let Some(title) = title {
                        builder = builder.title(title);
                    }
                    if let Some(composer) = composer {
                        builder = builder.composer(composer);
                    }
                    if let Some(source) = source {
                        builder = builder.source(source);
                    }
                    if let Some((first, changes, then)) = meters {
                        let change = |measure| MeterChange {
                            measure,
                            meter: then,
                        };
                        builder = builder.meter(first).meters(changes.into_iter().map(change));
                    }
                    if let Some(pickup) = pickup {
                        builder = builder.pickup(pickup);
                    }
                    if let Some(mut names) = names {
                        names.resize(usize::from(measures), "0".to_owned());
                        builder = builder.measure_numbers(names);
                    }
                    for (sign, id) in cards {
                        builder = builder.unplaced(Unplaced { sign, id });
                    }
                    builder.build().unwrap()
                },
            )
    })
}
