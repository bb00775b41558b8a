//! The rulebook's cases, one named test each, run against the library; and what must hold of the rulebook itself.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use fingerpost_conformance::{Citation, Form, Library, SourceList, Status, Suite, run};
use libtest_mimic::{Arguments, Failed, Trial};

fn main() {
    let arguments = Arguments::from_args();
    let suite: &'static Suite = match Suite::read_markdown(&spec("rulebook")) {
        Ok(suite) => Box::leak(Box::new(suite)),
        Err(error) => panic!("the rulebook cannot be read: {error}"),
    };
    let mut trials: Vec<Trial> = suite
        .chapters
        .iter()
        .flat_map(|chapter| chapter.cases.iter().map(move |case| (chapter, case)))
        .map(|(chapter, case)| {
            let place = format!("spec/rulebook/{}.md:{}", chapter.chapter, case.at);
            Trial::test(format!("{} {}", case.id, case.title), move || {
                let found = run(case, &mut Library, Form::Line);
                if found.is_empty() {
                    return Ok(());
                }
                let found: Vec<String> = found.iter().map(ToString::to_string).collect();
                Err(Failed::from(format!("{place}\n  {}", found.join("\n  "))))
            })
        })
        .collect();
    let mut about = |name: &str, check: fn(&Suite) -> Vec<String>| {
        trials.push(Trial::test(name, move || {
            let wrong = check(suite);
            if wrong.is_empty() {
                Ok(())
            } else {
                Err(Failed::from(wrong.join("\n")))
            }
        }));
    };
    about("every case has its own id", ids_are_unique);
    about("every clause has its own number", clause_numbers_are_unique);
    about(
        "a case is named after its clause or its list",
        ids_follow_clauses,
    );
    about("every clause has a source and a case", clauses_have_cases);
    about("every source that is cited is listed", sources_are_listed);
    about("every source that is listed is cited", sources_are_cited);
    about(
        "every error rule has at least two boards",
        errors_have_cases,
    );
    about(
        "every rule of the library has its clause",
        rules_have_clauses,
    );
    about("there are at least 260 cases", there_are_enough_cases);
    about("titles state facts", titles_state_facts);
    about(
        "published orders say what their layout rests on",
        layouts_are_told,
    );
    libtest_mimic::run(&arguments, trials).exit();
}

fn spec(below: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("spec")
        .join(below)
}

fn twice<'a>(names: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for name in names {
        *counts.entry(name).or_default() += 1;
    }
    let often = counts.into_iter().filter(|&(_, count)| count > 1);
    often
        .map(|(name, count)| format!("`{name}` stands {count} times"))
        .collect()
}

fn ids_are_unique(suite: &Suite) -> Vec<String> {
    twice(suite.cases().map(|case| case.id.as_str()))
}

fn clause_numbers_are_unique(suite: &Suite) -> Vec<String> {
    let clauses = suite.chapters.iter().flat_map(|chapter| &chapter.clauses);
    let mut wrong = twice(clauses.map(|clause| clause.number.as_str()));
    for chapter in &suite.chapters {
        let number = chapter.chapter.split('-').next().unwrap_or_default();
        for (clause, at) in chapter.clauses.iter().zip(1..) {
            if clause.number != format!("{number}.{at}") {
                wrong.push(format!(
                    "clause {} is number {at} of chapter {number}",
                    clause.number
                ));
            }
        }
    }
    wrong
}

/// `3.2-a` stands in clause 3.2; the published orders have ids of their own lists, `hb` for handbooks and `st` for standards.
fn ids_follow_clauses(suite: &Suite) -> Vec<String> {
    let fits = |id: &str, clause: &str| match id.rsplit_once('-') {
        Some(("hb" | "st", number)) => clause.starts_with("11.") && number.parse::<u16>().is_ok(),
        Some((named, letter)) => {
            named == clause && letter.len() == 1 && letter.bytes().all(|b| b.is_ascii_lowercase())
        }
        None => false,
    };
    let strange = suite.cases().filter(|case| !fits(&case.id, &case.clause));
    strange
        .map(|case| format!("{} stands in clause {}", case.id, case.clause))
        .collect()
}

fn clauses_have_cases(suite: &Suite) -> Vec<String> {
    let mut wrong = Vec::new();
    for clause in suite.chapters.iter().flat_map(|chapter| &chapter.clauses) {
        if !suite.cases().any(|case| case.clause == clause.number) {
            wrong.push(format!("clause {} has no case", clause.number));
        }
        if clause.sources.is_empty() {
            wrong.push(format!("clause {} has no source", clause.number));
        }
    }
    wrong
}

/// Every citation with the place where it stands.
fn citations(suite: &Suite) -> Vec<(String, &Citation)> {
    let mut all = Vec::new();
    for chapter in &suite.chapters {
        for clause in &chapter.clauses {
            let at = format!("clause {}", clause.number);
            all.extend(clause.sources.iter().map(|source| (at.clone(), source)));
        }
        for case in &chapter.cases {
            let at = format!("case {}", case.id);
            all.extend(case.sources.iter().map(|source| (at.clone(), source)));
        }
    }
    all
}

