//! The lines that go between the runner and a subject that is another program.

use std::io::{self, BufRead, Write};

use schemars::JsonSchema;
use serde::Serialize;

use crate::subject::{Answer, Ask, Subject, SubjectError};

/// One line from a subject: an answer, or why there is none.
#[derive(Clone, PartialEq, Debug, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum Reply {
    /// The subject does not claim to answer this, for the reason given. Nothing has failed.
    Skip {
        /// The reason, for people.
        skip: String,
    },
    /// The subject should have answered and could not. The case fails.
    Failed {
        /// What went wrong, for people.
        failed: String,
    },
    /// The answer.
    Answer(Answer),
}

impl Reply {
    /// Reads a line of a subject.
    ///
    /// # Errors
    /// The line is no JSON, or no reply; with what was found.
    pub fn from_line(line: &str) -> Result<Reply, SubjectError> {
        // Read in two steps, so that a complaint is about the form that was meant.
        let wrong = |error: serde_json::Error| {
            let shown: String = line.trim_end().chars().take(60).collect();
            SubjectError::new(format!("the line `{shown}` is no answer: {error}"))
        };
        let value: serde_json::Value = serde_json::from_str(line).map_err(wrong)?;
        let word = |key: &str| Some(value.get(key)?.as_str()?.to_owned());
        if let Some(skip) = word("skip") {
            return Ok(Reply::Skip { skip });
        }
        if let Some(failed) = word("failed") {
            return Ok(Reply::Failed { failed });
        }
        serde_json::from_value(value)
            .map(Reply::Answer)
            .map_err(wrong)
    }
}

impl From<Result<Answer, SubjectError>> for Reply {
    fn from(answer: Result<Answer, SubjectError>) -> Reply {
        match answer {
            Ok(answer) => Reply::Answer(answer),
            Err(error) if error.is_skip() => Reply::Skip {
                skip: error.to_string(),
            },
            Err(error) => Reply::Failed {
                failed: error.to_string(),
            },
        }
    }
}

impl From<Reply> for Result<Answer, SubjectError> {
    fn from(reply: Reply) -> Result<Answer, SubjectError> {
        match reply {
            Reply::Answer(answer) => Ok(answer),
            Reply::Skip { skip } => Err(SubjectError::skip(skip)),
            Reply::Failed { failed } => Err(SubjectError::new(failed)),
        }
    }
}

/// Lets a subject answer requests: one JSON request a line in, one JSON reply a line out, until the requests end.
///
/// # Errors
/// A stream that cannot be read or written. A line that is no request is answered with what is wrong with it.
pub fn answer_lines(
    requests: &mut dyn BufRead,
    replies: &mut dyn Write,
    subject: &mut dyn Subject,
) -> io::Result<()> {
    for line in requests.lines() {
        let answer = match serde_json::from_str::<Ask<'static>>(&line?) {
            Ok(ask) => subject.answer(&ask),
            Err(error) => Err(SubjectError::new(format!(
                "the line is no request: {error}"
            ))),
        };
        let mut reply = serde_json::to_string(&Reply::from(answer))?;
        reply.push('\n');
        replies.write_all(reply.as_bytes())?;
        replies.flush()?;
    }
    Ok(())
}

/// The JSON Schema (2020-12) of a request.
pub fn request_schema() -> serde_json::Value {
    titled::<Ask<'static>>("A request to a program under test")
}

/// The JSON Schema (2020-12) of a reply.
pub fn reply_schema() -> serde_json::Value {
    titled::<Reply>("The reply of a program under test")
}

pub(crate) fn titled<T: JsonSchema>(title: &str) -> serde_json::Value {
    let mut schema = schemars::schema_for!(T).to_value();
    if let Some(object) = schema.as_object_mut() {
        object.insert("title".to_owned(), title.into());
    }
    schema
}
