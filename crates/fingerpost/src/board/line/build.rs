//! Builds the board from what has been read of a line, or refuses the line with everything that is wrong with it.

use std::ops::Range;

use super::parse::Line;
use super::reader::Reader;
use crate::board::{Board, BoardFault, Complaint, MOST_MEASURES, Position, ReadError, Unplaced};

/// Everything that is wrong with a line that has drawn a complaint.
pub(super) fn refused(reader: Reader<'_>) -> ReadError {
    let mut complaints = reader.complaints().into_iter();
    let first = complaints.next().unwrap_or_else(|| Complaint {
        message: "the line is no board".to_owned(),
        accepted: None,
        pointer: None,
        position: Position { line: 1, column: 1 },
        bytes: 0..0,
    });
    ReadError::new(first, complaints)
}

impl Line<'_> {
    /// The board with the bytes of each of its markings.
    pub(super) fn build(mut self) -> Result<(Board, Vec<Range<usize>>), ReadError> {
        if let Some(bytes) = self.too_many.take() {
            let fault = if self.measure > MOST_MEASURES {
                BoardFault::TooManyMeasures(u64::from(self.measure))
            } else {
                BoardFault::TooManyMarkings(self.marks_in_all + self.header.unplaced_in_all)
            };
            self.reader.complain(bytes, fault.to_string(), "");
            return Err(refused(self.reader));
        }
        if self.measure == 0 {
            return Err(refused(self.reader));
        }
        let mut board = self
            .header
            .lay(Board::builder(std::mem::take(&mut self.systems)));
        if !self.names.is_empty() {
            let mut names: Vec<String> = (1..=self.measure).map(|n| n.to_string()).collect();
            for (measure, name) in std::mem::take(&mut self.names) {
                let at = usize::try_from(measure - 1).ok();
                if let Some(place) = at.and_then(|at| names.get_mut(at)) {
                    *place = name;
                }
            }
            board = board.measure_numbers(names);
        }
        let mut bytes = Vec::with_capacity(self.marks.len());
        for mark in std::mem::take(&mut self.marks) {
            if let Some(marking) = mark.marking {
                board = board.marking(marking);
                bytes.push(mark.bytes);
            }
        }
        let mut hand = Vec::new();
        for draft in &self.header.unplaced {
            if let Some(sign) = draft.sign() {
                let id = draft.id.clone();
                board = board.unplaced(Unplaced { sign, id });
                hand.push(draft.bytes.clone());
            }
        }
        // Signs that have drawn a complaint are left out, so that the others still get theirs.
        let faults = match board.build_all() {
            Ok(board) if self.reader.is_clean() => return Ok((board, bytes)),
            Ok(_) => Vec::new(),
            Err(faults) => faults,
        };
        let mut told = Vec::new();
        for fault in faults {
            let place = match (fault.marking(), fault.unplaced()) {
                (Some(at), _) => bytes.get(at).cloned(),
                (_, Some(at)) => hand.get(at).cloned(),
                _ if self.header.broken => continue,
                _ => self.header.bytes_of(fault.fault()),
            };
            if self.reader.is_full() {
                break;
            }
            self.reader
                .complain(place.unwrap_or(0..0), fault.to_string(), "");
            told.push(fault);
        }
        Err(refused(self.reader).with_board_errors(told))
    }
}
