"""The living style page: every partial in every state, with invented samples."""

from __future__ import annotations

from dataclasses import dataclass, field

import django_tables2 as tables
from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from crib.rules.finding import Finding, Level

FINDINGS = [
    Finding(
        "sample.stop_hard",
        Level.STOP_HARD,
        "S16000. This cutter's limit is 12000 (4000 over).",
        16000,
        12000,
        "1/min",
        "The programmer lowers S; ask Odell.",
        "Marked on the cutter",
    ),
    Finding(
        "sample.stop_soft",
        Level.STOP_SOFT,
        "Ø 12.70 mm. Program wants 12.00 (0.70 bigger).",
        12.7,
        12.0,
        "mm",
        "Fetch assembly 1041, rack B3.",
        "Requirement of T5, confirmed by Odell",
    ),
    Finding(
        "sample.unknown",
        Level.UNKNOWN,
        "Gauge length not on record.",
        None,
        97.0,
        "mm",
        "Measure at the bench, or touch off at the machine.",
        "Shop setting",
    ),
    Finding(
        "sample.check",
        Level.CHECK,
        "Runout 0.028 mm. Limit 0.025 (0.003 over).",
        0.028,
        0.025,
        "mm",
        "Clean, turn the collet, measure again.",
        "Shop setting, by cutting diameter",
    ),
    Finding(
        "sample.note",
        Level.NOTE,
        "Not the next tool in the program's order.",
        source="Order of tool calls in the program",
    ),
    Finding(
        "sample.pass",
        Level.PASS,
        "Collet 7–6 holds the 6.00 mm shank.",
        6.0,
        7.0,
        "mm",
        "",
        "ISO 15488 clamping range",
    ),
]


@dataclass(frozen=True)
class SampleVerdict:
    """What `_verdict.html` reads, with invented values."""

    word: str
    word_key: str
    reasons: list[Finding] = field(default_factory=list)
    more: list[Finding] = field(default_factory=list)
    tool_number: int | None = 5
    tool_label: str = "T5 in HM-0377 B"
    assembly_label: str = "1044 r1"
    holder_mark: str = "H-07"
    place_text: str = ""
    machine_name: str = "Router 1"
    checked_at: object = None


VERDICTS = [
    SampleVerdict("MATCH", "match"),
    SampleVerdict("CHECK", "check", FINDINGS[3:4], FINDINGS[4:]),
    SampleVerdict(
        "STOP",
        "stop",
        [FINDINGS[1], FINDINGS[0], FINDINGS[2]],
        FINDINGS[3:],
        place_text="Right one: 1041 · rack B3",
    ),
    SampleVerdict("CAN'T TELL", "cant_tell", FINDINGS[2:3], FINDINGS[4:]),
]

STATES = ["draft", "built", "released", "quarantined", "retired"]


class SampleTable(tables.Table):
    """Three invented assemblies."""

    number = tables.TemplateColumn(
        '<span class="tag">{{ record.number }}</span>', verbose_name="Assembly"
    )
    cutter = tables.Column()
    stickout = tables.Column(
        verbose_name="Stick-out mm", attrs={"th": {"class": "number"}, "td": {"class": "number"}}
    )
    place = tables.Column()
    state = tables.TemplateColumn(
        '<span class="badge state-{{ record.state }}">{{ record.state|capfirst }}</span>'
    )

    class Meta:
        template_name = "_table.html"
        empty_text = "No assemblies yet."


class EmptyTable(SampleTable):
    """The same without a line, saying what to do next."""

    empty_hint = "The first one is started at the bench: cutter, collet, stick-out."
    empty_url = "#main"
    empty_label = "Start an assembly"

    class Meta(SampleTable.Meta):
        pass


ROWS = [
    {
        "number": 1041,
        "cutter": "End mill, up-cut, Ø 12.00",
        "stickout": "45.0",
        "place": "Rack B3",
        "state": "released",
    },
    {
        "number": 1042,
        "cutter": "End mill, up-cut, Ø 12.70 = 1/2 in",
        "stickout": "48.0",
        "place": "Rack B4",
        "state": "quarantined",
    },
    {
        "number": 1046,
        "cutter": "Surfacing cutter, Ø 63.00",
        "stickout": "20.5",
        "place": "Bench",
        "state": "built",
    },
]


class SampleForm(forms.Form):
    """One field of each shape."""

    shank = forms.CharField(label="Shank diameter", help_text="As 12.7, 12.7 mm or 1/2 in.")
    grip = forms.CharField(label="Grip length", required=False)
    holder = forms.ChoiceField(choices=[("", "pick one"), ("7", "H-07 · ISO 30 · ER25")])
    wrench = forms.ChoiceField(
        label="Tightened with",
        choices=[("w", "Torque wrench W-1"), ("h", "By hand spanner")],
        widget=forms.RadioSelect,
    )
    clean = forms.BooleanField(label="Collet, seat and thread wiped clean")
    remark = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}), required=False)

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        for name in ("shank", "grip"):
            self.fields[name].unit = "mm"


def style_page(request: HttpRequest) -> HttpResponse:
    """Show every partial in every state."""
    context = {
        "findings": FINDINGS,
        "verdicts": VERDICTS,
        "states": STATES,
        "full_table": SampleTable(ROWS, request=request, prefix="full-"),
        "empty_table": EmptyTable([], request=request, prefix="empty-"),
        "form": SampleForm(prefix="plain"),
        "bad_form": SampleForm({"bad-shank": "twelve"}, prefix="bad"),
        "tool_numbers": [12, 345, 678, 90],
    }
    return render(request, "crib/style.html", context)
