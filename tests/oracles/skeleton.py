"""A tune reduced to its bars: every barline, ending, jump decoration and part stays, the music of a measure becomes two notes that number it.

So the pitches that a program plays say which measure it plays, whatever ornaments, ties or chords the tune has.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

TOKEN = re.compile(
    r"""
    (?P<words>"[^"]*")
  | (?P<deco>![^!\s|][^!|]*!)
  | (?P<field>\[[A-Za-z]:[^\]]*\])
  | (?P<bar>:*\|+\]?:*\]?|:{2,}|\[\|+:*\]?|\|\])
  | (?P<ending>\[\s*\d[\d,.\- ]*)
  | (?P<grace>\{[^}]*\})
  | (?P<multi>Z\d*)
  | (?P<chord>\[[^\]|:]*\])
  | (?P<note>[A-Ga-gxz])
  | (?P<other>.)
    """,
    re.VERBOSE,
)
BARLINE_ENDING = re.compile(r"\d[\d,.\-]*")
JUMP = re.compile(r"^!(segno|coda|fine|d\.?[cs]\.?|dacapo|dacoda)", re.IGNORECASE)
BASE, LOWEST = 36, 48
NAMES = ["=C", "^C", "=D", "^D", "=E", "=F", "^F", "=G", "^G", "=A", "^A", "=B"]


class Unfit(Exception):
    """The tune cannot be reduced."""


@dataclass
class Skeleton:
    text: str
    measures: int
    order: str | None = None
    parts: list[tuple[str, int]] = field(default_factory=list)
    """Each part with how many measures stand before it."""


def of_tune(tune: str) -> Skeleton:
    """The skeleton of the first voice of the tune."""
    return _Reduction().run(tune)


def measures(pitches: list[int], written: int) -> list[int]:
    """The measures, from 1, that these pitches number; `written` is how many there are."""
    if len(pitches) % 2:
        raise Unfit("an odd number of notes was played")
    pairs = zip(pitches[::2], pitches[1::2])
    order = [(high - LOWEST) * BASE + (low - LOWEST) + 1 for high, low in pairs]
    if not all(1 <= measure <= written for measure in order):
        raise Unfit("notes were played out of step")
    return order


def note(digit: int) -> str:
    """The note of the skeleton that stands for a digit."""
    pitch = LOWEST + digit
    name, octave = NAMES[pitch % 12], pitch // 12
    return name + "," * max(0, 5 - octave) + "'" * max(0, octave - 5)


def laid_out(order: str, parts: list[tuple[str, int]], measures: int) -> list[int] | None:
    """The written measures, from 1, of the parts in an order such as `A(BC)2` (ABC 2.1, section 3.1.9); None for another kind of order."""
    firsts: dict[str, tuple[int, int]] = {}
    ends = [before for _, before in parts[1:]] + [measures]
    for (name, before), end in zip(parts, ends):
        firsts.setdefault(name, (before + 1, end))
    text = re.sub(r"[.\s]", "", order)
    while re.search(r"[()\d]", text):
        shorter = re.sub(r"\(([A-Za-z]+)\)(\d*)|([A-Za-z])(\d+)", _times, text, count=1)
        if shorter == text:
            return None
        text = shorter
    if not set(text) <= set(firsts):
        return None
    return [measure for name in text for measure in range(firsts[name][0], firsts[name][1] + 1)]


def _times(found: re.Match) -> str:
    group, times, letter, number = found.groups()
    return group * int(times or 1) if group else letter * int(number)


class _Reduction:
    def __init__(self) -> None:
        self.out: list[str] = []
        self.count = 0
        self.in_measure = False
        self.voice: str | None = None
        self.present: str | None = None
        self.parts: list[tuple[str, int]] = []
        self.order: str | None = None

    def run(self, tune: str) -> Skeleton:
        in_body = False
        self.out = ["X:1", "T:skeleton", "M:none", "L:1/8"]
        for line in tune.splitlines():
            line = re.sub(r"(?<!\\)%.*", "", line)
            if re.match(r"[A-Za-z+]:(?![|:])", line):
                in_body = self.field(line[0], line[2:].strip(), in_body) or in_body
            elif in_body and line.strip():
                self.music(line)
        if self.count >= BASE * BASE:
            raise Unfit("too many measures")
        return Skeleton("\n".join(self.out) + "\n", self.count, self.order, self.parts)

    def field(self, letter: str, value: str, in_body: bool) -> bool:
        """Whether the body begins with this field."""
        if letter == "K" and not in_body:
            self.out.append("K:C")
            return True
        if letter == "P" and not in_body:
            self.order = value
            self.out.append(f"P:{value}")
        elif letter == "P":
            self.part(value)
            self.out.append(f"P:{value}")
        elif letter == "V" and in_body:
            self.present = (value.split() or [""])[0]
        return False

    def part(self, value: str) -> None:
        if value:
            self.parts.append((value[0], self.count))

    def music(self, line: str) -> None:
        if self.voice is not None and self.present != self.voice:
            return
        row: list[str] = []
        after_bar = False
        at = 0
        while at < len(line):
            if after_bar and (numbers := BARLINE_ENDING.match(line, at)):
                row.append(numbers.group())
                at, after_bar = numbers.end(), False
                continue
            token = TOKEN.match(line, at)
            at = token.end()
            after_bar = self.token(token.lastgroup, token.group(), row)
        if row:
            self.out.append("".join(row))

    def token(self, kind: str, text: str, row: list[str]) -> bool:
        """Adds what stays of a token; whether it is a barline."""
        if kind == "bar":
            row.append(text)
            self.in_measure = False
        elif kind == "ending":
            row.append(text.strip().rstrip(",."))
            row.append(" ")
            self.in_measure = False
        elif kind == "deco" and JUMP.match(text):
            row.append(text)
        elif kind == "field" and text[1] == "P":
            self.part(text[3:-1].strip())
            row.append(text)
        elif kind == "field" and text[1] == "V":
            raise Unfit("voices change within a line")
        elif kind == "multi":
            raise Unfit("a rest of several measures")
        elif kind in ("note", "chord") and not self.in_measure:
            self.voice = self.voice if self.voice is not None else self.present
            row.append(note(self.count // BASE) + note(self.count % BASE))
            self.count += 1
            self.in_measure = True
        return kind == "bar"
