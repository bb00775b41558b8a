//! Any bytes as a score: read or refused at a line of the file; what is read makes a board like any other. Any board as a score, and back.

use std::io::Write as _;

use fingerpost::{Board, LARGEST_FILE, Refusal, Roadmap, Severity, Step, Terms, check};
use fingerpost_notation::{
    Format, NotationErrorKind, Notice, Score, format_of, read, text_of, write_musicxml,
};

use super::unrolling::board_of;

/// Names of files inside a compressed one, among them such as no score should have.
const NAMES: [&str; 8] = [
    "score.musicxml",
    "score.xml",
    "parts/score.musicxml",
    "../score.musicxml",
    "/score.musicxml",
    "parts\\score.musicxml",
    "META-INF/container.xml",
    "picture.png",
];

/// Boards with more measures, which a few characters can ask for (`Z60000`), are read and no more: many inputs are tried in that time.
const LONGEST_WRITTEN: u16 = 500;

/// How much of a route is walked.
const WALKED: usize = 2_000;

/// Any text as MusicXML; packed, it is the same score or has the same fault, though it is read as a stream then.
pub(crate) fn score_musicxml(bytes: &[u8]) {
    let marked = [b"<score-partwise>", bytes].concat();
    let is_xml = matches!(format_of(bytes), Some(Format::MusicXml));
    let text = if is_xml { bytes } else { &marked };
    score(text);
    match (read(text), read(&packed(0, 0, text))) {
        (Ok(plain), Ok(packed)) => assert_eq!(plain, packed),
        (Err(plain), Err(packed)) => assert_eq!(plain, packed),
        (plain, packed) => panic!("{plain:?} and packed {packed:?}"),
    }
}

/// Any bytes as compressed MusicXML: as they are, or packed with a name, a way of packing and a table of contents that they choose.
pub(crate) fn score_mxl(bytes: &[u8]) {
    match bytes {
        [b'P', b'K', ..] | [] | [_] => score(bytes),
        [first, second, rest @ ..] => {
            score(&packed(usize::from(*first), usize::from(*second), rest));
        }
    }
}

/// Any text as a tune book.
pub(crate) fn score_abc(bytes: &[u8]) {
    let marked = [b"X:1\nK:C\n", bytes].concat();
    let is_abc = matches!(format_of(bytes), Some(Format::Abc));
    score(if is_abc { bytes } else { &marked });
}

/// Any text as MNX.
pub(crate) fn score_mnx(bytes: &[u8]) {
    let marked = [b"{\"mnx\": {}, \"global\": {\"measures\": [", bytes].concat();
    let is_mnx = matches!(format_of(bytes), Some(Format::Mnx));
    score(if is_mnx { bytes } else { &marked });
}

/// Any board written as a score and read again: where it has an order the same one, or a notice that says what the format cannot.
pub(crate) fn score_written(bytes: &[u8]) {
    let Some(board) = board_of(bytes) else { return };
    let written = write_musicxml(&board);
    notices_are_sound(&written.notices, u32::MAX, board.measures().into());
    let scores =
        read(written.text.as_bytes()).unwrap_or_else(|error| panic!("{error}: {}", written.text));
    let [score] = scores.as_slice() else {
        panic!("one board makes one score");
    };
    assert_eq!(score.board.measures(), board.measures());
    // A board with errors may hold what no score can, such as brackets that overlap; it makes a score, and no more is promised of it.
    let wanted = outcome(&board);
    if written.notices.is_empty() && wanted.is_ok() {
        assert_eq!(
            outcome(&score.board),
            wanted,
            "{}\n{}\n{}",
            board.to_line(),
            score.board.to_line(),
            written.text
        );
    }
}

