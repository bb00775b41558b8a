//! What a learner is told of findings, in English.

use super::warnings::RuleWords;

pub(super) const ENGLISH: RuleWords = RuleWords {
    language: "en",
    not_settled_in_files: "From here on a computer file may mean another way than lessons do. Write down which one you mean.",
    not_settled_for_nobody: "From here on some play another way, but no book says it. Write down which one you mean.",
    rules: &[
        (
            "coda-before-to-coda",
            "The coda stands too early. Coda means tail, and a tail comes at the end.",
        ),
        (
            "coda-missing",
            "You are to go to a coda, but there is none. Put a coda where the last part begins.",
        ),
        (
            "coda-run-into",
            "You walk straight into the coda without a leap. A D.C. or D.S. before it turns you back in time.",
        ),
        (
            "coda-unused",
            "Nothing sends you to this coda. It waits for a To Coda.",
        ),
        (
            "cut-outside-measure",
            "This sign stands on a beat that the measure does not have. Count the beats.",
        ),
        (
            "dal-segno-to-start",
            "This sends you back to the very beginning. You can write D.C. for that.",
        ),
        (
            "end-repeat-in-last-ending",
            "After the last ending you go on. Take away the dots at its end.",
        ),
        (
            "end-repeat-never-made",
            "These dots say: go back. But every time another sign comes first.",
        ),
        (
            "ending-gap",
            "One time through the repeat has no ending. Count the endings like stairs: 1, 2, 3.",
        ),
        (
            "ending-not-closed",
            "You walk out of this ending into the next one. Put dots at its end, so that you go back.",
        ),
        (
            "ending-on-every-pass",
            "You play these measures every time. They need no bracket.",
        ),
        (
            "ending-over-system-break",
            "The bracket starts on one line and ends on the next. Keep it on one line.",
        ),
        (
            "ending-pass-twice",
            "Two endings have the same number. You cannot know which one to play.",
        ),
        (
            "ending-past-section",
            "The bracket is too long. It stops where the dots are.",
        ),
        (
            "ending-without-repeat",
            "You come here only one time. An ending needs dots that send you back.",
        ),
        (
            "endings-out-of-order",
            "The endings stand in another order than you play them. Put the first one first.",
        ),
        (
            "endings-overlap",
            "One measure stands under two brackets. A house has one roof: give each measure one bracket.",
        ),
        (
            "fermata-never-held",
            "This fermata waits for a time that never comes. Count how often you come here.",
        ),
        (
            "fine-missing",
            "You are to stop at the word Fine, but it is nowhere. Put Fine where the music ends.",
        ),
        (
            "fine-never-met",
            "You never stop at this Fine. Follow the way back with your finger: does it come past here?",
        ),
        (
            "fine-unused",
            "Nothing makes this Fine the end. It waits for a D.C. or a D.S.",
        ),
        (
            "hand-never-plays",
            "This hand waits for a time that never comes. So it never plays here.",
        ),
        (
            "implied-start-in-doubt",
            "The dots send you back, but how far? Put a start repeat where the repeat begins.",
        ),
        (
            "jump-in-section",
            "This sign stands inside a repeat. Put it after the repeat, and you know when to go.",
        ),
        (
            "jump-never-obeyed",
            "You come past this sign, but you never do what it says. Another sign always comes first.",
        ),
        (
            "jumps-together",
            "Two signs here send you to two places. You can only go one way.",
        ),
        (
            "label-twice",
            "Two signs here have the same name. You cannot know which one to go to. Give one a new letter.",
        ),
        (
            "landing-in-ending",
            "You land under a bracket. Put the sign before the bracket or after it.",
        ),
        (
            "landing-in-wrong-ending",
            "You land in an ending that is not for this time. Put the sign in another place.",
        ),
        (
            "lone-ending-misnumbered",
            "You pass over this ending, and the dots in it, too. Give it the number 1.",
        ),
        (
            "measure-never-played",
            "The way never comes here. Look which sign leads past it. Can one lead here, too?",
        ),
        (
            "nested-sections",
            "Here is a repeat inside a repeat. That is hard to count: write one of them out.",
        ),
        (
            "nesting-too-deep",
            "Here are too many repeats inside each other. Write some of them out.",
        ),
        (
            "no-fixed-length",
            "You play this until somebody gives a signal. Nobody knows how often that will be.",
        ),
        (
            "not-settled",
            "From here on there are two ways to play, and both are right. Write down which one you mean.",
        ),
        (
            "octave-never-sounds",
            "This octave sign waits for a time that never comes. Count how often you come here.",
        ),
        (
            "octave-over-silent-hands",
            "This hand is silent here. There is nothing to move up or down.",
        ),
        (
            "octaves-contradict",
            "One sign moves the hand up, and one moves it down. Choose one of them.",
        ),
        (
            "octaves-too-far",
            "This hand has to go more than two octaves away. Take one of the signs away.",
        ),
        (
            "on-return-contradicts",
            "Do you make this repeat again on the way back? One sign says yes, and one says no.",
        ),
        (
            "only-without-effect",
            "This hand plays every time you come here. The sign changes nothing.",
        ),
        (
            "pass-never-reached",
            "This names a time that never comes. Count how often you play the repeat.",
        ),
        (
            "plays-against-endings",
            "The dots and the endings do not say the same number of times. Count the endings.",
        ),
        (
            "plays-once",
            "You play this one time only. Then it needs no dots.",
        ),
        (
            "route-over-limit",
            "This is a very long way to play. Look at the numbers of the repeats again.",
        ),
        (
            "route-too-long",
            "You would never come to the end of this. Let it be repeated fewer times.",
        ),
        (
            "same-sign-twice",
            "The same sign stands here two times. Once is enough.",
        ),
        (
            "segno-after-jump",
            "D.S. means: go back. But this segno comes later. Put it before the D.S.",
        ),
        (
            "segno-missing",
            "This sends you to a segno, but there is none. Put a segno where you want to land.",
        ),
        (
            "segno-never-met",
            "You are to play until the segno, but you never come to it. Put it on your way.",
        ),
        (
            "segno-unused",
            "Nothing sends you to this segno. It waits for a D.S.",
        ),
        (
            "start-repeat-in-ending",
            "A new repeat begins under a bracket. End one repeat before you begin the next.",
        ),
        (
            "start-repeat-not-needed",
            "This is the very beginning. You go back here without a sign, too. It may stay.",
        ),
        (
            "start-repeat-unclosed",
            "A repeat begins here and never ends. Where are the dots that send you back?",
        ),
        (
            "to-coda-missing",
            "You are to go to the coda, but from where? Put To Coda where you leap off.",
        ),
        (
            "to-coda-never-met",
            "You never leap at this To Coda. Follow the way back with your finger: does it come past here?",
        ),
        (
            "to-coda-unused",
            "Nothing makes this To Coda count. It waits for a D.C. or a D.S.",
        ),
    ],
};
