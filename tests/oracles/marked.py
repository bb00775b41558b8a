"""Finds the scores of a folder that carry signs of the road: by their raw text, before any library has read them."""

from __future__ import annotations

import hashlib
import io
import re
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Iterator

XML_SIGN = re.compile(
    r"<repeat\b|<ending\b|<segno\b|<coda\b"
    r"|<sound\b[^>]*\b(?:dacapo|dalsegno|segno|tocoda|coda|fine|forward-repeat)="
    r"|<words\b[^>]*>[^<]*(?:\bd\.\s?[cs]\.|da\s+capo|dal\s+segno|\bfine\b|\bcoda\b)",
    re.IGNORECASE,
)
ABC_SIGN = re.compile(
    r"\|:|:\||::|[|\[]\d|!(?:segno|coda|fine|D\.?[CS]\.?|dacapo|dacoda)[^!]*!"
    r"|\"[^\"]*(?:\bD\.?\s?[CS]\.|da\s+capo|dal\s+segno|\bfine\b|\bcoda\b|\bsegno\b)[^\"]*\"|^P:",
    re.IGNORECASE | re.MULTILINE,
)
UNREADABLE = {"_metadataCache"}


@dataclass(frozen=True)
class Score:
    """A score of the package: its path there, its number in a tune book, its text as it stands there."""

    path: str
    tune: int | None
    text: str
    sha256: str


def musicxml(folder: Path) -> Iterator[Score]:
    for file in sorted(folder.rglob("*")):
        if file.suffix not in {".xml", ".mxl", ".musicxml"} or file.parent.name in UNREADABLE:
            continue
        data = file.read_bytes()
        text = _xml_text(data)
        if XML_SIGN.search(text):
            yield Score(str(file.relative_to(folder)), None, text, hashlib.sha256(data).hexdigest())


def _xml_text(data: bytes) -> str:
    if data[:2] == b"PK":
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = [n for n in archive.namelist() if n.endswith((".xml", ".musicxml")) and not n.startswith("META-INF")]
            data = archive.read(names[0])
    encoding = "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8"
    return data.decode(encoding, errors="replace")


def abc(folder: Path) -> Iterator[Score]:
    """Tune by tune; the number counts the tunes of a book from 1, as they follow each other."""
    for file in sorted(folder.rglob("*.abc")):
        data = file.read_bytes()
        sha256 = hashlib.sha256(data).hexdigest()
        for number, tune in enumerate(tunes(data), 1):
            body = tune.partition("\nK:")[2]
            if ABC_SIGN.search(body) or re.search(r"^P:", tune, re.MULTILINE):
                yield Score(str(file.relative_to(folder)), number, tune, sha256)


def tunes(data: bytes) -> list[str]:
    """A tune begins with `X:` and ends at an empty line (ABC 2.1, section 2.2.1)."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    found: list[list[str]] = []
    inside = False
    for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n"):
        if line.startswith("X:"):
            found.append([])
            inside = True
        elif not line.strip():
            inside = False
        if inside:
            found[-1].append(line)
    return ["\n".join(lines) + "\n" for lines in found if any(line.startswith("K:") for line in lines)]
