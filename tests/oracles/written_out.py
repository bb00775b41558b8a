"""Holds unrolled scores against their originals, both read by music21.

    written_out.py ORDERS UNROLLED [DATA]

ORDERS is what `cargo run --example order_of_scores` prints for the originals, UNROLLED the folder into which `cargo run --example unroll_scores`
wrote them. Each measure of each part must have the pitches, lengths, key, meter and clefs that the original has in the measure that is
played there. Scores that play every measure once, in order, are passed over.
No two may have one file name; `__` in a name stands for a folder, so that links to the scores of a package can have their paths for names. Writes what became of each score to DATA, where it is given: its path,
how many measures of its parts were compared, and `same`, `different` with the first place, or why they were not compared. Needs music21.
"""

import json
import multiprocessing
import sys
from collections import Counter
from pathlib import Path

from music21 import converter, stream


def measures(part):
    found = []
    clef = key = meter = None
    for measure in part.getElementsByClass(stream.Measure):
        clef = measure.clef.name if measure.clef else clef
        key = measure.keySignature.sharps if measure.keySignature else key
        meter = measure.timeSignature.ratioString if measure.timeSignature else meter
        notes = [
            (str(note.offset), str(note.quarterLength), " ".join(sorted(p.nameWithOctave for p in note.pitches)))
            for note in measure.recurse().notes
        ]
        found.append((clef, key, meter, sorted(notes)))
        inside = list(measure.recurse().getElementsByClass("Clef"))
        clef = inside[-1].name if inside else clef
    return found


def parts(path):
    return [measures(part) for part in converter.parse(path, format="musicxml", forceSource=True).parts]


def compared(case):
    """The path of a score, the measures of its parts that were compared, and what came of it."""
    path, target, steps = case
    try:
        before, after = parts(path), parts(target)
    except Exception:  # music21 does not read every score
        return path, 0, "not read by music21"
    wanted = [[part[step - 1] if step <= len(part) else None for step in steps] for part in before]
    if any(len(part) != len(before[0]) for part in before):
        return path, 0, "parts of several lengths"
    if wanted == after:
        return path, sum(map(len, after)), "same"
    for number, (a, b) in enumerate(zip(wanted, after)):
        at = next((i for i, pair in enumerate(zip(a, b)) if pair[0] != pair[1]), min(len(a), len(b)))
        if at < max(len(a), len(b)):
            return path, 0, f"different: part {number + 1} step {at + 1} {a[at : at + 1]} {b[at : at + 1]}"
    return path, 0, "different: other parts"


def played_again(orders, unrolled):
    for line in Path(orders).read_text(encoding="utf-8").splitlines():
        answer = json.loads(line)
        steps = [step for first, last in answer.get("order") or [] for step in range(first, last + 1)]
        path = Path(answer["file"])
        target = Path(unrolled) / f"{path.stem}-unrolled.musicxml"
        if steps != list(range(1, len(steps) + 1)) and target.exists():
            yield path, target, steps


def main(orders, unrolled, data=None):
    counts = Counter()
    rows = []
    with multiprocessing.Pool() as pool:
        for path, measures, verdict in pool.imap_unordered(compared, played_again(orders, unrolled)):
            counts[verdict.split(":")[0]] += 1
            counts["measures"] += measures
            name = path.name.replace("__", "/")
            rows.append(f"{name}\t{measures}\t{verdict}\n")
            if verdict.startswith("different"):
                print(path.name, verdict, flush=True)
    if data:
        head = "score\tmeasures of all parts\tagainst its original, both read by music21\n"
        Path(data).write_text(head + "".join(sorted(rows)), encoding="utf-8")
    print(dict(counts))
    return 1 if counts["different"] else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
