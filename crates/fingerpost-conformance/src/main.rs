//! The command `fingerpost-conformance`.

use std::io::{stderr, stdin, stdout};
use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(fingerpost_conformance::run_command(
        std::env::args_os(),
        &mut stdin().lock(),
        &mut stdout().lock(),
        &mut stderr(),
    ))
}
