//! The second walker against orders that were published: it is the measure for the library only as far as it is right itself.

#[path = "support/layout.rs"]
mod layout;
#[path = "support/walker/mod.rs"]
mod walker;

use fingerpost::{NamedReading, Terms};
use layout::board;
use walker::{Outcome, walk};

/// The reading under which a source's order comes out.
#[derive(Clone, Copy, PartialEq)]
enum Under {
    /// All defaults.
    Handbook,
    /// Repeats are made again after a D.C. or D.S.: what the source says for this layout.
    Played,
}
use Under::{Handbook, Played};

#[test]
fn orders_in_handbooks_and_lessons() {
    check(HANDBOOKS);
}

#[test]
fn orders_in_standards_and_their_groups() {
    check(STANDARDS);
}

fn check(cases: &[(Under, &str, &str)]) {
    for (under, layout, order) in cases {
        let named = match under {
            Handbook => NamedReading::Handbook,
            Played => NamedReading::AllRepeats,
        };
        let outcome = walk(&board(layout), &Terms::from(named), 1000);
        let Outcome::Steps(steps) = outcome else {
            panic!("{layout}: {outcome:?}");
        };
        let measures: Vec<String> = steps.iter().map(|s| s.measure.to_string()).collect();
        assert_eq!(measures.join(" "), *order, "{layout}");
    }
}

