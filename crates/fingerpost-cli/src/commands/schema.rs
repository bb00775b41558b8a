//! `fingerpost schema`: the JSON Schema of a board file, of requests or of an answer.

use clap::builder::PossibleValue;
use clap::{ArgMatches, Args, Command};
use fingerpost_json::SCHEMAS;

use super::{Entry, parsed};
use crate::Streams;
use crate::outcome::{Failure, Outcome};
use crate::report;

pub(super) const ENTRY: Entry = Entry {
    name: "schema",
    about: "Print a JSON Schema: of a board file, of requests or of an answer",
    after: "\
Examples:
  fingerpost schema > board.schema.json
  fingerpost schema unroll",
    args: <SchemaArgs as Args>::augment_args as fn(Command) -> Command,
    run,
};

#[derive(Args, Debug)]
struct SchemaArgs {
    /// What the schema is of
    #[arg(value_name = "NAME", default_value = "board", value_parser = known())]
    name: String,
    /// Print the schema inside one JSON object with its name
    #[arg(long)]
    json: bool,
}

fn known() -> Vec<PossibleValue> {
    let values = SCHEMAS.iter();
    values
        .map(|&(name, about)| PossibleValue::new(name).help(about))
        .collect()
}

fn run(matches: &ArgMatches, streams: &mut Streams<'_>) -> Result<Outcome, Failure> {
    let args: SchemaArgs = parsed(matches)?;
    // cannot fail: clap accepts the names of schemas alone.
    let Some(schema) = fingerpost_json::schema(&args.name) else {
        return Err(Failure::Refused);
    };
    if args.json {
        let answer = fingerpost_json::SchemaAnswer {
            version: fingerpost_json::VERSION,
            name: args.name,
            schema,
        };
        report::answer(streams, &answer)?;
    } else {
        serde_json::to_writer_pretty(&mut *streams.stdout, &schema)
            .map_err(std::io::Error::from)?;
        writeln!(streams.stdout)?;
    }
    Ok(Outcome::Clean)
}
