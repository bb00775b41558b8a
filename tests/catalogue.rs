//! The catalogue: every rule has its page, its boards show what the page says, and its words are kind and plain.

mod support;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use fingerpost::{
    Board, BoardBuilder, Category, EndRepeat, Ending, Finding, Fine, Hands, Jump, Octave, Only,
    Passes, RuleInfo, Severity, Shift, Sign, When, check, rules,
};
use fingerpost_conformance::SourceList;
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use support::boards::any_laid_board;
use support::pages::{HEADINGS, Page, folder, page_of, text_of};
use support::words::{kind, vocabulary, words};

/// The pages that are no rule's.
const OTHER_PAGES: [&str; 2] = ["README", "words"];

fn root(path: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn board(line: &str) -> Board {
    line.parse()
        .unwrap_or_else(|error| panic!("{line}: {error}"))
}

fn names(findings: &[Finding]) -> Vec<&str> {
    findings.iter().map(|finding| finding.rule).collect()
}

#[test]
fn every_rule_has_its_page_and_every_page_its_rule() {
    let files: BTreeSet<String> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    let of_rules = rules().map(|rule| rule.name).chain(OTHER_PAGES);
    let expected: BTreeSet<String> = of_rules.map(|name| format!("{name}.md")).collect();
    assert_eq!(files, expected);
}

#[test]
fn names_are_unique_and_in_kebab_case() {
    let names: Vec<&str> = rules().map(|rule| rule.name).collect();
    assert_eq!(names.iter().collect::<BTreeSet<_>>().len(), names.len());
    for name in names {
        let mut words = name.split('-');
        let plain = |word: &str| !word.is_empty() && word.bytes().all(|b| b.is_ascii_lowercase());
        assert!(words.all(plain), "{name}");
    }
}

#[test]
fn a_page_begins_with_what_the_registry_says() {
    for rule in rules() {
        let text = text_of(rule.name);
        assert!(
            text.starts_with(&format!("# {}\n\n- name: ", rule.name)),
            "{}",
            rule.name
        );
        let head = [
            ("name", rule.name),
            ("severity", rule.severity.name()),
            ("category", rule.category.name()),
            ("since", rule.since),
            ("clause", rule.clause),
        ];
        let head = head.map(|(key, value)| (key.to_owned(), value.to_owned()));
        let page = Page::read(&text);
        assert_eq!(page.head, head, "{}", rule.name);
        assert_eq!(page.headings(), HEADINGS, "{}", rule.name);
    }
}

/// Every sentence stands on a line of its own, so that a difference shows the sentence that changed.
#[test]
fn the_prose_of_a_page_is_plain_sentences() {
    for rule in rules() {
        let page = page_of(rule.name);
        for heading in ["What", "Why", "What to tell a beginner"] {
            let text = page.under(heading);
            assert!(!text.is_empty(), "{}: {heading} is empty", rule.name);
            for line in text.lines() {
                assert!(
                    line.ends_with(['.', '?', ':', ';']) || line.ends_with(".\""),
                    "{}: {line}",
                    rule.name
                );
                assert!(!line.contains('!'), "{}: {line}", rule.name);
            }
            kind(rule.name, text);
        }
    }
}

#[test]
fn a_page_cites_sources_that_are_listed() {
    let list = SourceList::from_markdown("spec/sources.md", &root("spec/sources.md")).unwrap();
    for rule in rules() {
        let page = page_of(rule.name);
        let sources = page.sources();
        assert!(!sources.is_empty(), "{}", rule.name);
        for source in sources {
            let key = source.split(',').next().unwrap_or_default();
            assert!(list.holds(key), "{}: {source}", rule.name);
        }
    }
}

#[test]
fn the_clause_of_a_rule_is_in_the_rulebook() {
    let chapters = fs::read_dir(folder().join("../rulebook")).unwrap();
    let book: String = chapters
        .map(|entry| fs::read_to_string(entry.unwrap().path()).unwrap())
        .collect();
    for rule in rules() {
        assert!(
            book.contains(&format!("\n### {} ", rule.clause)),
            "{}",
            rule.name
        );
    }
}

#[test]
fn a_wrong_board_gives_its_finding_and_no_other() {
    for rule in rules() {
        let page = page_of(rule.name);
        let boards = page.boards("Wrong");
        assert!(!boards.is_empty(), "{}", rule.name);
        for line in boards {
            let findings = check(&board(line));
            assert_eq!(names(&findings), [rule.name], "{line}");
            assert_eq!(findings[0].severity, rule.severity, "{line}");
        }
    }
}

#[test]
fn a_right_board_gives_no_finding() {
    for rule in rules() {
        let page = page_of(rule.name);
        let boards = page.boards("Right");
        assert!(!boards.is_empty(), "{}", rule.name);
        for line in boards {
            assert_eq!(
                names(&check(&board(line))),
                [""; 0],
                "{}: {line}",
                rule.name
            );
        }
    }
}

/// Boards from every page, every clause and the generator.
fn boards_of_all_kinds() -> Vec<Board> {
    let mut boards: Vec<Board> = Vec::new();
    for rule in rules() {
        let page = page_of(rule.name);
        let lines = [page.boards("Wrong"), page.boards("Right")].concat();
        boards.extend(lines.into_iter().map(board));
    }
    for chapter in fs::read_dir(folder().join("../rulebook")).unwrap() {
        let text = fs::read_to_string(chapter.unwrap().path()).unwrap();
        let lines = text.lines().filter_map(|line| line.strip_prefix("board: "));
        boards.extend(lines.filter_map(|line| line.parse::<Board>().ok()));
    }
    boards.push(board(
        "1 Fine | 2 D.C.(al Fine, then Coda, id x) D.C. al Fine poi la Coda | coda 3 |",
    ));
    // Every way in which a point can lie outside its measure, a bracket that runs on, and a list of passes that is counted at its end.
    let lines = [
        "{meter 4/4} Fine@6 1 |",
        "{meter 4/4} segno@5 1 |",
        "{meter 4/4} To Coda@2(arrivals 1) 1 | 2 | 3 | coda@3 4 |",
        "{meter 8/4} Fine@10 1 |",
        "1 |: 2 | [1. 3 :| [2. 4 | 5 | 6 | [1. 7 :| [2. 8 |",
    ];
    boards.extend(lines.map(board));
    for meter in ["", r#""meter": "4/4", "#] {
        let file = format!(
            r#"{{ "board": 1, "systems": [2], {meter}"markings": [{{ "mark": "fine", "measure": 2, "cut": "0/1" }}] }}"#
        );
        boards.push(Board::from_json(&file).unwrap());
    }
    let when = When::Passes(Passes::of((5..99).step_by(2)).unwrap());
    let (hands, shift) = (Hands::Right, Shift::Up1);
    let octave = Sign::Octave(Octave { hands, shift, when });
    boards.push(Board::builder([2]).over(octave, 1, 2).build().unwrap());
    let mut runner = TestRunner::deterministic();
    let laid = any_laid_board();
    boards.extend((0..10_000).map(|_| laid.new_tree(&mut runner).unwrap().current()));
    boards
}

#[test]
fn a_finding_names_a_place_on_its_board() {
    for board in boards_of_all_kinds() {
        for finding in check(&board) {
            let what = format!("{} on {}", finding.rule, board.to_line());
            let marking = finding.marking.map(|index| &board.markings()[index]);
            if let Some(marking) = marking {
                assert_eq!(finding.measure, Some(marking.measure()), "{what}");
            }
            if let Some(measure) = finding.measure {
                assert!((1..=board.measures()).contains(&measure), "{what}");
            }
            for &related in &finding.related {
                assert!(related < board.markings().len(), "{what}");
                assert_ne!(Some(related), finding.marking, "{what}");
            }
        }
    }
}

/// Large boards of the worst kinds are checked in no time: what takes a little longer for each sign would take minutes here.
#[test]
fn large_boards_are_checked_to_their_end() {
    const MEASURES: u16 = 48_000;
    let ending = |pass| {
        let passes = Passes::of([pass]).unwrap();
        Sign::Ending(Ending {
            passes,
            open: false,
        })
    };
    let end = || Sign::EndRepeat(EndRepeat::default());
    let octave = |when| {
        Sign::Octave(Octave {
            hands: Hands::Right,
            shift: Shift::Up1,
            when,
        })
    };
    let only = |when| {
        Sign::Only(Only {
            hands: Hands::Right,
            when,
        })
    };
    let laid = |sign: &dyn Fn(BoardBuilder, u16) -> BoardBuilder, every: usize| {
        let builder = Board::builder([MEASURES]).mark(Sign::StartRepeat, 1);
        let board = (2..MEASURES).step_by(every).fold(builder, sign);
        board.build().unwrap()
    };
    let everywhere = |sign: Sign| laid(&move |board, at| board.mark(sign.clone(), at), 1);
    let list = |at: u16| When::Passes(Passes::of([1, u32::from(at)]).unwrap());
    let boards: Vec<(Board, &str, usize)> = vec![
        (everywhere(end()), "implied-start-in-doubt", 47_997),
        (
            everywhere(Sign::Fine(Fine::default())),
            "fine-unused",
            47_998,
        ),
        (
            everywhere(Sign::DaCapo(Jump::default())),
            "start-repeat-unclosed",
            1,
        ),
        (
            laid(
                &|board, at| {
                    board
                        .over(ending(u32::from(at) - 1), at, at)
                        .mark(end(), at)
                },
                1,
            ),
            "end-repeat-in-last-ending",
            1,
        ),
        (
            laid(
                &|board, at| board.mark(Sign::StartRepeat, at).mark(end(), at),
                2,
            ),
            "start-repeat-unclosed",
            1,
        ),
        (
            laid(
                &|board, at| board.over(octave(list(at)), at / 2, MEASURES),
                1,
            ),
            "octaves-too-far",
            0,
        ),
        (
            laid(
                &|board, at| {
                    let silent = board.over(only(When::OnReturn), at / 2, MEASURES);
                    silent.over(octave(When::OnRepeat), 1, MEASURES - at / 2)
                },
                2,
            ),
            "hand-never-plays",
            0,
        ),
    ];
    for (board, rule, times) in boards {
        let findings = check(&board);
        let found = findings
            .iter()
            .filter(|finding| finding.rule == rule)
            .count();
        assert!(found == times || times == 0 && found > 0, "{rule}: {found}");
    }
}

/// The generator reaches every warning and every piece of advice but one, so that what is proved on its boards is proved of the rules.
#[test]
fn laid_boards_reach_the_rules() {
    let mut runner = TestRunner::deterministic();
    let laid = any_laid_board();
    let (mut found, mut sound) = (BTreeMap::new(), 0);
    for _ in 0..10_000 {
        let board = laid.new_tree(&mut runner).unwrap().current();
        let findings = check(&board);
        sound += u32::from(findings.iter().all(|it| it.severity != Severity::Error));
        for finding in findings {
            *found.entry(finding.rule).or_insert(0) += 1;
        }
    }
    assert!(sound > 3_000, "{sound} boards without errors");
    // Errors are proved elsewhere.
    let missed: Vec<&str> = rules()
        .filter(|rule| rule.severity != Severity::Error && rule.name != "route-over-limit")
        .map(|rule| rule.name)
        .filter(|name| !found.contains_key(name))
        .collect();
    assert_eq!(missed, [""; 0], "{found:?}");
}

// Wording.

/// The longest message and the longest help, in characters.
const LONGEST_MESSAGE: usize = 80;
const LONGEST_HELP: usize = 110;

#[test]
fn findings_are_short_plain_and_kind() {
    let vocabulary = vocabulary();
    let mut used = BTreeSet::new();
    for board in boards_of_all_kinds() {
        for Finding {
            rule,
            message,
            help,
            ..
        } in check(&board)
        {
            assert!(
                message.chars().count() <= LONGEST_MESSAGE,
                "{rule}: {message}"
            );
            assert!(help.chars().count() <= LONGEST_HELP, "{rule}: {help}");
            for text in [&message, &help] {
                let first = text.chars().next().unwrap_or(' ');
                let abbreviated = text.starts_with("D.") || text.starts_with(['8', '1']);
                assert!(first.is_lowercase() || abbreviated, "{rule}: {text}");
                assert!(
                    !text.ends_with(['.', '!', '?'])
                        || text.ends_with("D.C.")
                        || text.ends_with("rep."),
                    "{rule}: {text}"
                );
                assert!(
                    !text.contains("  ") && !text.contains('\n'),
                    "{rule}: {text}"
                );
                kind(rule, text);
                let unknown: Vec<String> = words(text).difference(&vocabulary).cloned().collect();
                assert_eq!(unknown, [""; 0], "{rule}: {text}");
                used.extend(words(text));
            }
        }
    }
    let idle: Vec<&String> = vocabulary.difference(&used).collect();
    assert_eq!(idle, [""; 0], "words that no finding uses");
}

#[test]
fn what_cannot_work_alone_names_its_partner() {
    for rule in rules().filter(|rule| rule.category == Category::Pairing) {
        let named = ["implied-start-in-doubt", "label-twice"].contains(&rule.name);
        for line in page_of(rule.name).boards("Wrong") {
            let message = check(&board(line)).swap_remove(0).message;
            let alone = message.contains(" cannot work alone: it needs ");
            let goes_on = message.contains(" and there is none");
            assert!(alone || goes_on || named, "{message}");
        }
    }
}

// The index.

#[test]
fn the_index_of_the_pages_is_fresh() {
    let path = folder().join("README.md");
    let text = index();
    if std::env::var_os("UPDATE").is_some() {
        fs::write(&path, &text).unwrap();
    }
    let there = fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(
        there, text,
        "spec/rules/README.md is not what the pages give; `UPDATE=1 cargo test --test catalogue` writes it anew"
    );
}

fn index() -> String {
    let count = |severity| rules().filter(|rule| rule.severity == severity).count();
    let mut text = format!(
        "# The rules\n\n\
        Generated from the pages beside it; `UPDATE=1 cargo test --test catalogue` writes it anew.\n\n\
        {} rules: {} errors, {} warnings, {} pieces of advice.\n\
        An **error** leaves the route undefined, or a sign contradicts another.\n\
        A **warning** can be played, but a sign is idle, a measure is never reached, or practice forbids it.\n\
        **Advice** is style and clarity.\n\
        A rule's name is for ever; its sentences are not.\n\
        Every page shows boards on which its rule finds something and nothing else does, and boards of which nothing is said.\n\
        The words that findings use are in [words.md](words.md).\n",
        rules().count(),
        count(Severity::Error),
        count(Severity::Warning),
        count(Severity::Advice),
    );
    for category in Category::ALL {
        let about = match category {
            Category::Pairing => "signs that belong together",
            Category::Endings => "ending brackets and their passes",
            Category::Jumps => "D.C., D.S., Fine, To Coda, and where they lead",
            Category::Order => "what is played, how often, and what is never met",
            Category::Idle => {
                "signs that could be taken away: the order of the measures stays as it is"
            }
            Category::Hands => "octaves, and hands that play at some times only",
            Category::Clarity => "what can be read in more than one way",
            Category::Place => "where a sign stands on the page",
            _ => "",
        };
        let heading = format!("\n## {}: {about}\n\n", category.name());
        text.push_str(&heading);
        text.push_str("| rule | severity | |\n|---|---|---|\n");
        let mut of_category: Vec<RuleInfo> =
            rules().filter(|rule| rule.category == category).collect();
        of_category.sort_by_key(|rule| rule.severity);
        for rule in of_category {
            let (name, severity) = (rule.name, rule.severity.name());
            let row = format!("| [{name}]({name}.md) | {severity} | {} |\n", rule.summary);
            text.push_str(&row);
        }
    }
    text
}
