"""Tools scanned for a changer and not recorded yet: a list kept with the signed-in session.

Nothing on it counts as loaded. It belongs to one machine and one program revision; with another
choice of either it is empty again.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from uuid import uuid4

from django.http import HttpRequest

from assemblies.models import Station

#: Where the session keeps it.
_KEY = "filling"


@dataclass(frozen=True)
class TrayLine:
    """One scanned tool that was a MATCH, and the pocket it goes to.

    `submission` is the one-time id of its record; `seen` is the verdict it was taken on.
    """

    number: int
    revision: int
    code: str
    holder_mark: str
    tool_number: int
    pocket: int
    seen: str
    scanned_at: str
    submission: str = field(default_factory=lambda: str(uuid4()))


@dataclass
class Tray:
    """The scanned tools of one machine and program, in the order of their pockets."""

    machine: int
    revision: int
    lines: list[TrayLine] = field(default_factory=list)
    skipped: list[int] = field(default_factory=list)

    def line_of(self, number: int) -> TrayLine | None:
        return next((line for line in self.lines if line.number == number), None)

    def line_of_tool(self, tool_number: int) -> TrayLine | None:
        return next((line for line in self.lines if line.tool_number == tool_number), None)

    @property
    def pockets(self) -> frozenset[int]:
        """Where its tools go."""
        return frozenset(line.pocket for line in self.lines)

    def put(self, line: TrayLine) -> None:
        """Add a line; an earlier one of the same assembly, as before a rebuild, gives way."""
        self.remove(line.number)
        self.lines = sorted([*self.lines, line], key=lambda each: each.pocket)

    def remove(self, number: int) -> None:
        self.lines = [line for line in self.lines if line.number != number]

    def next_pocket(self, free: list[int]) -> int | None:
        """The first of the free pockets that no line takes and nobody passed over."""
        taken = {line.pocket for line in self.lines} | set(self.skipped)
        return next((pocket for pocket in free if pocket not in taken), None)


def tray_of(request: HttpRequest, station: Station) -> Tray:
    """The list for what this screen is about; an empty one when it was about something else."""
    kept = request.session.get(_KEY) or {}
    about = (station.machine_id, station.revision_id)
    if (kept.get("machine"), kept.get("revision")) != about:
        return Tray(*about)
    lines = [TrayLine(**line) for line in kept["lines"]]
    return Tray(*about, lines, list(kept["skipped"]))


def keep_tray(request: HttpRequest, tray: Tray) -> None:
    request.session[_KEY] = asdict(tray)
