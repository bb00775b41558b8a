//! A board as a MusicXML 4.0 score: a measure of rests for each of its measures, every sign drawn and said for playing.
//!
//! Source: MusicXML 4.0, W3C Community Group Final Report, June 2021, elements `score-partwise`, `measure`, `barline`, `direction`, `sound`.

mod measure;
mod returns;
mod signs;

use std::collections::BTreeMap;

use fingerpost::{Board, Fraction, Hands, Jump, Marking, Sign};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};

use crate::notices::{Notice, Rule};

/// A score that has been written.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub struct WrittenScore {
    /// The text of the file.
    pub text: String,
    /// What the format cannot say, and so is not in the file, or is in it as words only.
    pub notices: Vec<Notice>,
}

/// Writes a board as a MusicXML 4.0 score.
///
/// A score that is read back gives the same board, but for what stands in the notices.
///
/// ```
/// let board: fingerpost::Board = "|: 1 | 2 :| 3 D.C. |".parse()?;
/// let score = fingerpost_notation::write_musicxml(&board);
/// assert!(score.text.contains("<sound dacapo=\"yes\"/>"));
/// assert!(score.notices.is_empty());
/// let read = fingerpost_notation::read(score.text.as_bytes())?;
/// assert_eq!(read[0].board.canonical(), board.canonical());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn write_musicxml(board: &Board) -> WrittenScore {
    let mut page = Page::new(board);
    // cannot fail: writing into memory does not, and every text is escaped.
    let text = page.score().map(|()| page.text()).unwrap_or_default();
    WrittenScore {
        text,
        notices: page.notices,
    }
}

type Written = std::io::Result<()>;

/// A score as far as it has been written.
struct Page<'a> {
    board: &'a Board,
    xml: Writer<Vec<u8>>,
    notices: Vec<Notice>,
    /// The markings at each measure at which something of them is written.
    starts: BTreeMap<u16, Vec<&'a Marking>>,
    ends: BTreeMap<u16, Vec<&'a Marking>>,
    /// So many divisions has a quarter note.
    divisions: u32,
    /// One staff, or two where a sign is for one hand.
    staves: u8,
    /// Whether every return makes the repeats, so that each end repeat says it.
    play_repeats: bool,
}

