"""The set-up sheet as paper: judged by the live labels, in words ready for printing. Reads only.

On the page of the sheet every assembly is looked up by its number, because the room of the
assemblies knows no label. Here the label of each live build is known: its code is printed, and a
void one is a STOP on paper too. No assembly is a MATCH on paper either: its label has still to be
scanned.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.utils import timezone

from assemblies.actions.setup_sheet import Sheet, SheetTool, setup_sheet
from assemblies.actions.setup_sheet_candidates import Candidate
from assemblies.models import Build, Machine, ProgramRevision
from assemblies.rules.cautions import FOOTER, cautions_for
from assemblies.rules.offset_lines import ToolOffset, shown_offset, why_no_line
from assemblies.rules.verdict.facts import LabelFacts
from assemblies.rules.verdict.judge import Word
from crib.rules.units import show_mm
from labels.actions.resolve_code import label_facts
from labels.drawing.setup_sheet_paper import FetchPlace, SheetPaper, ToolBand
from labels.models import Label
from labels.rules.code import printed_code

_CAUTIONS = (
    "A match speaks of records at the time above. It is no interlock and no safeguard; scan every"
    " label at the spindle.",
    "Depths are program coordinates; times count feed moves only and are estimates.",
)


def setup_paper(
    revision: ProgramRevision,
    machine: Machine,
    *,
    address: str,
    address_note: str = "",
    demo: bool = False,
) -> SheetPaper:
    """Everything on the paper of one sheet; `address` is that of its page."""
    labels: dict[int, Label] = {}

    def labels_of(builds: Iterable[Build]) -> dict[int, LabelFacts]:
        labels.update(live_labels(builds))
        return {key: label_facts(row) for key, row in labels.items()}

    sheet = setup_sheet(revision, machine, labels_of)
    return SheetPaper(
        **_head(sheet),
        address=address,
        address_note=address_note,
        stamps=sheet.stamps,
        warnings=_warnings(sheet),
        fetch=tuple(_fetch(sheet)),
        tools=tuple(_band(tool, labels) for tool in sheet.tools),
        offsets=tuple(map(_offset_row, sheet.offsets)),
        cautions=(*_CAUTIONS, *(caution.text for caution in cautions_for("spindle"))),
        foot=f"{'DEMO: invented shop and figures. ' if demo else ''}{FOOTER}",
    )


def live_labels(builds: Iterable[Build]) -> dict[int, Label]:
    """The label of each build that has one, by the key of the build, in one query."""
    keys = [build.pk for build in builds]
    rows = Label.objects.filter(build__in=keys).select_related("build__assembly")
    return {row.build_id: row for row in rows}


def _head(sheet: Sheet) -> dict[str, str]:
    revision, machine = sheet.revision, sheet.machine
    return {
        "program": revision.program.name,
        "revision": revision.label,
        "title": revision.program.title,
        "machine": f"{machine.mark} · {machine.name}",
        "sha": revision.sha256[:12],
        "made_at": f"{timezone.localtime(sheet.made_at):%Y-%m-%d %H:%M}",
        "time": sheet.time_text,
        "order": sheet.order_text,
        "approval": f"{sheet.approval} on {machine.name}",
    }


def _warnings(sheet: Sheet) -> tuple[str, ...]:
    said = []
    if sheet.reading is None:
        said.append(
            f"Not read the way {sheet.machine.name} reads: order and figures are not known."
        )
    elif not sheet.is_read:
        said.append("There may be more tools, and figures may be more than what is printed.")
    if sheet.unclear_lines:
        lines = ", ".join(map(str, sheet.unclear_lines[:10]))
        said.append(f"Which tool is called is not known in line {lines}.")
    if sheet.machine.touches_off_every_load:
        said.append(f"{sheet.machine.name} touches off every load: lengths are for comparing only.")
    return tuple(said)


def _fetch(sheet: Sheet) -> Iterable[FetchPlace]:
    for group in sheet.fetch:
        lines = (
            f"{numbers}:  {name}{f', mark {mark}' if mark else ''}"
            for numbers, name, mark in group.lines
        )
        yield FetchPlace(place=group.place, lines=tuple(lines))


def _band(tool: SheetTool, labels: dict[int, Label]) -> ToolBand:
    number, words, one = f"T{tool.tool_number}", tool.words, tool.chosen
    told = {"number": number, "standing": tool.standing.words, "must_be": tool.must_be}
    told |= {"said": words.said, "figures": _figures(tool)}
    if one is None:
        return ToolBand(**told)
    return ToolBand(
        **told,
        assembly=one.name,
        holder_mark=one.rows.holder_mark,
        place=one.where.text,
        found=one.checked.verdict.identity_text,
        **_word(one),
        points=_points(one, labels.get(one.build.pk)),
        view=one.view,
    )


def _word(one: Candidate) -> dict[str, str]:
    """The word on paper. Paper is no scan, and an hour later it would still say MATCH."""
    if one.checked.verdict.word == Word.MATCH:
        return {"word": str(Word.CHECK), "word_key": "check"}
    return {"word": one.word, "word_key": one.checked.word_key}


def _figures(tool: SheetTool) -> tuple[tuple[str, str], ...]:
    words, offset = tool.words, tool.offset
    called = ", ".join(map(str, tool.lines[:4])) + (" …" if len(tool.lines) > 4 else "")
    figures = [
        ("S", words.speed),
        ("turns", words.turns),
        ("F", words.feed),
        ("deepest", words.depth),
        ("cutting", words.time),
        ("line", called or "not known"),
    ]
    if offset.assembly_number is not None:
        length, diameter = show_mm(offset.gauge_length_um, 1), show_mm(offset.diameter_um)
        figures = [("L gauge", length), ("D measured", diameter), *figures]
    return (*figures, *([("also", words.more)] if words.more else []))


def _points(one: Candidate, label: Label | None) -> tuple[str, ...]:
    """Why the word is what it is; two points at most, so that the label has its line too."""
    points = [point.text for point in one.reasons[:2]]
    if len(one.reasons) > len(points):
        points[-1] += f" +{len(one.reasons) - len(points)} more"
    if label is None:
        return (*points, "No label was printed for this revision.")
    if one.checked.verdict.word == Word.MATCH:
        points = ["Only its label is left to scan; nothing else is open."]
    return (*points, f"Label {printed_code(label.code)}: scan it at the spindle.")


def _offset_row(offset: ToolOffset) -> tuple[str, ...]:
    inches = offset.bought_in_inches
    touched = "touched off at the machine" if offset.touched_off else ""
    return (
        f"T{offset.tool_number}",
        offset.name if offset.assembly_number else "none",
        shown_offset(offset.gauge_length_um, inches),
        shown_offset(offset.diameter_um, inches),
        offset.measured_on.isoformat() if offset.measured_on else "–",
        why_no_line(offset) or touched or "–",
    )