const HANDBOOKS: &[(Under, &str, &str)] = &[
    // C. Schmidt-Jones, Understanding Basic Music Theory (OpenStax CNX), module m12805 "Repeats and Other Musical Road Map Signs", https://cnx.org/content/m12805 (figure Repeat Dots, upper)
    (Handbook, "- | - | - | end", "1 2 3 4 1 2 3 4"),
    // C. Schmidt-Jones, Understanding Basic Music Theory (OpenStax CNX), module m12805 "Repeats and Other Musical Road Map Signs", https://cnx.org/content/m12805 (figure Repeat Dots, lower)
    (Handbook, "- | - | start | end", "1 2 3 4 3 4"),
    // C. Schmidt-Jones, Understanding Basic Music Theory (OpenStax CNX), module m12805 "Repeats and Other Musical Road Map Signs", https://cnx.org/content/m12805 (figure Repeat Endings)
    (
        Handbook,
        "- | - | ending 1,2 | ending 1,2 + end | ending 3 | -",
        "1 2 3 4 1 2 3 4 1 2 5 6",
    ),
    // C. Schmidt-Jones, Understanding Basic Music Theory (OpenStax CNX), module m12805 "Repeats and Other Musical Road Map Signs", https://cnx.org/content/m12805 (road-map example 1)
    (Handbook, "- | fine + double | - | dc fine", "1 2 3 4 1 2"),
    // C. Schmidt-Jones, Understanding Basic Music Theory (OpenStax CNX), module m12805 "Repeats and Other Musical Road Map Signs", https://cnx.org/content/m12805 (road-map example 2)
    (
        Handbook,
        "- | - | - | double | segno | to-coda | - | ds coda | coda | - | -",
        "1 2 3 4 5 6 7 8 5 6 9 10 11",
    ),
    // lehrklaenge.de, "Wiederholungen" (German open theory course), https://www.lehrklaenge.de/PHP/Notation/Wiederholungen.php
    (Handbook, "- | start | end", "1 2 3 2 3"),
    (Handbook, "- | end", "1 2 1 2"),
    (
        Handbook,
        "- | - | - | - | - | end | start | - | - | - | - | end",
        "1 2 3 4 5 6 1 2 3 4 5 6 7 8 9 10 11 12 7 8 9 10 11 12",
    ),
    (
        Handbook,
        "- | - | ending 1 | ending 1 + end | ending 2 | ending 2",
        "1 2 3 4 1 2 5 6",
    ),
    // Introduction to Music Theory, lesson L29 Repeats, https://mail.deekor.com/music/IMT_Files/lessons/Lesson_02/L2_text/L29_repeats.html
    (
        Handbook,
        "- | - | - | end | start | end | - | - | - | -",
        "1 2 3 4 1 2 3 4 5 6 5 6 7 8 9 10",
    ),
    (
        Handbook,
        "- | - | - | fine | - | - | - | dc fine",
        "1 2 3 4 5 6 7 8 1 2 3 4",
    ),
    (
        Handbook,
        "- | segno | - | fine | - | - | - | ds fine",
        "1 2 3 4 5 6 7 8 2 3 4",
    ),
    // gakufu.musicasupport.com, Japanese notation guide, article of 2021-06-14 on repeat signs
    (
        Handbook,
        "- | - | - | start | - | - | end | - | - | -",
        "1 2 3 4 5 6 7 4 5 6 7 8 9 10",
    ),
    (
        Handbook,
        "- | - | - | ending 1 + end | ending 2 | - | - | - | - | -",
        "1 2 3 4 1 2 3 5 6 7 8 9 10",
    ),
    (
        Handbook,
        "- | - | - | - | - | - | - | - | - | dc",
        "1 2 3 4 5 6 7 8 9 10 1 2 3 4 5 6 7 8 9 10",
    ),
    (
        Handbook,
        "- | - | - | - | - | segno | - | - | - | ds",
        "1 2 3 4 5 6 7 8 9 10 6 7 8 9 10",
    ),
    // musicamusik.com/post/130 (Japanese notation lesson)
    (Handbook, "- | - | start | end | - | -", "1 2 3 4 3 4 5 6"),
    (
        Handbook,
        "- | end | start | end | - | -",
        "1 2 1 2 3 4 3 4 5 6",
    ),
    (
        Handbook,
        "- | start | ending 1 + end | ending 2 | - | -",
        "1 2 3 2 4 5 6",
    ),
    (
        Handbook,
        "- | start | ending 1,2 + end | ending 3 | - | -",
        "1 2 3 2 3 2 4 5 6",
    ),
    // music.toufumentals.com/how-to-read-music-4 (Japanese notation lesson, ten bars A-J)
    (
        Handbook,
        "- | - | - | start | - | - | end | - | - | -",
        "1 2 3 4 5 6 7 4 5 6 7 8 9 10",
    ),
    (
        Handbook,
        "- | - | - | - | - | - | end | - | - | -",
        "1 2 3 4 5 6 7 1 2 3 4 5 6 7 8 9 10",
    ),
    (
        Handbook,
        "- | start | - | end | start | - | end | - | - | -",
        "1 2 3 4 2 3 4 5 6 7 5 6 7 8 9 10",
    ),
    (
        Handbook,
        "- | start | - | ending 1 + end | ending 2 | - | - | - | - | -",
        "1 2 3 4 2 3 5 6 7 8 9 10",
    ),
    (
        Handbook,
        "- | start | - | ending 1 + end | ending 2 | ending 2 + end | ending 3 | - | - | -",
        "1 2 3 4 2 3 5 6 2 3 7 8 9 10",
    ),
    // pianotenarai.com/theory/chapter04 (Japanese piano theory course)
    (Handbook, "- | - | - | - | start | end", "1 2 3 4 5 6 5 6"),
    (
        Handbook,
        "- | - | - | - | ending 1 + end | ending 2",
        "1 2 3 4 5 1 2 3 4 6",
    ),
    (
        Handbook,
        "- | - | start | - | ending 1 + end | ending 2",
        "1 2 3 4 5 3 4 6",
    ),
    (Handbook, "- | fine | - | dc", "1 2 3 4 1 2"),
    (Handbook, "- | segno + fine | - | ds", "1 2 3 4 2"),
    (
        Handbook,
        "- | - | segno | - | - | to-coda | - | ds coda | coda | - | - | -",
        "1 2 3 4 5 6 7 8 3 4 5 6 9 10 11 12",
    ),
    // allegro-vivace.com/contents/learn/repeat.html (Japanese theory course, bars A-D)
    (Handbook, "- | - | start | end", "1 2 3 4 3 4"),
    (Handbook, "- | end | - | -", "1 2 1 2 3 4"),
    (Handbook, "- | - | - | end", "1 2 3 4 1 2 3 4"),
    (Handbook, "- | end | start | end", "1 2 1 2 3 4 3 4"),
    (Handbook, "- | - | ending 1 + end | ending 2", "1 2 3 1 2 4"),
    // bass-beginner.com/grammar/ (Japanese course), pages repeat.html and d-d-c.html, bars A-H
    (
        Handbook,
        "- | - | - | - | - | start | - | end",
        "1 2 3 4 5 6 7 8 6 7 8",
    ),
    (
        Handbook,
        "- | - | - | - | - | - | start | end x8",
        "1 2 3 4 5 6 7 8 7 8 7 8 7 8 7 8 7 8 7 8 7 8",
    ),
    (
        Handbook,
        "- | - | - | - | - | - | - | dc",
        "1 2 3 4 5 6 7 8 1 2 3 4 5 6 7 8",
    ),
    (
        Handbook,
        "- | - | - | fine | - | - | - | dc",
        "1 2 3 4 5 6 7 8 1 2 3 4",
    ),
    (
        Handbook,
        "- | - | segno | - | - | - | - | ds",
        "1 2 3 4 5 6 7 8 3 4 5 6 7 8",
    ),
    // music-specialty.com/guide/category76/abbreviation.html (Japanese guide, abbreviations chapter)
    (Handbook, "- | end | start | end", "1 2 1 2 3 4 3 4"),
    (
        Handbook,
        "- | - | ending 1,2 + end | ending 3 | -",
        "1 2 3 1 2 3 1 2 4 5",
    ),
    (Handbook, "- | fine | - | dc", "1 2 3 4 1 2"),
    (
        Handbook,
        "- | - | segno | to-coda | - | ds | coda",
        "1 2 3 4 5 6 3 4 7",
    ),
    // hamanoshigeki.net/hp/archives/12163 and /12170 (Japanese lesson)
    (
        Handbook,
        "- | - | ending 1 | ending 1 + end | ending 2 | ending 2",
        "1 2 3 4 1 2 5 6",
    ),
    (Handbook, "fine | dc", "1 2 1"),
    (Handbook, "- | segno + fine | ds", "1 2 3 2"),
    (Handbook, "to-coda | dc | coda", "1 2 1 3"),
    // acoustic-guitar1.com, pages on dal segno/coda and da capo/Fine (Japanese lesson)
    (Handbook, "- | - | segno | fine | - | ds", "1 2 3 4 5 6 3 4"),
    (Handbook, "- | - | fine | - | - | dc", "1 2 3 4 5 6 1 2 3"),
    // musikkskolen.no/topics/hus-og-repetisjonstegn-3 (Norwegian lesson, bars A-I)
    (
        Handbook,
        "- | start | - | - | - | ending 1 + end | ending 2 | - | -",
        "1 2 3 4 5 6 2 3 4 5 7 8 9",
    ),
    (
        Handbook,
        "- | start | - | - | - | ending 1-3 + end | ending 4 | - | -",
        "1 2 3 4 5 6 2 3 4 5 6 2 3 4 5 6 2 3 4 5 7 8 9",
    ),
    // guitar-book.com/musical-playing-directions (example 1)
    (
        Handbook,
        "- | - | - | end | start | - | ending 1 + end | ending 2 | - | - | - | -",
        "1 2 3 4 1 2 3 4 5 6 7 5 6 8 9 10 11 12",
    ),
    // guitar-book.com/musical-playing-directions (example 2)
    (
        Handbook,
        "- | segno | - | - | to-coda | - | - | ds coda | coda | start | end | -",
        "1 2 3 4 5 6 7 8 2 3 4 5 9 10 11 10 11 12",
    ),
    // Jonathan Feist (Berklee), blog post "DC vs. DS", jonathanfeist.berkleemusicblogs.com
    (
        Handbook,
        "- | - | - | fine | - | - | - | dc fine",
        "1 2 3 4 5 6 7 8 1 2 3 4",
    ),
    (
        Handbook,
        "- | - | - | - | segno | - | - | to-coda | - | - | - | ds coda | coda | -",
        "1 2 3 4 5 6 7 8 9 10 11 12 5 6 7 8 13 14",
    ),
    // tigerbill.com, drum lessons, "How to read music" part 103, Repeat Sign Exercise 1
    (
        Handbook,
        "- | - | segno | - | - | to-coda | start | - | - | end | - | ds coda | coda",
        "1 2 3 4 5 6 7 8 9 10 7 8 9 10 11 12 3 4 5 6 13",
    ),
    // stringquest.com/?p=3047 (same shape in amisdelharmonica.blogspot.com, March 2022)
    (Handbook, "start | ending 1 + end | ending 2", "1 2 1 3"),
    // stepbystepmusic.com/repeats_and_codas.html (Repeats, example 2)
    (Handbook, "- | start | end | -", "1 2 3 2 3 4"),
    // stepbystepmusic.com/repeats_and_codas.html (Endings, example 1)
    (
        Handbook,
        "- | - | - | ending 1 + end | ending 2",
        "1 2 3 4 1 2 3 5",
    ),
    // Wikipedia (English), "Repeat sign"
    (Handbook, "- | start + end", "1 2 2"),
    // Wikipedia (English), "Repeat sign" (same order in the Mansfeld Middle School handout, mansfeldms.tusd1.org)
    (
        Handbook,
        "- | start | ending 1 + end | ending 2",
        "1 2 3 2 4",
    ),
    // Wikipedia (English), "Dal segno" (D.S. al Fine example, printed note names)
    (
        Played,
        "- | segno | start + end | ds fine | fine",
        "1 2 3 3 4 2 3 3 4 5",
    ),
    // Wikipedia (English), "Dal segno" (D.S. al Fine example, sound file as described in the article)
    (
        Handbook,
        "- | segno | start + end | ds fine | fine",
        "1 2 3 3 4 2 3 4 5",
    ),
    // Wikipedia (English), "Dal segno" (D.S. al Coda example)
    (
        Handbook,
        "- | segno | start + end + to-coda | ds coda | coda",
        "1 2 3 3 4 2 3 5",
    ),
    // Wikipedia (English), "Da capo" (al Fine example, older text)
    (
        Played,
        "- | - | start + end | dc fine | fine",
        "1 2 3 3 4 1 2 3 3 4 5",
    ),
    // Wikipedia (English), "Da capo" (al Fine example, later text)
    (
        Handbook,
        "- | - | start + end | dc fine | fine",
        "1 2 3 3 4 1 2 3 4 5",
    ),
    // Wikipedia (English), "Da capo" (al Coda example)
    (
        Handbook,
        "- | to-coda | start + end | dc coda | coda",
        "1 2 3 3 4 1 2 5",
    ),
    // apprendrelesolfege.com/da-capo
    (Handbook, "- | - | - | dc", "1 2 3 4 1 2 3 4"),
    // English twin of apprendrelesolfege.com/da-capo
    (Handbook, "- | - | fine | - | dc fine", "1 2 3 4 5 1 2 3"),
    // Kreismusikschule Ammerland, "Wiederholungsanweisungen (erweitert)", https://theorie.kms-ammerland.de/wiederholungsanweisungen-erweitert (example 1)
    (Handbook, "end + fine | dc fine", "1 1 2 1"),
    // Korean music lesson post, document 141896 on magictwin.dscloud.me, bars A-O
    (
        Played,
        "- | - | end | - | - | start | - | end | - | - | - | - | fine | - | dc fine",
        "1 2 3 1 2 3 4 5 6 7 8 6 7 8 9 10 11 12 13 14 15 1 2 3 1 2 3 4 5 6 7 8 6 7 8 9 10 11 12 13",
    ),
    // LearnMusicTheory.net, High-Yield Music Theory, vol. 1, section 1.8, pp. 22-23
    (
        Handbook,
        "- | ending 1 + end | ending 2 + fine | dc fine",
        "1 2 1 3 4 1 3",
    ),
    // brunch.co.kr/@zoiworld/119 (Korean column)
    (
        Handbook,
        "- | - | - | ending 1 | ending 1 + end | ending 2",
        "1 2 3 4 5 1 2 3 6",
    ),
    // fxkingdom (Korean lesson page)
    (
        Handbook,
        "- | - | start | - | - | end",
        "1 2 3 4 5 6 3 4 5 6",
    ),
    // guitarristapasoapaso.com (Spanish lesson)
    (Handbook, "- | start | - | end", "1 2 3 4 2 3 4"),
    // Portuguese guitar-theory booklet, p. 24 (issuhub view 3442; title page not shown)
    (Handbook, "to-coda | dc coda | coda", "1 2 1 3"),
    (
        Handbook,
        "- | segno + to-coda | ds coda | coda",
        "1 2 3 2 4",
    ),
    // D. Marty, amisdelharmonica.blogspot.com, March 2022 (French)
    (Handbook, "start + to-coda | end | coda", "1 2 1 3"),
    // G. Grove (ed.), A Dictionary of Music and Musicians, vol. 3 (1883), p. 108, "Repeat"
    (
        Handbook,
        "end | start + end + fine | start + end | start + end + dc",
        "1 1 2 2 3 3 4 4 1 2",
    ),
    // D. G. Türk, Klavierschule, 2nd ed. (1802), as reported in Max Rudolf's study of inner repeats in the minuet or scherzo da capo (excerpt seen; original not seen)
    (
        Played,
        "end | start + end + fine | start + end | start + end + dc",
        "1 1 2 2 3 3 4 4 1 1 2 2",
    ),
    // meyer-gitarre.de (German lesson)
    (Handbook, "- | end | start | end", "1 2 1 2 3 4 3 4"),
    // guitarristapasoapaso.com (Spanish lesson)
    (Handbook, "- | - | - | end", "1 2 3 4 1 2 3 4"),
];

