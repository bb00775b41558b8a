//! Edits of a board: markings added, taken away, put in place of others.

use super::{Board, BoardError, Marking};

/// A change of one marking of a board.
///
/// The indices of several edits are all those of the board as it was before the first of them.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub enum Edit {
    /// A marking more, behind all others.
    Add(Marking),
    /// The marking of an index taken away.
    Remove(usize),
    /// Another marking in place of the one of an index.
    Replace(usize, Marking),
}

/// Edits that are not of this board.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum EditError {
    /// A marking that the board does not have.
    #[error("there is no marking `{index}` on this board: it has {markings}, counted from 0")]
    NoMarking {
        /// The index asked for.
        index: usize,
        /// How many markings the board has.
        markings: usize,
    },
    /// A marking that is edited twice.
    #[error("marking `{0}` is edited twice: one edit for each marking is accepted")]
    Twice(usize),
    /// The board that would come of it cannot be.
    #[error("the edited board cannot be: {0}")]
    Board(#[from] BoardError),
}

/// What becomes of the markings of a board by edits.
pub(crate) enum Fate<'e> {
    Removed,
    Replaced(&'e Marking),
}

/// The fate of each marking that the edits name, by rising index.
pub(crate) fn fates(edits: &[Edit], markings: usize) -> Result<Vec<(usize, Fate<'_>)>, EditError> {
    let mut fates: Vec<(usize, Fate<'_>)> = Vec::with_capacity(edits.len());
    for edit in edits {
        match edit {
            Edit::Add(_) => {}
            Edit::Remove(index) => fates.push((*index, Fate::Removed)),
            Edit::Replace(index, marking) => fates.push((*index, Fate::Replaced(marking))),
        }
    }
    fates.sort_by_key(|&(index, _)| index);
    if let Some(&(index, _)) = fates.last().filter(|&&(index, _)| index >= markings) {
        return Err(EditError::NoMarking { index, markings });
    }
    let mut pairs = fates.iter().zip(fates.iter().skip(1));
    match pairs.find(|(one, other)| one.0 == other.0) {
        Some(((index, _), _)) => Err(EditError::Twice(*index)),
        None => Ok(fates),
    }
}

/// The markings that edits add, in order.
pub(crate) fn added(edits: &[Edit]) -> impl Iterator<Item = &Marking> {
    edits.iter().filter_map(|edit| match edit {
        Edit::Add(marking) => Some(marking),
        _ => None,
    })
}

impl Board {
    /// The board with edits made: markings that stay keep their order, those added follow.
    ///
    /// ```
    /// use fingerpost::{Board, Edit, Marking, Place, Sign};
    /// let board: Board = "1 | 2 Fine | 3 |".parse()?;
    /// let da_capo = Marking::new(Sign::DaCapo(Default::default()), Place::at(3));
    /// let edited = board.edited(&[Edit::Remove(0), Edit::Add(da_capo)])?;
    /// assert_eq!(edited, "1 | 2 | 3 D.C. |".parse()?);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// An index that the board does not have, a marking edited twice, or a marking that cannot stand on this board.
    pub fn edited(&self, edits: &[Edit]) -> Result<Board, EditError> {
        let mut fates = fates(edits, self.markings.len())?.into_iter().peekable();
        let kept = self.markings.iter().enumerate().filter_map(|(index, old)| {
            match fates.next_if(|&(at, _)| at == index).map(|(_, fate)| fate) {
                None => Some(old.clone()),
                Some(Fate::Removed) => None,
                Some(Fate::Replaced(marking)) => Some(marking.clone()),
            }
        });
        let markings: Vec<Marking> = kept.chain(added(edits).cloned()).collect();
        let builder = self.to_builder().without_markings();
        Ok(builder.markings(markings).build()?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::{Place, Sign};

    #[test]
    fn edits_of_another_board_are_refused() {
        let board: Board = "1 Fine | 2 D.C. |".parse().unwrap();
        let refused = |edits: &[Edit]| board.edited(edits).unwrap_err().to_string();
        assert_eq!(
            refused(&[Edit::Remove(2)]),
            "there is no marking `2` on this board: it has 2, counted from 0"
        );
        assert_eq!(
            refused(&[Edit::Remove(1), Edit::Remove(1)]),
            "marking `1` is edited twice: one edit for each marking is accepted"
        );
        let beyond = Marking::new(Sign::StartRepeat, Place::at(3));
        assert_eq!(
            refused(&[Edit::Add(beyond)]),
            "the edited board cannot be: measure 3 is off the board: its measures are 1 to 2"
        );
    }
}
