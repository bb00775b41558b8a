//! The verb `write-out`: a score in playing order, and the route of a board as a MIDI file.

use base64::prelude::{BASE64_STANDARD, Engine};
use fingerpost::{Roadmap, Terms};
use fingerpost_notation::{
    Format, MidiOptions, NotationError, NotationErrorKind, ReadOptions, Unrolling,
};

use crate::VERSION;
use crate::error::{ComplaintAnswer, ErrorAnswer, ErrorKind};
use crate::findings::FindingAnswer;
use crate::score::ScoreAsked;
use crate::source::{BoardRead, Form};
use crate::terms::TermsAsked;

/// What is to be written.
#[derive(Clone, Copy, Default, PartialEq, Eq, Debug, serde::Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum WriteOutForm {
    /// A new MusicXML score; of a MusicXML score only.
    #[default]
    Musicxml,
    /// A Standard MIDI File of the order, in which each measure is one pitch; of any board.
    Midi,
}

/// A score written out in playing order, or the order of a board as a MIDI file.
#[derive(Clone, PartialEq, Eq, Debug, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WrittenOutAnswer {
    /// The version of the answer: 1.
    pub version: u32,
    /// The text of the new score, MusicXML in UTF-8; with the form `musicxml`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub musicxml: Option<String>,
    /// The bytes of the MIDI file in Base64 (RFC 4648, section 4); with the form `midi`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub midi: Option<String>,
    /// Its measures.
    pub measures: u64,
    /// How the signs were read, and what could not be kept; measures and lines are those of the score that was read.
    pub notices: Vec<FindingAnswer>,
}

/// Writes a MusicXML score out in playing order, with no signs left; of one part's signs when `asked` names a part, all parts alike.
///
/// # Errors
/// Anything but a MusicXML score; a board with errors, an open section without a number of plays; more measures than `limit`, which is
/// 100 000 when absent.
pub fn write_out(
    read: &BoardRead,
    asked: &ScoreAsked,
    terms: &TermsAsked,
    limit: Option<u32>,
) -> Result<WrittenOutAnswer, ErrorAnswer> {
    let bytes = read.given();
    let format = fingerpost_notation::format_of(bytes);
    let is_score = matches!(format, Some(Format::MusicXml | Format::CompressedMusicXml));
    if read.form != Form::Score || !is_score {
        let message = "only a MusicXML score has music that can be written out in playing order";
        let complaint = ComplaintAnswer {
            message: message.to_owned(),
            accepted: Some(
                "a MusicXML score; of any board its order in the form `midi`".to_owned(),
            ),
            pointer: None,
            line: None,
            column: None,
        };
        return Err(ErrorAnswer::new(ErrorKind::Request, message).with_complaints(vec![complaint]));
    }
    let roadmap = roadmap(read, terms)?;
    let mut options = ReadOptions::default();
    options.part.clone_from(&asked.part);
    options.signs_from = asked.signs_from;
    let mut unrolling = Unrolling {
        read: options,
        terms: Terms::from(*terms),
        ..Unrolling::default()
    };
    unrolling.most_measures = limit.unwrap_or(unrolling.most_measures);
    let written = fingerpost_notation::unrolled(bytes, &unrolling);
    let mut written = written.map_err(|error| refused(&error))?;
    if format == Some(Format::CompressedMusicXml) {
        // The lines are those of the score inside, which nobody sees.
        for notice in &mut written.notices {
            notice.line = None;
        }
    }
    let notices = written.notices.iter();
    Ok(WrittenOutAnswer {
        version: VERSION,
        notices: notices
            .map(|notice| FindingAnswer::noticed(read, notice))
            .collect(),
        musicxml: Some(written.text),
        midi: None,
        measures: roadmap.length(),
    })
}

/// The route of a board as a MIDI file, as the door answers.
///
/// # Errors
/// As [`midi`].
pub(crate) fn midi_answer(
    read: &BoardRead,
    terms: &TermsAsked,
    tempo: Option<u16>,
    limit: Option<u32>,
) -> Result<WrittenOutAnswer, ErrorAnswer> {
    let bytes = midi(read, terms, tempo, limit)?;
    Ok(WrittenOutAnswer {
        version: VERSION,
        musicxml: None,
        midi: Some(BASE64_STANDARD.encode(bytes)),
        measures: roadmap(read, terms)?.length(),
        notices: read.notices(),
    })
}

/// The route of a board as a Standard MIDI File.
///
/// # Errors
/// A board with errors, an open section without a number of plays; more steps than `limit`, which is 100 000 when absent.
pub fn midi(
    read: &BoardRead,
    terms: &TermsAsked,
    tempo: Option<u16>,
    limit: Option<u32>,
) -> Result<Vec<u8>, ErrorAnswer> {
    let roadmap = roadmap(read, terms)?;
    let usual = MidiOptions::default();
    let options = MidiOptions {
        tempo: tempo.unwrap_or(usual.tempo),
        most_steps: limit.unwrap_or(usual.most_steps),
    };
    let midi = fingerpost_notation::write_midi(&read.board, &roadmap, &options);
    midi.map_err(|error| refused(&error))
}

fn roadmap(read: &BoardRead, terms: &TermsAsked) -> Result<Roadmap, ErrorAnswer> {
    let roadmap = Roadmap::new(&read.board, &Terms::from(*terms));
    roadmap.map_err(|refusal| ErrorAnswer::refused(read, &refusal))
}

fn refused(error: &NotationError) -> ErrorAnswer {
    let accepted = (error.kind() == NotationErrorKind::TooLarge)
        .then(|| "a larger `limit`, or terms under which fewer measures are played".to_owned());
    let complaint = ComplaintAnswer {
        message: error.to_string(),
        accepted,
        pointer: None,
        line: error.line(),
        column: None,
    };
    ErrorAnswer::new(ErrorKind::Request, error.to_string()).with_complaints(vec![complaint])
}
