//! Routes as MIDI files, read back by midly, a reader that knows nothing of this project. Source: Standard MIDI Files 1.0 (MIDI Manufacturers
//! Association, 1988).

mod support;

use fingerpost::{Board, Held, Roadmap, Step, Terms};
use fingerpost_notation::{MidiOptions, NotationErrorKind, write_midi};
use midly::{Format, MetaMessage, MidiMessage, Smf, Timing, TrackEventKind};
use proptest::prelude::*;
use support::boards::any_board;

/// What a track has: when each note begins and how long it is, with its key; and its texts, tempos and meters.
#[derive(Default, Debug)]
struct Heard {
    notes: Vec<(u64, u64, u8)>,
    markers: Vec<(u64, String)>,
    tempos: Vec<u32>,
    meters: Vec<(u64, u8, u8)>,
    end: u64,
}

fn heard(bytes: &[u8]) -> Vec<Heard> {
    let file = Smf::parse(bytes).unwrap();
    assert_eq!(file.header.format, Format::Parallel);
    assert_eq!(file.header.timing, Timing::Metrical(480.into()));
    let tracks = file.tracks.iter().map(|track| {
        let mut heard = Heard::default();
        let mut open: Option<(u64, u8)> = None;
        let mut now = 0;
        for event in track {
            now += u64::from(event.delta.as_int());
            match event.kind {
                TrackEventKind::Midi {
                    message: MidiMessage::NoteOn { key, .. },
                    ..
                } => {
                    assert_eq!(open.replace((now, key.as_int())), None);
                }
                TrackEventKind::Midi {
                    message: MidiMessage::NoteOff { key, .. },
                    ..
                } => {
                    let (from, of) = open.take().unwrap();
                    assert_eq!(of, key.as_int());
                    heard.notes.push((from, now - from, of));
                }
                TrackEventKind::Meta(MetaMessage::Marker(text)) => {
                    heard
                        .markers
                        .push((now, String::from_utf8(text.to_vec()).unwrap()));
                }
                TrackEventKind::Meta(MetaMessage::Tempo(tempo)) => {
                    heard.tempos.push(tempo.as_int());
                }
                TrackEventKind::Meta(MetaMessage::TimeSignature(beats, power, _, _)) => {
                    heard.meters.push((now, beats, power));
                }
                TrackEventKind::Meta(MetaMessage::EndOfTrack) => heard.end = now,
                _ => {}
            }
        }
        assert_eq!(open, None);
        heard
    });
    tracks.collect()
}

#[track_caller]
fn midi(line: &str) -> Vec<Heard> {
    let board: Board = line
        .parse()
        .unwrap_or_else(|error| panic!("{line}: {error}"));
    let roadmap = Roadmap::new(&board, &Terms::default()).unwrap();
    heard(&write_midi(&board, &roadmap, &MidiOptions::default()).unwrap())
}

fn keys(track: &Heard) -> Vec<u8> {
    track.notes.iter().map(|(_, _, key)| *key).collect()
}

#[test]
fn each_measure_is_a_pitch_of_the_scale() {
    let tracks = midi("{meter 3/4} |: 1 | 2 | [1. 3 :| [2. 4 |]");
    assert_eq!(tracks.len(), 4);
    assert_eq!(keys(&tracks[1]), [60, 62, 64, 60, 62, 65]);
    assert_eq!(keys(&tracks[2]), [36, 38, 40, 36, 38, 41]);
    let names: Vec<&str> = tracks[0]
        .markers
        .iter()
        .map(|(_, name)| name.as_str())
        .collect();
    assert_eq!(names, ["1", "2", "3", "1", "2", "4"]);
    // 3/4 is 1440 ticks of 480 to the quarter; 96 quarters a minute are 625 000 microseconds each.
    let begins: Vec<u64> = tracks[1].notes.iter().map(|(from, ..)| *from).collect();
    assert_eq!(begins, [0, 1440, 2880, 4320, 5760, 7200]);
    assert_eq!(tracks[0].tempos, [625_000]);
    assert_eq!(tracks[0].meters, [(0, 3, 2)]);
    assert_eq!(keys(&tracks[3])[..6], [76, 77, 77, 76, 77, 77]);
    assert!(tracks.iter().all(|track| track.end == 8640), "{tracks:?}");
}

