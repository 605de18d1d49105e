"""Which part raises the runout: the list to check on the bench, and one piece with its readings."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_safe

from assemblies.actions.reclock import reclocks_with_piece
from assemblies.actions.runout_parts import MOST_READINGS, RunoutByPart, runout_by_part
from assemblies.models import Assembly, Measurement
from assemblies.rules.runout_by_part.geometry import READINGS_FOR_A_WAY
from assemblies.rules.runout_by_part.parts import LEAST_BUILDS, LEAST_PARTNERS, PartSays, Word
from assemblies.rules.runout_by_part.plot import MOST_ROWS, part_plot
from assemblies.rules.runout_by_part.readings import LEFT_OUT, NEAR_UM
from crib.models import Piece
from crib.rules.keys import key_of
from crib.views.access import needs

#: What is said of a part, in the words of the page.
WORDS = {
    Word.LOOK: "Look at it on the bench",
    Word.NO_SIGN: "No sign of it",
    Word.NOT_ENOUGH: "Not enough data",
    Word.NOT_APART: "Cannot be told apart",
    Word.LOOSE: "Loose parts",
}
DIRECTION_WORDS = {
    "few": f"Not enough data: {READINGS_FOR_A_WAY} builds needed",
    "same_way": "One way: the holder itself, or the spindle",
    "any_way": "Every way: what was put in it",
    "between": "Neither one way nor every way",
}
KIND_WORDS = {
    "holder": "Holder",
    "collet": "Collet",
    "sleeve": "Reduction sleeve",
    "nut": "Nut",
    "cutter": "Cutter",
}


@dataclass(frozen=True)
class PartLine:
    """One part as the page shows it."""

    row: PartSays
    kind: str
    word: str
    piece: Piece | None
    assembly: Assembly | None
    away: bool

    @property
    def adds(self) -> str:
        return _with_error(self.row.adds_um, self.row.adds_error_um)

    @property
    def against(self) -> str:
        return _with_error(self.row.against_um, self.row.against_error_um)


def _with_error(value_um: float | None, error_um: float | None) -> str:
    """`+5.5 ± 1.6`; empty where nothing may be said."""
    return "" if value_um is None else f"{value_um:+.1f} ± {error_um:.1f}"


@dataclass(frozen=True)
class DirectionLine:
    """How far the high spots of one holder's builds stand at one place of its clock."""

    mark: str
    word: str
    together: str
    mean_um: int
    hour: int
    count: int


@dataclass(frozen=True)
class ReadingLine:
    """One reading of a build with the piece, and why it does not count, if it does not."""

    row: Measurement
    why_not: str


def _line(found: RunoutByPart, row: PartSays) -> PartLine:
    mark = row.part.name if row.part.marked else ""
    return PartLine(
        row=row,
        kind=KIND_WORDS[row.part.kind],
        word=WORDS[row.word],
        piece=found.pieces.get(mark),
        assembly=found.stands_in.get(mark),
        away=found.is_away(row),
    )


@needs("view")
@require_safe
def runout(request: HttpRequest) -> HttpResponse:
    found = runout_by_part()
    drawn = [row for row in found.study.rows if row.adds_um is not None]
    context = {
        "found": found,
        "mean_um": round(found.study.mean_um or 0),
        "apart": found.study.apart,
        "several_groups": len(found.study.groups) > 1,
        "directions": _directions(found),
        "look": [_line(found, row) for row in found.look],
        "lines": [_line(found, row) for row in found.study.rows],
        # Made by our own rule, which escapes what it is given.
        "plot": mark_safe(part_plot(drawn)),
        "not_drawn": max(len(drawn) - MOST_ROWS, 0),
        "near_um": NEAR_UM,
        "least_builds": LEAST_BUILDS,
        "least_partners": LEAST_PARTNERS,
        "most_readings": MOST_READINGS,
        "left_out": sum(count for _, count in found.chosen.counts),
        "may_build": request.user.may("assembly.build"),
    }
    return render(request, "assemblies/runout.html", context)


def _directions(found: RunoutByPart) -> list[DirectionLine]:
    return [
        DirectionLine(
            mark=mark,
            word=DIRECTION_WORDS[way.word_key],
            together=f"{way.together:.2f}",
            mean_um=round(way.mean.size_um),
            hour=way.mean.clock_hour,
            count=way.count,
        )
        for mark, way in found.directions.items()
    ]


@needs("view")
@require_safe
def runout_piece(request: HttpRequest, mark: str) -> HttpResponse:
    found = runout_by_part()
    piece = next((p for p in found.pieces.values() if p.mark_key == key_of(mark)), None)
    piece = piece or Piece.objects.select_related("item").filter(mark_key=key_of(mark)).first()
    if piece is None:
        raise Http404
    row = found.of_piece(piece.mark)
    context = {
        "piece": piece,
        "line": _line(found, row) if row else None,
        "readings": _readings(found, piece.mark),
        "tests": reclocks_with_piece(piece.mark_key),
        "may_build": request.user.may("assembly.build"),
        "assembly": found.stands_in.get(piece.mark),
    }
    return render(request, "assemblies/runout_piece.html", context)


def _readings(found: RunoutByPart, mark: str) -> list[ReadingLine]:
    """Every reading of the builds with a piece, newest first, those left out with the reason."""
    why = {out.key: LEFT_OUT[code] for out, code in found.chosen.left_out}
    builds = found.builds_with(mark)
    return [
        ReadingLine(row, why.get(key, ""))
        for key, row in reversed(found.keyed.items())
        if row.build_id in builds
    ]
