//! What a reader has to say of a score besides its signs.

use fingerpost::Severity;

/// What a finding on a score is about.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[non_exhaustive]
pub enum Rule {
    /// Signs were read from printed words; the file says nothing for playing.
    WordsRead,
    /// The printed words say one thing, the instructions for playing another.
    WordsAgainstSound,
    /// Words and drawn signs that were passed over, the instructions for playing being read at their word.
    WordsPassedOver,
    /// Words speak of the road and are not read, or not wholly.
    WordsNotRead,
    /// Parts with different repeats or endings.
    PartsDisagree,
    /// An ending bracket without a number.
    EndingWithoutNumber,
    /// An ending bracket whose end is not written.
    EndingWithoutEnd,
    /// A number of plays that is none.
    PlaysOutOfRange,
    /// A sign inside a measure, read at its edge.
    InsideMeasure,
    /// Two coda signs that are not told apart.
    CodaSignGuessed,
    /// A return that ends where the first piece ends, with no Fine written there.
    FineImplied,
    /// A return that names a piece of the score, and goes to where that piece begins.
    PieceImplied,
    /// The order of the parts that a tune gives.
    PartsOrder,
    /// A sign for playing that nothing shows.
    NotPrinted,
    /// A line over the score that is not closed.
    LineWithoutEnd,
    /// Something of a board that a format cannot say.
    NotWritten,
    /// More than a board can hold, left out.
    LeftOut,
    /// A line of an unrolled score that a jump cuts.
    LineCut,
    /// A measure of an unrolled score that the road cuts.
    MeasureCut,
    /// Verses of an unrolled score that no pass is said for.
    VersesKept,
}

impl Rule {
    /// All of them.
    pub const ALL: [Rule; 20] = [
        Rule::WordsRead,
        Rule::WordsAgainstSound,
        Rule::WordsPassedOver,
        Rule::WordsNotRead,
        Rule::PartsDisagree,
        Rule::EndingWithoutNumber,
        Rule::EndingWithoutEnd,
        Rule::PlaysOutOfRange,
        Rule::InsideMeasure,
        Rule::CodaSignGuessed,
        Rule::FineImplied,
        Rule::PieceImplied,
        Rule::PartsOrder,
        Rule::NotPrinted,
        Rule::LineWithoutEnd,
        Rule::NotWritten,
        Rule::LeftOut,
        Rule::LineCut,
        Rule::MeasureCut,
        Rule::VersesKept,
    ];

    /// Its name, for ever.
    pub fn name(self) -> &'static str {
        match self {
            Rule::WordsRead => "words-read",
            Rule::WordsAgainstSound => "words-against-sound",
            Rule::WordsPassedOver => "words-passed-over",
            Rule::WordsNotRead => "words-not-read",
            Rule::PartsDisagree => "parts-disagree",
            Rule::EndingWithoutNumber => "ending-without-number",
            Rule::EndingWithoutEnd => "ending-without-end",
            Rule::PlaysOutOfRange => "plays-out-of-range",
            Rule::InsideMeasure => "inside-measure",
            Rule::CodaSignGuessed => "coda-sign-guessed",
            Rule::FineImplied => "fine-implied",
            Rule::PieceImplied => "piece-implied",
            Rule::PartsOrder => "parts-order",
            Rule::NotPrinted => "not-printed",
            Rule::LineWithoutEnd => "line-without-end",
            Rule::NotWritten => "not-written",
            Rule::LeftOut => "left-out",
            Rule::LineCut => "line-cut",
            Rule::MeasureCut => "measure-cut",
            Rule::VersesKept => "verses-kept",
        }
    }

    /// How grave it is: a warning where the order may be another than the one that was meant.
    pub fn severity(self) -> Severity {
        match self {
            Rule::WordsAgainstSound
            | Rule::WordsPassedOver
            | Rule::WordsNotRead
            | Rule::PartsDisagree
            | Rule::EndingWithoutNumber
            | Rule::PlaysOutOfRange
            | Rule::CodaSignGuessed
            | Rule::FineImplied
            | Rule::PieceImplied
            | Rule::PartsOrder
            | Rule::NotWritten
            | Rule::LeftOut
            | Rule::LineCut => Severity::Warning,
            Rule::WordsRead
            | Rule::EndingWithoutEnd
            | Rule::InsideMeasure
            | Rule::NotPrinted
            | Rule::LineWithoutEnd
            | Rule::MeasureCut
            | Rule::VersesKept => Severity::Advice,
        }
    }
}

/// A finding on a score: what was found where, and what was made of it.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct Notice {
    /// What it is about.
    pub rule: Rule,
    /// The line of the file, from 1; `None` where the format has none.
    pub line: Option<u32>,
    /// The measure, counted from 1.
    pub measure: Option<u32>,
    /// What was found.
    pub message: String,
    /// How it was read, and what would make it sure.
    pub help: String,
}

impl Notice {
    /// `measure` is counted from 0 here, as marks are.
    pub(crate) fn new(
        rule: Rule,
        line: u32,
        measure: Option<u32>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Notice {
        Notice {
            rule,
            line: (line > 0).then_some(line),
            measure: measure.map(|measure| measure.saturating_add(1)),
            message: message.into(),
            help: help.into(),
        }
    }
}
