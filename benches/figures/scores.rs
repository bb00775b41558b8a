//! From the text of a score to its order: read, compile, walk. MusicXML stands next to a bare loop over the events of the parser and MNX
//! next to a JSON parser that passes over everything, both on the same bytes; a score must be read at least half as fast.

use std::fmt::Write;
use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, Throughput};
use fingerpost::{Roadmap, Terms};
use fingerpost_notation::{Score, read};
use quick_xml::Reader;
use quick_xml::events::Event;

/// The sizes of the scores, in bytes of text; and how many parts they have.
pub(crate) const SIZES: [(&str, usize, usize); 2] =
    [("1 MB", 1_000_000, 4), ("50 MB", 50_000_000, 60)];
/// The tunes of the book.
pub(crate) const TUNES: usize = 2_000;
/// The measures of each part.
const MEASURES_OF_EIGHT: usize = 8;

/// A score of some parts with many notes: in every eight measures a repeat with two endings, at the end a D.C. al Fine.
pub(crate) fn musicxml(bytes: usize, parts: usize) -> (String, usize) {
    let mut one = String::new();
    let mut measures = 0;
    while one.len() < bytes / parts {
        for at in 1..=MEASURES_OF_EIGHT {
            measures += 1;
            measure(&mut one, measures, at).expect("a text takes text");
        }
    }
    // The last measure is closed by its return.
    let end = "    </measure>\n";
    one.truncate(one.len() - end.len());
    one += "      <direction placement=\"above\">\n        <direction-type>\n          <words>D.C. al Fine</words>\n        </direction-type>\n        <sound dacapo=\"yes\"/>\n      </direction>\n    </measure>\n";
    let mut text = String::with_capacity(bytes + bytes / 10);
    text += "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<score-partwise version=\"4.0\">\n  <part-list>\n";
    for part in 1..=parts {
        writeln!(text, "    <score-part id=\"P{part}\">\n      <part-name>Path {part}</part-name>\n    </score-part>").expect("a text takes text");
    }
    text += "  </part-list>\n";
    for part in 1..=parts {
        writeln!(text, "  <part id=\"P{part}\">\n{one}  </part>").expect("a text takes text");
    }
    text += "</score-partwise>\n";
    (text, measures)
}

fn measure(text: &mut String, number: usize, at: usize) -> std::fmt::Result {
    let steps = ["C", "D", "E", "F", "G", "A", "B"];
    writeln!(
        text,
        "    <measure number=\"{number}\" width=\"{}.25\">",
        200 + number % 90
    )?;
    if number == 1 {
        text.push_str("      <attributes>\n        <divisions>2</divisions>\n        <time>\n          <beats>4</beats>\n          <beat-type>4</beat-type>\n        </time>\n      </attributes>\n");
    }
    let left = match at {
        2 => "<repeat direction=\"forward\"/>",
        6 => "<ending number=\"1\" type=\"start\"/>",
        7 => "<ending number=\"2\" type=\"start\"/>",
        _ => "",
    };
    if !left.is_empty() {
        writeln!(
            text,
            "      <barline location=\"left\">\n        {left}\n      </barline>"
        )?;
    }
    for note in 0..8 {
        let step = steps[(number * 3 + note * 5) % steps.len()];
        let x = 12 + 21 * note;
        writeln!(
            text,
            "      <note default-x=\"{x}.60\" default-y=\"-{}.00\">\n        <pitch>\n          <step>{step}</step>\n          <octave>4</octave>\n        </pitch>\n        <duration>1</duration>\n        <voice>1</voice>\n        <type>eighth</type>\n        <stem>up</stem>\n        <beam number=\"1\">{}</beam>\n      </note>",
            5 * note,
            ["begin", "end"][note % 2]
        )?;
    }
    if number == 5 {
        text.push_str("      <direction placement=\"above\">\n        <direction-type>\n          <words>Fine</words>\n        </direction-type>\n        <sound fine=\"yes\"/>\n      </direction>\n");
    }
    let right = match at {
        6 => "<ending number=\"1\" type=\"stop\"/>\n        <repeat direction=\"backward\"/>",
        7 => "<ending number=\"2\" type=\"stop\"/>",
        _ => "",
    };
    if !right.is_empty() {
        writeln!(
            text,
            "      <barline location=\"right\">\n        {right}\n      </barline>"
        )?;
    }
    text.push_str("    </measure>\n");
    Ok(())
}

