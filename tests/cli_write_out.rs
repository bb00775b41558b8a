//! `fingerpost write-out`, run as a user runs it, and its verb. The example score is invented.

mod support {
    pub(crate) mod answers;
}

use std::path::Path;

use fingerpost_cli::{Streams, run};
use serde_json::{Value, json};

const HILL: &str = "examples/scores/over-the-hill.musicxml";
const PACKED: &str = "examples/scores/over-the-hill.mxl";

fn ran(args: &[&str]) -> (u8, Vec<u8>, String) {
    let (mut stdin, mut out, mut err) = (std::io::empty(), Vec::new(), Vec::new());
    let status = run(
        std::iter::once("fingerpost").chain(args.iter().copied()),
        Streams {
            stdin: &mut stdin,
            stdout: &mut out,
            stderr: &mut err,
            width: None,
            progress: false,
        },
    );
    (status, out, String::from_utf8(err).unwrap())
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

/// |: 1 2 [1. 3 :| [2. 4 Fine ] 5 6 D.C. al Fine: 1 2 3 1 2 4 5 6 1 2 4, worked out by hand.
#[test]
fn a_score_is_written_out() {
    let (status, out, err) = ran(&["write-out", HILL]);
    assert_eq!(status, 0, "{err}");
    let written = text(&out);
    assert_eq!(written.matches("<measure ").count(), 11);
    for sign in ["<repeat", "<ending", "D.C.", "Fine"] {
        assert!(!written.contains(sign), "{sign}: {written}");
    }
    // The notice on how the D.C. was read.
    assert!(
        err.starts_with("How the score was read and written out\n") && err.contains("[words-read]"),
        "{err}"
    );
    let read = fingerpost_notation::read(&out).unwrap();
    assert_eq!(read[0].board.measures(), 11);
    // Compressed, the same.
    assert_eq!(ran(&["write-out", PACKED]).1, out);
    let (status, json, err) = ran(&["write-out", "--json", HILL]);
    assert_eq!((status, err.as_str()), (0, ""));
    let answer: Value = serde_json::from_slice(&json).unwrap();
    assert_eq!(answer["musicxml"], written);
    assert_eq!(answer["measures"], 11);
    let schema = fingerpost_json::schema("write-out").unwrap();
    assert!(jsonschema::is_valid(&schema, &answer));
    // The door gives the same.
    let score = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(HILL)).unwrap();
    let request = json!({ "verb": "write-out", "score": score });
    let of_door: Value =
        serde_json::from_str(&fingerpost_json::answer(&request.to_string())).unwrap();
    assert_eq!(of_door, answer);
}

#[test]
fn a_board_is_written_as_midi() {
    let (status, out, err) = ran(&[
        "write-out",
        "--form",
        "midi",
        "--tempo",
        "60",
        "|: 1 | 2 :| 3 |]",
    ]);
    assert_eq!((status, err.as_str()), (0, ""));
    let file = midly::Smf::parse(&out).unwrap();
    let notes = file.tracks[1].iter().filter(|event| {
        matches!(
            event.kind,
            midly::TrackEventKind::Midi {
                message: midly::MidiMessage::NoteOn { .. },
                ..
            }
        )
    });
    assert_eq!(notes.count(), 5);
    assert_eq!(ran(&["write-out", "--form", "midi", HILL]).0, 0);
}

#[test]
fn what_cannot_be_written_out_is_said() {
    let says = |args: &[&str], status: u8, words: &str| {
        let (found, out, err) = ran(args);
        assert_eq!(found, status, "{args:?}: {err}");
        let said = format!("{}{err}", String::from_utf8_lossy(&out));
        assert!(said.contains(words), "{args:?}: {said}");
    };
    says(
        &["write-out", "1 | 2 :|"],
        2,
        "only a MusicXML score has music",
    );
    says(
        &["write-out", "--tune", "1", "examples/scores/paths.abc"],
        2,
        "only a MusicXML score has music",
    );
    says(
        &["write-out", "--limit", "10", HILL],
        2,
        "written out, the score has 11 measures; at most 10 were asked for",
    );
    says(&["write-out", "--tempo", "90", HILL], 2, "--form midi");
    says(
        &["write-out", "--form", "midi", "1 | 2 D.S. |]"],
        1,
        "[segno-missing]",
    );
    says(
        &[
            "write-out",
            "--form",
            "midi",
            "|: 1 | 2 :|(plays open) 3 |]",
        ],
        2,
        "--plays N",
    );
    says(
        &[
            "write-out",
            "--form",
            "midi",
            "--limit",
            "4",
            "|: 1 | 2 :| 3 |]",
        ],
        2,
        "the route has 5 steps; at most 4 were asked for",
    );
}

/// The door gives the bytes that the command writes, in Base64 (RFC 4648, section 4).
#[test]
fn the_door_gives_a_midi_file_too() {
    use base64::prelude::{BASE64_STANDARD, Engine};
    let line = "|: 1 | 2 :| 3 D.C. |]";
    let request = serde_json::json!({ "verb": "write-out", "form": "midi", "line": line });
    let text = fingerpost_json::answer(&request.to_string());
    let answer = support::answers::valid("write-out", &text);
    let bytes = BASE64_STANDARD
        .decode(answer["midi"].as_str().unwrap())
        .unwrap();
    // A header chunk of format 1 (Standard MIDI Files 1.0).
    assert_eq!(&bytes[..10], b"MThd\0\0\0\x06\0\x01");
    assert_eq!(answer["measures"], 8);
    let read = fingerpost_json::Source::text(line).read().unwrap();
    let terms = fingerpost_json::TermsAsked::default();
    assert_eq!(
        fingerpost_json::midi(&read, &terms, None, None).unwrap(),
        bytes
    );
    let request = serde_json::json!({ "verb": "write-out", "tempo": 60, "line": line });
    assert!(fingerpost_json::answer(&request.to_string()).contains("ask for the form `midi`"));
}
