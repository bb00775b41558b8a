//! What is noticed in reading and writing scores: each notice has its page, its score gives it, and its words are kind.

mod support;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use fingerpost::Board;
use fingerpost_conformance::SourceList;
use fingerpost_notation::{
    Notice, ReadOptions, Rule, SignsFrom, Unrolling, read_with, unrolled, write_musicxml,
};
use serde_json::{Value, json};
use support::pages::Page;
use support::words::kind;

const HEADINGS: [&str; 4] = ["What", "What to do", "Score", "Sources"];

fn root(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn text_of(name: &str) -> String {
    let path = root(&format!("spec/notation/{name}.md"));
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The sentence below the head of a page.
fn title_of(text: &str) -> &str {
    let mut lines = text.lines();
    lines
        .find(|line| !line.is_empty() && !line.starts_with(['#', '-']))
        .expect("a sentence")
}

/// The format and the text of each fence under a heading.
fn fences(section: &str) -> Vec<(&str, &str)> {
    let fences = section.split("```").skip(1).step_by(2);
    fences
        .map(|fence| fence.split_once('\n').expect("a fence has a format"))
        .collect()
}

fn names(notices: &[Notice]) -> BTreeSet<&'static str> {
    notices.iter().map(|notice| notice.rule.name()).collect()
}

/// What reading a score, writing it out in playing order, or writing a board as a score gives.
fn notices_of(format: &str, text: &str) -> Vec<Notice> {
    if format == "board" {
        let board: Board = text.trim().parse().unwrap();
        return write_musicxml(&board).notices;
    }
    let mut options = ReadOptions::default();
    if format.ends_with(" reading") {
        options.signs_from = SignsFrom::Sound;
    }
    if format.ends_with(" unrolled") {
        return unrolled(text.as_bytes(), &Unrolling::default())
            .unwrap()
            .notices;
    }
    let scores =
        read_with(text.as_bytes(), &options).unwrap_or_else(|error| panic!("{error}: {text}"));
    let notices = scores.into_iter().flat_map(|score| score.notices);
    notices.collect()
}

#[test]
fn every_notice_has_its_page_and_every_page_its_notice() {
    let files = fs::read_dir(root("spec/notation")).unwrap();
    let files: BTreeSet<String> = files
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    let names = Rule::ALL.iter().map(|rule| rule.name()).chain(["README"]);
    let wanted: BTreeSet<String> = names.map(|name| format!("{name}.md")).collect();
    assert_eq!(files, wanted);
    let rules: BTreeSet<&str> = fingerpost::rules().map(|rule| rule.name).collect();
    for rule in Rule::ALL {
        assert!(!rules.contains(rule.name()), "{}", rule.name());
    }
}

#[test]
fn a_page_says_what_the_registry_says_in_plain_sentences() {
    let list = fs::read_to_string(root("spec/sources.md")).unwrap();
    let list = SourceList::from_markdown("spec/sources.md", &list).unwrap();
    for rule in Rule::ALL {
        let (name, text) = (rule.name(), text_of(rule.name()));
        let page = Page::read(&text);
        let head = [
            ("name", name),
            ("severity", rule.severity().name()),
            ("since", "0.1"),
        ];
        let head = head.map(|(key, value)| (key.to_owned(), value.to_owned()));
        assert_eq!(page.head[..3], head, "{name}");
        assert_eq!(page.headings(), HEADINGS, "{name}");
        let prose = [
            title_of(&text),
            page.under("What"),
            page.under("What to do"),
        ];
        for line in prose.into_iter().flat_map(str::lines) {
            assert!(line.ends_with(['.', ';', ':']), "{name}: {line}");
            kind(name, line);
        }
        assert!(!page.sources().is_empty(), "{name}");
        for source in page.sources() {
            let key = source.split(',').next().unwrap_or_default();
            assert!(list.holds(key), "{name}: {source}");
        }
    }
}

#[test]
fn the_score_of_a_page_gives_its_notice_and_no_other() {
    for rule in Rule::ALL {
        let text = text_of(rule.name());
        let page = Page::read(&text);
        let fences = fences(page.under("Score"));
        assert!(!fences.is_empty(), "{}", rule.name());
        for (format, text) in fences {
            let notices = notices_of(format, text);
            assert_eq!(names(&notices), BTreeSet::from([rule.name()]), "{text}");
            for notice in notices {
                assert!(notice.message.chars().count() <= 80, "{}", notice.message);
                kind(rule.name(), &notice.message);
                kind(rule.name(), &notice.help);
            }
        }
    }
}

#[test]
fn the_pages_that_the_door_carries_are_those_of_the_notices() {
    let pages: Vec<Value> = Rule::ALL
        .iter()
        .map(|rule| {
            let text = text_of(rule.name());
            let page = Page::read(&text);
            let example: Vec<&str> = fences(page.under("Score"))
                .into_iter()
                .map(|(_, text)| text.trim())
                .collect();
            json!({
                "name": rule.name(),
                "title": title_of(&text),
                "what": page.under("What"),
                "todo": page.under("What to do"),
                "example": example.join("\n\n"),
                "sources": page.sources(),
            })
        })
        .collect();
    let text = serde_json::to_string_pretty(&pages).unwrap() + "\n";
    fresh("crates/fingerpost-json/src/notices.json", &text);
    for page in pages {
        let name = page["name"].as_str().unwrap();
        let answer = fingerpost_json::explain(name).unwrap();
        let shown = serde_json::to_value(answer).unwrap();
        assert_eq!(shown["kind"], "notice");
        for (key, of_page) in [("title", "title"), ("text", "what"), ("todo", "todo")] {
            assert_eq!(shown[key], page[of_page], "{name}: {key}");
        }
        assert!(fingerpost_json::names().iter().any(|it| it == name));
    }
}

#[test]
fn the_index_of_the_pages_is_fresh() {
    let mut text = String::from(
        "# What is noticed in reading and writing scores\n\n\
        Generated from the pages beside it; `UPDATE=1 cargo test --test notices` writes it anew.\n\n\
        A score says more and less than a board. Where its signs had to be read in a way that it does not say itself, a notice tells it, with the line of the file.\n\
        A **warning** stands where the order may be another than the one that was meant; **advice** where the signs are plain and the file is not.\n\n\
        | notice | severity | |\n|---|---|---|\n",
    );
    for rule in Rule::ALL {
        let (name, page) = (rule.name(), text_of(rule.name()));
        let (severity, title) = (rule.severity().name(), title_of(&page));
        let row = format!("| [{name}]({name}.md) | {severity} | {title} |\n");
        text.push_str(&row);
    }
    fresh("spec/notation/README.md", &text);
}

fn fresh(path: &str, text: &str) {
    let file = root(path);
    if std::env::var_os("UPDATE").is_some() {
        fs::write(&file, text).unwrap();
    }
    let there = fs::read_to_string(&file).unwrap_or_default();
    assert!(
        there == text,
        "{path} is not what the pages give; `UPDATE=1 cargo test --test notices` writes it anew"
    );
}
