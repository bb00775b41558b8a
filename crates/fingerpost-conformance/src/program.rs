//! Another program as the subject, asked over its standard input and output.

use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, SyncSender, channel, sync_channel};
use std::thread;
use std::time::{Duration, Instant};

use crate::reply::Reply;
use crate::subject::{Answer, Ask, Subject, SubjectError};

/// The longest line that is taken from a subject, in bytes.
const LONGEST_LINE: u64 = 16 << 20;

/// A program under test. It is started at the first question and kept running; after a death, a time-out or a line that is no answer it
/// is started anew for the next question, so that one bad answer costs one question.
pub struct Program {
    command: Vec<String>,
    limit: Duration,
    each: bool,
    running: Option<Running>,
}

impl Program {
    /// A program by its name and arguments. `limit` is the time that one answer may take; with `each` the program is started anew for
    /// every question, and its input ends after that question.
    pub fn new(command: Vec<String>, limit: Duration, each: bool) -> Program {
        Program {
            command,
            limit,
            each,
            running: None,
        }
    }

    /// Starts the program if it does not run yet.
    ///
    /// # Errors
    /// There is no such program, or it cannot be started.
    pub fn start(&mut self) -> Result<(), SubjectError> {
        if self.running.is_none() {
            self.running = Some(Running::new(&self.command)?);
        }
        Ok(())
    }

    fn ask(&mut self, request: String) -> Result<Reply, SubjectError> {
        self.start()?;
        // A program is put back only after a good answer: whatever went wrong, the next question finds a fresh one.
        let Some(mut running) = self.running.take() else {
            return Err(SubjectError::new("the program does not run"));
        };
        let line = running.ask(request, self.limit, self.each)?;
        let reply = Reply::from_line(&line)?;
        if !self.each {
            self.running = Some(running);
        }
        Ok(reply)
    }
}

impl Subject for Program {
    fn answer(&mut self, ask: &Ask<'_>) -> Result<Answer, SubjectError> {
        let request = serde_json::to_string(ask).map_err(|error| {
            SubjectError::new(format!("the request cannot be written: {error}"))
        })?;
        self.ask(request + "\n")?.into()
    }
}

/// Splits a command into the program's name and its arguments: at blanks, except between two `"` or two `'`. Nothing else is special, so
/// that a command means the same on every system.
///
/// # Errors
/// No word at all; a quotation mark without its second.
pub fn split_command(text: &str) -> Result<Vec<String>, SubjectError> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut quoted: Option<char> = None;
    for c in text.chars() {
        match (quoted, c) {
            (Some(mark), _) if c == mark => quoted = None,
            (None, '"' | '\'') => {
                quoted = Some(c);
                word.get_or_insert_default();
            }
            (None, _) if c.is_whitespace() => words.extend(word.take()),
            _ => word.get_or_insert_default().push(c),
        }
    }
    words.extend(word);
    if let Some(mark) = quoted {
        let message = format!("the command `{text}` has a {mark} without its second");
        return Err(SubjectError::new(message));
    }
    if words.is_empty() {
        return Err(SubjectError::new(
            "the command is empty; a program's name and its arguments are wanted",
        ));
    }
    Ok(words)
}

/// A started program. Its streams are served by threads of their own: a program that neither reads nor writes can then hold up nobody.
struct Running {
    child: Child,
    requests: Option<Sender<String>>,
    lines: Receiver<Result<String, String>>,
}

impl Running {
    fn new(command: &[String]) -> Result<Running, SubjectError> {
        let (name, arguments) = command
            .split_first()
            .ok_or_else(|| SubjectError::new("the command is empty"))?;
        let mut child = Command::new(name)
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(|error| SubjectError::new(format!("`{name}` cannot be started: {error}")))?;
        let (requests, to_write) = channel();
        // One line is asked for at a time: a program that writes without end is stopped by the full queue.
        let (to_read, lines) = sync_channel(1);
        if let Some(stdin) = child.stdin.take() {
            thread::spawn(move || write_requests(stdin, &to_write));
        }
        if let Some(stdout) = child.stdout.take() {
            thread::spawn(move || read_lines(stdout, &to_read));
        }
        Ok(Running {
            child,
            requests: Some(requests),
            lines,
        })
    }

    fn ask(
        &mut self,
        request: String,
        limit: Duration,
        last: bool,
    ) -> Result<String, SubjectError> {
        if let Ok(Ok(line)) = self.lines.try_recv() {
            let shown: String = line.trim_end().chars().take(60).collect();
            let message = format!("it had written a line that nobody asked for: `{shown}`");
            return Err(SubjectError::new(message));
        }
        if let Some(requests) = &self.requests {
            // When the writing thread has ended, so has the program; that is found out below.
            let _ = requests.send(request);
        }
        if last {
            self.requests = None;
        }
        match self.lines.recv_timeout(limit) {
            Ok(Ok(line)) => Ok(line),
            Ok(Err(fault)) => Err(SubjectError::new(fault)),
            Err(RecvTimeoutError::Timeout) => Err(SubjectError::new(format!(
                "it gave no answer within {} s",
                limit.as_secs_f64()
            ))),
            Err(RecvTimeoutError::Disconnected) => Err(SubjectError::new(self.end())),
        }
    }

    /// How a program that closed its output ended. It may take a moment more to end, and may not end at all.
    fn end(&mut self) -> String {
        let until = Instant::now() + Duration::from_millis(500);
        loop {
            match self.child.try_wait() {
                Ok(Some(status)) => return format!("it ended before it answered ({status})"),
                Ok(None) if Instant::now() < until => thread::sleep(Duration::from_millis(5)),
                _ => return "it closed its output before it answered".to_owned(),
            }
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // It may have ended by itself; then there is nothing to stop, and only its status to be taken.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn write_requests(mut stdin: ChildStdin, requests: &Receiver<String>) {
    for request in requests {
        let written = stdin.write_all(request.as_bytes());
        if written.and_then(|()| stdin.flush()).is_err() {
            return;
        }
    }
}

fn read_lines(stdout: ChildStdout, lines: &SyncSender<Result<String, String>>) {
    let mut stdout = BufReader::new(stdout);
    loop {
        let mut bytes = Vec::new();
        let read = (&mut stdout)
            .take(LONGEST_LINE)
            .read_until(b'\n', &mut bytes);
        let whole = bytes.last() == Some(&b'\n');
        let line = match read {
            Ok(0) | Err(_) => return,
            Ok(n) if !whole && n as u64 == LONGEST_LINE => {
                Err(format!("it wrote a line longer than {LONGEST_LINE} bytes"))
            }
            Ok(_) => String::from_utf8(bytes).map_err(|_| "its line is no UTF-8".to_owned()),
        };
        let good = line.is_ok();
        if lines.send(line).is_err() || !good {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::split_command;

    #[test]
    fn a_command_is_split_at_blanks_outside_quotation_marks() {
        let words = |text: &str| split_command(text).unwrap();
        assert_eq!(words("  walk  --fast "), ["walk", "--fast"]);
        assert_eq!(
            words(r#""C:\my huts\walk" 'say "on"' """#),
            [r"C:\my huts\walk", r#"say "on""#, ""]
        );
        assert!(split_command(" ").is_err());
        let message = split_command("walk 'on").unwrap_err().to_string();
        assert_eq!(message, "the command `walk 'on` has a ' without its second");
    }
}
