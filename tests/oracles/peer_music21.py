"""The order that music21 gives: expandRepeats of the first part, with a number on each written measure."""

from __future__ import annotations

from music21 import converter, stream
from music21.musicxml.m21ToXml import GeneralObjectExporter


def load(data: str | bytes, form: str) -> stream.Part:
    """The first part; form is "musicxml" (then data is the name of a file) or "abc" (then it is the tune)."""
    if form == "musicxml":
        score = converter.parse(data, forceSource=True, storePickle=False)
    else:
        score = converter.parseData(data, format="abc")
    return score.parts[0] if score.hasPartLikeStreams() else score


def order(part: stream.Part) -> tuple[int, list[int]]:
    """How many measures are written, and the order of their numbers from 1."""
    written = list(part.getElementsByClass(stream.Measure))
    for number, measure in enumerate(written, 1):
        measure.editorial.written = number
    played = part.expandRepeats()
    return len(written), [m.editorial.written for m in played.getElementsByClass(stream.Measure)]


def of_musicxml(path: str) -> tuple[int, list[int]]:
    return order(load(path, "musicxml"))


def of_abc(tune: str) -> tuple[int, list[int]]:
    return order(load(tune, "abc"))


def abc_as_musicxml(tune: str) -> bytes:
    """The tune as music21 writes it in MusicXML, for the libraries that read no ABC."""
    return GeneralObjectExporter(converter.parseData(tune, format="abc")).parse()
