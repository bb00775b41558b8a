//! What speaks of a word: whoever asks to have `segno` or `label` explained names no page, and is told which rules and clauses are about it;
//! of a sign also what it means.

use fingerpost::{Misunderstanding, Phrasebook, Question, rules};

use crate::notices;

/// The most names that are told, and the most numbers of clauses.
const MOST_NAMES: usize = 8;
const MOST_CLAUSES: usize = 4;

/// What else a sign is called, or how it is written, and its name.
const SIGNS: [(&str, &str); 32] = [
    ("|:", "start repeat"),
    ("repeat start", "start repeat"),
    (":|", "end repeat"),
    ("repeat", "end repeat"),
    ("repeat sign", "end repeat"),
    ("[1.", "ending"),
    ("[2.", "ending"),
    ("bracket", "ending"),
    ("volta", "ending"),
    ("first ending", "ending"),
    ("second ending", "ending"),
    ("da capo", "D.C."),
    ("capo", "D.C."),
    ("dal segno", "D.S."),
    ("da capo al fine", "D.C. al Fine"),
    ("dal segno al fine", "D.S. al Fine"),
    ("da capo al coda", "D.C. al Coda"),
    ("dal segno al coda", "D.S. al Coda"),
    ("hold", "fermata"),
    ("pause", "fermata"),
    ("octave", "octave sign"),
    ("ottava", "octave sign"),
    ("8va", "octave sign"),
    ("8vb", "octave sign"),
    ("15ma", "octave sign"),
    ("15mb", "octave sign"),
    ("senza ripetizione", "senza rep."),
    ("senza repetizione", "senza rep."),
    ("con ripetizione", "con rep."),
    ("con repetizione", "con rep."),
    ("senza replica", "senza rep."),
    ("con replica", "con rep."),
];

/// The name of the sign that is meant.
pub(crate) fn sign(asked: &str) -> Option<&'static str> {
    let meant = |text: &str| {
        // `D. C.` and `D.C.` are one.
        let spoken = words(text).concat();
        if spoken.is_empty() || text.contains(['|', '[']) {
            text == asked
        } else {
            spoken == words(asked).concat()
        }
    };
    let known = Phrasebook::signs().find(|name| meant(name));
    known.or_else(|| SIGNS.iter().find(|(text, _)| meant(text)).map(|it| it.1))
}

/// What is called by another word in names and titles.
const SAME: [(&str, &str); 18] = [
    ("da capo", "D.C."),
    ("D.S.", "dal segno"),
    ("dal segno", "D.S."),
    ("8va", "octave"),
    ("8vb", "octave"),
    ("15ma", "octave"),
    ("15mb", "octave"),
    ("ottava", "octave"),
    ("hold", "fermata"),
    ("bracket", "ending"),
    ("volta", "ending"),
    ("bar", "measure"),
    ("senza rep.", "repeats on return"),
    ("con rep.", "repeats on return"),
    ("senza ripetizione", "repeats on return"),
    ("senza repetizione", "repeats on return"),
    ("con ripetizione", "repeats on return"),
    ("con repetizione", "repeats on return"),
];

/// The pages that speak of what was asked for: those that have it in their name first, then those that have it in their title. Clauses are
/// numbers with titles.
pub(crate) fn about(asked: &str, clauses: &[(&str, &str)]) -> About {
    let asked = words(asked);
    let same = SAME.iter().filter(|(word, _)| words(word) == asked);
    let mut meant: Vec<Vec<String>> = same.map(|(_, named)| words(named)).collect();
    meant.push(asked);
    let speaks = |text: &str| {
        let text = words(text);
        meant.iter().any(|meant| holds(&text, meant))
    };
    let (first, others): (Vec<Page>, Vec<Page>) = pages().partition(|page| speaks(&page.name));
    let titled = others.into_iter().filter(|page| speaks(&page.title));
    // A clause that has the name of a rule for its title says no more than the page of the rule.
    let is_rule = |title: &str| rules().any(|rule| rule.name == title);
    let clauses = clauses.iter().copied();
    let clauses: Vec<_> = clauses.filter(|(_, title)| !is_rule(title)).collect();
    let mut numbers: Vec<&str> = Vec::new();
    let speaking = clauses.iter().filter(|(_, title)| speaks(title));
    numbers.extend(speaking.map(|(number, _)| number));
    for page in &first {
        let clause = clauses
            .iter()
            .find(|(number, _)| page.clause == Some(*number));
        numbers.extend(
            clause
                .map(|(number, _)| number)
                .filter(|it| !numbers.contains(it)),
        );
    }
    let names = first
        .iter()
        .map(|page| page.name.clone())
        .chain(titled.map(|page| page.name));
    About {
        names: names.collect(),
        clauses: numbers.into_iter().map(str::to_owned).collect(),
    }
}