const STANDARDS: &[(Under, &str, &str)] = &[
    // MNX draft, example documents: Jumps (Dal Segno)
    (Handbook, "- | segno | - | - | ds", "1 2 3 4 5 2 3 4 5"),
    // Jumps (D.S. al Fine)
    (Handbook, "- | segno | fine | - | ds fine", "1 2 3 4 5 2 3"),
    // Jumps (D.S. al Coda)
    (
        Handbook,
        "- | segno | to-coda | - | ds coda | coda",
        "1 2 3 4 5 2 3 6",
    ),
    // Jumps (D.C. al Fine)
    (Handbook, "- | fine | - | dc fine", "1 2 3 4 1 2"),
    // Repeats, more than once repeated: performed four times
    (Handbook, "end x4", "1 1 1 1"),
    // The older MNX-Common draft, audio example
    (
        Handbook,
        "- | - | start | - | - | ending 1 + end | ending 2",
        "1 2 3 4 5 6 3 4 5 7",
    ),
    // MNX group, issue 218: a proposal
    (
        Handbook,
        "- | segno | to-coda | - | ds coda | - | coda",
        "1 2 3 4 5 2 3 7",
    ),
    // MusicXML group, issue 252, quoting Gardner Read, Music Notation, ex. 12.3: from the first sign on to the second
    (
        Handbook,
        "- | segno | double | coda | dc segno then coda",
        "1 2 3 4 5 1 4 5",
    ),
    // MEI 5 guidelines, a plist for a D.C. form: A B A
    (Handbook, "fine | dc fine", "1 2 1"),
    // MEI 5, remarks on expansion: A End1 A End2
    (Handbook, "start | ending 1 + end | ending 2", "1 2 1 3"),
    // MEI mailing list, 2015: endings "1. 2." and "3."
    (
        Handbook,
        "start | ending 1,2 + end | ending 3",
        "1 2 1 2 1 3",
    ),
    // ABC 2.1, section 3.1.9: P:A3; P:(AB)3; P:(AB)2(AC)2A
    (Handbook, "start + end x3", "1 1 1"),
    (Handbook, "start | end x3", "1 2 1 2 1 2"),
    (
        Handbook,
        "start + fine | ending 1,2 + end | ending 3,4 + end + dc fine",
        "1 2 1 2 1 3 1 3 1",
    ),
    // ABC 2.1, section 4.10: an ending for passes 1 to 3
    (
        Handbook,
        "start | ending 1-3 + end | ending 4",
        "1 2 1 2 1 2 1 3",
    ),
];
