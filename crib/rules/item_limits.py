"""Items that cannot exist are refused when they are entered, with the nearest that can.

A hard stop for the impossible, a check for the unlikely, "unknown" for what the rules need and
was not entered. An item with nothing to say about it gives an empty list.
"""

from __future__ import annotations

from crib.rules.collet_limits import collet_findings
from crib.rules.cutter_limits import cutter_findings
from crib.rules.finding import Finding
from crib.rules.holder_limits import holder_findings, nut_findings, stud_findings
from crib.rules.item_entries import (
    ColletEntry,
    CutterEntry,
    HolderEntry,
    NutEntry,
    SleeveEntry,
    StudEntry,
)
from crib.rules.sleeve_limits import sleeve_findings
from crib.rules.standards import ReferenceTables

_RULES = {
    ColletEntry: collet_findings,
    NutEntry: nut_findings,
    HolderEntry: holder_findings,
    CutterEntry: cutter_findings,
    StudEntry: stud_findings,
    SleeveEntry: sleeve_findings,
}

Entry = ColletEntry | NutEntry | HolderEntry | CutterEntry | StudEntry | SleeveEntry


def item_findings(entry: Entry, tables: ReferenceTables) -> list[Finding]:
    """What is impossible, unlikely or missing about an item as entered, by its kind.

    Source: each finding names its own.

    >>> [finding.code for finding in item_findings(ColletEntry(), ReferenceTables())]
    ['collet.series_not_known']
    """
    return _RULES[type(entry)](entry, tables)
