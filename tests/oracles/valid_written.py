"""Holds the scores that this project writes against the schema of MusicXML 4.0, and records the digests of the valid ones.

    WRITTEN=FOLDER cargo test --test musicxml_valid
    valid_written.py SCHEMA FOLDER

SCHEMA is that of `valid.py`. Writes `data/valid.tsv`, prints every complaint and how many scores are valid; needs lxml.
"""

import sys
from collections import Counter
from pathlib import Path

from valid import complaints, schema

DATA = Path(__file__).parent / "data" / "valid.tsv"


def digest(data):
    """FNV-1a, 64 bits."""
    found = 0xCBF29CE484222325
    for byte in data:
        found = (found ^ byte) * 0x100000001B3 % 2**64
    return f"{found:016x}"


def main(schema_file, folder):
    rules = schema(schema_file)
    counts = Counter()
    valid = []
    for path in sorted(Path(folder).iterdir()):
        found = complaints(rules, path)
        counts["with complaints" if found else "valid"] += 1
        for message in sorted(found):
            print(path.name, message)
        if not found:
            valid.append(digest(path.read_bytes()))
    head = "digest (FNV-1a, 64 bits) of a score that is valid by musicxml_4_0.xsd\n"
    DATA.write_text(head + "".join(f"{it}\n" for it in sorted(valid)), encoding="utf-8")
    print(dict(counts))
    return 1 if counts["with complaints"] else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
