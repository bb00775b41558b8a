//! Reads a chapter of the rulebook: its clauses and the cases that stand in them as fenced blocks.

mod fields;

use crate::case::{Case, Chapter, Clause};
use crate::json::FORMAT;
use crate::load::LoadError;

use fields::{Block, citations};

/// Reads a chapter from its Markdown text. `file` is the file's name, for complaints and for the chapter's own name.
///
/// A chapter begins with `# 2. Title`, a clause with `### 2.1 Title`; a clause has one line `Source: …`; a case is a fenced block marked
/// `board` with one field a line. Every other line is prose.
///
/// # Errors
/// The first line that cannot be understood, with file and line.
pub fn chapter_from_markdown(file: &str, text: &str) -> Result<Chapter, LoadError> {
    let mut title = None;
    let mut clauses: Vec<Clause> = Vec::new();
    let mut cases: Vec<Case> = Vec::new();
    let mut lines = text.lines().zip(1..);
    while let Some((line, number)) = lines.next() {
        let complain = |message: String| LoadError::at(file, number, message);
        if let Some(heading) = line.strip_prefix("### ") {
            if let Some(clause) = clauses.last().filter(|clause| clause.sources.is_empty()) {
                let message = format!("clause {} has no source", clause.number);
                return Err(LoadError::at(file, clause.line, message));
            }
            let (clause, title) = heading
                .split_once(' ')
                .filter(|(clause, _)| is_clause_number(clause))
                .ok_or_else(|| complain("a clause begins like `### 2.1 Its title`".to_owned()))?;
            clauses.push(Clause {
                number: clause.to_owned(),
                title: title.trim().to_owned(),
                sources: Vec::new(),
                line: number,
            });
        } else if let Some(heading) = line.strip_prefix("# ") {
            let name = heading.split_once(". ").map_or(heading, |(_, name)| name);
            title = Some(name.trim().to_owned());
        } else if let Some(sources) = line.strip_prefix("Source: ") {
            let clause = clauses
                .last_mut()
                .ok_or_else(|| complain("a source before the first clause".to_owned()))?;
            if !clause.sources.is_empty() {
                let message = format!("clause {} has two lines of sources", clause.number);
                return Err(complain(message));
            }
            clause.sources = citations(sources).map_err(complain)?;
        } else if line == "```board" {
            let clause = clauses
                .last()
                .ok_or_else(|| complain("a case before the first clause".to_owned()))?;
            let mut block = Block::new(file, number);
            loop {
                match lines.next() {
                    Some(("```", _)) => break,
                    Some((field, at)) => block.field(field, at)?,
                    None => return Err(complain("the block is not closed".to_owned())),
                }
            }
            cases.push(block.case(&clause.number)?);
        } else if line.starts_with("```") {
            // Another block: its lines are not read.
            while lines.next().is_some_and(|(line, _)| line != "```") {}
        }
    }
    if let Some(clause) = clauses.last().filter(|clause| clause.sources.is_empty()) {
        let message = format!("clause {} has no source", clause.number);
        return Err(LoadError::at(file, clause.line, message));
    }
    Ok(Chapter {
        schema: "../conformance.schema.json".to_owned(),
        conformance: FORMAT,
        chapter: file.strip_suffix(".md").unwrap_or(file).to_owned(),
        title: title
            .ok_or_else(|| LoadError::at(file, 1, "a chapter begins with `# ` and its title"))?,
        clauses,
        cases,
    })
}

fn is_clause_number(text: &str) -> bool {
    let number = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    text.split_once('.')
        .is_some_and(|(chapter, clause)| number(chapter) && number(clause))
}

#[cfg(test)]
mod tests {
    use super::chapter_from_markdown;
    use crate::case::Outcome;

    const CHAPTER: &str = "# 2. Paths\n\n### 2.1 Over the stile\n\nA path.\nSource: abc, 4.8; common practice, no source\n\n```board\nid: 2.1-a\ntitle: a path is walked\nboard: |: 1 8va(R.H., pass 2) :|\norder: 1 1\noctaves: 0 +1/0\nreading nested=flat: 1 1\nomit-repeats: 1\nsource: abc, 4.8\nstatus: standard\n```\n";

    fn complaint(find: &str, replace: &str) -> String {
        let text = CHAPTER.replace(find, replace);
        assert_ne!(text, CHAPTER);
        chapter_from_markdown("2-paths.md", &text)
            .unwrap_err()
            .to_string()
    }

    #[test]
    fn a_chapter_is_read() {
        let chapter = chapter_from_markdown("2-paths.md", CHAPTER).unwrap();
        assert_eq!(
            (chapter.title.as_str(), chapter.clauses.len()),
            ("Paths", 1)
        );
        assert_eq!(chapter.clauses[0].sources[0].place.as_deref(), Some("4.8"));
        let case = &chapter.cases[0];
        assert_eq!((case.clause.as_str(), case.at), ("2.1", 8));
        assert_eq!(case.routes.len(), 3);
        assert_eq!(case.routes[0].expect.outcome(), Some(Outcome::Route));
        assert_eq!(
            case.routes[0].expect.steps.octaves.as_ref().unwrap()[1].right,
            1
        );
        assert!(case.routes[2].terms.omit_repeats);
        assert_eq!(case.board["systems"], serde_json::json!([1]));
    }

    #[test]
    fn complaints_name_file_line_and_fault() {
        assert_eq!(
            complaint("order: 1 1", "order: 1 x"),
            "2-paths.md:12: `x` is no measure"
        );
        assert_eq!(
            complaint("omit-repeats", "omit-repeat"),
            "2-paths.md:15: `omit-repeat` is no field of a case"
        );
        assert_eq!(
            complaint("nested=flat", "nested=flt"),
            "2-paths.md:14: `flt` is no answer to nested; its answers are restart, flat"
        );
        assert_eq!(
            complaint("status: standard\n", ""),
            "2-paths.md:8: case 2.1-a has no status"
        );
        assert_eq!(
            complaint("octaves: 0 +1/0", "octaves: 0"),
            "2-paths.md:8: case 2.1-a has 2 steps in `order` and 1 in `octaves`"
        );
        assert_eq!(
            complaint("Source: abc", "Sources: abc"),
            "2-paths.md:3: clause 2.1 has no source"
        );
        assert_eq!(
            complaint("### 2.1 ", "### "),
            "2-paths.md:3: a clause begins like `### 2.1 Its title`"
        );
        assert!(
            complaint("|: 1 8va(R.H., pass 2) :|", "|: 1 Fin :|").starts_with("2-paths.md:11: ")
        );
        assert!(complaint("\n```\n", "\n").ends_with("the block is not closed"));
    }
}
