//! From the bytes of a file to its XML text: the compressed form (.mxl) unpacked as it is read, other encodings turned into UTF-8.

use std::io::{Cursor, Read};

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};
use encoding_rs_io::DecodeReaderBytesBuilder;
use flate2::{Decompress, FlushDecompress, Status};
use zip::result::ZipError;
use zip::{CompressionMethod, ZipArchive};

use super::source::{Slice, TooMuch};
use super::xml::{Name, Next, Xml};
use crate::error::{NotationError, NotationErrorKind};
use crate::passes::shortened;

/// The most bytes that are unpacked from one file: ten times the largest score known.
pub(super) const LARGEST_UNPACKED: u64 = 512 << 20;
/// So many bytes of a compressed score are unpacked and held at once; a larger one is read as it is unpacked.
pub(super) const LARGEST_HELD: u64 = 8 << 20;
/// Room for so many bytes is asked for at least when a score is unpacked. Of pieces that are a little smaller an allocator may give the pages
/// back to the system after each score, and the next score takes them again one by one; what is not written takes no memory.
const ROOM: usize = 256 << 10;
/// The most bytes that the table of contents of a compressed score may have.
const LARGEST_CONTENTS: u64 = 1 << 20;
/// How much of the beginning is looked at for the encoding.
const DECLARATION: usize = 256;

/// Whether the bytes begin as a ZIP file does.
pub(crate) fn is_zip(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06")
}

/// The score in a compressed file.
pub(super) enum Unpacked<'a> {
    /// Unpacked in one go.
    Whole(Vec<u8>),
    /// As a stream, with its size as the table of contents has it.
    Stream(Box<dyn Read + 'a>, u64),
}

/// The score in a compressed file. Nothing is written to disk: names in the file are looked up in the file only.
pub(super) fn unpacked<T>(
    bytes: &[u8],
    read: impl FnOnce(Unpacked<'_>) -> Result<T, NotationError>,
) -> Result<T, NotationError> {
    let mut archive = Archive::new(bytes)?;
    let name = archive.score_name()?;
    if let Some(whole) = archive.in_one_go(&name, LARGEST_HELD, ROOM) {
        return read(Unpacked::Whole(whole));
    }
    let short = shortened(&name);
    let file = match archive.zip.by_name(&name) {
        Ok(file) => file,
        Err(ZipError::FileNotFound) => {
            return Err(container(format!(
                "META-INF/container.xml names `{short}`, and no such file is in the compressed one"
            )));
        }
        Err(error) => {
            return Err(container(format!(
                "`{short}` cannot be unpacked: {error}; what is read is packed by deflate or not at all, without a password"
            )));
        }
    };
    let size = file.size();
    if size > LARGEST_UNPACKED {
        return Err(too_large(&short));
    }
    // What the table of contents says of the size need not be true.
    let stream = Limited {
        source: file,
        left: LARGEST_UNPACKED,
    };
    read(Unpacked::Stream(Box::new(stream), size))
}

/// A compressed file, opened.
struct Archive<'a> {
    bytes: &'a [u8],
    zip: ZipArchive<Cursor<&'a [u8]>>,
    /// One for all files in it.
    inflater: Decompress,
}

