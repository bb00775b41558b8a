"""How long everybody takes from a file to the order of its measures, one after the other in one run; prints the table.

    python speed.py             every fourth marked MusicXML score of the music21 corpus

Each file is opened, read and unrolled several times by each, in a process that runs already and has loaded its libraries; each figure is the
median of the runs. The libraries are timed in CPU time, so that other work on the machine counts little. Ours is too short for that clock: it is
timed on the wall, where other work counts against it. music21's own cache of parsed files is not used.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import time
from typing import Any

import child
import corpus
import marked
import ours
import peer_music21
import peer_partitura
import peer_verovio

PEERS = {
    "music21": (lambda path: peer_music21.load(path, "musicxml"), peer_music21.order),
    "partitura": (peer_partitura.load, peer_partitura.order),
    "verovio": (peer_verovio.load, peer_verovio.order),
}


def main() -> None:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--every", type=int, default=4)
    arguments.add_argument("--times", type=int, default=3)
    asked = arguments.parse_args()
    paths = [str(corpus.CORPUS / score.path) for score in list(marked.musicxml(corpus.CORPUS))[:: asked.every]]
    print(f"load average {os.getloadavg()[0]:.1f} of {os.cpu_count()} cores; {len(paths)} files")
    took = {path: {name: measured(name, path, asked.times) for name in PEERS} for path in paths}
    ours.build()
    for path in paths:
        took[path]["fingerpost"] = our_time(path)
    print(table(took))
    print(f"load average at the end {os.getloadavg()[0]:.1f}")


def measured(name: str, path: str, times: int) -> tuple[float, float] | None:
    """Milliseconds from the file to the order, and for the unrolling alone; None where the library gives no order."""
    try:
        return child.call(_measure, name, path, times, seconds=60)
    except child.Failed:
        return None


def our_time(path: str, times: int = 200) -> tuple[float, float]:
    """The same for our program, which repeats both inside one process."""
    run = subprocess.run(
        [ours.PROGRAM, "--times", str(times)], input=path, text=True, capture_output=True, check=True
    )
    took = json.loads(run.stdout)["microseconds"]
    return took["file-to-order"] / 1e3, took["unrolling"] / 1e3


def _measure(name: str, path: str, times: int) -> tuple[float, float]:
    load, order = PEERS[name]
    whole, alone = [], []
    for _ in range(times):
        start = time.process_time()
        loaded = load(path)
        middle = time.process_time()
        order(loaded)
        end = time.process_time()
        whole.append((end - start) * 1e3)
        alone.append((end - middle) * 1e3)
    return statistics.median(whole), statistics.median(alone)


def table(took: dict[str, dict[str, Any]]) -> str:
    lines = [
        "| | files | file to order, median ms | ours is faster: median of the files | least | unrolling alone, median ms | ours is faster |",
        "|---|---|---|---|---|---|---|",
    ]
    for name in ["fingerpost", *PEERS]:
        there = [row for row in took.values() if row.get(name) and row.get("fingerpost")]
        cells = [f"{len(there)}", _median([row[name][0] for row in there])]
        ratios = [[row[name][at] / row["fingerpost"][at] for row in there] for at in (0, 1)]
        cells += [f"{_median(ratios[0])} times", f"{min(ratios[0]):.3g} times", _median([row[name][1] for row in there])]
        cells.append(f"{_median(ratios[1])} times")
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def _median(values: list[float]) -> str:
    return f"{statistics.median(values):.3g}"


if __name__ == "__main__":
    main()
