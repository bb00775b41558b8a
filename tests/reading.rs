//! The questions of the reading and their answers. Rulebook, chapter 6.

use std::collections::HashSet;

use fingerpost::{NamedReading, Question, Reading};

#[test]
fn six_questions_make_144_readings_and_the_handbook_is_the_first() {
    let all: Vec<Reading> = Reading::all().collect();
    assert_eq!(all.len(), 144);
    assert_eq!(all[0], Reading::default());
    assert_eq!(all.iter().collect::<HashSet<_>>().len(), 144);
}

#[test]
fn every_answer_has_its_own_name_and_named_readings_are_found_by_name() {
    for question in Question::ALL {
        let names: HashSet<_> = question.answers().into_iter().collect();
        assert_eq!(names.len(), question.answers().len());
        assert_eq!(Reading::default().answer(question), question.answers()[0]);
    }
    for named in NamedReading::ALL {
        assert_eq!(named.name().parse::<NamedReading>().unwrap(), named);
    }
    assert!("handbok".parse::<NamedReading>().is_err());
}

#[test]
fn named_readings_answer_as_the_table_of_the_rulebook_says() {
    let chapter = include_str!("../spec/rulebook/6-the-reading.md");
    let (_, clause) = chapter.split_once("\n### 6.7 ").expect("clause 6.7");
    for named in NamedReading::ALL {
        let answers = clause
            .lines()
            .find_map(|line| line.strip_prefix(&format!("| {} | ", named.name())))
            .expect("a row of the table");
        let reading = named.reading();
        let mut differing = 0;
        for question in Question::ALL {
            let told = answers
                .trim_end_matches(" |")
                .split(", ")
                .find_map(|told| told.strip_prefix(&format!("{} ", question.name())));
            differing += usize::from(told.is_some());
            let expected = told.unwrap_or(question.answers()[0]);
            assert_eq!(reading.answer(question), expected, "{}", named.name());
        }
        assert_eq!(differing > 0, answers.contains("the rest default"));
        assert_eq!(named.omits_repeats(), answers.contains("repeats left out"));
    }
}