impl<'a> Archive<'a> {
    fn new(bytes: &'a [u8]) -> Result<Archive<'a>, NotationError> {
        let zip = ZipArchive::new(Cursor::new(bytes))
            .map_err(|error| container(format!("the compressed file cannot be opened: {error}")))?;
        Ok(Archive {
            bytes,
            zip,
            inflater: Decompress::new(false),
        })
    }

    /// A file of at most so many bytes, unpacked in one go into this much room or more, which is faster than piece by piece. `None` where that
    /// is not the way: it is not there, larger, packed otherwise, or anything about it is not as the table of contents says; the stream tells
    /// what.
    fn in_one_go(&mut self, name: &str, most: u64, room: usize) -> Option<Vec<u8>> {
        let index = self.zip.index_for_name(name)?;
        let file = self.zip.by_index_raw(index).ok()?;
        let is_plain = file.compression() == CompressionMethod::Deflated && !file.encrypted();
        if !is_plain || file.size() > most {
            return None;
        }
        let packed = self
            .bytes
            .get(usize::try_from(file.data_start()?).ok()?..)?;
        let packed = packed.get(..usize::try_from(file.compressed_size()).ok()?)?;
        let size = usize::try_from(file.size()).ok()?;
        let mut whole = Vec::with_capacity(size.max(room));
        self.inflater.reset(false);
        let status = self
            .inflater
            .decompress_vec(packed, &mut whole, FlushDecompress::Finish);
        let is_whole = status.ok()? == Status::StreamEnd && crc32fast::hash(&whole) == file.crc32();
        is_whole.then_some(whole)
    }

    /// The name of the score: the one that `META-INF/container.xml` names first, or the only XML file there is.
    fn score_name(&mut self) -> Result<String, NotationError> {
        if let Some(contents) = self.contents()? {
            let mut xml = Xml::new(Slice::new(&contents));
            loop {
                match xml.next()? {
                    Next::Start(Name::RootFile) => {
                        let kind = xml.attribute("media-type");
                        let is_score = kind.is_none_or(|kind| kind.contains("musicxml"));
                        if let (Some(path), true) = (xml.attribute("full-path"), is_score) {
                            return Ok(path);
                        }
                    }
                    Next::Eof => break,
                    _ => {}
                }
            }
        }
        self.only_score()
    }

    /// What META-INF/container.xml holds, when it is there.
    fn contents(&mut self) -> Result<Option<Vec<u8>>, NotationError> {
        const NAME: &str = "META-INF/container.xml";
        if let Some(contents) = self.in_one_go(NAME, LARGEST_CONTENTS, 0) {
            return Ok(Some(contents));
        }
        let Ok(file) = self.zip.by_name(NAME) else {
            return Ok(None);
        };
        let mut contents = Vec::new();
        match file.take(LARGEST_CONTENTS).read_to_end(&mut contents) {
            Ok(_) => Ok(Some(contents)),
            Err(error) => Err(container(format!("{NAME} cannot be unpacked: {error}"))),
        }
    }

    /// The name of the only XML file there is.
    fn only_score(&self) -> Result<String, NotationError> {
        let scores: Vec<&str> = self
            .zip
            .file_names()
            .filter(|name| !name.starts_with("META-INF/") && !name.starts_with("__MACOSX/"))
            .filter(|name| {
                let extension = name.rsplit_once('.').map_or("", |(_, extension)| extension);
                extension.eq_ignore_ascii_case("xml") || extension.eq_ignore_ascii_case("musicxml")
            })
            .collect();
        match scores.as_slice() {
            [name] => Ok((*name).to_owned()),
            [] => Err(container(
                "there is no MusicXML score in the compressed file: it needs META-INF/container.xml with a rootfile, or one .musicxml file".to_owned(),
            )),
            _ => Err(container(
                "the compressed file holds several scores and no META-INF/container.xml that says which is meant".to_owned(),
            )),
        }
    }
}

/// A text in any encoding as UTF-8: by its byte order mark, by its first bytes, by its declaration; UTF-8 when nothing is said.
pub(super) fn decoded<'a>(
    mut stream: Box<dyn Read + 'a>,
) -> Result<Box<dyn Read + 'a>, NotationError> {
    let mut start = Vec::with_capacity(DECLARATION);
    let head = stream.by_ref().take(DECLARATION as u64);
    if let Err(error) = { head }.read_to_end(&mut start) {
        return Err(container(format!("the file cannot be read: {error}")));
    }
    let encoding = encoding(&start)?;
    let whole = Cursor::new(start).chain(stream);
    if encoding == UTF_8 {
        return Ok(Box::new(whole));
    }
    let decoder = DecodeReaderBytesBuilder::new()
        .encoding(Some(encoding))
        .bom_override(true)
        .build(whole);
    Ok(Box::new(decoder))
}

/// The encoding that the beginning of a file shows.
pub(super) fn encoding(start: &[u8]) -> Result<&'static Encoding, NotationError> {
    let quad = start.get(..4).unwrap_or_default();
    if [
        &[0xff, 0xfe, 0, 0],
        &[0, 0, 0xfe, 0xff],
        b"<\0\0\0",
        b"\0\0\0<",
    ]
    .iter()
    .any(|it| quad == *it)
    {
        return Err(NotationError::new(
            NotationErrorKind::Malformed,
            1,
            "this is UTF-32, which is not read; UTF-8 and UTF-16 are",
        ));
    }
    if let Some((encoding, _)) = Encoding::for_bom(start) {
        return Ok(encoding);
    }
    match start {
        [b'<', 0, ..] => return Ok(UTF_16LE),
        [0, b'<', ..] => return Ok(UTF_16BE),
        _ => {}
    }
    let head = start.get(..DECLARATION).unwrap_or(start);
    let head = String::from_utf8_lossy(head);
    let declared = head
        .split_once("?>")
        .filter(|(declaration, _)| declaration.starts_with("<?xml"))
        .and_then(|(declaration, _)| declaration.split_once("encoding"))
        .and_then(|(_, after)| after.split(['"', '\'']).nth(1));
    match declared {
        None => Ok(UTF_8),
        // A file that says UTF-16 in plain letters is not in it.
        Some(name) if name.to_ascii_lowercase().starts_with("utf-16") => Ok(UTF_8),
        Some(name) => Encoding::for_label(name.as_bytes()).ok_or_else(|| {
            NotationError::new(
                NotationErrorKind::Malformed,
                1,
                format!(
                    "`{}` is not an encoding that is read; UTF-8 and UTF-16 are",
                    shortened(name)
                ),
            )
        }),
    }
}

fn container(message: String) -> NotationError {
    NotationError::new(NotationErrorKind::Container, None, message)
}

fn too_large(name: &str) -> NotationError {
    let most = LARGEST_UNPACKED >> 20;
    NotationError::new(
        NotationErrorKind::TooLarge,
        None,
        format!("`{name}` unpacks to more than {most} MiB; that is no score"),
    )
}

/// Stops with an error, not silently, after so many bytes.
struct Limited<R> {
    source: R,
    left: u64,
}

impl<R: Read> Read for Limited<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let read = self.source.read(buffer)?;
        self.left = self
            .left
            .checked_sub(read as u64)
            .ok_or_else(|| std::io::Error::other(TooMuch(LARGEST_UNPACKED)))?;
        Ok(read)
    }
}
