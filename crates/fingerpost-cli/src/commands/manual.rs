//! `fingerpost manual`: the man page, generated from the table of commands.

use clap::{ArgMatches, Args, Command};
use clap_mangen::Man;

use super::{COMMANDS, Entry, parsed};
use crate::Streams;
use crate::outcome::{Failure, Outcome};

pub(super) const ENTRY: Entry = Entry {
    name: "manual",
    about: "Print the man page, of the command as a whole or of one of its commands",
    after: "\
Examples:
  fingerpost manual | man -l -
  fingerpost manual unroll > fingerpost-unroll.1",
    args: <ManualArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct ManualArgs {
    /// One of the commands
    #[arg(value_name = "COMMAND", value_parser = names())]
    command: Option<String>,
}

fn names() -> Vec<&'static str> {
    COMMANDS.iter().map(|entry| entry.name).collect()
}

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: ManualArgs = parsed(matches)?;
    let mut whole = super::command();
    // Building gives every command the full name by which it is called.
    whole.build();
    let page = match args.command.as_deref() {
        None => whole,
        Some(name) => match whole.find_subcommand(name) {
            Some(own) => own.clone(),
            None => whole,
        },
    };
    let mut text = Vec::new();
    Man::new(page).render(&mut text)?;
    streams.stdout.write_all(&text)?;
    Ok(Outcome::Clean)
}