fn packed(first: usize, second: usize, bytes: &[u8]) -> Vec<u8> {
    use zip::write::SimpleFileOptions;
    use zip::{CompressionMethod, ZipWriter};

    let name = NAMES[first % NAMES.len()];
    let mut zip = ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let method = if second % 2 == 0 {
        CompressionMethod::Stored
    } else {
        CompressionMethod::Deflated
    };
    let options = SimpleFileOptions::default().compression_method(method);
    if second & 2 > 0 && name != "META-INF/container.xml" {
        let named = NAMES[(second >> 2) % NAMES.len()];
        let contents = format!("<container><rootfiles><rootfile full-path=\"{named}\"/>");
        zip.start_file("META-INF/container.xml", options)
            .expect("a file in memory");
        zip.write_all(contents.as_bytes())
            .expect("a file in memory");
    }
    zip.start_file(name, options).expect("a file in memory");
    zip.write_all(bytes).expect("a file in memory");
    zip.finish().expect("a file in memory").into_inner()
}

fn score(bytes: &[u8]) {
    let read_once = read(bytes);
    assert_eq!(read(bytes), read_once);
    let text = text_of(bytes);
    // The text of a compressed file is not at hand.
    let lines = text.map_or(u32::MAX, |text| {
        u32::try_from(text.matches('\n').count() + 1).expect("a short text")
    });
    match read_once {
        Ok(scores) => {
            assert!(!scores.is_empty());
            for score in &scores {
                makes_a_board(score, lines);
            }
        }
        Err(error) => {
            let message = error.to_string();
            assert!(!message.is_empty() && !message.ends_with('.'), "{message}");
            assert!(
                error.line().is_none_or(|line| (1..=lines).contains(&line)),
                "{error:?} of {lines} lines"
            );
            assert!(format_of(bytes).is_some() || error.kind() == NotationErrorKind::UnknownFormat);
        }
    }
}

fn makes_a_board(score: &Score, lines: u32) {
    let board = &score.board;
    assert_eq!(score.lines.len(), board.markings().len());
    let in_the_text = |line: u32| (1..=lines).contains(&line);
    assert!(score.lines.iter().flatten().all(|line| in_the_text(*line)));
    notices_are_sound(&score.notices, lines, board.measures().into());
    if board.measures() > LONGEST_WRITTEN {
        return;
    }
    let file = board.to_json();
    if file.len() <= LARGEST_FILE {
        let again = Board::from_json(&file).unwrap_or_else(|error| panic!("{file}\n{error}"));
        assert_eq!(again, board.canonical());
    }
    let line = board.to_line();
    let again = Board::from_line(&line).unwrap_or_else(|error| panic!("{line}\n{error}"));
    assert_eq!(again.canonical(), board.canonical(), "{line}");
    let _ = outcome(board);
}

fn notices_are_sound(notices: &[Notice], lines: u32, measures: u32) {
    for notice in notices {
        assert!(
            notice.line.is_none_or(|line| (1..=lines).contains(&line)),
            "{notice:?}"
        );
        let measure = notice.measure;
        assert!(
            measure.is_none_or(|it| (1..=measures).contains(&it)),
            "{notice:?}"
        );
        for said in [&notice.message, &notice.help] {
            assert!(!said.is_empty() && !said.contains('\n'), "{notice:?}");
        }
    }
}

/// What comes out of a board: the beginning of its order and its length, or the rules that it breaks.
fn outcome(board: &Board) -> Result<(Vec<u16>, u64), Vec<&'static str>> {
    let terms = Terms {
        open_plays: Some(2),
        ..Terms::default()
    };
    match Roadmap::new(board, &terms) {
        Ok(roadmap) => {
            let steps = roadmap.steps().take(WALKED);
            Ok((
                steps.map(|step: Step| step.measure).collect(),
                roadmap.length(),
            ))
        }
        Err(Refusal::Errors(_)) => {
            let errors = check(board).into_iter();
            let errors = errors.filter(|finding| finding.severity == Severity::Error);
            Err(errors.map(|finding| finding.rule).collect())
        }
        Err(refusal) => panic!("the number of plays is known: {refusal}"),
    }
}
