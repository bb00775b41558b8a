//! The signs that are tried at every place.

use fingerpost::{
    Al, DoubleBar, EndRepeat, Ending, Fermata, Fine, Hands, Jump, Landing, Octave, Only, Passes,
    Plays, Shift, Sign, Then, ToCoda, When,
};

/// Signs as they lie in a box.
pub(crate) fn box_of_signs() -> Vec<Sign> {
    let label = |name: Option<&str>| name.map(str::to_owned);
    let passes = |list: &[u32]| Passes::of(list.iter().copied()).expect("passes");
    let ending = |list: &[u32]| {
        Sign::Ending(Ending {
            passes: passes(list),
            open: false,
        })
    };
    let end = |plays| {
        Sign::EndRepeat(EndRepeat {
            plays,
            on_return: None,
        })
    };
    let mut signs = vec![
        Sign::StartRepeat,
        end(None),
        end(Some(Plays::Times(3))),
        ending(&[1]),
        ending(&[2]),
        ending(&[3]),
        ending(&[1, 2]),
        Sign::Fine(Fine::default()),
        Sign::DoubleBar(DoubleBar::default()),
    ];
    for name in [None, Some("A")] {
        signs.push(Sign::Segno(Landing { label: label(name) }));
        signs.push(Sign::Coda(Landing { label: label(name) }));
        signs.push(Sign::ToCoda(ToCoda {
            label: label(name),
            arrivals: None,
        }));
        for al in [None, Some(Al::Fine), Some(Al::Coda), Some(Al::End)] {
            signs.push(Sign::DalSegno(Jump {
                al,
                label: label(name),
                ..Jump::default()
            }));
        }
    }
    for (al, then) in [
        (None, None),
        (Some(Al::Fine), None),
        (Some(Al::Coda), None),
        (Some(Al::End), None),
        (Some(Al::Segno), None),
        (Some(Al::Fine), Some(Then::Coda)),
        (Some(Al::Segno), Some(Then::Coda)),
    ] {
        signs.push(Sign::DaCapo(Jump {
            al,
            then,
            ..Jump::default()
        }));
    }
    signs
}

/// Every kind of sign over a measure, at every time, for every hand.
pub(crate) fn marks_that_sound() -> Vec<Sign> {
    let passes = |list: &[u32]| Passes::of(list.iter().copied()).expect("passes");
    let whens = [
        When::EveryPass,
        When::OnRepeat,
        When::LastPass,
        When::OnReturn,
        When::Passes(passes(&[1])),
        When::Passes(passes(&[2, 3])),
    ];
    let hands = [Hands::Both, Hands::Right, Hands::Left];
    let mut signs = Vec::new();
    for when in whens {
        for hands in hands {
            let when = when.clone();
            signs.push(Sign::Octave(Octave {
                hands,
                shift: Shift::Up1,
                when: when.clone(),
            }));
            signs.push(Sign::Fermata(Fermata {
                hands,
                when: when.clone(),
            }));
            signs.push(Sign::Only(Only { hands, when }));
        }
    }
    signs
}
