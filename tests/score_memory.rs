//! How much memory the reading of large scores takes: counted at the allocator, in a program of its own, one score after the other.

use std::alloc::{GlobalAlloc, Layout, System};
use std::io::{Cursor, Write};
use std::sync::atomic::{AtomicUsize, Ordering};

use fingerpost_notation::{NotationErrorKind, read};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

struct Counting;

static NOW: AtomicUsize = AtomicUsize::new(0);
static MOST: AtomicUsize = AtomicUsize::new(0);

// SAFETY: everything is left to the system's allocator; only sums are kept beside it.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        let now = NOW.fetch_add(layout.size(), Ordering::Relaxed) + layout.size();
        MOST.fetch_max(now, Ordering::Relaxed);
        // SAFETY: the caller keeps the promises of `alloc`.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        NOW.fetch_sub(layout.size(), Ordering::Relaxed);
        // SAFETY: the caller keeps the promises of `dealloc`.
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

const MIB: usize = 1 << 20;

/// What a piece of work returns, and how many bytes it held at most beyond those held before.
fn held<T>(work: impl FnOnce() -> T) -> (T, usize) {
    let before = NOW.load(Ordering::Relaxed);
    MOST.store(before, Ordering::Relaxed);
    let result = work();
    (result, MOST.load(Ordering::Relaxed) - before)
}

/// A compressed score of a beginning, so many times a middle, and an end.
fn packed(start: &str, middle: &str, times: usize, end: &str) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().large_file(false);
    zip.start_file("score.musicxml", options)
        .expect("a file in memory");
    zip.write_all(start.as_bytes()).expect("a file in memory");
    let thousand = middle.repeat(1_000);
    for _ in 0..times / 1_000 {
        zip.write_all(thousand.as_bytes())
            .expect("a file in memory");
    }
    zip.write_all(end.as_bytes()).expect("a file in memory");
    zip.finish().expect("a file in memory").into_inner()
}

#[test]
fn large_scores_are_read_in_little_memory() {
    let note = "<note default-x=\"83.60\"><pitch><step>G</step><octave>4</octave></pitch><duration>1</duration><voice>1</voice><type>eighth</type><stem>up</stem></note>\n";
    let measure = format!("<measure number=\"1\">{}</measure>\n", note.repeat(8));
    let times = 50_000_000 / measure.len() / 1_000 * 1_000 + 1_000;
    let start = "<score-partwise><part-list/><part id=\"P1\">";
    let end = "<measure><sound dacapo=\"yes\"/></measure></part></score-partwise>";
    let file = packed(start, &measure, times, end);
    let (scores, most) = held(|| read(&file));
    let scores = scores.expect("a score");
    assert_eq!(usize::from(scores[0].board.measures()), times + 1);
    println!(
        "{} bytes packed, {} unpacked: {most} held",
        file.len(),
        times * measure.len()
    );
    // The packed bytes stand beside it; both together stay below 64 MiB, and the text is larger than half of that alone.
    assert!(most + file.len() < 64 * MIB / 2, "{most} bytes held");
    drop(scores);

    // Files of some hundred kilobytes that unpack to 300 MB and more.
    for (middle, what) in [
        ("<measure/>", "measures"),
        ("<note/>", "nothing but notes"),
        ("x", "one text"),
        ("<sound dacapo=\"yes\"/>", "instructions"),
        ("<direction><words>Fine</words></direction>", "words"),
        ("</part><part id=\"P2\"><measure/>", "parts"),
        ("<print a=\"b\"></print><!-- c -->", "pieces"),
    ] {
        let start = format!("{start}<measure>");
        let start = if what == "parts" || what == "measures" {
            start.replace("<measure>", "<measure/>")
        } else {
            start
        };
        let bomb = packed(&start, middle, 300_000_000 / middle.len(), "");
        let (result, most) = held(|| read(&bomb));
        let error = result.expect_err(what);
        println!("{what}: {} bytes packed: {most} held: {error}", bomb.len());
        let kinds = [NotationErrorKind::TooLarge, NotationErrorKind::Truncated];
        assert!(kinds.contains(&error.kind()), "{what}: {error}");
        assert!(most < 256 * MIB, "{what}: {most} bytes held");
    }
    let tag = packed(&format!("{start}<measure a=\""), "x", 300_000_000, "");
    let (result, most) = held(|| read(&tag));
    assert_eq!(
        result.expect_err("a tag").kind(),
        NotationErrorKind::TooLarge
    );
    assert!(most < 64 * MIB, "{most} bytes held");
    // More than is unpacked.
    let bomb = packed(
        &start.replace("<part id", "<part><measure/></part><part id"),
        "<a></a>",
        80_000_000,
        "",
    );
    let (result, most) = held(|| read(&bomb));
    let error = result.expect_err("more than is unpacked");
    assert_eq!(error.kind(), NotationErrorKind::TooLarge);
    assert!(error.to_string().contains("512 MiB"), "{error}");
    assert!(most < 64 * MIB, "{most} bytes held");
}
