"""The order that partitura gives: the maximal unfolding of the first part, with a name on each written measure.

`ignore_leaps=False` is asked for: no repeats after a jump, which fits recorded performances better than the other setting.
"""

from __future__ import annotations

import warnings

import partitura
from partitura.score import Measure, Part, unfold_part_maximal

warnings.filterwarnings("ignore")


def load(path: str) -> Part:
    return partitura.load_musicxml(path).parts[0]


def order(part: Part) -> tuple[int, list[int]]:
    written = sorted(part.iter_all(Measure), key=lambda measure: measure.start.t)
    for number, measure in enumerate(written, 1):
        measure.name = f"written {number}"
    played = unfold_part_maximal(part, ignore_leaps=False)
    measures = sorted(played.iter_all(Measure), key=lambda measure: measure.start.t)
    return len(written), [int(measure.name.split()[1]) for measure in measures]


def of_musicxml(path: str) -> tuple[int, list[int]]:
    return order(load(path))
