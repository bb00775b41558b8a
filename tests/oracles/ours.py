"""The orders that this project gives: the program `examples/order_of_scores.rs`, built in release."""

from __future__ import annotations

import functools
import json
import os
import subprocess
from pathlib import Path
from typing import Any, Iterable

ROOT = Path(__file__).resolve().parents[2]
TARGET = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
PROGRAM = str(TARGET / "release/examples/order_of_scores")
NEVER_CHANGE_THE_ORDER = {"fermata", "octave", "only"}


@functools.cache
def build() -> None:
    subprocess.run(["cargo", "build", "--quiet", "--release", "--example", "order_of_scores"], cwd=ROOT, check=True)


def answers(files: Iterable[str], times: int = 0) -> dict[str, list[dict[str, Any]]]:
    """For each file what the program prints for its scores."""
    build()
    command = [PROGRAM] + (["--times", str(times)] if times else [])
    run = subprocess.run(command, input="\n".join(files), text=True, capture_output=True, check=True)
    found: dict[str, list[dict[str, Any]]] = {}
    for line in run.stdout.splitlines():
        answer = json.loads(line)
        found.setdefault(answer["file"], []).append(answer)
    return found


def structure(board: dict[str, Any]) -> dict[str, Any]:
    """A board without what tells of the piece: its signs, its length, and its meter where a sign cuts a measure."""
    signs = [mark for mark in board.get("markings", []) if mark["mark"] not in NEVER_CHANGE_THE_ORDER]
    kept = {"board": 1, "systems": [sum(board["systems"])], "markings": signs}
    if any("cut" in marking for marking in kept["markings"]):
        kept |= {key: board[key] for key in ("meter", "meters", "pickup") if key in board}
    return kept
