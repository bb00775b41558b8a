//! Boards written as plain layouts, for tests that must not lean on the library's reader.

use fingerpost::{
    Al, Board, BoardBuilder, DoubleBar, EndRepeat, Ending, Fine, Jump, Landing, Passes, Plays,
    Sign, Then, ToCoda,
};

/// A board from a layout: measures between bars, the signs of a measure joined by `+`, a measure without any written `-`.
/// Neighbouring measures under the same ending share one bracket. A label follows a colon.
pub(crate) fn board(layout: &str) -> Board {
    let measures: Vec<Vec<&str>> = layout
        .split('|')
        .map(|measure| measure.split('+').map(str::trim).collect())
        .collect();
    let count = u16::try_from(measures.len()).unwrap();
    let mut builder = Board::builder([count]);
    let mut bracket: Option<(&str, u16)> = None;
    for (measure, signs) in (1..).zip(&measures) {
        for &text in signs {
            if let Some(passes) = text.strip_prefix("ending ") {
                let first = bracket
                    .filter(|&(other, _)| other == passes)
                    .map_or(measure, |(_, first)| first);
                bracket = Some((passes, first));
            } else if text != "-" {
                builder = builder.mark(sign(text), measure);
            }
        }
        // The bracket closes at an end repeat, at the end of the board and where the next measure does not go on with it.
        if let Some((passes, first)) = bracket {
            let goes_on = measures
                .get(usize::from(measure))
                .is_some_and(|next| next.contains(&format!("ending {passes}").as_str()));
            if !goes_on || signs.iter().any(|s| s.starts_with("end ") || *s == "end") {
                builder = lay_ending(builder, passes, first, measure);
                bracket = None;
            }
        }
    }
    builder.build().unwrap()
}

fn lay_ending(builder: BoardBuilder, passes: &str, first: u16, last: u16) -> BoardBuilder {
    let ranges = passes.split(',').map(|range| {
        let (from, to) = range.split_once('-').unwrap_or((range, range));
        (from.parse().unwrap(), to.parse().unwrap())
    });
    let ending = Ending {
        passes: Passes::of_ranges(ranges).unwrap(),
        open: false,
    };
    builder.over(Sign::Ending(ending), first, last)
}

fn sign(text: &str) -> Sign {
    let (text, label) = match text.split_once(':') {
        Some((text, label)) => (text, Some(label.to_owned())),
        None => (text, None),
    };
    let jump = |al, then| Jump {
        al,
        then,
        ..Jump::default()
    };
    // The label of an al Coda or a `then coda` is the coda's, that of any other jump the segno's.
    let of_segno = |al, then| Jump {
        label: label.clone(),
        ..jump(al, then)
    };
    let of_coda = |al, then| Jump {
        coda: label.clone(),
        ..jump(al, then)
    };
    let landing = || Landing {
        label: label.clone(),
    };
    match text {
        "start" => Sign::StartRepeat,
        "end" => Sign::EndRepeat(EndRepeat::default()),
        "segno" => Sign::Segno(landing()),
        "coda" => Sign::Coda(landing()),
        "to-coda" => Sign::ToCoda(ToCoda {
            label,
            arrivals: None,
        }),
        "fine" => Sign::Fine(Fine::default()),
        "double" => Sign::DoubleBar(DoubleBar::default()),
        "dc" => Sign::DaCapo(jump(None, None)),
        "dc end" => Sign::DaCapo(jump(Some(Al::End), None)),
        "dc fine" => Sign::DaCapo(jump(Some(Al::Fine), None)),
        "dc fine then coda" => Sign::DaCapo(of_coda(Some(Al::Fine), Some(Then::Coda))),
        "dc coda" => Sign::DaCapo(of_coda(Some(Al::Coda), None)),
        "dc segno" => Sign::DaCapo(of_segno(Some(Al::Segno), None)),
        "dc segno then coda" => Sign::DaCapo(of_coda(Some(Al::Segno), Some(Then::Coda))),
        "ds" => Sign::DalSegno(of_segno(None, None)),
        "ds end" => Sign::DalSegno(of_segno(Some(Al::End), None)),
        "ds fine" => Sign::DalSegno(of_segno(Some(Al::Fine), None)),
        "ds coda" => Sign::DalSegno(jump(Some(Al::Coda), None)),
        _ => {
            let plays = text
                .strip_prefix("end x")
                .unwrap_or_else(|| panic!("no sign: {text}"));
            Sign::EndRepeat(EndRepeat {
                plays: Some(match plays {
                    "open" => Plays::Open,
                    number => Plays::Times(number.parse().unwrap()),
                }),
                on_return: None,
            })
        }
    }
}
