"""Reads the order lists that encoders of kern files declare (`*>[A,A,B]`), with the repeats and endings of the file, and records both.

    python declared.py FOLDER-OF-KERNPY-SOURCE

Measures are the stretches between barlines, so that a repeat in the middle of a measure begins a new one. Labels such as B1 and B2 after B
are first and second endings. A return that the list makes and no sign of the file says is added as a D.C. or D.S. and said so, in `added`.
Sources: Humdrum's kern representation; the music21 corpus; the source package kernpy 1.9.3 (PyPI).
"""

from __future__ import annotations

import hashlib
import json
import re
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import music21

import orders

HERE = Path(__file__).parent
CORPUS = Path(music21.__file__).parent / "corpus"

ADDED = {
    "beethoven/opus18no1/movement3.krn": (
        [{"mark": "fine", "measure": 85}, {"mark": "da-capo", "measure": 145}],
        "the minuet comes back after the trio: common practice, no sign in the file",
    ),
    "test/resources/samples/harmonized-song-erk052.krn": (
        [{"mark": "segno", "measure": 5}, {"mark": "dal-segno", "measure": 53, "repeats": "play"}],
        "the list goes back to A with its repeat; the file has no sign for it",
    ),
    "test/resources/samples/corelli-op01n12d.krn": (
        [{"mark": "end-repeat", "measure": 62}],
        "the list repeats the whole; the file has no sign for it",
    ),
}
"""What is added to a board so that it says what its list says, and why."""

OUT = {
    "test/resources/categories/concerto-piano-12-allegro_without_barlines.krn": "the file has no barlines",
    "test/resources/samples/haydn-quartet-op54n2-01.krn": "the list names no endings, and the file has two",
}
"""Files whose list cannot be replayed, and why."""


@dataclass
class Read:
    measures: int = 0
    starts: set[int] = field(default_factory=set)
    ends: set[int] = field(default_factory=set)
    labels: dict[str, tuple[int, int]] = field(default_factory=dict)
    declared: list[str] = field(default_factory=list)


def read(text: str) -> Read:
    """The first spine of the file: its barlines, its labels, its list."""
    found = Read()
    open_label: str | None = None
    first = 1
    music = False
    for line in text.splitlines():
        token = line.split("\t")[0]
        if named := re.match(r"\*>\[(.*)\]", token):
            found.declared = named.group(1).split(",")
        elif (named := re.match(r"\*>([^\[]+)$", token)) and "[" not in token:
            if open_label:
                found.labels[open_label] = (first, found.measures)
            open_label, first = named.group(1), found.measures + 1
        elif token.startswith("="):
            music = False
            if re.search(r":[|!]", token):
                found.ends.add(found.measures)
            if re.search(r"[|!]:", token):
                found.starts.add(found.measures + 1)
        elif token and token[0] not in "*!" and not music:
            music = True
            found.measures += 1
    if open_label:
        found.labels[open_label] = (first, found.measures)
    return found


def board(file: Read) -> dict[str, Any]:
    marks: list[dict[str, Any]] = [{"mark": "start-repeat", "measure": m} for m in sorted(file.starts)]
    marks += [{"mark": "end-repeat", "measure": m} for m in sorted(file.ends) if m]
    for label, (first, last) in file.labels.items():
        if (number := re.search(r"(?<=\D)\d+$|^\d+(?=(?:st|nd|rd|th) ending)", label)) and first <= last:
            marks.append({"mark": "ending", "measures": [first, last], "passes": [int(number.group())]})
    return {"board": 1, "systems": [file.measures], "markings": marks}


def played(file: Read) -> list[int] | None:
    """None where a label of the list is nowhere in the file, or stands for nothing."""
    if not set(file.declared) <= set(file.labels):
        return None
    return [m for label in file.declared for m in range(file.labels[label][0], file.labels[label][1] + 1)]


def main() -> None:
    kernpy = Path(sys.argv[1])
    rows = []
    for package, folder in (("music21 10.5.1, corpus", CORPUS), ("kernpy 1.9.3, source package", kernpy)):
        for path in sorted(folder.rglob("*.krn")):
            data = path.read_bytes()
            file = read(data.decode("utf-8", errors="replace"))
            if not file.declared:
                continue
            order = played(file)
            name = str(path.relative_to(folder))
            row = {"package": package, "path": name, "declared": ",".join(file.declared)}
            row |= {"sha256": hashlib.sha256(data).hexdigest(), "board": board(file)}
            row |= {"order": orders.to_text(order)} if order else {"out": "the file holds but some of the labels"}
            if name in ADDED:
                marks, why = ADDED[name]
                row["board"]["markings"] += marks
                row["added"] = why
            if name in OUT:
                row["out"] = OUT[name]
            rows.append(row)
    with open(HERE / "data/declared.jsonl", "w") as out:
        for row in rows:
            out.write(json.dumps(row, separators=(",", ":"), sort_keys=True) + "\n")


if __name__ == "__main__":
    main()
