//! The route of a board as a MIDI file: a pitch for each measure, so that the order can be heard, and a click.
//!
//! Source: Standard MIDI Files 1.0 (MIDI Manufacturers Association, 1988): format 1, header and track chunks, meta events 01, 03, 06, 2F, 51
//! and 58. The sounds of the click are those of General MIDI 1, key map of the percussion channel.

mod track;

use fingerpost::{Board, Fraction, Held, Meter, Roadmap, Step};

use crate::error::{NotationError, NotationErrorKind};
use track::Track;

/// The ticks of a quarter note: every length with a denominator up to 128 is a whole number of them, thirds and fifths of it too.
const QUARTER: u16 = 480;
const WHOLE: u64 = 4 * QUARTER as u64;

/// The steps of a major scale above its first note.
const SCALE: [u8; 7] = [0, 2, 4, 5, 7, 9, 11];
/// The key of measure 1 in each hand: the C in the middle, and the one two octaves below.
const RIGHT: u8 = 60;
const LEFT: u8 = 36;

const LOUD: u8 = 96;
const PLAIN: u8 = 72;
/// The most bytes of a track: a measure may have hundreds of beats.
const LARGEST_TRACK: usize = 64 << 20;
/// Wood blocks, the higher one for the first beat.
const FIRST_BEAT: u8 = 76;
const BEAT: u8 = 77;
/// The percussion channel, the tenth.
const CLICK: u8 = 9;

/// How a route becomes a MIDI file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct MidiOptions {
    /// How many quarter notes a minute has, from 10 to 400; numbers beyond count as the nearest of these.
    pub tempo: u16,
    /// The most steps that are written.
    pub most_steps: u32,
}

impl Default for MidiOptions {
    /// 96 quarter notes a minute; 100 000 steps at most.
    fn default() -> MidiOptions {
        MidiOptions {
            tempo: 96,
            most_steps: 100_000,
        }
    }
}

/// The route of a board as a Standard MIDI File of format 1: one track with the tempo, the meters and the number of each measure as a
/// marker, one a hand, one with a click on each beat.
///
/// Each measure is one long note of the C major scale: measure 1 is C, measure 2 is D, and so on over two octaves, then from C again; the
/// left hand two octaves below the right. Octave signs are heard, and a hand that does not play is silent. Where a hand holds a fermata
/// the step lasts half as long again (common practice, no source), and the click waits. A board without a meter has measures of four
/// quarters.
///
/// ```
/// use fingerpost::{Board, Roadmap, Terms};
/// let board: Board = "|: 1 | 2 :| 3 |]".parse()?;
/// let roadmap = Roadmap::new(&board, &Terms::default())?;
/// let midi = fingerpost_notation::write_midi(&board, &roadmap, &Default::default())?;
/// assert!(midi.starts_with(b"MThd\0\0\0\x06\0\x01\0\x04\x01\xe0"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// More steps than asked for, or more than a file can hold.
pub fn write_midi(
    board: &Board,
    roadmap: &Roadmap,
    options: &MidiOptions,
) -> Result<Vec<u8>, NotationError> {
    let (length, most) = (roadmap.length(), options.most_steps);
    if length > u64::from(most) {
        return Err(too_long(format!(
            "the route has {length} steps; at most {most} were asked for"
        )));
    }
    let mut score = Score::new(board, options.tempo);
    for step in roadmap.steps() {
        score.step(&step);
        if score.click.length() > LARGEST_TRACK {
            let most = LARGEST_TRACK >> 20;
            return Err(too_long(format!(
                "the clicks of the route take more than {most} MiB; ask for fewer steps"
            )));
        }
    }
    let tracks = [score.signs, score.right, score.left, score.click];
    let mut bytes = b"MThd\0\0\0\x06\0\x01".to_vec();
    bytes.extend(4_u16.to_be_bytes());
    bytes.extend(QUARTER.to_be_bytes());
    for track in tracks {
        let events = track.ended(score.now);
        let length = u32::try_from(events.len())
            .map_err(|_| too_long("the route is longer than a MIDI file can be".to_owned()))?;
        bytes.extend(b"MTrk");
        bytes.extend(length.to_be_bytes());
        bytes.extend(events);
    }
    Ok(bytes)
}

