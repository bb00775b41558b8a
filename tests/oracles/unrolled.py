"""Holds scores that we wrote out in playing order against music21's own expansion: the same notes, part by part, measure by measure.

    python unrolled.py          every marked MusicXML score of the corpus on which music21 gives our order (data/corpus.jsonl)

Compared are the place in its measure, the length and the pitches of every note and chord. Writes data/unrolled.tsv and prints a summary.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from music21 import converter, stream

import child
import corpus
import ours

HERE = Path(__file__).parent
Measure = list[tuple[str, str, tuple[int, ...]]]


def main() -> None:
    rows = [json.loads(line) for line in open(HERE / "data/corpus.jsonl")]
    asked = [row for row in rows if "tune" not in row and row["peers"]["music21"].get("order") == row.get("order")]
    build = ["cargo", "build", "--quiet", "--release", "--example", "unroll_scores"]
    subprocess.run(build, cwd=ours.ROOT, check=True)
    found: dict[str, list[str]] = {}
    with open(HERE / "data/unrolled.tsv", "w") as out:
        for row in asked:
            result = compared(str(corpus.CORPUS / row["path"]))
            found.setdefault(result.split(":")[0], []).append(row["path"])
            out.write(f"{row['path']}\t{result}\n")
    print(f"{len(asked)} scores; " + ", ".join(f"{len(paths)} {result}" for result, paths in found.items()))


def compared(path: str) -> str:
    with tempfile.TemporaryDirectory() as folder:
        program = ours.TARGET / "release/examples/unroll_scores"
        written = subprocess.run([program, folder, path], capture_output=True, text=True, check=False)
        files = list(Path(folder).iterdir())
        if not files:
            return f"not written: {written.stderr.strip()[-100:]}"
        try:
            return child.call(_compare, path, str(files[0]), seconds=180)
        except child.Failed as failed:
            return f"music21 fails: {failed}"


def _compare(original: str, written: str) -> str:
    expanded = [part.expandRepeats() for part in parts(original)]
    unrolled = parts(written)
    if len(expanded) != len(unrolled):
        return f"other parts: {len(expanded)} and {len(unrolled)}"
    for number, (theirs, mine) in enumerate(zip(expanded, unrolled), 1):
        if difference := _difference(notes(theirs), notes(mine)):
            return f"other notes: part {number}, {difference}"
    return "equal"


def parts(path: str) -> list[Any]:
    score = converter.parse(path, forceSource=True, storePickle=False)
    return list(score.parts)


def notes(part: Any) -> list[Measure]:
    measures = []
    for measure in part.getElementsByClass(stream.Measure):
        found = [
            (str(note.getOffsetInHierarchy(measure)), str(note.duration.quarterLength), tuple(p.midi for p in note.pitches))
            for note in measure.recurse().notes
        ]
        measures.append(sorted(found))
    return measures


def _difference(theirs: list[Measure], mine: list[Measure]) -> str:
    if len(theirs) != len(mine):
        return f"{len(theirs)} measures and {len(mine)}"
    for number, (a, b) in enumerate(zip(theirs, mine), 1):
        if a != b:
            return f"played measure {number}: {a[:3]} and {b[:3]}"[:160]
    return ""


if __name__ == "__main__":
    sys.exit(main())
