//! Scores that mean harm: made, and read with an eye on the clock.

use std::io::{Cursor, Write as _};
use std::time::{Duration, Instant};

use fingerpost_notation::{NotationError, NotationErrorKind as Kind, Score, read};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// Far more than any of these takes, on a slow machine without optimised code too.
const PATIENCE: Duration = Duration::from_secs(180);

pub fn timed(bytes: &[u8]) -> Result<Vec<Score>, NotationError> {
    let begin = Instant::now();
    let result = read(bytes);
    let taken = begin.elapsed();
    assert!(taken < PATIENCE, "{taken:?} for {} bytes", bytes.len());
    if let Err(error) = &result {
        let message = error.to_string();
        assert!(message.len() < 300, "{message}");
        assert!(
            !message.contains('\n') && !message.ends_with('.'),
            "{message}"
        );
    }
    result
}

/// A file is refused, for that reason, in words that hold `says`.
#[track_caller]
pub fn refused(bytes: &[u8], kind: Kind, says: &str) -> NotationError {
    match timed(bytes) {
        Ok(scores) => panic!("it was read: {}", scores[0].board.to_line()),
        Err(error) => {
            assert_eq!(error.kind(), kind, "{error}");
            assert!(error.to_string().contains(says), "{error}");
            error
        }
    }
}

#[track_caller]
pub fn line_of(bytes: &[u8]) -> String {
    match timed(bytes) {
        Ok(scores) => scores[0].board.to_line(),
        Err(error) => panic!("{error}"),
    }
}

pub fn score(title: &str, measures: &str) -> String {
    format!(
        "<score-partwise version=\"4.0\"><movement-title>{title}</movement-title><part-list/><part id=\"P1\">{measures}</part></score-partwise>"
    )
}

pub const MEASURE: &str =
    "<measure number=\"1\"><note><rest/><duration>4</duration></note></measure>";

pub fn deflated() -> SimpleFileOptions {
    SimpleFileOptions::default().compression_method(CompressionMethod::Deflated)
}

pub fn packed(files: &[(&str, &[u8])], options: SimpleFileOptions) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, options).expect("a file in memory");
        zip.write_all(bytes).expect("a file in memory");
    }
    zip.finish().expect("a file in memory").into_inner()
}

pub fn container(path: &str) -> Vec<u8> {
    format!("<container><rootfiles><rootfile full-path=\"{path}\"/></rootfiles></container>").into()
}
