"""Asks every library for the order of every marked score of the music21 corpus, and records the answers as data.

    python corpus.py            all of it, about half an hour on one core
    python corpus.py --limit 50 of each format, to try
    python corpus.py --only NAME the scores of one file alone; all other records stay as they are

The peers' answers are kept in a folder outside the repository (ORACLES_CACHE) as they come, so that a run can be taken up again.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import sys
import tempfile
from pathlib import Path
from typing import Any, Callable

import music21

import child
import marked
import orders
import ours
import peer_abc2midi
import peer_abcjs
import peer_music21
import peer_partitura
import peer_verovio
import skeleton

HERE = Path(__file__).parent
CORPUS = Path(music21.__file__).parent / "corpus"
CACHE = Path(os.environ.get("ORACLES_CACHE", Path(tempfile.gettempdir()) / "oracles-cache"))


def main() -> None:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--limit", type=int)
    arguments.add_argument("--only", help="the path of the file in the corpus")
    asked = arguments.parse_args()
    CACHE.mkdir(parents=True, exist_ok=True)
    scores, tunes = list(marked.musicxml(CORPUS)), list(marked.abc(CORPUS))
    if asked.only:
        scores = [score for score in scores if score.path == asked.only]
        tunes = [tune for tune in tunes if tune.path == asked.only]
        if not scores + tunes:
            sys.exit(f"no marked score of the corpus stands in {asked.only}")
    scores, tunes = scores[: asked.limit], tunes[: asked.limit]
    print(f"{len(scores)} MusicXML scores, {len(tunes)} ABC tunes", file=sys.stderr)
    peers = {_key(score): of_musicxml(score) for score in _counted(scores)}
    peers |= {_key(tune): of_abc(tune) for tune in _counted(tunes)}
    for tune, answer in abcjs(tunes).items():
        peers[tune]["abcjs"] = answer
    rows = _with_ours(scores + tunes, peers)
    record(_in_place(rows) if asked.only else rows)


def _in_place(new: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """All records, those of a file that was asked again replaced where they stand."""
    with open(HERE / "data/corpus-files.tsv") as file:
        digests = {path: digest for digest, path in (line.rstrip("\n").split("\t") for line in file)}
    by_score = {(row["path"], row["tune"]): row for row in new}
    rows = []
    with open(HERE / "data/corpus.jsonl") as file:
        for line in file:
            row = json.loads(line)
            row["sha256"] = digests[row["path"]]
            rows.append(by_score.get((row["path"], row.get("tune")), row))
    return rows


def record(rows: list[dict[str, Any]]) -> None:
    """One line a score; the hashes of the files stand in a table of their own, since a tune book has many tunes."""
    files = {row["path"]: row["sha256"] for row in rows}
    with open(HERE / "data/corpus-files.tsv", "w") as out:
        out.writelines(f"{sha256}\t{path}\n" for path, sha256 in sorted(files.items()))
    with open(HERE / "data/corpus.jsonl", "w") as out:
        for row in rows:
            short = {key: value for key, value in row.items() if key != "sha256" and value is not None}
            out.write(json.dumps(short, separators=(",", ":"), sort_keys=True) + "\n")


def of_musicxml(score: marked.Score) -> dict[str, Any]:
    path = str(CORPUS / score.path)
    peers = {"music21": peer_music21, "partitura": peer_partitura, "verovio": peer_verovio}
    return _cached(score, lambda: {name: _asked(peer.of_musicxml, path) for name, peer in peers.items()})


def of_abc(tune: marked.Score) -> dict[str, Any]:
    return _cached(tune, lambda: _abc_peers(tune))


def _abc_peers(tune: marked.Score) -> dict[str, Any]:
    """music21 reads the tune; partitura and verovio the MusicXML that music21 makes of it; abc2midi its skeleton."""
    found = {"music21": _asked(peer_music21.of_abc, tune.text)}
    try:
        exported = child.call(peer_music21.abc_as_musicxml, tune.text)
        with tempfile.NamedTemporaryFile(suffix=".musicxml") as file:
            file.write(exported)
            file.flush()
            for name, peer in {"partitura": peer_partitura, "verovio": peer_verovio}.items():
                found[name] = _asked(peer.of_musicxml, file.name)
    except child.Failed as failed:
        found |= {name: {"failure": f"no MusicXML from music21: {failed}"[:120]} for name in ("partitura", "verovio")}
    try:
        bare = skeleton.of_tune(tune.text)
        found["abc2midi"] = _asked(lambda: (bare.measures, peer_abc2midi.of_skeleton(bare.text, bare.measures)))
    except skeleton.Unfit as unfit:
        found["abc2midi"] = {"failure": f"no skeleton: {unfit}"}
    return found


def _asked(function: Callable[..., Any], *arguments: Any) -> dict[str, Any]:
    try:
        written, order = child.call(function, *arguments)
    except child.Failed as failed:
        return {"failure": re.sub(r"/\S*/", "", str(failed))}
    answer: dict[str, Any] = {"written": written}
    if len(order) > orders.LONGEST:
        return answer | {"length": len(order)}
    return answer | {"order": orders.to_text(order)}


def abcjs(tunes: list[marked.Score]) -> dict[str, Any]:
    bare: dict[str, skeleton.Skeleton] = {}
    found: dict[str, Any] = {}
    for tune in tunes:
        try:
            bare[_key(tune)] = skeleton.of_tune(tune.text)
        except skeleton.Unfit as unfit:
            found[_key(tune)] = {"failure": f"no skeleton: {unfit}"}
    answers = peer_abcjs.orders([(one.text, one.measures) for one in bare.values()])
    for (key, one), answer in zip(bare.items(), answers):
        good = not isinstance(answer, str)
        found[key] = {"written": one.measures, "order": orders.to_text(answer)} if good else {"failure": answer}
    return found


def _with_ours(scores: list[marked.Score], peers: dict[str, Any]) -> list[dict[str, Any]]:
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        files = {_key(score): _file(score, Path(folder), number) for number, score in enumerate(scores)}
        answers = ours.answers(files.values())
    for score in scores:
        row = {"path": score.path, "tune": score.tune, "sha256": score.sha256, "peers": peers[_key(score)]}
        rows.append(row | _our_part(score, answers[files[_key(score)]][0]))
    return rows


def _file(score: marked.Score, folder: Path, number: int) -> str:
    """The name of a file that holds this score alone."""
    if score.tune is None:
        return str(CORPUS / score.path)
    file = folder / f"{number}.abc"
    file.write_text(score.text)
    return str(file)


def _our_part(score: marked.Score, answer: dict[str, Any]) -> dict[str, Any]:
    if "error" in answer:
        return {"failure": answer["error"], "line": answer.get("line")}
    part = {"board": ours.structure(answer["board"]), "notices": _brief(answer["notices"])}
    if "refused" in answer:
        errors = [finding for finding in answer["findings"] if finding["severity"] == "error"]
        return part | {"refused": answer["refused"], "findings": _brief(errors)}
    part["order"] = orders.to_text(orders.of_runs(answer["order"]))
    others = [
        {"order": orders.to_text(orders.of_runs(other["order"])), "readings": _fewest(other["readings"])}
        for other in answer["others"]
    ]
    part |= {"others": others} if others else {}
    if score.tune is not None and any(notice["rule"] == "parts-order" for notice in answer["notices"]):
        part |= _laid(score, answer["measures"])
    return part


def _laid(tune: marked.Score, measures: int) -> dict[str, str]:
    """Which written measures the board of a tune holds whose parts are put in order, where that can be told."""
    try:
        bare = skeleton.of_tune(tune.text)
    except skeleton.Unfit:
        return {}
    written = skeleton.laid_out(bare.order or "", bare.parts, bare.measures)
    return {"laid": orders.to_text(written)} if written and len(written) == measures else {}


def _fewest(readings: list[dict[str, str]]) -> dict[str, str]:
    """Of the readings that give a route the one that departs least from the default."""
    return min(readings, key=len)


def _brief(findings: list[dict[str, Any]]) -> list[str]:
    return [f"{finding['rule']} line {finding['line']}" for finding in findings]


def _key(score: marked.Score) -> str:
    return score.path if score.tune is None else f"{score.path}#{score.tune}"


def _cached(score: marked.Score, ask: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    file = CACHE / (re.sub(r"\W", "_", _key(score)) + ".json")
    if file.exists():
        return json.loads(file.read_text())
    answer = ask()
    file.write_text(json.dumps(answer))
    return answer


def _counted(scores: list[marked.Score]) -> Any:
    for number, score in enumerate(scores):
        if number % 50 == 0:
            print(f"{number} of {len(scores)}", file=sys.stderr)
        yield score


if __name__ == "__main__":
    main()
