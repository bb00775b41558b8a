"""The score sheet: every library and this project on the cases of sheet_cases.py; writes data/sheet.jsonl and prints the table.

    python sheet.py             the cases are written to a folder of their own, read by all, and thrown away
    python sheet.py --keep DIR  keeps the written tunes in DIR
"""

from __future__ import annotations

import argparse
import json
import tempfile
from pathlib import Path
from typing import Any

import child
import orders
import ours
import peer_abc2midi
import peer_abcjs
import peer_music21
import peer_partitura
import peer_verovio
import sheet_write
from sheet_cases import CASES, SOURCES

HERE = Path(__file__).parent
MUSICXML = {"music21": peer_music21, "partitura": peer_partitura, "verovio": peer_verovio}


def main() -> None:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--keep", type=Path)
    keep = arguments.parse_args().keep
    with tempfile.TemporaryDirectory() as folder:
        rows = asked(keep or Path(folder))
    with open(HERE / "data/sheet.jsonl", "w") as out:
        for row in rows:
            out.write(json.dumps(row, separators=(",", ":"), sort_keys=True) + "\n")
    keep_tunes()
    print(table(rows))


def keep_tunes() -> None:
    """The tunes as they were written, for the replay without Python: a tune book, and MusicXML by the number of the case."""
    with open(HERE / "data/sheet.abc", "w") as book, open(HERE / "data/sheet-musicxml.jsonl", "w") as scores:
        for number, case in enumerate(CASES, 1):
            if tune := sheet_write.abc(case.tune):
                book.write(tune.replace("X:1\n", f"X:{number}\n", 1) + "\n")
            if case.family != "size":
                row = {"case": number, "score": sheet_write.musicxml(case.tune).replace("\n", "")}
                scores.write(json.dumps(row) + "\n")


def asked(folder: Path) -> list[dict[str, Any]]:
    folder.mkdir(exist_ok=True)
    tunes = [sheet_write.abc(case.tune) for case in CASES]
    played = iter(peer_abcjs.orders([(tune, len(sheet_write.parsed(case.tune))) for case, tune in zip(CASES, tunes) if tune]))
    rows = []
    for number, (case, tune) in enumerate(zip(CASES, tunes), 1):
        xml = folder / f"{number:03}.musicxml"
        xml.write_text(sheet_write.musicxml(case.tune))
        wanted = orders.of_text(case.order)
        row: dict[str, Any] = case._asdict() | {"source": SOURCES[case.source], "order": orders.to_text(wanted)}
        row["musicxml"] = {name: _answer(lambda: child.call(peer.of_musicxml, str(xml))[1]) for name, peer in MUSICXML.items()}
        row["musicxml"]["fingerpost"] = _ours(str(xml))
        if tune:
            abc = folder / f"{number:03}.abc"
            abc.write_text(tune)
            row["abc"] = {"abcjs": _said(next(played)), "abc2midi": _answer(lambda: peer_abc2midi.of_skeleton(tune, len(sheet_write.parsed(case.tune))))}
            row["abc"]["fingerpost"] = _ours(str(abc))
        ours_of_xml = row["musicxml"]["fingerpost"]
        row["moves"] = ours_of_xml.pop("moves", [])
        row["board"] = ours_of_xml.pop("board", None)
        row.get("abc", {}).get("fingerpost", {}).pop("moves", None)
        row.get("abc", {}).get("fingerpost", {}).pop("board", None)
        rows.append(row)
    return rows


def _answer(ask: Any) -> dict[str, str]:
    try:
        return {"order": orders.to_text(ask())}
    except child.Failed as failed:
        return {"failure": str(failed)}
    except Exception as error:  # what a tool makes of a tune is recorded, whatever it is
        return {"failure": f"{type(error).__name__}: {error}"}


def _said(answer: list[int] | str) -> dict[str, str]:
    return {"failure": answer} if isinstance(answer, str) else {"order": orders.to_text(answer)}


def _ours(file: str) -> dict[str, Any]:
    answer = ours.answers([file])[file][0]
    if "order" not in answer:
        return {"failure": answer.get("error") or answer["refused"]}
    moves = [f"{m['from']}>{m['to']} {m['cause']}: {m['mark']}, line {m['line']}" for m in answer["moves"]]
    order = orders.to_text(orders.of_runs(answer["order"]))
    return {"order": order, "moves": moves, "board": ours.structure(answer["board"])}


def table(rows: list[dict[str, Any]]) -> str:
    """How many cases of each family a tool plays as practice does."""
    families = list(dict.fromkeys(case.family for case in CASES))
    lines = ["| tool | " + " | ".join(families) + " | all | no answer |", "|---" * (len(families) + 3) + "|"]
    for form, tools in (
        ("musicxml", ["fingerpost", "verovio", "partitura", "music21"]),
        ("abc", ["fingerpost", "abc2midi", "abcjs"]),
    ):
        for tool in tools:
            cells = [_cell(rows, form, tool, family) for family in families] + [_cell(rows, form, tool, None)]
            failed = sum("failure" in row[form][tool] for row in rows if form in row)
            name = {"musicxml": "MusicXML", "abc": "ABC"}[form]
            lines.append(f"| {tool}, {name} | " + " | ".join(cells) + f" | {failed} |")
    return "\n".join(lines)


def _cell(rows: list[dict[str, Any]], form: str, tool: str, family: str | None) -> str:
    mine = [row for row in rows if form in row and family in (None, row["family"])]
    good = sum(row[form][tool].get("order") == row["order"] for row in mine)
    return f"{good}/{len(mine)}" if mine else "-"


if __name__ == "__main__":
    main()
