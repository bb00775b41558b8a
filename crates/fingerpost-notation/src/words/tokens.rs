//! Words folded and cut apart.

/// A word in small letters without accents and full stops.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Token {
    pub(super) word: String,
    /// Whether it was the drawn sign, a character of its own.
    pub(super) is_sign: bool,
}

/// Cuts a text into words. Single letters with full stops between them are one word: "d.c.", "D. C.", "M.D.C.".
pub(super) fn tokens(text: &str) -> Vec<Token> {
    let mut tokens: Vec<Token> = Vec::new();
    let mut word = String::new();
    for character in text.chars() {
        if let Some(folded) = folded(character) {
            word.push_str(folded);
            continue;
        }
        if character.is_alphanumeric() {
            word.extend(character.to_lowercase());
            continue;
        }
        push(&mut tokens, &mut word);
        if let Some(sign) = sign(character) {
            tokens.push(Token {
                word: sign.to_owned(),
                is_sign: true,
            });
        }
    }
    push(&mut tokens, &mut word);
    join_letters(tokens)
}

fn push(tokens: &mut Vec<Token>, word: &mut String) {
    if !word.is_empty() {
        tokens.push(Token {
            word: std::mem::take(word),
            is_sign: false,
        });
    }
}

/// "d", "c" become "dc"; "m", "d", "c" become "m", "dc".
fn join_letters(tokens: Vec<Token>) -> Vec<Token> {
    let mut joined: Vec<Token> = Vec::with_capacity(tokens.len());
    for token in tokens {
        let after = match token.word.as_str() {
            "c" | "s" => joined.last_mut(),
            _ => None,
        };
        match after {
            Some(last) if last.word == "d" => last.word.push_str(&token.word),
            _ if token.word == "mdc" => {
                for word in ["m", "dc"] {
                    joined.push(Token {
                        word: word.to_owned(),
                        is_sign: false,
                    });
                }
            }
            _ => joined.push(token),
        }
    }
    joined
}

/// A letter without its accent.
fn folded(character: char) -> Option<&'static str> {
    Some(match character {
        'à' | 'á' | 'â' | 'ä' | 'ã' | 'À' | 'Á' | 'Â' | 'Ä' | 'Ã' => "a",
        'è' | 'é' | 'ê' | 'ë' | 'È' | 'É' | 'Ê' | 'Ë' => "e",
        'ì' | 'í' | 'î' | 'ï' | 'Ì' | 'Í' | 'Î' | 'Ï' => "i",
        'ò' | 'ó' | 'ô' | 'ö' | 'õ' | 'Ò' | 'Ó' | 'Ô' | 'Ö' | 'Õ' => "o",
        'ù' | 'ú' | 'û' | 'ü' | 'Ù' | 'Ú' | 'Û' | 'Ü' => "u",
        'ç' | 'Ç' => "c",
        'ñ' | 'Ñ' => "n",
        'ß' => "ss",
        // Accents that stand as characters of their own.
        '\u{300}'..='\u{36f}' => "",
        _ => return None,
    })
}

/// The word for a drawn sign: Unicode's musical symbols, and the private code points of SMuFL 1.4 (range "repeats").
fn sign(character: char) -> Option<&'static str> {
    Some(match character {
        '\u{1d10b}' | '\u{e047}' | '\u{e04a}' | '\u{e04b}' => "segno",
        '\u{1d10c}' | '\u{e048}' | '\u{e049}' => "coda",
        '\u{1d109}' | '\u{e045}' => "ds",
        '\u{1d10a}' | '\u{e046}' => "dc",
        _ => return None,
    })
}
