//! Cuts a board line into tokens, one at a time, so that a long line costs no list of them.

/// A barline as it is typed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Barline {
    /// `|`
    Plain,
    /// `||`
    Double,
    /// `|]`
    Final,
    /// `|:`
    Start,
    /// `:|`
    End,
    /// `::`, `:|:` or `:||:`
    EndStart,
}

/// What a token is; its text is the bytes of its [`Lexeme`].
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Token {
    Barline(Barline),
    /// A run of barline characters that is no barline.
    NoBarline,
    /// `//`
    SystemEnd,
    /// `[1,3.` with everything up to its dot.
    EndingOpen,
    /// A `[` that opens no ending.
    NoEnding,
    /// `]`
    EndingClose,
    Open,
    Close,
    BraceOpen,
    BraceClose,
    Comma,
    Semicolon,
    /// A colon that is not part of a barline.
    Colon,
    At,
    Word,
    /// A quoted word, its quotes included.
    Quoted,
    /// A quoted word that nothing closes.
    Unclosed,
    End,
}

/// A token and its bytes in the text.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lexeme {
    pub(super) token: Token,
    pub(super) start: usize,
    pub(super) end: usize,
}

/// The token that begins at or after `from`.
pub(super) fn lexeme(text: &str, from: usize) -> Lexeme {
    let rest = text.get(from..).unwrap_or_default();
    let blanks = rest.find(|c: char| !is_blank(c)).unwrap_or(rest.len());
    let start = from + blanks;
    let rest = rest.get(blanks..).unwrap_or_default();
    let (token, length) = token(rest);
    Lexeme {
        token,
        start,
        end: start + length,
    }
}

/// A byte order mark counts as a blank: editors put one before a text without showing it.
pub(super) fn is_blank(c: char) -> bool {
    c.is_whitespace() || c == '\u{feff}'
}

fn token(rest: &str) -> (Token, usize) {
    let Some(first) = rest.chars().next() else {
        return (Token::End, 0);
    };
    match first {
        '|' | ':' => barline(rest),
        '[' => ending(rest),
        ']' => (Token::EndingClose, 1),
        '(' => (Token::Open, 1),
        ')' => (Token::Close, 1),
        '{' => (Token::BraceOpen, 1),
        '}' => (Token::BraceClose, 1),
        ',' => (Token::Comma, 1),
        ';' => (Token::Semicolon, 1),
        '@' => (Token::At, 1),
        '"' => quoted(rest),
        _ if rest.starts_with("//") => (Token::SystemEnd, 2),
        _ => (Token::Word, word_length(rest)),
    }
}

fn barline(rest: &str) -> (Token, usize) {
    let mut length = rest.find(|c| c != '|' && c != ':').unwrap_or(rest.len());
    let run = rest.get(..length).unwrap_or_default();
    if run == ":" {
        return (Token::Colon, 1);
    }
    if run.ends_with('|') && rest.get(length..).is_some_and(|r| r.starts_with(']')) {
        length += 1;
    }
    let token = match rest.get(..length).unwrap_or_default() {
        "|" => Token::Barline(Barline::Plain),
        "||" => Token::Barline(Barline::Double),
        "|]" => Token::Barline(Barline::Final),
        "|:" => Token::Barline(Barline::Start),
        ":|" => Token::Barline(Barline::End),
        "::" | ":|:" | ":||:" => Token::Barline(Barline::EndStart),
        _ => Token::NoBarline,
    };
    (token, length)
}

fn ending(rest: &str) -> (Token, usize) {
    let list = |c: char| c.is_ascii_digit() || c == ',' || c == '-';
    let inside = rest.get(1..).unwrap_or_default();
    let length = inside
        .find(|c: char| !list(c) && !is_blank(c))
        .unwrap_or(inside.len());
    let numbers = inside.get(..length).unwrap_or_default();
    let dot = inside.get(length..).is_some_and(|r| r.starts_with('.'));
    if dot && numbers.contains(|c: char| c.is_ascii_digit()) {
        (Token::EndingOpen, length + 2)
    } else {
        let close = inside.find(|c| !list(c)).unwrap_or(inside.len());
        (Token::NoEnding, close + 1)
    }
}

fn quoted(rest: &str) -> (Token, usize) {
    let mut escaped = false;
    for (at, c) in rest.char_indices().skip(1) {
        match c {
            '\n' => return (Token::Unclosed, at),
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return (Token::Quoted, at + 1),
            _ => {}
        }
    }
    (Token::Unclosed, rest.len())
}

fn word_length(rest: &str) -> usize {
    let mut slash = false;
    for (at, c) in rest.char_indices() {
        if is_blank(c) || "|[](){},;\":@".contains(c) {
            return at;
        }
        if c == '/' && slash {
            return at - 1;
        }
        slash = c == '/';
    }
    rest.len()
}

/// The text of a quoted word without its quotes and escapes; or the byte, counted from the opening quote, of a backslash that
/// escapes nothing.
pub(super) fn unquoted(quoted: &str) -> Result<String, usize> {
    let inside = quoted
        .strip_prefix('"')
        .and_then(|q| q.strip_suffix('"'))
        .unwrap_or_default();
    let mut text = String::with_capacity(inside.len());
    let mut chars = inside.char_indices();
    while let Some((at, c)) = chars.next() {
        if c != '\\' {
            text.push(c);
            continue;
        }
        match chars.next() {
            Some((_, escaped @ ('"' | '\\'))) => text.push(escaped),
            _ => return Err(at + 1),
        }
    }
    Ok(text)
}

/// A text as the line writes it after a colon or a key: plain when it is one plain word, else quoted.
pub(super) fn worded(text: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    if text.starts_with(char::is_alphanumeric) && text.chars().all(plain) {
        text.to_owned()
    } else {
        in_quotes(text)
    }
}

/// A text in quotes, with its escapes.
pub(super) fn in_quotes(text: &str) -> String {
    let mut quoted = String::with_capacity(text.len() + 2);
    quoted.push('"');
    for c in text.chars() {
        if c == '"' || c == '\\' {
            quoted.push('\\');
        }
        quoted.push(c);
    }
    quoted.push('"');
    quoted
}
