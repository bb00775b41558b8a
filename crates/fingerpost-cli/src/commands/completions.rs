//! `fingerpost completions`: completions for a shell, generated from the table of commands.

use clap::{ArgMatches, Args, Command};
use clap_complete::Shell;

use super::{Entry, parsed};
use crate::Streams;
use crate::outcome::{Failure, Outcome};

pub(super) const ENTRY: Entry = Entry {
    name: "completions",
    about: "Print completions for a shell",
    after: "\
Examples:
  fingerpost completions bash > ~/.local/share/bash-completion/completions/fingerpost
  fingerpost completions fish > ~/.config/fish/completions/fingerpost.fish",
    args: <CompletionsArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct CompletionsArgs {
    /// The shell
    #[arg(value_enum)]
    shell: Shell,
}

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: CompletionsArgs = parsed(matches)?;
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut super::command(), "fingerpost", &mut text);
    streams.stdout.write_all(&text)?;
    Ok(Outcome::Clean)
}
