//! The forms that are known, folded: small letters, no accents.

/// From the beginning.
pub(super) const DA_CAPO: &[&[&str]] = &[
    &["dc"],
    &["da", "capo"],
    &["dacapo"],
    &["from", "the", "beginning"],
    &["from", "beginning"],
    &["from", "the", "top"],
    &["von", "anfang"],
    &["vom", "anfang"],
    &["von", "vorn"],
    &["von", "vorne"],
    &["au", "debut"],
    &["du", "debut"],
    &["depuis", "le", "debut"],
    &["desde", "el", "principio"],
    &["desde", "el", "comienzo"],
    &["al", "principio"],
];

/// From the sign.
pub(super) const DAL_SEGNO: &[&[&str]] = &[
    &["ds"],
    &["dal", "segno"],
    &["dalsegno"],
    &["from", "the", "sign"],
    &["from", "the", "segno"],
    &["vom", "zeichen"],
    &["ab", "zeichen"],
    &["vom", "segno"],
    &["ab", "segno"],
    &["du", "signe"],
    &["au", "signe"],
    &["depuis", "le", "signe"],
    &["desde", "el", "signo"],
    &["desde", "la", "senal"],
];

/// Words that lead on to a place.
pub(super) const ON_TO: &[&str] = &[
    "al", "alla", "sin", "fino", "to", "until", "till", "bis", "zum", "zur", "auf", "jusqu", "a",
    "au", "vers", "hasta",
];

/// Words between that say nothing.
pub(super) const ARTICLES: &[&str] = &[
    "the", "il", "la", "le", "el", "l", "die", "der", "das", "mot", "e", "ed", "and", "und", "et",
    "y", "ma",
];

/// "Then": what comes after the place.
pub(super) const THEN: &[&str] = &[
    "poi", "then", "dann", "puis", "luego", "segue", "despues", "ensuite",
];

/// The end that is meant by Fine.
pub(super) const FINE: &[&str] = &["fine", "fin", "ende", "schluss"];

/// The sign 𝄋 in words.
pub(super) const SEGNO: &[&str] = &["segno", "sign", "zeichen", "signe", "signo", "senal"];

/// Before a word for repeats: they are left out.
pub(super) const WITHOUT: &[&str] = &["senza", "without", "no", "ohne", "sans", "sin"];

/// Before a word for repeats: they are made.
pub(super) const WITH: &[&str] = &["con", "with", "mit", "avec", "col"];

/// Beginnings of words for repeats.
pub(super) const REPEATS: &[&str] = &["rep", "ripet", "ritorn", "wiederh"];

/// Before a jump: it is not meant.
pub(super) const NO: &[&str] = &[
    "senza", "no", "not", "without", "ohne", "kein", "sans", "sin",
];

/// Beginnings of the names of pieces that are played again after a middle piece.
pub(super) const PIECES: &[&str] = &["menuet", "minuet", "scherz", "march", "marsch"];

/// "Time" as in "second time".
pub(super) const TIME: &[&str] = &["time", "x", "volta", "mal", "fois", "vez"];

/// "Times" as in "four times".
pub(super) const TIMES: &[&str] = &["times", "volte", "male", "mal", "fois", "veces"];

/// "Only".
pub(super) const ONLY: &[&str] = &["only", "solo", "nur", "seulement", "solamente", "soltanto"];

/// The number of an ordinal: "2nd", "2.", "second", "2a", "seconda".
pub(super) fn ordinal(word: &str) -> Option<u32> {
    let digits = word
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(word.len());
    let (number, ending) = word.split_at(digits);
    if !number.is_empty() {
        const ENDINGS: &[&str] = &[
            "", "st", "nd", "rd", "th", "a", "o", "e", "er", "ere", "eme", "de", "da", "ra", "te",
            "tes",
        ];
        return ENDINGS.contains(&ending).then(|| number.parse().ok())?;
    }
    let known: [&[&str]; 3] = [
        &[
            "first", "prima", "primo", "erstes", "erste", "premiere", "primera",
        ],
        &[
            "second", "seconda", "zweites", "zweite", "deuxieme", "seconde", "segunda",
        ],
        &[
            "third",
            "terza",
            "drittes",
            "dritte",
            "troisieme",
            "tercera",
        ],
    ];
    let at = known.iter().position(|forms| forms.contains(&word))?;
    u32::try_from(at + 1).ok()
}
