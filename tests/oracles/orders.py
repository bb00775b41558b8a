"""Orders of measures, and the short way in which they are recorded: `1-8 1-16` plays 1 to 8, then 1 to 16."""

from __future__ import annotations

from typing import Iterable

LONGEST = 20_000
"""Longer orders are recorded by their length alone."""


def to_text(order: Iterable[int]) -> str:
    runs: list[list[int]] = []
    for measure in order:
        if runs and runs[-1][1] + 1 == measure:
            runs[-1][1] = measure
        else:
            runs.append([measure, measure])
    return " ".join(str(a) if a == b else f"{a}-{b}" for a, b in runs)


def of_text(text: str) -> list[int]:
    order: list[int] = []
    for run in text.split():
        first, _, last = run.partition("-")
        order.extend(range(int(first), int(last or first) + 1))
    return order


def of_runs(runs: Iterable[tuple[int, int]]) -> list[int]:
    return [measure for first, last in runs for measure in range(first, last + 1)]
