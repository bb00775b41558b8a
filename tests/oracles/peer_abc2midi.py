"""The order that abc2midi (Debian package abcmidi) plays the skeleton of a tune in, read from the MIDI file that it writes."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import skeleton


def of_skeleton(text: str, written: int) -> list[int]:
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder, "tune.abc"), Path(folder, "tune.mid")
        source.write_text(text)
        subprocess.run(
            ["abc2midi", str(source), "-silent", "-o", str(target)], capture_output=True, timeout=20, check=False
        )
        return skeleton.measures(pitches(target.read_bytes()), written)


def pitches(data: bytes) -> list[int]:
    """The pitches of all note-on events, track after track (Standard MIDI Files 1.0)."""
    found: list[int] = []
    at = 8 + int.from_bytes(data[4:8], "big")
    while at + 8 <= len(data):
        length = int.from_bytes(data[at + 4 : at + 8], "big")
        if data[at : at + 4] == b"MTrk":
            found.extend(_track(data[at + 8 : at + 8 + length]))
        at += 8 + length
    return found


def _track(data: bytes) -> list[int]:
    found: list[int] = []
    at = status = 0
    while at < len(data):
        _, at = _number(data, at)
        if data[at] & 0x80:
            status, at = data[at], at + 1
        if status == 0xFF or status in (0xF0, 0xF7):
            at += 1 if status == 0xFF else 0
            length, at = _number(data, at)
            at += length
            continue
        if status & 0xF0 == 0x90 and data[at + 1]:
            found.append(data[at])
        at += 1 if status & 0xF0 in (0xC0, 0xD0) else 2
    return found


def _number(data: bytes, at: int) -> tuple[int, int]:
    """A number of variable length, and where it ends."""
    value = 0
    while True:
        value = value << 7 | data[at] & 0x7F
        at += 1
        if not data[at - 1] & 0x80:
            return value, at