/// Octave signs change the sounding octave, a hand that does not play is silent, a fermata lasts longer while the click waits.
#[test]
fn octaves_hands_and_fermatas_are_heard() {
    let tracks =
        midi("{meter 4/4} |: 8va(R.H., on repeat) 1 | 2 only(R.H., pass 1) :| 3 fermata |]");
    assert_eq!(keys(&tracks[1]), [60, 62, 72, 64]);
    assert_eq!(keys(&tracks[2]), [36, 38, 36, 38, 40]);
    let last = tracks[1].notes.last().unwrap();
    assert_eq!((last.0, last.1), (4 * 1920, 2880 - 180));
    assert_eq!(tracks[0].end, 4 * 1920 + 2880);
    assert_eq!(tracks[3].notes.len(), 20);
}

/// A pickup has the last beats of a measure: its click is not the first beat's.
#[test]
fn the_click_of_a_pickup_is_the_last_beat() {
    let tracks = midi("{meter 3/4; pickup 1/4} 0 | 1 | 2 |]");
    assert_eq!(keys(&tracks[3]), [77, 76, 77, 77, 76, 77, 77]);
    assert_eq!(tracks[1].notes[1].0, 480);
}

#[test]
fn a_route_longer_than_asked_for_is_refused() {
    let board: Board = "1 :|x1000000 2 |]".parse().unwrap();
    let roadmap = Roadmap::new(&board, &Terms::default()).unwrap();
    let error = write_midi(&board, &roadmap, &MidiOptions::default()).unwrap_err();
    assert_eq!(error.kind(), NotationErrorKind::TooLarge);
    assert_eq!(
        error.to_string(),
        "the route has 1000001 steps; at most 100000 were asked for"
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: support::cases(1000), failure_persistence: None, ..ProptestConfig::default() })]

    /// Any board that can be walked: a marker a step, and for each hand a note at each step at which it plays, an octave off its pitch
    /// for each octave of shift, beginning with the marker.
    #[test]
    fn what_is_heard_is_the_route(board in any_board()) {
        let terms = Terms { open_plays: Some(2), ..Terms::default() };
        let Ok(roadmap) = Roadmap::new(&board, &terms) else { return Ok(()) };
        if roadmap.length() > 2_000 {
            return Ok(());
        }
        let tracks = heard(&write_midi(&board, &roadmap, &MidiOptions::default()).unwrap());
        let steps: Vec<Step> = roadmap.steps().collect();
        let names: Vec<String> = steps.iter().map(|step| board.measure_name(step.measure)).collect();
        let marked: Vec<&String> = tracks[0].markers.iter().map(|(_, name)| name).collect();
        prop_assert_eq!(marked, names.iter().collect::<Vec<_>>());
        for (track, hand, lowest) in [(&tracks[1], Held::Right, 60_i32), (&tracks[2], Held::Left, 36)] {
            let wanted: Vec<(u64, i32)> = steps.iter().zip(&tracks[0].markers).filter_map(|(step, (at, _))| {
                let plays = step.hands == Held::Both || step.hands == hand;
                let octaves = if hand == Held::Right { step.octave.right } else { step.octave.left };
                let place = i32::from(step.measure - 1) % 14;
                let above = [0, 2, 4, 5, 7, 9, 11][usize::try_from(place % 7).unwrap()] + 12 * (place / 7);
                plays.then_some((*at, lowest + above + 12 * i32::from(octaves)))
            }).collect();
            let found: Vec<(u64, i32)> = track.notes.iter().map(|(from, _, key)| (*from, i32::from(*key))).collect();
            prop_assert_eq!(found.len(), wanted.len());
            for (found, wanted) in found.iter().zip(&wanted) {
                let is_key = (0..=127).contains(&wanted.1);
                prop_assert!(found.0 == wanted.0 && (found.1 == wanted.1 || (!is_key && (found.1 - wanted.1) % 12 == 0)));
            }
        }
    }
}
