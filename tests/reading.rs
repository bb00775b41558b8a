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