fn source_list() -> SourceList {
    let text = std::fs::read_to_string(spec("sources.md")).expect("the list of sources is there");
    SourceList::from_markdown("sources.md", &text).expect("the list of sources is in order")
}

fn sources_are_listed(suite: &Suite) -> Vec<String> {
    let list = source_list();
    let unlisted = citations(suite)
        .into_iter()
        .filter(|(_, source)| !list.holds(&source.key));
    unlisted
        .map(|(at, source)| format!("{at} cites `{}`, which is not listed", source.key))
        .collect()
}

fn sources_are_cited(suite: &Suite) -> Vec<String> {
    let cited = citations(suite);
    let list = source_list();
    let elsewhere = sources_of_pages();
    let is_cited = |key: &str| {
        let by_clauses = cited.iter().any(|(_, source)| source.key == *key);
        by_clauses || elsewhere.contains(key)
    };
    let idle = list.keys().iter().filter(|&key| !is_cited(key));
    idle.map(|key| format!("`{key}` is listed and never cited"))
        .collect()
}

/// The sources that the pages of the misunderstandings cite: `- KEY, what it says` in the section Sources.
fn sources_of_pages() -> BTreeSet<String> {
    let pages = std::fs::read_dir(spec("misunderstandings")).expect("the pages are there");
    let texts = pages.map(|page| {
        let page = page.expect("a page").path();
        std::fs::read_to_string(page).expect("a page can be read")
    });
    let mut cited = BTreeSet::new();
    for text in texts {
        let sources = text
            .split_once("## Sources")
            .map_or("", |(_, sources)| sources);
        let lines = sources.lines().filter_map(|line| line.strip_prefix("- "));
        let keys = lines.filter_map(|line| line.split([',', ' ']).next());
        cited.extend(keys.map(str::to_owned));
    }
    cited
}

/// The clauses of chapter 10 with the rules they are named after.
fn error_rules(suite: &Suite) -> impl Iterator<Item = (&str, &str)> {
    let chapter = suite
        .chapters
        .iter()
        .filter(|chapter| chapter.chapter == "10-errors");
    chapter
        .flat_map(|chapter| &chapter.clauses)
        .map(|clause| (clause.title.as_str(), clause.number.as_str()))
}

fn errors_have_cases(suite: &Suite) -> Vec<String> {
    let mut wrong = Vec::new();
    for (rule, _) in error_rules(suite) {
        let refused = suite.cases().filter(|case| {
            case.routes.iter().any(|route| {
                let errors = route.expect.errors.iter().flatten();
                route.terms.is_default() && errors.into_iter().any(|error| error == rule)
            })
        });
        let boards = refused.count();
        if boards < 2 {
            wrong.push(format!("`{rule}` has {boards} boards"));
        }
    }
    wrong
}

fn rules_have_clauses(suite: &Suite) -> Vec<String> {
    let written: BTreeMap<&str, &str> = error_rules(suite).collect();
    let errors = fingerpost::rules().filter(|rule| rule.severity == fingerpost::Severity::Error);
    let mut wrong: Vec<String> = errors
        .filter(|rule| written.get(rule.name) != Some(&rule.clause))
        .map(|rule| format!("`{}` names clause {}", rule.name, rule.clause))
        .collect();
    let known: Vec<&str> = fingerpost::rules().map(|rule| rule.name).collect();
    let unknown = written.keys().filter(|name| !known.contains(*name));
    wrong.extend(unknown.map(|name| format!("the library has no rule `{name}`")));
    wrong
}

fn there_are_enough_cases(suite: &Suite) -> Vec<String> {
    let count = suite.cases().count();
    if count < 260 {
        vec![format!("there are {count}")]
    } else {
        Vec::new()
    }
}

fn titles_state_facts(suite: &Suite) -> Vec<String> {
    let mut wrong = twice(suite.cases().map(|case| case.title.as_str()));
    for case in suite.cases() {
        let mut words = case.title.split(|c: char| !c.is_alphanumeric());
        if words.any(|word| ["should", "must", "shall", "test"].contains(&word)) {
            wrong.push(format!("{}: {}", case.id, case.title));
        }
        let sign = case.title.ends_with("D.C.") || case.title.ends_with("D.S.");
        if case.title.ends_with('.') && !sign {
            wrong.push(format!("{}: its title ends with a full stop", case.id));
        }
    }
    wrong
}

fn layouts_are_told(suite: &Suite) -> Vec<String> {
    let wrong = suite
        .cases()
        .filter(|case| (case.status == Status::Published) != case.layout.is_some());
    wrong.map(|case| case.id.clone()).collect()
}
