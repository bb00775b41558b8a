//! What is plainly written is read without the parser where a score stands in memory, and the insides of notes are passed over in one go; all
//! of it is read event by event by the parser where it comes as a stream, as every score in UTF-16 does. Whatever stands in the file, well written or not, both must come to the same: the same board, the
//! same lines, the same fault at the same line. The parser is the outside witness here: quick-xml, after XML 1.0 (Fifth Edition), 2.1 and 3.1.

use fingerpost_notation::read;
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;

/// What is put into a score: pieces of notes, and all that a hasty reader of tags stumbles over.
const PIECES: [&str; 44] = [
    "<",
    ">",
    "&",
    "&amp;",
    "&#60;",
    "&hut;",
    "/",
    "\"",
    "'",
    " ",
    "-",
    "\n",
    "<!-- </note> -->",
    "<!--",
    "-->",
    "<!-->",
    "<!--->",
    "<!---->",
    "<!-- a > b -->",
    "</measure>",
    " number='1' x=\"y\"",
    "<![CDATA[</note>]]>",
    "<?stile </note>?>",
    "</note>",
    "<note>",
    "<note/>",
    "<note default-x=\"3\">",
    "</note >",
    "<m:note>",
    "</m:note>",
    "<chord/>",
    "<chord></chord>",
    "<fermata/>",
    "<fermata type='inverted'>x</fermata>",
    "<duration>3</duration>",
    "<duration/>",
    "<duration>1<x/></duration>",
    "<staff>2</staff>",
    "<staff> 1\n</staff>",
    "<x a='>' b=\"/\"/>",
    "<x a=\"</note>\">y</x>",
    "<x a=b/>",
    "<notehead-text><display-text>a</display-text></notehead-text>",
    "<long-name-of-an-element>-</long-name-of-an-element>",
];

/// Invented; with what notes hold beside their pitch.
const SCORE: &str = r#"<?xml version="1.0"?>
<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Ferry</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>2</divisions><staves>2</staves></attributes>
<note default-x="12.5"><pitch><step>C</step><octave>4</octave></pitch><duration>2</duration><voice>1</voice><staff>1</staff>
  <beam number="1">begin</beam><notations><slur type="start"/><articulations><staccato/></articulations></notations></note>
<note><chord/><pitch><step>E</step><octave>4</octave></pitch><duration>2</duration><staff>2</staff></note>
<note><grace/><rest/></note>
<note><rest/><duration>2</duration><notations><fermata type="upright"/></notations><staff>2</staff>
  <lyric number="1"><syllabic>single</syllabic><text>hut</text></lyric></note>
<backup><duration>4</duration></backup><forward><duration>4</duration></forward>
<direction><direction-type><words>Fine</words></direction-type></direction>
<barline location="right"><repeat direction="backward"/></barline></measure>
<measure number="2"><note><rest/><duration>8</duration></note>
<direction><direction-type><words>D.C. al Fine</words></direction-type><sound dacapo="yes"/></direction></measure></part></score-partwise>"#;

fn in_utf_16(text: &str) -> Vec<u8> {
    let marked = std::iter::once(0xfeff).chain(text.encode_utf16());
    marked.flat_map(u16::to_le_bytes).collect()
}

fn assert_same(text: &str) {
    let told = |bytes: &[u8]| match read(bytes) {
        // A tag that never ends is told where it begins, which a stream does not know any more at its end.
        Err(error) if error.to_string().contains("ends inside a tag") => error.to_string(),
        other => format!("{other:#?}"),
    };
    let (in_memory, streamed) = (told(text.as_bytes()), told(&in_utf_16(text)));
    assert!(
        in_memory == streamed,
        "{text}\n--- in memory:\n{in_memory}\n--- streamed:\n{streamed}"
    );
}

#[test]
fn the_score_as_it_is() {
    assert!(read(SCORE.as_bytes()).is_ok());
    assert_same(SCORE);
}

/// Each piece at each place where a tag or a text begins or ends, in the first half and the second.
fn each_piece_at_each_tag(half: usize) {
    let middle = SCORE.len() / 2;
    // Not before the first: by what a file begins with its format is told.
    let tags = SCORE.match_indices(['<', '>']).skip(1);
    for (at, _) in tags.filter(|(at, _)| (*at < middle) == (half == 0)) {
        for piece in PIECES {
            for at in [at, at + 1] {
                assert_same(&format!("{}{piece}{}", &SCORE[..at], &SCORE[at..]));
            }
        }
    }
}

#[test]
fn each_piece_at_each_tag_of_the_first_half() {
    each_piece_at_each_tag(0);
}

#[test]
fn each_piece_at_each_tag_of_the_second_half() {
    each_piece_at_each_tag(1);
}

/// Invented: notes that are the same to the letter, as those of real scores nearly are, so that they are known again.
fn same_notes() -> (String, std::ops::Range<usize>) {
    let note = "      <note default-x=\"12.5\">
        <pitch>
          <step>A</step>
          <octave>4</octave>
        </pitch>
        <duration>10080</duration>
        <type>quarter</type>
        <dot/>
        <stem>up</stem>
        <beam number=\"1\">continue</beam>
        <notations>
          <fermata type=\"upright\"/>
        </notations>
      </note>\n";
    let before = "<score-partwise>\n  <part id=\"P1\">\n    <measure number=\"1\">\n";
    let after = "    </measure>\n  </part>\n</score-partwise>\n";
    let notes = note.repeat(4);
    let third = before.len() + 2 * note.len();
    (format!("{before}{notes}{after}"), third..third + note.len())
}

/// What differs by little from what is known is not taken for it: each piece, and each letter gone, anywhere in the third of four equal notes.
#[test]
fn nearly_known_again() {
    let (text, third) = same_notes();
    assert_same(&text);
    for at in third {
        assert_same(&format!("{}{}", &text[..at], &text[at + 1..]));
        for piece in [
            "<", ">", "&", "/", " ", "x", "-", "\"", "9", "</note>", "<x>", "<chord/>",
        ] {
            assert_same(&format!("{}{piece}{}", &text[..at], &text[at..]));
            assert_same(&format!("{}{piece}{}", &text[..at], &text[at + 1..]));
        }
    }
}

/// Every beginning of the score: the file is cut short.
#[test]
fn cut_short_anywhere() {
    for end in 0..SCORE.len() {
        assert_same(&SCORE[..end]);
    }
}

proptest! {
    /// Up to four changes anywhere: a piece put in, a stretch taken out.
    #[test]
    fn changed_anywhere(changes in vec((0..SCORE.len(), 0..12_usize, select(&PIECES[..])), 1..5)) {
        let mut text = SCORE.to_owned();
        for (at, gone, piece) in changes {
            let at = at.min(text.len());
            let end = (at + gone).min(text.len());
            text.replace_range(at..end, piece);
        }
        assert_same(&text);
    }
}
