//! What each sign means, in English.

use super::meanings::{Meaning, Meanings};

pub(super) const ENGLISH: Meanings = Meanings {
    language: "en",
    signs: &[
        Meaning {
            name: "start repeat",
            teacher: "A start repeat is the place to which the end repeat after it sends back.",
            learner: "The dots of a start repeat say: come back to here.",
        },
        Meaning {
            name: "end repeat",
            teacher: "An end repeat sends back, once where it says nothing else, to its start repeat; where there is none, to the beginning or to behind the repeat before.",
            learner: "The dots send you back once, to the dots before. With none there, go back to the last repeat or to the beginning.",
        },
        Meaning {
            name: "ending",
            teacher: "An ending is played on the passes whose numbers stand in its bracket, and passed over on all others.",
            learner: "Play an ending only the time that its number says. The other times you walk past it.",
        },
        Meaning {
            name: "segno",
            teacher: "A segno is the sign to which a D.S. sends back; by itself it sends nowhere.",
            learner: "The segno is a place to land. A D.S. sends you back to it.",
        },
        Meaning {
            name: "coda",
            teacher: "A coda is the place to which a To Coda sends, mostly the beginning of the last part.",
            learner: "The coda is the tail of the piece. A To Coda sends you to it.",
        },
        Meaning {
            name: "To Coda",
            teacher: "A To Coda sends to the coda, but only after a D.C. or D.S. that means it; before that it is passed over.",
            learner: "Before the D.C. or D.S. you walk past To Coda. After it, go to the coda.",
        },
        Meaning {
            name: "Fine",
            teacher: "Fine is where the music ends, but only after a D.C. or D.S. that means it; before that it is passed over.",
            learner: "Before the D.C. or D.S. you walk past Fine. After it, Fine means: stop here.",
        },
        Meaning {
            name: "D.C.",
            teacher: "D.C. (da capo, from the head) sends back to the beginning; al Fine and al Coda say how the music ends then.",
            learner: "D.C. sends you back to the very beginning.",
        },
        Meaning {
            name: "D.S.",
            teacher: "D.S. (dal segno, from the sign) sends back to the segno; al Fine and al Coda say how the music ends then.",
            learner: "D.S. sends you back to the segno. Look for it.",
        },
        Meaning {
            name: "D.C. al Fine",
            teacher: "D.C. al Fine sends back to the beginning; the music then ends at Fine.",
            learner: "Go back to the very beginning. Then play up to the word Fine, and stop.",
        },
        Meaning {
            name: "D.S. al Fine",
            teacher: "D.S. al Fine sends back to the segno; the music then ends at Fine.",
            learner: "Go back to the segno. Then play up to the word Fine, and stop.",
        },
        Meaning {
            name: "D.C. al Coda",
            teacher: "D.C. al Coda sends back to the beginning; at the To Coda the music then goes to the coda.",
            learner: "Go back to the very beginning. Then play up to To Coda, and leap to the coda.",
        },
        Meaning {
            name: "D.S. al Coda",
            teacher: "D.S. al Coda sends back to the segno; at the To Coda the music then goes to the coda.",
            learner: "Go back to the segno. Then play up to To Coda, and leap to the coda.",
        },
        Meaning {
            name: "fermata",
            teacher: "A fermata holds its note or rest for longer than it is written; it changes no order.",
            learner: "A fermata says: hold the music here, and then go on.",
        },
        Meaning {
            name: "octave sign",
            teacher: "What an octave sign stands over is played in another octave than it is written: 8va one higher, 8vb one lower, 15ma and 15mb two.",
            learner: "Under an octave sign your hand plays higher or lower than the notes stand.",
        },
        Meaning {
            name: "senza rep.",
            teacher: "senza rep. (without repeats) at a D.C. or D.S. says that the repeats are left out after it.",
            learner: "After this D.C. or D.S. you do not make the repeats again.",
        },
        Meaning {
            name: "con rep.",
            teacher: "con rep. (with repeats) at a D.C. or D.S. says that the repeats are made again after it.",
            learner: "After this D.C. or D.S. you make the repeats again.",
        },
    ],
};