/// The pages that speak of something.
pub(crate) struct About {
    /// The names of rules, questions, notices and misunderstandings.
    pub(crate) names: Vec<String>,
    /// The numbers of clauses.
    pub(crate) clauses: Vec<String>,
}

impl About {
    /// Them in words, `segno-missing, segno-unused and 3 more; clauses 4.6 and 4.7`; `None` when there are none.
    pub(crate) fn told(&self) -> Option<String> {
        let word = if self.clauses.len() == 1 {
            "clause"
        } else {
            "clauses"
        };
        let numbers = listed(&self.clauses, MOST_CLAUSES);
        let numbers = numbers.map(|numbers| format!("{word} {numbers}"));
        let told = listed(&self.names, MOST_NAMES).into_iter().chain(numbers);
        let told: Vec<String> = told.collect();
        (!told.is_empty()).then(|| told.join("; "))
    }
}

/// The words of which the names are made, the short ones left out.
pub(crate) fn words_of_names() -> Vec<String> {
    let mut known: Vec<String> = pages().flat_map(|page| words(&page.name)).collect();
    known.retain(|word| word.chars().count() > 3);
    known.sort_unstable();
    known.dedup();
    known
}

/// A page other than that of a clause.
struct Page {
    name: String,
    title: String,
    clause: Option<&'static str>,
}

fn pages() -> impl Iterator<Item = Page> {
    let rules = rules().map(|rule| Page {
        name: rule.name.to_owned(),
        title: rule.summary.to_owned(),
        clause: Some(rule.clause),
    });
    let notices = notices::pages().map(|(rule, page)| Page {
        name: rule.name().to_owned(),
        title: page.title,
        clause: None,
    });
    let questions = Question::ALL.into_iter().map(|question| Page {
        name: question.name().to_owned(),
        title: Phrasebook::default().question(question).into_owned(),
        clause: None,
    });
    let ideas = Misunderstanding::ALL.into_iter().map(|idea| Page {
        name: idea.name().to_owned(),
        title: Phrasebook::default().misunderstanding(idea).into_owned(),
        clause: None,
    });
    rules.chain(questions).chain(notices).chain(ideas)
}

/// The words of a name or of a sentence, so that `D.C.` and `dc`, `octaves` and `Octave` are one word.
fn words(text: &str) -> Vec<String> {
    let words = text.split(|c: char| !c.is_alphanumeric() && c != '.');
    let words = words.map(|word| word.replace('.', "").to_lowercase());
    words
        .map(|word| match word.strip_suffix('s') {
            Some(one) if one.chars().count() > 2 => one.to_owned(),
            _ => word,
        })
        .filter(|word| !word.is_empty())
        .collect()
}

/// Whether words stand in a text, one after the other.
fn holds(text: &[String], words: &[String]) -> bool {
    !words.is_empty() && text.windows(words.len()).any(|window| window == words)
}

/// Things in a row, and how many more there are: `a, b and 3 more`.
fn listed(things: &[String], most: usize) -> Option<String> {
    let more = things.len().saturating_sub(most);
    let shown: Vec<&str> = things.iter().map(String::as_str).take(most).collect();
    match (shown.as_slice(), more) {
        ([], _) => None,
        ([one], 0) => Some((*one).to_owned()),
        ([first @ .., last], 0) => Some(format!("{} and {last}", first.join(", "))),
        (shown, more) => Some(format!("{} and {more} more", shown.join(", "))),
    }
}
