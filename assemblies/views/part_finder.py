"""The part finder: which stacks can be built for a cutter, and starting one of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from urllib.parse import urlencode
from uuid import uuid4

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from assemblies.actions.approvals import machines_of
from assemblies.actions.part_finder import Question, find, named_cutter
from assemblies.actions.part_finder_cutters import cutters_named, cutters_wanted
from assemblies.actions.part_finder_start import start_found
from assemblies.actions.stack_facts import call_of
from assemblies.forms.part_finder import FinderForm, StartFoundForm
from assemblies.models import ToolRequirement
from assemblies.rules.finder.facts import Found, FoundStack, Same
from assemblies.views.assembly_page import folded
from crib.models import Item, Piece
from crib.rules.refusal import Refused
from crib.rules.units import show_mm
from crib.views.access import attempt, needs, tell

#: So many stacks stand on the page before the rest is asked for.
SHOWN_AT_FIRST = 8


@dataclass(frozen=True)
class Fetch:
    """One part to fetch: where, which, and which others would do as well."""

    place: str
    same: Same
    others: tuple[str, ...]


@dataclass(frozen=True)
class Card:
    """One stack as the page shows it. `fetch` is in the order of the places: one round."""

    number: int
    stack: FoundStack
    fetch: list[Fetch]
    findings: list
    agreed: list
    #: Marks and codes, one a line, as the start takes them.
    entries: str


@needs("view")
@require_safe
def part_finder(request: HttpRequest) -> HttpResponse:
    return _finder_page(request, request.GET)


def _finder_page(
    request: HttpRequest, asked: QueryDict, refusal: list[str] | None = None, status: int = 200
) -> HttpResponse:
    """The form with its answer. `refusal`: sentences that say why a stack was not started."""
    form = FinderForm(asked if asked else None)
    context = {"form": form, "refusal": refusal, "may_start": request.user.may("assembly.build")}
    if asked and form.is_valid():
        context |= _answer(form, show_all="all" in asked)
    context |= {
        "cutters": context.get("picks") or cutters_named(""),
        "asked": asked.urlencode(),
        "all_query": urlencode([*_plain(asked), ("all", "1")]),
        "submission": uuid4,
    }
    return render(request, "assemblies/part_finder.html", context, status=status)


def _plain(asked: QueryDict) -> list[tuple[str, str]]:
    return [(name, value) for name, value in asked.items() if name != "all"]


def _answer(form: FinderForm, show_all: bool) -> dict:
    """What the page says to a sound form: stacks, or cutters to pick from."""
    data, row = form.cleaned_data, form.cleaned_data["meant_for"]
    try:
        cutter, piece = named_cutter(data["cutter"])
    except Refused as refused:
        return _picks(form, row, refused)
    question = _question(data, cutter, piece)
    return {
        "question": question,
        "filled": _filled(data, question),
        **_shown(find(question), show_all),
    }


def _picks(form: FinderForm, row: ToolRequirement | None, refused: Refused) -> dict:
    """Cutters that the words, or the program, may mean; a refusal when there are none."""
    words = form.cleaned_data["cutter"]
    picks = cutters_wanted(row) if row and not words else cutters_named(words)
    if not picks and words:
        form.add_error("cutter", refused.sentence)
    others = {name: form.data.get(name, "") for name in form.fields if name != "cutter"}
    links = [(item, urlencode({**others, "cutter": item.code})) for item in picks]
    return {"picks": picks, "pick_links": links, "searched": words, "wanted_row": row}


def _question(data: dict, cutter: Item, piece: Piece | None) -> Question:
    """What was typed; where nothing was, what the program says."""
    question = Question(
        cutter=cutter,
        piece=piece,
        machine=data["machine"],
        stickout_um=data["stickout_um"],
        speed_rpm=data["speed_rpm"],
        meant_for=data["meant_for"],
    )
    row = question.meant_for
    if row is None:
        return question
    machines = machines_of(row.revision) if question.machine is None else []
    return replace(
        question,
        machine=machines[0] if len(machines) == 1 else question.machine,
        stickout_um=question.stickout_um or row.stickout_min_um,
    )


def _filled(data: dict, question: Question) -> list[str]:
    """What the program filled in, in words."""
    row, texts = question.meant_for, []
    if row is None:
        return texts
    if question.machine != data["machine"]:
        texts.append(f"machine {question.machine}")
    if data["stickout_um"] is None and question.stickout_um is not None:
        texts.append(f"stick-out {show_mm(question.stickout_um, 1)} mm")
    if data["speed_rpm"] is None:
        speed_rpm = call_of(row).speed_rpm
        texts.append("speed not named" if speed_rpm is None else f"speed {speed_rpm} 1/min")
    return texts


def _shown(found: Found, show_all: bool) -> dict:
    most = len(found.stacks) if show_all else SHOWN_AT_FIRST
    return {
        "found": found,
        "cards": [_card(n, stack) for n, stack in enumerate(found.stacks[:most], 1)],
        "left_out": max(0, len(found.stacks) - most),
    }


def _card(number: int, stack: FoundStack) -> Card:
    fetch = [
        Fetch(part.first.place, part, tuple(lot.mark for lot in part.lots[1:] if lot.mark))
        for part in stack.parts
    ]
    return Card(
        number=number,
        stack=stack,
        fetch=sorted(fetch, key=lambda line: line.place),
        **folded(list(stack.findings)),
        entries="\n".join(part.first.shown for part in stack.parts),
    )


@needs("assembly.build")
@require_POST
def start(request: HttpRequest) -> HttpResponse:
    """All parts of one stack into a new draft, and on to the bench."""
    form = StartFoundForm(request.POST)

    def act(data: dict):
        return start_found(
            by=request.user,
            submission=data["submission"],
            entries=data["parts"],
            meant_for=data["meant_for"],
        )

    done = attempt(form, act)
    if done is None:
        asked = QueryDict(request.POST.get("asked", "")[:2000])
        texts = [text for found in form.errors.values() for text in found]
        return _finder_page(request, asked, refusal=texts, status=422)
    tell(request, done, f"Assembly {done.result} is started with all its parts.{_proposed(form)}")
    return redirect("assemblies:bench", number=int(done.result))


def _proposed(form: StartFoundForm) -> str:
    """The lengths that the finder named; what counts is what is read at the bench."""
    lengths = {"stick-out": "stickout_um", "grip": "grip_um"}
    known = [
        f"{name} {show_mm(form.cleaned_data[field], 1)} mm"
        for name, field in lengths.items()
        if form.cleaned_data[field] is not None
    ]
    return f" Proposed: {', '.join(known)}." if known else ""
