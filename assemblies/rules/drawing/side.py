"""The side view of one assembly: what is known as solid outlines, what is not known as dashes.

Lengths are whole micrometres; y counts downwards from the gauge line, x from the axis to the
right. What shows a form and no size is drawn thin, and the description says so.

Source: geometry; kinds of line after ISO 128, from memory.
"""

from __future__ import annotations

from collections.abc import Iterable

from assemblies.rules.drawing.cutter import SOME_STICKOUT_UM, cutter_traces
from assemblies.rules.drawing.dimensions import (
    callouts,
    description,
    figures,
    further_measures,
    main_measures,
    missing,
)
from assemblies.rules.drawing.holder import nose_traces
from assemblies.rules.drawing.inside import inside_traces, mount_traces
from assemblies.rules.drawing.model import (
    Callout,
    Figure,
    Measure,
    NutForm,
    Point,
    SideFacts,
    SideView,
    Stroke,
    TaperForm,
    Trace,
)
from assemblies.rules.drawing.taper import flange_bottom_um, taper_traces

__all__ = [
    "Callout",
    "Figure",
    "Measure",
    "NutForm",
    "Point",
    "SideFacts",
    "SideView",
    "Stroke",
    "TaperForm",
    "Trace",
    "side_view",
]

#: Stands in for a holder's length that nobody recorded [um], so that there is something to dash.
_SOME_HOLDER_UM = 50_000


def side_view(facts: SideFacts) -> SideView:
    """The side view of what is known.

    Source: geometry; measured lengths go before the holder's record.

    >>> view = side_view(SideFacts(holder_um=50_000, stickout_um=45_000, gauge_length_um=95_000))
    >>> view.length.text, view.stickout.text, view.diameter.text
    ('gauge length 95.0 (95.0)', 'stick-out 45.0', 'Ø not known')
    """
    face_um = _SOME_HOLDER_UM if facts.face_um is None else facts.face_um
    tip_um = face_um + SOME_STICKOUT_UM if facts.tip_um is None else facts.tip_um
    tip_um = max(tip_um, face_um)
    traces = (
        *taper_traces(facts, face_um),
        *nose_traces(facts, flange_bottom_um(facts, face_um), face_um),
        *inside_traces(facts, face_um),
        *cutter_traces(facts, face_um, tip_um),
        *mount_traces(facts, face_um, tip_um),
    )
    measures, gaps = main_measures(facts, face_um, tip_um), missing(facts)
    before, after = further_measures(facts, face_um, tip_um)
    return SideView(
        (*traces, _axis(traces)),
        *measures,
        missing=gaps,
        description=description(facts, measures, gaps),
        before=before,
        after=after,
        callouts=callouts(facts, face_um, tip_um),
        figures=figures(facts),
    )


def _axis(traces: Iterable[Trace]) -> Trace:
    heights = [y for trace in traces for _, y in trace.points]
    return Trace(Stroke.AXIS, ((0, min(heights)), (0, max(heights))))
