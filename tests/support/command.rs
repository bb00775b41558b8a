//! The command, run as a user runs it.
#![allow(dead_code)] // Each test takes what it needs.

use std::io::{self, Read};

use fingerpost_cli::{Streams, run};

/// What a run left behind.
pub(crate) struct Ran {
    /// The exit status.
    pub(crate) status: u8,
    /// Standard output.
    pub(crate) out: String,
    /// Standard error.
    pub(crate) err: String,
}

/// A run with nothing on standard input: the exit status, standard output and standard error.
pub(crate) fn ran(args: &[&str]) -> (u8, String, String) {
    ran_on(args, io::empty())
}

/// The same with something on standard input.
pub(crate) fn ran_on(args: &[&str], mut stdin: impl Read) -> (u8, String, String) {
    let Ran { status, out, err } = ran_with(args, &mut stdin, None);
    (status, out, err)
}

/// A run with something on standard input, on a terminal of so many columns or on none.
pub(crate) fn ran_with(args: &[&str], stdin: &mut dyn Read, width: Option<usize>) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let status = run(
        std::iter::once("fingerpost").chain(args.iter().copied()),
        Streams {
            stdin,
            stdout: &mut out,
            stderr: &mut err,
            width,
            progress: false,
        },
    );
    let text = |bytes| String::from_utf8(bytes).unwrap();
    Ran {
        status,
        out: text(out),
        err: text(err),
    }
}
