"""Compares the recorded orders of the corpus; writes agreement.md.

Orders are compared where a library counted as many written measures as we did. "Agreed" are the scores on which at least two libraries can be
compared and all that can be give one order.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

import orders
import structure

HERE = Path(__file__).parent
PEERS = ["music21", "partitura", "verovio", "abcjs", "abc2midi"]
FORMATS = {"MusicXML": lambda row: "tune" not in row, "ABC": lambda row: "tune" in row}


def main() -> None:
    rows = [json.loads(line) for line in open(HERE / "data/corpus.jsonl")]
    judged = json.loads((HERE / "data/judged.json").read_text())
    parts = [(HERE / "agreement-head.md").read_text()]
    for form, belongs in FORMATS.items():
        parts.append(report(form, [row for row in rows if belongs(row)], judged))
    (HERE / "agreement.md").write_text("\n".join(parts))


def key(row: dict[str, Any]) -> str:
    return row["path"] if "tune" not in row else f"{row['path']}#{row['tune']}"


def our_order(row: dict[str, Any]) -> list[int] | None:
    """In written measures: a tune whose parts are put in order has each of them more than once on its board."""
    if "order" not in row:
        return None
    order = orders.of_text(row["order"])
    laid = orders.of_text(row["laid"]) if "laid" in row else None
    return [laid[measure - 1] for measure in order] if laid else order


def written(row: dict[str, Any]) -> int:
    return max(orders.of_text(row["laid"])) if "laid" in row else sum(row.get("board", {}).get("systems", [0]))


def comparable(row: dict[str, Any]) -> dict[str, str]:
    """The orders of the libraries that count as many measures as we do."""
    return {
        name: row["peers"][name]["order"]
        for name in PEERS
        if row["peers"].get(name, {}).get("written") == written(row) and "order" in row["peers"][name]
    }


def agreed(row: dict[str, Any]) -> str | None:
    """The one order of all libraries that can be compared."""
    found = comparable(row)
    return next(iter(found.values())) if len(found) > 1 and len(set(found.values())) == 1 else None


def ours_text(row: dict[str, Any]) -> str | None:
    order = our_order(row)
    return None if order is None else orders.to_text(order)


def report(form: str, rows: list[dict[str, Any]], judged: dict[str, Any]) -> str:
    lines = [f"## {form}: {len(rows)} scores", ""]
    ordered = [row for row in rows if "order" in row]
    refused = [row for row in rows if "refused" in row]
    unread = [row for row in rows if "failure" in row]
    lines.append(f"We give an order for {len(ordered)}, refuse {len(refused)} with findings that name a line, cannot read {len(unread)}.")
    lines += [f"- `{key(row)}`: {row['refused']} ({', '.join(row['findings'])})" for row in refused]
    lines += [f"- `{key(row)}`: {row['failure']}, line {row['line']}" for row in unread]
    lines += ["", *_by_peer(rows), "", *_agreement(rows, judged), "", *_by_structure(rows), ""]
    return "\n".join(lines)


def _by_peer(rows: list[dict[str, Any]]) -> list[str]:
    lines = ["| library | gives an order | none | over the same measures | equal to ours |", "|---|---|---|---|---|"]
    for name in PEERS:
        asked = [row for row in rows if name in row["peers"]]
        if not asked:
            continue
        gave = sum("failure" not in row["peers"][name] for row in asked)
        same = [row for row in asked if name in comparable(row) and "order" in row]
        equal = sum(comparable(row)[name] == ours_text(row) for row in same)
        lines.append(f"| {name} | {gave} | {len(asked) - gave} | {len(same)} | {equal} |")
    return lines


def _agreement(rows: list[dict[str, Any]], judged: dict[str, Any]) -> list[str]:
    one = [row for row in rows if agreed(row) is not None]
    read = [row for row in one if not structure.group(row).startswith("jump")]
    lines = [
        "All libraries that can be compared, two or more, give one order:",
        f"- on {_equal(one)}",
        f"- on {_equal(read)}, when the scores with a D.C. or D.S. are left out",
        "",
        "Where ours is another:",
        "",
    ]
    found: dict[str, list[str]] = defaultdict(list)
    for row in one:
        if agreed(row) != ours_text(row):
            found[why(row, judged)].append(key(row))
    for reason, names in sorted(found.items(), key=lambda item: -len(item[1])):
        shown = ", ".join(f"`{name}`" for name in names[:4]) + (", ..." if len(names) > 4 else "")
        lines.append(f"- {len(names)}: {reason} ({shown})")
    jumps = [row for row in one if row not in read and agreed(row) != ours_text(row) and ours_text(row)]
    begun = sum(_begins(orders.of_text(ours_text(row)), orders.of_text(agreed(row))) for row in jumps)
    return lines + ["", f"Of the {len(jumps)} scores among these with a D.C. or D.S., ours is on {begun} their order and then the return."]


def _begins(whole: list[int], start: list[int]) -> bool:
    return whole[: len(start)] == start


def _equal(rows: list[dict[str, Any]]) -> str:
    equal = sum(agreed(row) == ours_text(row) for row in rows)
    return f"{len(rows)} scores; ours is the same on {equal} of them: {100 * equal / max(1, len(rows)):.2f} %"


def why(row: dict[str, Any], judged: dict[str, Any]) -> str:
    """Why our order is another than the one that all libraries give."""
    if key(row) in judged:
        return judged[key(row)]
    if "tune" in row and structure.group(row).startswith("jump"):
        return "a D.C. or D.S. in an ABC tune, as a decoration or in words: no library obeys either (chapter 4; ABC 2.1, section 4.14)"
    return "not judged"


def _by_structure(rows: list[dict[str, Any]]) -> list[str]:
    """Where the libraries differ among themselves."""
    lines = ["Where they differ among themselves, by what stands in the score; each cell: equal to ours / can be compared.", ""]
    names = [name for name in PEERS if any(name in row["peers"] for row in rows)]
    lines.append("| structure | decided by | scores | libraries differ | " + " | ".join(names) + " |")
    lines.append("|---" * (4 + len(names)) + "|")
    groups: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        if "board" in row:
            groups[structure.group(row)].append(row)
    for name, clause in structure.CLAUSES.items():
        mine = groups.get(name, [])
        differ = [row for row in mine if len(set(comparable(row).values())) > 1]
        if not mine:
            continue
        cells = []
        for peer in names:
            there = [row for row in differ if peer in comparable(row)]
            cells.append(f"{sum(comparable(row)[peer] == ours_text(row) for row in there)}/{len(there)}")
        lines.append(f"| {name} | {clause} | {len(mine)} | {len(differ)} | " + " | ".join(cells) + " |")
    lines += ["", *_readings(rows)]
    return lines


def _readings(rows: list[dict[str, Any]]) -> list[str]:
    """Orders of libraries that one of our other readings gives."""
    found: Counter[tuple[str, str]] = Counter()
    for row in rows:
        for name, order in comparable(row).items():
            if order == ours_text(row):
                continue
            for other in row.get("others", []):
                if other["order"] == order:
                    found[name, ", ".join(f"{q}: {a}" for q, a in other["readings"].items())] += 1
    lines = ["Orders other than ours that another of our readings gives:", ""]
    return lines + [f"- {name}: {count} by `{reading}`" for (name, reading), count in found.most_common()]


if __name__ == "__main__":
    main()
