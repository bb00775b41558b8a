"""Writes the tunes of the score sheet as MusicXML 4.0 and, where it can say them, as ABC 2.1. Every measure has a pitch of its own."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import skeleton

JUMPS = {
    "DC": ("D.C.", 'dacapo="yes"'),
    "DCF": ("D.C. al Fine", 'dacapo="yes"'),
    "DCC": ("D.C. al Coda", 'dacapo="yes"'),
    "DS": ("D.S.", 'dalsegno="{}"'),
    "DSF": ("D.S. al Fine", 'dalsegno="{}"'),
    "DSC": ("D.S. al Coda", 'dalsegno="{}"'),
    "Fine": ("Fine", 'fine="yes"'),
    "ToCoda": ("To Coda", 'tocoda="{}"'),
}
DIVISIONS = {"": 16, "p": 4, "h": 8}
STEPS = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"]


@dataclass
class Measure:
    kind: str = ""
    before: list[str] = field(default_factory=list)
    after: list[str] = field(default_factory=list)
    opens: str = ""
    """The numbers of a bracket that begins here."""
    closes: str = ""
    """The numbers of a bracket that ends here."""


def parsed(tune: str) -> list[Measure]:
    measures: list[Measure] = []
    waiting: list[str] = []
    bracket = ""
    for token in tune.split():
        if token.isdigit() or token in ("p", "h"):
            for _ in range(int(token) if token.isdigit() else 1):
                measures.append(Measure("" if token.isdigit() else token, waiting))
                waiting = []
            opened = [t for t in measures[-1].before if t.startswith("[")]
            if token.isdigit() and int(token) > 1:
                opened += [t for t in measures[-int(token)].before if t.startswith("[")]
            for mark in opened:
                bracket = mark[1:]
                measures[-int(token) if token.isdigit() else -1].opens = bracket
        elif token == "|:" or token == "fr" or re.match(r"segno|coda|\[", token):
            waiting.append(token)
        else:
            if bracket and (token == "]" or token.startswith(":|")):
                measures[-1].closes, bracket = bracket, ""
            measures[-1].after.append(token)
    return measures


def musicxml(tune: str) -> str:
    rows = ['<?xml version="1.0" encoding="UTF-8"?>', '<score-partwise version="4.0">']
    rows.append('<part-list><score-part id="P1"><part-name>Stile</part-name></score-part></part-list><part id="P1">')
    number = 0
    for at, measure in enumerate(parsed(tune)):
        first_is_pickup = at == 0 and measure.kind == "p"
        number += not first_is_pickup
        implicit = ' implicit="yes"' if measure.kind else ""
        rows.append(f'<measure number="{number}"{implicit}>')
        rows.append(_left(measure))
        if at == 0:
            clef = "<clef><sign>G</sign><line>2</line></clef>"
            rows.append(f"<attributes><divisions>4</divisions><time><beats>4</beats><beat-type>4</beat-type></time>{clef}</attributes>")
        rows += [_landing(token) for token in measure.before]
        rows.append(_note(at, DIVISIONS[measure.kind]))
        rows += [_leaving(token) for token in measure.after]
        rows.append(_right(measure))
        rows.append("</measure>")
    return "\n".join(row for row in rows if row) + "\n</part></score-partwise>\n"


def _left(measure: Measure) -> str:
    inside = f'<ending number="{measure.opens}" type="start"/>' if measure.opens else ""
    inside += '<repeat direction="forward"/>' if "|:" in measure.before else ""
    return f'<barline location="left">{inside}</barline>' if inside else ""


def _right(measure: Measure) -> str:
    ends = [token for token in measure.after if token.startswith(":|")]
    inside = "<bar-style>light-light</bar-style>" if "||" in measure.after else ""
    if measure.closes:
        kind = "stop" if ends else "discontinue"
        inside += f'<ending number="{measure.closes}" type="{kind}"/>'
    if ends:
        more = {"+": ' after-jump="yes"', "-": ' after-jump="no"'}.get(ends[0][2:], "")
        more += f' times="{ends[0][3:]}"' if ends[0][2:3] == "x" else ""
        inside += f'<repeat direction="backward"{more}/>'
    return f'<barline location="right">{inside}</barline>' if inside else ""


def _landing(token: str) -> str:
    if token == "fr":
        return '<sound forward-repeat="yes"/>'
    found = re.match(r"(segno|coda)(?::(\w))?(/[ws])?$", token)
    if not found:
        return ""
    sign, label, only = found.groups()
    return _direction(f"<{sign}/>", f'{sign}="{label or sign}"', only)


def _leaving(token: str) -> str:
    found = re.match(r"(\w+)(?::(\w))?(/[ws])?$", token)
    if not found or found.group(1) not in JUMPS:
        return ""
    name, label, only = found.groups()
    words, sound = JUMPS[name]
    target = label or ("coda" if name == "ToCoda" else "segno")
    return _direction(f"<words>{words}</words>", sound.format(target), only)


def _direction(shown: str, sound: str, only: str | None) -> str:
    if only == "/s":
        return f"<sound {sound}/>"
    heard = "" if only == "/w" else f"<sound {sound}/>"
    return f'<direction placement="above"><direction-type>{shown}</direction-type>{heard}</direction>'


def _note(at: int, divisions: int) -> str:
    step = STEPS[at % 12]
    alter = "<alter>1</alter>" if step.endswith("#") else ""
    kind = {16: "whole", 8: "half", 4: "quarter"}[divisions]
    pitch = f"<pitch><step>{step[0]}</step>{alter}<octave>{2 + at // 12 % 6}</octave></pitch>"
    return f"<note>{pitch}<duration>{divisions}</duration><voice>1</voice><type>{kind}</type></note>"


def abc(tune: str) -> str | None:
    """None where ABC 2.1 has no way to say it: al Coda, names, numbers of plays above three, after-jump, what is not printed."""
    if re.search(r"oda|/[ws]|segno:|DSF?:|fr\b|:\|[+\-]|x(?![23]\b)", tune):
        return None
    measures = parsed(tune)
    rows = ["X:1", "T:Over the Stile", "M:4/4", "L:1/8", "K:C"]
    body = ""
    for at, measure in enumerate(measures):
        ended = [token for token in (measures[at - 1].after if at else []) if token.startswith(":|") or token == "||"]
        closed = bool(at and measures[at - 1].closes) and not measure.opens and "|:" not in measure.before and not ended
        # `||` ends a bracket (4.9).
        line = {":|": ":|", ":|x2": ":|", ":|x3": "::|", "||": "||"}[ended[0]] if ended else ("||" if closed else "|" if at else "")
        if "|:" in measure.before:
            start = "|::" if _end_after(measures[at:]) == ":|x3" else "|:"
            line = line + start if ended else start
        body += line + (f"[{measure.opens} " if measure.opens else "")
        body += "!segno!" if "segno" in measure.before else ""
        length = {"": "4", "p": "", "h": "2"}[measure.kind]
        notes = [skeleton.note(at // skeleton.BASE), skeleton.note(at % skeleton.BASE)]
        jump = "".join(f"!{m[:1]}.{m[1:2]}.!" if m[0] == "D" else "!fine!" for m in measure.after if m[0] in "DF")
        body += notes[0] + length + jump + notes[1] + length
        if at % 8 == 7:
            body += "\n"
    ended = [token for token in measures[-1].after if token.startswith(":|")]
    body += {":|": ":|", ":|x2": ":|", ":|x3": "::|"}[ended[0]] if ended else "|]"
    return "\n".join(rows) + "\n" + body + "\n"


def _end_after(measures: list[Measure]) -> str:
    """The next end repeat."""
    return next((token for measure in measures for token in measure.after if token.startswith(":|")), "")