impl<'a> Page<'a> {
    fn new(board: &'a Board) -> Page<'a> {
        let mut starts: BTreeMap<u16, Vec<&Marking>> = BTreeMap::new();
        let mut ends: BTreeMap<u16, Vec<&Marking>> = BTreeMap::new();
        let mut staves = 1;
        for marking in board.markings() {
            let place = marking.place();
            let of_first = starts.entry(place.first()).or_default();
            if of_first
                .iter()
                .any(|known| known.sign() == marking.sign() && known.place() == place)
            {
                // Written twice at one place, it is one sign.
                continue;
            }
            of_first.push(marking);
            if marking.sign().spans() {
                ends.entry(place.last()).or_default().push(marking);
            }
            let hands = match marking.sign() {
                Sign::Octave(octave) => octave.hands,
                Sign::Fermata(fermata) => fermata.hands,
                _ => Hands::Both,
            };
            if hands != Hands::Both {
                staves = 2;
            }
        }
        Page {
            board,
            xml: Writer::new_with_indent(Vec::new(), b' ', 2),
            notices: Vec::new(),
            starts,
            ends,
            divisions: divisions(board),
            staves,
            play_repeats: returns::play_repeats(board),
        }
    }

    fn text(&mut self) -> String {
        let mut bytes = std::mem::take(self.xml.get_mut());
        bytes.push(b'\n');
        String::from_utf8(bytes).unwrap_or_default()
    }

    fn score(&mut self) -> Written {
        self.left_behind();
        self.xml
            .write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
        self.open("score-partwise", &[("version", "4.0")])?;
        if let Some(title) = self.board.title() {
            self.element("movement-title", title)?;
        }
        if let Some(composer) = self.board.composer() {
            self.open("identification", &[])?;
            let creator = self.xml.create_element("creator");
            creator
                .with_attribute(("type", "composer"))
                .write_text_content(BytesText::new(composer))?;
            self.close("identification")?;
        }
        self.open("part-list", &[])?;
        self.open("score-part", &[("id", "P1")])?;
        self.element("part-name", "")?;
        self.close("score-part")?;
        self.close("part-list")?;
        self.open("part", &[("id", "P1")])?;
        let mut first_of_system = 1_u32;
        let mut systems = self.board.systems().iter();
        for measure in 1..=self.board.measures() {
            let breaks = u32::from(measure) == first_of_system;
            if breaks {
                first_of_system += u32::from(systems.next().copied().unwrap_or(u16::MAX));
            }
            self.measure(measure, breaks && measure > 1)?;
        }
        self.close("part")?;
        self.close("score-partwise")
    }

    /// What a board holds and no score does.
    fn left_behind(&mut self) {
        let mut until = 0;
        for marking in self.starts.values().flatten() {
            if !matches!(marking.sign(), Sign::Ending(_)) {
                continue;
            }
            let place = marking.place();
            if place.first() <= until {
                self.notices.push(cannot_say(
                    Some(place.first()),
                    "brackets that overlap are written; which of them ends where is not",
                ));
            }
            until = until.max(place.last());
        }
        for (measure, markings) in &self.starts {
            let words = |of: fn(&Sign) -> Option<&Jump>| -> Vec<_> {
                let jumps = markings.iter().filter_map(|marking| of(marking.sign()));
                jumps
                    .map(|jump| (jump.al, jump.then, jump.repeats))
                    .collect()
            };
            let da_capos = words(|sign| match sign {
                Sign::DaCapo(jump) => Some(jump),
                _ => None,
            });
            let dal_segnos = words(|sign| match sign {
                Sign::DalSegno(jump) => Some(jump),
                _ => None,
            });
            let count = |of: fn(&Sign) -> bool| {
                let same = markings.iter().filter(|marking| of(marking.sign()));
                same.count()
            };
            if count(|sign| matches!(sign, Sign::Fine(_))) > 1
                || count(|sign| matches!(sign, Sign::ToCoda(_))) > 1
            {
                self.notices.push(cannot_say(
                    Some(*measure),
                    "several signs of one kind in a measure are written and read as one",
                ));
            }
            let mixed = |words: &[_]| words.windows(2).any(|pair| pair.first() != pair.last());
            if mixed(&da_capos) || mixed(&dal_segnos) {
                self.notices.push(cannot_say(
                    Some(*measure),
                    "two returns in one measure are written; whose words are whose is not",
                ));
            }
        }
        self.tell_of_returns();
        if !self.board.unplaced().is_empty() {
            self.cannot_say(
                None,
                "signs in the hand are not written: they have no place yet",
            );
        }
        if *self.board.reading() != fingerpost::Answers::default() {
            self.cannot_say(
                None,
                "the board's own reading is not written: no attribute says it",
            );
        }
    }

    fn cannot_say(&mut self, measure: Option<u16>, message: &str) {
        self.notices.push(cannot_say(measure, message));
    }

    fn open(&mut self, name: &str, attributes: &[(&str, &str)]) -> Written {
        let start =
            quick_xml::events::BytesStart::new(name).with_attributes(attributes.iter().copied());
        self.xml.write_event(Event::Start(start))
    }

    fn close(&mut self, name: &str) -> Written {
        let end = quick_xml::events::BytesEnd::new(name);
        self.xml.write_event(Event::End(end))
    }

    fn empty(&mut self, name: &str, attributes: &[(&str, &str)]) -> Written {
        let start =
            quick_xml::events::BytesStart::new(name).with_attributes(attributes.iter().copied());
        self.xml.write_event(Event::Empty(start))
    }

    fn element(&mut self, name: &str, text: &str) -> Written {
        self.xml
            .create_element(name)
            .write_text_content(BytesText::new(text))
            .map(drop)
    }
}

fn cannot_say(measure: Option<u16>, message: &str) -> Notice {
    let measure = measure.map(|measure| u32::from(measure.saturating_sub(1)));
    let help = "keep the board file beside the score";
    Notice::new(Rule::NotWritten, 0, measure, message, help)
}

/// The divisions of a quarter note that make every length and every cut a whole number; beyond a sensible number what is cut is rounded.
fn divisions(board: &Board) -> u32 {
    const MOST: u32 = 5_040;
    let mut divisions = 1_u32;
    let mut take = |fraction: Fraction| {
        let quarters = fraction.denominator() / common(fraction.denominator(), 4);
        let joined = (divisions / common(divisions, quarters)).saturating_mul(quarters);
        if joined <= MOST {
            divisions = joined;
        }
    };
    let pickup = board.pickup().into_iter();
    let meters = board.meters().iter().map(|change| change.meter.length());
    let cuts = board
        .markings()
        .iter()
        .filter_map(|marking| marking.place().cut());
    let meter = board.meter().map(fingerpost::Meter::length);
    pickup
        .chain(meter)
        .chain(meters)
        .chain(cuts)
        .for_each(&mut take);
    divisions
}

fn common(a: u32, b: u32) -> u32 {
    if b == 0 { a.max(1) } else { common(b, a % b) }
}
