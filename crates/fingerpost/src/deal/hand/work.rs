//! A search done by one thread, or shared among several.
//!
//! *Piece*: what one call of [`Work::share`] does. *Share*: one piece, or some in a row, all done by one thread.
//!
//! All threads go through the same search in the same order, and each passes over the pieces whose share another has taken: the next share that
//! nobody has is taken by whoever asks first. So where a share begins, and what is found in it, does not hang on how many threads there are.
//! Later shares have more pieces, each about a sixty-fourth of all pieces before it, so that there are never very many.

use std::cell::Cell;
use std::sync::atomic::{AtomicU64, Ordering};

use super::search::Ended;

/// How many orders, in pieces of its own, a thread looks at before it tells the others. The first thread calls for help then.
const AT_ONCE: u64 = if cfg!(test) { 1 << 8 } else { 1 << 16 };

/// All pieces before a share are as many as so many such shares.
const SHARES_BEFORE: u64 = 64;

/// What those have in common who share a search.
pub(super) struct Common {
    /// The first share that nobody has taken.
    next: AtomicU64,
    /// How many orders have been looked at, as far as it has been told.
    spent: AtomicU64,
    most: u64,
}

/// The part that one has in a search.
pub(super) struct Work<'c> {
    common: Option<&'c Common>,
    /// Called once, when this thread has looked at many orders.
    calls_help: Option<&'c dyn Fn()>,
    has_called: Cell<bool>,
    /// How many orders may be looked at before the others are told, or at all.
    left: Cell<u64>,
    /// How many pieces of the search have been come to, and at how many the next share begins.
    pieces: Cell<u64>,
    next_share_at: Cell<u64>,
    /// The share that has been come to, counted from 1; whether it is this one's; and the one that has been taken and is still to come.
    share: Cell<u64>,
    is_own: Cell<bool>,
    taken: Cell<Option<u64>>,
    /// Whether this is a piece that has been taken, which is shared no further.
    is_inside: Cell<bool>,
}

impl Common {
    /// For a search that looks at so many orders at most.
    pub(super) fn new(most: u64) -> Common {
        Common {
            next: AtomicU64::new(1),
            spent: AtomicU64::new(0),
            most,
        }
    }

    /// Whether more orders have been looked at than may be; known for certain when all have ended.
    pub(super) fn is_overspent(&self) -> bool {
        self.spent.load(Ordering::Relaxed) > self.most
    }
}

impl<'c> Work<'c> {
    /// A search that one does alone, and looks at so many orders at most.
    pub(super) fn alone(most: u64) -> Work<'c> {
        Work {
            common: None,
            calls_help: None,
            has_called: Cell::new(false),
            left: Cell::new(most),
            pieces: Cell::new(0),
            next_share_at: Cell::new(0),
            share: Cell::new(0),
            is_own: Cell::new(false),
            taken: Cell::new(None),
            is_inside: Cell::new(true),
        }
    }

    /// A part in a search that is shared. `calls_help`: what is done when this thread has looked at many orders.
    pub(super) fn shared(common: &'c Common, calls_help: Option<&'c dyn Fn()>) -> Work<'c> {
        Work {
            common: Some(common),
            calls_help,
            is_inside: Cell::new(false),
            ..Work::alone(AT_ONCE)
        }
    }

    /// How many orders may still be looked at by one who is alone.
    pub(super) fn left(&self) -> u64 {
        self.left.get()
    }

    /// The number of the share that has been come to: inside a piece, of the one that is being done.
    pub(super) fn number(&self) -> u64 {
        self.share.get()
    }

    /// Takes one from how many orders may still be looked at; whether there was one. What lies outside all pieces is gone through by
    /// everyone, and is not counted.
    pub(super) fn spend(&self) -> bool {
        self.spend_all(1)
    }

    /// Takes one that is as much work as so many.
    pub(super) fn spend_all(&self, many: u64) -> bool {
        if !self.is_inside.get() {
            return true;
        }
        if self.left.get() < many && !self.goes_on() {
            return false;
        }
        self.left.set(self.left.get() - many);
        true
    }

    /// Tells the others how many orders have been looked at; whether more may be.
    fn goes_on(&self) -> bool {
        let Some(common) = self.common else {
            return false;
        };
        common
            .spent
            .fetch_add(AT_ONCE - self.left.replace(AT_ONCE), Ordering::Relaxed);
        if common.is_overspent() {
            return false;
        }
        if let Some(calls) = self.calls_help.filter(|_| !self.has_called.replace(true)) {
            calls();
        }
        true
    }

    /// The part is done: tells the others how many orders have been looked at.
    pub(super) fn end(self) {
        if let Some(common) = self.common {
            let spent = AT_ONCE - self.left.get();
            common.spent.fetch_add(spent, Ordering::Relaxed);
        }
    }

    /// Whether no piece is being done.
    pub(super) fn is_outside(&self) -> bool {
        !self.is_inside.get()
    }

    /// Does a piece of the search, unless it belongs to a share that another has taken.
    pub(super) fn share(&self, does: impl FnOnce() -> Ended) -> Ended {
        if self.is_inside.get() {
            return does();
        }
        if !self.takes() {
            return Ended::All;
        }
        self.is_inside.set(true);
        let ended = does();
        self.is_inside.set(false);
        ended
    }

    /// Does something that is a piece of the search, or is not.
    pub(super) fn share_if(&self, is_piece: bool, does: impl FnOnce() -> Ended) -> Ended {
        if is_piece { self.share(does) } else { does() }
    }

    /// Whether the piece that comes next is this one's.
    fn takes(&self) -> bool {
        let piece = self.pieces.get();
        self.pieces.set(piece + 1);
        if piece == self.next_share_at.get() {
            self.next_share_at
                .set(piece + (piece / SHARES_BEFORE).max(1));
            let share = self.share.get() + 1;
            self.share.set(share);
            // All shares before this one have been taken, by this one or by others, so that what is taken now lies behind none that was
            // passed over.
            let next = |common: &Common| common.next.fetch_add(1, Ordering::Relaxed);
            let taken = self.taken.get().or_else(|| self.common.map(next));
            let is_here = taken == Some(share);
            self.is_own.set(is_here);
            self.taken.set(taken.filter(|_| !is_here));
        }
        self.is_own.get()
    }
}