/// A book of tunes with two strains, first and second endings, and words.
pub(crate) fn abc() -> String {
    let mut text = String::from("%abc-2.1\n");
    for tune in 1..=TUNES {
        write!(
            text,
            "\nX:{tune}\nT:Hill Path {tune}\nM:6/8\nL:1/8\nK:G\n|: G2B d2B | c2A F2D | G2B dBG | A3 F2D |\n G2B d2B | c2A FGA |1 BGB AFD | G3 G2D :|2 BGB AFD | G6 |]\n|: \"G\"g2d B2d | \"C\"e2c A2c | d2B G2B | A3 F2D |\n g2d B2d | ecA FGA |1 BGB AFD | G3 G2d :|2 BGB AFD | \"^D.C.\"G6 |]\n"
        )
        .expect("a text takes text");
    }
    text
}

/// A document of the same shape as the MusicXML scores.
pub(crate) fn mnx(measures: usize) -> String {
    let mut text = String::from("{\"mnx\": {\"version\": 42}, \"global\": {\"measures\": [\n");
    for number in 1..=measures {
        let signs = match (number, number % 8) {
            (1, _) => "\"time\": {\"count\": 4, \"unit\": 4}",
            (_, 2) => "\"repeatStart\": {}",
            (_, 6) => "\"ending\": {\"duration\": 1, \"numbers\": [1]}, \"repeatEnd\": {}",
            (_, 7) => "\"ending\": {\"duration\": 1, \"numbers\": [2]}",
            _ => "",
        };
        let comma = if number < measures { "," } else { "" };
        writeln!(text, "{{{signs}}}{comma}").expect("a text takes text");
    }
    text += "]}, \"parts\": [{\"measures\": [\n";
    for number in 1..=measures {
        let comma = if number < measures { "," } else { "" };
        let note = "{\"type\": \"event\", \"duration\": {\"base\": \"eighth\"}, \"notes\": [{\"pitch\": {\"octave\": 4, \"step\": \"G\"}}]}";
        writeln!(
            text,
            "{{\"sequences\": [{{\"content\": [{}]}}]}}{comma}",
            [note; 8].join(", ")
        )
        .expect("a text takes text");
    }
    text + "]}]}\n"
}

/// The length of the route of a score.
fn walked(score: &Score) -> u64 {
    let roadmap = Roadmap::new(&score.board, &Terms::default()).expect("in order");
    roadmap
        .steps()
        .map(|step| u64::from(step.measure > 0))
        .sum()
}

/// What a bare loop over the events has to count to be sure that it saw them.
fn events(text: &str) -> usize {
    let mut reader = Reader::from_str(text);
    let mut starts = 0;
    loop {
        match reader.read_event().expect("well-formed") {
            Event::Start(_) | Event::Empty(_) => starts += 1,
            Event::Eof => return starts,
            _ => {}
        }
    }
}

pub(crate) fn reading(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("score");
    group.sample_size(10);
    for (name, bytes, parts) in SIZES {
        let (text, measures) = musicxml(bytes, parts);
        group.throughput(Throughput::Bytes(text.len() as u64));
        // In each eight, measures 2 to 5 twice; then back to the Fine in measure 5.
        let length = (measures + measures / 8 * 4 + 5) as u64;
        group.bench_function(BenchmarkId::new("musicxml", name), |bencher| {
            bencher.iter(|| {
                let scores = read(black_box(text.as_bytes())).expect("a score");
                assert_eq!(walked(&scores[0]), length);
            });
        });
        let starts = text.matches('<').count() - text.matches("</").count() - 1;
        group.bench_function(BenchmarkId::new("events", name), |bencher| {
            bencher.iter(|| assert_eq!(events(black_box(&text)), starts));
        });
    }
    let book = abc();
    group.throughput(Throughput::Elements(TUNES as u64));
    group.bench_function("abc", |bencher| {
        bencher.iter(|| {
            let tunes = read(black_box(book.as_bytes())).expect("a book");
            assert_eq!(tunes.len(), TUNES);
            // Twenty measures in two strains with two endings each, 32 played; then once through both, with the last endings.
            let steps: u64 = tunes.iter().map(walked).sum();
            assert_eq!(steps, TUNES as u64 * (32 + 16));
        });
    });
    let document = mnx(2_000);
    group.throughput(Throughput::Bytes(document.len() as u64));
    group.bench_function("mnx", |bencher| {
        bencher.iter(|| {
            let scores = read(black_box(document.as_bytes())).expect("a score");
            assert_eq!(walked(&scores[0]), 2_000 + 250 * 4);
        });
    });
    group.bench_function("json", |bencher| {
        bencher.iter(|| {
            let value: serde::de::IgnoredAny =
                serde_json::from_str(black_box(&document)).expect("JSON");
            value
        });
    });
    group.finish();
}
