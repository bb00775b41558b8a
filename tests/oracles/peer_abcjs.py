"""The order that abcjs plays the skeletons of tunes in (Node.js; `npm install` in the folder that NODE_PATH names)."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import skeleton

SCRIPT = Path(__file__).with_name("abcjs_orders.js")


def orders(tunes: list[tuple[str, int]], seconds: float = 600) -> list[list[int] | str]:
    """For each skeleton, with how many measures it has, the order, or why there is none."""
    run = subprocess.run(
        ["node", str(SCRIPT)], input=json.dumps([text for text, _ in tunes]), text=True, capture_output=True, timeout=seconds, check=True
    )
    return [_order(answer, written) for answer, (_, written) in zip(json.loads(run.stdout), tunes)]


def _order(answer: dict, written: int) -> list[int] | str:
    if "error" in answer:
        return answer["error"]
    try:
        return skeleton.measures(answer["pitches"], written)
    except skeleton.Unfit as unfit:
        return f"Unfit: {unfit}"
