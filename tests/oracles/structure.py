"""What stands on a board, in one word, and the clause of the rulebook that says what it means: the groups of the report on agreement."""

from __future__ import annotations

from typing import Any

CLAUSES = {
    "order of parts (P:)": "ABC 2.1, section 3.1.9",
    "jump, read from printed words": "3.5, chapter 4",
    "jump and endings": "5.2",
    "jump and repeats": "5.2",
    "jump": "3.5, chapter 4",
    "signs inside a measure": "8.1",
    "plays other than twice": "2.9",
    "start sign in an open section": "2.12, 6.6",
    "start sign that nothing closes": "2.2",
    "a first ending and no second": "2.8",
    "endings, and end signs without a start": "2.4, 2.5, 6.5",
    "endings": "2.5 to 2.8",
    "two or more end signs without a start": "2.4, 6.5",
    "one end sign without a start": "2.4",
    "start and end signs": "3.2",
    "no sign that is obeyed": "3.1",
}
"""Each group with its clause; the first that fits a board is its group."""

JUMPS = {"da-capo", "dal-segno"}


def group(row: dict[str, Any]) -> str:
    marks = row.get("board", {}).get("markings", [])
    kinds = {mark["mark"] for mark in marks}
    notices = " ".join(row.get("notices", []))
    if "parts-order" in notices:
        return "order of parts (P:)"
    if kinds & JUMPS:
        if "words-read" in notices:
            return "jump, read from printed words"
        more = "endings" if "ending" in kinds else "repeats" if "end-repeat" in kinds else ""
        return f"jump and {more}" if more else "jump"
    if any("cut" in mark for mark in marks):
        return "signs inside a measure"
    if any(mark.get("plays", 2) != 2 for mark in marks):
        return "plays other than twice"
    open_start, nested, lone = _starts(marks)
    if nested:
        return "start sign in an open section"
    if open_start:
        return "start sign that nothing closes"
    if "ending" in kinds:
        passes = {number for mark in marks if mark["mark"] == "ending" for number in _numbers(mark["passes"])}
        if passes == {1}:
            return "a first ending and no second"
        return "endings, and end signs without a start" if lone > 1 else "endings"
    if "end-repeat" not in kinds:
        return "no sign that is obeyed"
    return ["start and end signs", "one end sign without a start", "two or more end signs without a start"][min(lone, 2)]


def _numbers(passes: list[Any]) -> list[int]:
    return [number for part in passes for number in (part if isinstance(part, list) else [part])]


def _starts(marks: list[dict[str, Any]]) -> tuple[bool, bool, int]:
    """Whether a start sign stays open, whether one stands in a section that another opened, how many end signs have no start sign."""
    order = {"end-repeat": 1, "start-repeat": 0}
    signs = sorted((m for m in marks if m["mark"] in order), key=lambda m: (m["measure"], order[m["mark"]]))
    depth = lone = 0
    nested = False
    endings = [mark["measures"] for mark in marks if mark["mark"] == "ending"]
    for sign in signs:
        if sign["mark"] == "start-repeat":
            nested |= depth > 0
            depth += 1
        elif any(first <= sign["measure"] <= last for first, last in endings) and _goes_on(sign, marks):
            continue
        elif depth:
            depth -= 1
        else:
            lone += 1
    return depth > 0, nested, lone


def _goes_on(sign: dict[str, Any], marks: list[dict[str, Any]]) -> bool:
    """Whether another ending of the same section follows this end sign, itself with an end sign."""
    following = [m["measures"] for m in marks if m["mark"] == "ending" and m["measures"][0] == sign["measure"] + 1]
    ends = {m["measure"] for m in marks if m["mark"] == "end-repeat"}
    return any(set(range(first, last + 1)) & ends for first, last in following)
