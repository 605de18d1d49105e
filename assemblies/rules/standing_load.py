"""Does what was checked when a tool was loaded still hold? Asked of every load that stands.

Source: shop setting (a check holds for 12 hours and for one program); that a rebuilt, quarantined
or unlabelled assembly is not run again before a new check is common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from crib.rules.finding import Finding, Level

#: A check older than this is asked for again. Source: shop setting.
CHECK_HOLDS_FOR = timedelta(hours=12)
_SCAN = "Scan it again before it runs."
_TAKE_OUT = "Take it out; nobody runs it like this."


@dataclass(frozen=True, kw_only=True)
class StandingLoad:
    """One load as recorded, and what happened to its assembly since.

    `other_program` is the program chosen at the machine now when that is another one, else "".
    `put_down_at` is the rack in which somebody said that it stands since, else "".
    """

    loaded_at: datetime
    number: int
    loaded_revision: str
    live: bool = True
    state: str = "released"
    state_note: str = ""
    label_void: bool = False
    loaded_for: str = ""
    other_program: str = ""
    put_down_at: str = ""


def load_findings(load: StandingLoad, now: datetime) -> list[Finding]:
    """What speaks against running the tool as it stands, worst first; nothing when nothing does.

    Source: shop setting and common practice, as at the head of this file.

    >>> at = datetime(2025, 6, 3, 6, 52)
    >>> standing = StandingLoad(loaded_at=at, number=1044, loaded_revision="r1")
    >>> [f.text for f in load_findings(standing, datetime(2025, 6, 3, 20, 0))]
    ['Checked 13 h ago.']
    >>> load_findings(standing, datetime(2025, 6, 3, 18, 52))
    []
    """
    found = [_changed(load), _label(load), _put_down(load), _program(load), _age(load, now)]
    return [finding for finding in found if finding is not None]


def _changed(load: StandingLoad) -> Finding | None:
    """The assembly is no longer what was checked."""
    if not load.live:
        text = f"Rebuilt since: {load.number} {load.loaded_revision} no longer counts."
        return Finding("load.rebuilt", Level.STOP_HARD, text, remedy=_TAKE_OUT)
    if load.state == "quarantined":
        why = f": {load.state_note}" if load.state_note else ""
        text = f"{load.number} is quarantined{why.rstrip('.')}."
        return Finding("load.quarantined", Level.STOP_HARD, text, remedy=_TAKE_OUT)
    if load.state != "released":
        text = f"{load.number} is not released."
        return Finding("load.not_released", Level.STOP_HARD, text, remedy=_TAKE_OUT)
    return None


def _label(load: StandingLoad) -> Finding | None:
    if not load.label_void:
        return None
    text = "Its label was made void since."
    return Finding("load.label_void", Level.STOP_HARD, text, remedy=_TAKE_OUT)


def _put_down(load: StandingLoad) -> Finding | None:
    if not load.put_down_at:
        return None
    text = f"Put down in {load.put_down_at} since."
    remedy = "Look; if it is not here, take it out of this list."
    return Finding("load.put_down", Level.CHECK, text, remedy=remedy)


def _program(load: StandingLoad) -> Finding | None:
    if not load.other_program:
        return None
    text = f"Checked for {load.loaded_for or 'no program'}. Now: {load.other_program}."
    return Finding("load.other_program", Level.CHECK, text, remedy=_SCAN)


def _age(load: StandingLoad, now: datetime) -> Finding | None:
    age = now - load.loaded_at
    if age <= CHECK_HOLDS_FOR:
        return None
    hours, days = int(age.total_seconds() // 3600), age.days
    said = f"{hours} h" if hours < 48 else f"{days} days"
    measured, limit = age.total_seconds() / 3600, CHECK_HOLDS_FOR.total_seconds() / 3600
    return Finding(
        "load.old",
        Level.CHECK,
        f"Checked {said} ago.",
        round(measured, 1),
        limit,
        "h",
        _SCAN,
        "shop setting",
    )
