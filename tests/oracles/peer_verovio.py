"""The order that verovio gives: its time map with measures, under its own automatic expansion."""

from __future__ import annotations

import re

import verovio

MEASURE = re.compile(r'<measure\b[^>]*?xml:id="([^"]+)"')


def load(path: str) -> verovio.toolkit:
    verovio.enableLog(verovio.LOG_OFF)
    # The path of the fonts is kept for each thread.
    verovio.setDefaultResourcePath(f"{verovio.__path__[0]}/data")
    toolkit = verovio.toolkit()
    if not toolkit.loadFile(path):
        raise ValueError("the file was refused")
    return toolkit


def order(toolkit: verovio.toolkit) -> tuple[int, list[int]]:
    written = {name: number for number, name in enumerate(MEASURE.findall(toolkit.getMEI()), 1)}
    moments = toolkit.renderToTimemap({"includeMeasures": True})
    played = [re.sub(r"-rend\d+$", "", moment["measureOn"]) for moment in moments if "measureOn" in moment]
    return len(written), [written[name] for name in played]


def of_musicxml(path: str) -> tuple[int, list[int]]:
    return order(load(path))