fn too_long(message: String) -> NotationError {
    NotationError::new(NotationErrorKind::TooLarge, None, message)
}

/// The tracks as far as they have been written.
struct Score<'b> {
    board: &'b Board,
    signs: Track,
    right: Track,
    left: Track,
    click: Track,
    now: u64,
    meter: Option<Meter>,
}

impl Score<'_> {
    fn new(board: &Board, tempo: u16) -> Score<'_> {
        let named = |name: &str| {
            let mut track = Track::default();
            track.text(0, track::NAME, name);
            track
        };
        let mut signs = named(board.title().unwrap_or("The order of the measures"));
        signs.tempo(0, tempo.clamp(10, 400));
        Score {
            board,
            signs,
            right: named("Right hand"),
            left: named("Left hand"),
            click: named("Click"),
            now: 0,
            meter: None,
        }
    }

    fn step(&mut self, step: &Step) {
        let measure = step.measure;
        let meter = self.board.meter_at(measure);
        if let Some(meter) = meter.filter(|_| meter != self.meter) {
            self.signs.meter(self.now, meter.beats(), meter.unit());
        }
        self.meter = meter;
        self.signs
            .text(self.now, track::MARKER, &self.board.measure_name(measure));
        let whole = self.board.measure_length(measure).map_or(WHOLE, ticks);
        let (from, to) = step
            .part
            .map_or((0, whole), |part| (ticks(part.from), ticks(part.to)));
        let length = to.saturating_sub(from).max(1);
        let held = if step.hold == Held::None {
            0
        } else {
            length / 2
        };
        self.hands(step, length, held);
        // The beats of a pickup are the last ones of a measure.
        let full = meter.map_or(WHOLE, |meter| ticks(meter.length()));
        let missing = full.saturating_sub(whole);
        let beat = (WHOLE / u64::from(meter.map_or(4, Meter::unit)).max(1)).max(1);
        let first = (missing + from).div_ceil(beat);
        for number in first..(missing + from + length).div_ceil(beat) {
            let at = self.now + number * beat - missing - from;
            let (key, velocity) = if number == 0 {
                (FIRST_BEAT, LOUD)
            } else {
                (BEAT, PLAIN)
            };
            self.click.note(CLICK, key, velocity, at, at + beat / 4);
        }
        self.now += length + held;
    }

    fn hands(&mut self, step: &Step, length: u64, held: u64) {
        let plays = |held: Held, hand: Held| held == Held::Both || held == hand;
        let hands = [
            (&mut self.right, Held::Right, 0, RIGHT, step.octave.right),
            (&mut self.left, Held::Left, 1, LEFT, step.octave.left),
        ];
        for (track, hand, channel, lowest, octaves) in hands {
            if !plays(step.hands, hand) {
                continue;
            }
            let sounds = if plays(step.hold, hand) {
                length + held
            } else {
                length
            };
            // A little silence parts a note from the next of the same pitch.
            let end = self.now + (sounds - sounds / 16).max(1);
            track.note(
                channel,
                key(step.measure, lowest, octaves),
                PLAIN,
                self.now,
                end,
            );
        }
    }
}

/// The key of a measure in a hand, so many octaves up.
fn key(measure: u16, lowest: u8, octaves: i8) -> u8 {
    let place = usize::from(measure.saturating_sub(1)) % (2 * SCALE.len());
    let above = SCALE.get(place % SCALE.len()).copied().unwrap_or(0);
    let octave = if place < SCALE.len() { 0 } else { 12 };
    let mut key = i16::from(lowest) + i16::from(above) + octave + 12 * i16::from(octaves);
    // More octaves than there are keys: the outermost of this name.
    while key > 127 {
        key -= 12;
    }
    while key < 0 {
        key += 12;
    }
    u8::try_from(key).unwrap_or(lowest)
}

/// A length in ticks, rounded down.
fn ticks(length: Fraction) -> u64 {
    u64::from(length.numerator()) * WHOLE / u64::from(length.denominator()).max(1)
}
