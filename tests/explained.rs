//! What is explained: the pages and clauses that the JSON door carries are those of the rulebook, every name has an explanation, and a
//! word that is no name leads to the pages that speak of it.

mod support {
    pub(crate) mod answers;
    pub(crate) mod fresh;
    pub(crate) mod pages;
}

use std::fs;
use std::path::PathBuf;

use serde_json::{Value, json};

use support::answers::valid;
use support::fresh::{fresh, root};
use support::pages::page_of;

/// The clauses of the rulebook, as the door carries them.
#[test]
fn the_clauses_that_the_door_carries_are_those_of_the_rulebook() {
    let mut files: Vec<PathBuf> = fs::read_dir(root("spec/rulebook"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    files.sort_by_key(|path| {
        let name = path.file_name().unwrap().to_str().unwrap();
        name.split('-').next().unwrap().parse::<u32>().unwrap()
    });
    let mut clauses = Vec::new();
    for file in files {
        clauses.extend(clauses_of(&fs::read_to_string(file).unwrap()));
    }
    assert!(clauses.len() > 100, "{}", clauses.len());
    let text = serde_json::to_string_pretty(&clauses).unwrap() + "\n";
    fresh(&root("crates/fingerpost-json/src/clauses.json"), &text);
}

/// The pages of the rules, as the door carries them.
#[test]
fn the_pages_that_the_door_carries_are_those_of_the_rules() {
    let pages: Vec<Value> = fingerpost::rules()
        .map(|rule| {
            let page = page_of(rule.name);
            json!({
                "name": rule.name,
                "what": page.under("What"),
                "why": page.under("Why"),
                "wrong": page.boards("Wrong"),
                "right": page.boards("Right"),
                "beginner": page.under("What to tell a beginner"),
                "sources": page.sources(),
            })
        })
        .collect();
    let text = serde_json::to_string_pretty(&pages).unwrap() + "\n";
    fresh(&root("crates/fingerpost-json/src/pages.json"), &text);
    for page in pages {
        let name = page["name"].as_str().unwrap();
        let answer = fingerpost_json::explain(name).unwrap();
        let shown = serde_json::to_value(answer.page.expect("a page")).unwrap();
        for key in ["what", "why", "wrong", "right", "beginner", "sources"] {
            assert_eq!(shown[key], page[key], "{name}: {key}");
        }
    }
}

/// The clauses of one chapter: number, title, text, source and its first cases.
fn clauses_of(chapter: &str) -> Vec<Value> {
    let mut clauses = Vec::new();
    for clause in chapter.split("\n### ").skip(1) {
        let (heading, rest) = clause.split_once('\n').unwrap();
        let (number, title) = heading.split_once(' ').unwrap();
        let (prose, cases) = match rest.split_once("```") {
            Some((prose, _)) => (prose, &rest[prose.len()..]),
            None => (rest, ""),
        };
        let (text, source) = match prose.split_once("\nSource: ") {
            Some((text, source)) => (text.trim(), Some(source.trim())),
            None => (prose.trim(), None),
        };
        let examples: Vec<Value> = cases
            .split("```board\n")
            .skip(1)
            .filter_map(|case| example(case.split("```").next().unwrap()))
            .take(3)
            .collect();
        let mut object = json!({ "number": number, "title": title, "text": text });
        if let Some(source) = source {
            object["source"] = json!(source);
        }
        object["examples"] = json!(examples);
        clauses.push(object);
    }
    clauses
}

/// A case that has a board line and an order or errors, as an example.
fn example(case: &str) -> Option<Value> {
    let field = |name: &str| {
        case.lines()
            .find_map(|line| line.strip_prefix(name)?.strip_prefix(": "))
    };
    let board = field("board")?;
    let told = |line: &&str| {
        let name = line.split(": ").next().unwrap_or_default();
        let known = ["order", "errors", "length", "omit-repeats"].contains(&name);
        known || name.starts_with("reading ") || name.starts_with("plays ")
    };
    let results: Vec<&str> = case.lines().filter(told).collect();
    if results.is_empty() {
        return None;
    }
    Some(json!({ "title": field("title")?, "board": board, "results": results }))
}

fn ask(request: &Value) -> String {
    fingerpost_json::answer(&request.to_string())
}

/// Why a name is not explained.
fn refused(name: &str) -> String {
    let answer = ask(&json!({ "verb": "explain", "name": name }));
    let answer = valid("error", &answer);
    assert_eq!(answer["error"]["kind"], "unknown-name");
    answer["error"]["message"].as_str().unwrap().to_owned()
}

#[test]
fn every_name_is_explained_and_no_other() {
    for name in fingerpost_json::names() {
        let answer = ask(&json!({ "verb": "explain", "name": name }));
        let answer = valid("explain", &answer);
        assert_eq!(answer["name"], json!(name));
        assert_ne!(answer["title"], "", "{name}");
        assert_ne!(answer["text"], "", "{name} has no text");
    }
    let answer = ask(&json!({ "verb": "explain", "name": "fine-mising" }));
    let answer = valid("error", &answer);
    assert_eq!(answer["error"]["kind"], "unknown-name");
    assert!(
        answer["error"]["message"]
            .as_str()
            .unwrap()
            .contains("`fine-missing`")
    );
}

#[test]
fn every_clause_that_a_rule_or_a_cause_names_is_in_the_rulebook() {
    let names = fingerpost_json::names();
    for rule in fingerpost::rules() {
        assert!(names.contains(&rule.clause.to_owned()), "{}", rule.clause);
        let answer = fingerpost_json::explain(rule.clause).unwrap();
        // Every error has a clause of its own.
        if rule.severity == fingerpost::Severity::Error {
            assert_eq!(answer.title, rule.name, "{}", rule.clause);
        }
    }
    for (clause, word) in [
        ("3.1", "begins"),
        ("3.2", "end repeat"),
        ("3.3", "Fine"),
        ("3.4", "To Coda"),
        ("3.5", "jump"),
        ("3.6", "past endings"),
    ] {
        let title = fingerpost_json::explain(clause).unwrap().title;
        assert!(title.contains(word), "{clause}: {title}");
    }
}

/// A teacher asks for the sign, not for a rule; the names are those of the catalogue, the clauses those of the rulebook.
#[test]
fn a_sign_is_explained_and_leads_to_what_speaks_of_it() {
    for (word, sign, pages) in [
        (
            "segno",
            "segno",
            &["segno-missing", "segno-unused", "4.6"][..],
        ),
        ("fine", "Fine", &["fine-missing", "fine-unused", "3.3"]),
        ("coda", "coda", &["coda-missing", "to-coda-unused", "3.4"]),
        (
            "To Coda",
            "To Coda",
            &["to-coda-missing", "to-coda-unused", "3.4"],
        ),
        ("repeat", "end repeat", &["start-repeat-unclosed", "2.2"]),
        (
            "end repeat",
            "end repeat",
            &["end-repeat-never-made", "3.2"],
        ),
        (":|", "end repeat", &["end-repeat-never-made", "3.2"]),
        ("|:", "start repeat", &["start-repeat-unclosed", "2.2"]),
        ("D.C.", "D.C.", &["fine-missing", "6.1"]),
        ("dc", "D.C.", &["fine-missing", "6.1"]),
        ("da capo", "D.C.", &["fine-missing", "6.1"]),
        (
            "D.S.",
            "D.S.",
            &["dal-segno-to-start", "segno-missing", "6.1"],
        ),
        (
            "dal segno",
            "D.S.",
            &["dal-segno-to-start", "segno-missing", "6.1"],
        ),
        ("D. C. al Fine", "D.C. al Fine", &["fine-missing"]),
        ("Ending", "ending", &["ending-gap", "1.5"]),
        ("volta", "ending", &["ending-gap", "1.5"]),
        ("[1.", "ending", &["ending-gap", "1.5"]),
        ("octave", "octave sign", &["octaves-too-far", "7.6"]),
        ("8va", "octave sign", &["octaves-too-far", "7.6"]),
        ("fermatas", "fermata", &["fermata-never-held", "7.7"]),
    ] {
        let answer = ask(&json!({ "verb": "explain", "name": word }));
        let answer = valid("explain", &answer);
        assert_eq!(
            (&answer["kind"], &answer["name"]),
            (&json!("sign"), &json!(sign))
        );
        let about = answer["about"].as_array().expect("a list");
        for page in pages {
            assert!(about.contains(&json!(page)), "{word}: {page}: {about:?}");
        }
        for page in about {
            assert!(
                fingerpost_json::explain(page.as_str().unwrap()).is_ok(),
                "{page}"
            );
        }
    }
}

/// The first sentence is for the teacher, and one; what a learner is told has the words for learners.
#[test]
fn a_sign_is_explained_in_a_sentence() {
    for sign in fingerpost::Phrasebook::signs() {
        let answer = fingerpost_json::explain(sign).unwrap();
        let plain = answer
            .title
            .replace("D.C.", "")
            .replace("D.S.", "")
            .replace("rep.", "");
        assert_eq!(plain.matches('.').count(), 1, "{}", answer.title);
        assert!(
            answer.title.ends_with('.') && answer.text.ends_with('.'),
            "{sign}"
        );
    }
}

#[test]
fn a_word_that_is_no_name_leads_to_what_speaks_of_it() {
    for (word, pages) in [
        ("label", &["about it: label-twice", "4.5"][..]),
        ("landing", &["landing-one-off"]),
        // A word that is nearly one of the trade.
        ("fermatta", &["did you mean `fermata`?"]),
    ] {
        let message = refused(word);
        let named = format!("no page is called `{word}`; ");
        assert!(message.starts_with(&named), "{message}");
        for page in pages {
            assert!(message.contains(page), "{word}: {page}: {message}");
        }
    }
}

/// Whatever a message tells somebody to look up can be looked up.
#[test]
fn every_page_that_is_told_of_is_there() {
    let names = fingerpost_json::names();
    let words = names.iter().flat_map(|name| name.split('-'));
    for word in words.filter(|word| fingerpost_json::explain(word).is_err()) {
        let message = refused(word);
        let (_, pages) = message
            .split_once(": ")
            .unwrap_or_else(|| panic!("{message}"));
        let pages = pages.replace(" and ", ", ").replace("; ", ", ");
        for page in pages.split(", ").filter(|it| !it.ends_with(" more")) {
            let page = page
                .trim_start_matches("clauses ")
                .trim_start_matches("clause ");
            assert!(names.iter().any(|name| name == page), "{page}: {message}");
        }
    }
}

#[test]
fn what_nothing_speaks_of_is_refused_without_a_guess() {
    for word in ["zzz", "", "…", "-", ".", "a name of which nobody has heard"] {
        let told = "is no rule, notice, misunderstanding, clause, question, reading or sign";
        assert_eq!(refused(word), format!("`{word}` {told}"));
    }
    let long = "segno ".repeat(100_000);
    assert!(refused(&long).len() < 200);
}
