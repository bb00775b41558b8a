"""Holds unrolled scores against the schema of MusicXML 4.0.

    valid.py SCHEMA ORIGINALS UNROLLED

SCHEMA is `musicxml_4_0.xsd` as the package `musicxml` 1.6.3 of PyPI carries it (W3C Community Final Specification Agreement). The two
schemas that it names by their addresses, for `xml:lang` and for links, are written here, since nothing is fetched. ORIGINALS is a folder of
scores, UNROLLED the folder into which `cargo run --example unroll_scores` wrote them. Prints every complaint that the original does not have
already, and how many scores are valid; needs lxml.
"""

import io
import sys
import tempfile
import zipfile
from collections import Counter
from pathlib import Path

from lxml import etree

ATTRIBUTES = {
    "xml": ("http://www.w3.org/XML/1998/namespace", ["lang", "space"]),
    "xlink": ("http://www.w3.org/1999/xlink", ["href", "type", "role", "title", "show", "actuate"]),
}


def schema(path):
    folder = Path(tempfile.mkdtemp())
    text = Path(path).read_text(encoding="utf-8")
    for name, (namespace, attributes) in ATTRIBUTES.items():
        lines = "".join(f'<xs:attribute name="{it}" type="xs:string"/>' for it in attributes)
        head = '<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"'
        (folder / f"{name}.xsd").write_text(f'{head} targetNamespace="{namespace}">{lines}</xs:schema>')
        text = text.replace(f"http://www.musicxml.org/xsd/{name}.xsd", f"{name}.xsd")
    (folder / "score.xsd").write_text(text, encoding="utf-8")
    return etree.XMLSchema(etree.parse(str(folder / "score.xsd")))


def parsed(path):
    data = path.read_bytes()
    if path.suffix == ".mxl":
        archive = zipfile.ZipFile(path)
        names = [n for n in archive.namelist() if not n.startswith("META") and n.endswith(("xml", "musicxml"))]
        data = archive.read(names[0])
    reader = etree.XMLParser(load_dtd=False, no_network=True, resolve_entities=False, huge_tree=True)
    return etree.parse(io.BytesIO(data), reader)


def complaints(rules, path):
    return set() if rules.validate(parsed(path)) else {error.message for error in rules.error_log}


def main(schema_file, originals, unrolled):
    rules = schema(schema_file)
    by_name = {path.stem: path for path in Path(originals).rglob("*") if path.suffix in (".mxl", ".xml", ".musicxml")}
    counts = Counter()
    for path in sorted(Path(unrolled).iterdir()):
        found = complaints(rules, path)
        if not found:
            counts["valid"] += 1
            continue
        new = found - complaints(rules, by_name[path.stem.removesuffix("-unrolled")])
        counts["new complaints" if new else "with the complaints of the original alone"] += 1
        for message in sorted(new):
            print(path.name, message)
    print(dict(counts))
    return 1 if counts["new complaints"] else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
