//! One track of a MIDI file: events with the time since the one before.

/// Kinds of text (Standard MIDI Files 1.0, "Meta-Events").
pub(super) const NAME: u8 = 0x03;
pub(super) const MARKER: u8 = 0x06;
const TEXT: u8 = 0x01;

/// The longest time between two events: four groups of seven bits.
const LONGEST: u64 = 0x0fff_ffff;

/// Events in the order of time.
#[derive(Default)]
pub(super) struct Track {
    bytes: Vec<u8>,
    now: u64,
}

impl Track {
    /// A note; it begins where the one before has ended, or later.
    pub(super) fn note(&mut self, channel: u8, key: u8, velocity: u8, from: u64, to: u64) {
        self.event(from, &[0x90 | channel, key, velocity]);
        self.event(to, &[0x80 | channel, key, 0]);
    }

    /// A text. The standard recommends ASCII; other characters are written in UTF-8.
    pub(super) fn text(&mut self, at: u64, kind: u8, text: &str) {
        let mut event = vec![0xff, kind];
        event.extend(groups(text.len() as u64));
        event.extend(text.as_bytes());
        self.event(at, &event);
    }

    /// So many quarter notes a minute, as microseconds to a quarter note.
    pub(super) fn tempo(&mut self, at: u64, quarters: u16) {
        let micros = 60_000_000 / u32::from(quarters).max(1);
        let [_, high, middle, low] = micros.to_be_bytes();
        self.event(at, &[0xff, 0x51, 3, high, middle, low]);
    }

    /// A meter: the beats, the unit as a power of two, the MIDI clocks (24 a quarter) of a beat, 8 thirty-seconds a quarter.
    pub(super) fn meter(&mut self, at: u64, beats: u8, unit: u8) {
        let power = u8::try_from(unit.trailing_zeros()).unwrap_or(2);
        let clocks = 96 / unit.max(1);
        self.event(at, &[0xff, 0x58, 4, beats, power, clocks.max(1), 8]);
    }

    /// The bytes so far.
    pub(super) fn length(&self) -> usize {
        self.bytes.len()
    }

    /// The bytes, with the end of the track.
    pub(super) fn ended(mut self, at: u64) -> Vec<u8> {
        self.event(at, &[0xff, 0x2f, 0]);
        self.bytes
    }

    fn event(&mut self, at: u64, event: &[u8]) {
        let mut since = at.saturating_sub(self.now);
        self.now = self.now.max(at);
        while since > LONGEST {
            // A silence longer than can be written: an empty text divides it.
            self.bytes.extend(groups(LONGEST));
            self.bytes.extend([0xff, TEXT, 0]);
            since -= LONGEST;
        }
        self.bytes.extend(groups(since));
        self.bytes.extend(event);
    }
}

/// A number in groups of seven bits, highest first, all but the last marked.
fn groups(number: u64) -> Vec<u8> {
    let mut groups = vec![low_bits(number)];
    let mut rest = number >> 7;
    while rest > 0 {
        groups.push(low_bits(rest) | 0x80);
        rest >>= 7;
    }
    groups.reverse();
    groups
}

fn low_bits(number: u64) -> u8 {
    u8::try_from(number & 0x7f).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::groups;

    /// Standard MIDI Files 1.0, the table of variable-length quantities.
    #[test]
    fn numbers_are_written_in_groups_of_seven_bits() {
        let table: [(u64, &[u8]); 6] = [
            (0, &[0]),
            (0x7f, &[0x7f]),
            (0x80, &[0x81, 0]),
            (0x3fff, &[0xff, 0x7f]),
            (0x0010_0000, &[0xc0, 0x80, 0]),
            (0x0fff_ffff, &[0xff, 0xff, 0xff, 0x7f]),
        ];
        for (number, bytes) in table {
            assert_eq!(groups(number), bytes);
        }
    }
}
