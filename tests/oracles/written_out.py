"""Holds unrolled scores against their originals, both read by music21.

    written_out.py ORDERS UNROLLED

ORDERS is what `cargo run --example order_of_scores` prints for the originals, UNROLLED the folder into which `cargo run --example unroll_scores`
wrote them. Each measure of each part must have the pitches, lengths, key, meter and clefs that the original has in the measure that is
played there. Scores that play every measure once, in order, are passed over; where
several have one file name, only one of them must be among the originals. Needs music21.
"""

import json
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


def main(orders, unrolled):
    counts = Counter()
    for line in Path(orders).read_text(encoding="utf-8").splitlines():
        answer = json.loads(line)
        order = answer.get("order")
        if not order:
            continue
        steps = []
        for first, last in order:
            steps.extend(range(first, last + 1))
        path = Path(answer["file"])
        target = Path(unrolled) / f"{path.stem}-unrolled.musicxml"
        if steps == list(range(1, len(steps) + 1)) or not target.exists():
            continue
        try:
            before, after = parts(path), parts(target)
        except Exception as error:  # music21 does not read every score
            counts["not read by music21"] += 1
            continue
        wanted = [[part[step - 1] if step <= len(part) else None for step in steps] for part in before]
        if any(len(part) != len(before[0]) for part in before):
            counts["parts of several lengths"] += 1
        elif wanted == after:
            counts["same"] += 1
            counts["measures"] += sum(map(len, after))
        else:
            counts["different"] += 1
            for number, (a, b) in enumerate(zip(wanted, after)):
                at = next((i for i, pair in enumerate(zip(a, b)) if pair[0] != pair[1]), min(len(a), len(b)))
                if at < max(len(a), len(b)):
                    print(path.name, "part", number + 1, "step", at + 1, a[at : at + 1], b[at : at + 1])
                    break
    print(dict(counts))
    return 1 if counts["different"] else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
