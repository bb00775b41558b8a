//! One sign by itself, as a card in the hand, in the notation of the board line.

use super::build::refused;
use super::reader::Reader;
use super::scan::{Barline, Token};
use super::sign::Spot;
use super::written::written;
use crate::board::{Board, ReadError, Sign, Unplaced};

const ACCEPTED: &str = "one sign as a board line writes it, without its place: `D.S. al Coda`, `|:`, `:|x3`, `[1.`, `8va(R.H.)`";

impl Sign {
    /// Reads one sign in the notation of the board line, as it would lie in the hand: `D.S. al Coda`, `|:`, `[1.`, `8va(R.H.)`.
    ///
    /// ```
    /// use fingerpost::Sign;
    /// assert_eq!(Sign::from_line("|:")?, Sign::StartRepeat);
    /// assert_eq!(Sign::from_line("d.s. al coda")?.to_line(), "D.S. al Coda");
    /// assert!(Sign::from_line("Fin").is_err());
    /// # Ok::<(), fingerpost::ReadError>(())
    /// ```
    ///
    /// # Errors
    /// What is wrong with the text, with its place and what would be accepted.
    pub fn from_line(text: &str) -> Result<Sign, ReadError> {
        let mut reader = Reader::new(text);
        let draft = match reader.ahead.token {
            Token::Word => reader.sign(Spot::Hand),
            Token::EndingOpen => Some(reader.ending(false)),
            Token::Barline(
                barline @ (Barline::Start | Barline::End | Barline::Double | Barline::Final),
            ) => reader.barline_sign(barline, false),
            _ => {
                let bytes = reader.bytes_ahead();
                reader.complain(bytes, "this is no sign", ACCEPTED);
                None
            }
        };
        if reader.is_clean() && reader.ahead.token != Token::End {
            let bytes = reader.bytes_ahead();
            reader.complain(bytes, "there is more than one sign here", ACCEPTED);
        }
        let sign = draft.and_then(|draft| draft.sign());
        let Some(sign) = sign.filter(|_| reader.is_clean()) else {
            return Err(refused(reader));
        };
        let card = Unplaced { sign, id: None };
        match Board::builder([1]).unplaced(card.clone()).build_all() {
            Ok(_) => Ok(card.sign),
            Err(faults) => {
                for fault in &faults {
                    reader.complain(0..text.len(), fault.to_string(), "");
                }
                Err(refused(reader).with_board_errors(faults))
            }
        }
    }

    /// Writes the sign in the notation of the board line, without a place.
    pub fn to_line(&self) -> String {
        written(self, &[], None, None)
    }
}
