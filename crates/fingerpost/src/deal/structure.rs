//! The structure of a board: which signs it has in which order.

use crate::board::{Board, Marking, Sign, When};

/// The signs of a board in their order, without their places: what two boards have in common that differ in their measures alone. Which
/// hand an octave sign is for, and which octave it means, is left out too.
///
/// ```
/// use fingerpost::{Board, structure};
/// let board: Board = "1 |: 2 | 8va(L.H., on repeat)( 3 | 4 ) :|".parse()?;
/// assert_eq!(structure(&board), "|: octave(on repeat) :|");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn structure(board: &Board) -> String {
    let signs = board.markings().iter().map(Marking::sign);
    let names: Vec<String> = signs
        .map(|sign| match sign {
            Sign::Octave(octave) => format!("octave{}", times(&octave.when)),
            Sign::Only(only) => format!("only{}", times(&only.when)),
            // How a bracket is drawn at its end is no matter of structure.
            Sign::Ending(ending) => format!("[{}.", ending.passes),
            sign => sign.to_line(),
        })
        .collect();
    names.join(" ")
}

fn times(when: &When) -> String {
    match when {
        When::EveryPass => String::new(),
        When::OnRepeat => "(on repeat)".to_owned(),
        When::LastPass => "(last pass)".to_owned(),
        When::OnReturn => "(on return)".to_owned(),
        When::Passes(passes) => format!("(pass {passes})"),
    }
}
