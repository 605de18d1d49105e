"""From a scanned or typed entry to the verdict, or to one plain sentence why there is none."""

from __future__ import annotations

from django.contrib import messages
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from assemblies.views.entries import Lead, lead_of_code, lead_of_number
from assemblies.views.stations import station_of
from assemblies.views.verdict_page import Scan, not_kept, verdict_page
from crib.models import Person
from crib.views.access import needs
from labels.actions.resolve_code import Outcome, Resolved, label_facts, resolve
from labels.forms import ScanForm
from labels.models import Label
from labels.rules.code import printed_code
from labels.rules.entry import LayoutGuess, read_entry, read_with_other_layouts

#: Entries that lead nowhere, by one person in one minute; who has more is not holding a label.
MISSES_A_MINUTE = 30
#: Nobody types more than a code with its dashes; what is longer came from a scanner.
LONGEST_TYPED = 15


@needs("view")
@require_http_methods(["GET", "HEAD", "POST"])
def scan_code(request: HttpRequest, code: str) -> HttpResponse:
    """What the square symbol opens: the whole verdict in one answer."""
    if too_many_misses(request.user):
        return please_wait(request)
    found = resolve(code, scanned=False, by=request.user)
    if found.label is None:
        return not_ours(request, found)
    label = found.label
    return verdict_page(request, Scan(label.build.assembly, label_facts(label), label.code))


@needs("view")
@require_http_methods(["GET", "HEAD", "POST"])
def scan(request: HttpRequest) -> HttpResponse:
    """What the scan field sends: on to the verdict by code, by number, or by holder mark."""
    form = ScanForm(request.POST if request.method == "POST" else request.GET)
    if not form.is_valid():
        return redirect("assemblies:spindle")
    if too_many_misses(request.user):
        return please_wait(request)
    entry = form.cleaned_data["entry"]
    scanned = form.cleaned_data["scanned"] or len(entry) > LONGEST_TYPED
    lead = _lead(request, entry, scanned=scanned)
    if lead is not None:
        return _follow(request, lead)
    found = resolve(entry, scanned=scanned, by=request.user)
    if found.label is not None:
        return redirect("labels:scan_code", code=found.label.code)
    return not_ours(request, found, _other_layout(entry) if scanned else None)


def _lead(request: HttpRequest, entry: str, *, scanned: bool) -> Lead | None:
    """Where an entry leads that is no label of ours. A label goes before what only looks alike."""
    exact = lead_of_number(request, entry) or lead_of_code(request, entry)
    if exact is not None:
        return exact
    code = read_entry(entry, scanned=scanned).code
    if code is not None and Label.objects.filter(code=code).exists():
        return None
    return lead_of_code(request, entry, tolerant=True)


def _follow(request: HttpRequest, lead: Lead) -> HttpResponse:
    if not lead.address:
        return not_ours(request, Resolved(Outcome.NO_ASSEMBLY, sentence=lead.said))
    if lead.said:
        messages.warning(request, lead.said)
    return redirect(lead.address)


def _other_layout(entry: str) -> LayoutGuess | None:
    """The one label that the entry names when the scanner's keyboard layout is wrong."""
    guesses = read_with_other_layouts(entry)
    codes = [guess.code for guess in guesses]
    known = set(Label.objects.filter(code__in=codes).values_list("code", flat=True))
    fitting = [guess for guess in guesses if guess.code in known]
    return fitting[0] if len(fitting) == 1 else None


_REMEDIES = {
    Outcome.NOT_A_CODE: "Scan the label, or type its letters, the assembly number or the mark.",
    Outcome.CHECK_FAILED: "Scan again, or type the assembly number.",
    Outcome.NO_ASSEMBLY: "Look at the number again, or scan the label.",
    Outcome.UNKNOWN: "Scan again, type the assembly number, or the mark on the holder.",
}


def not_ours(
    request: HttpRequest, found: Resolved, guess: LayoutGuess | None = None
) -> HttpResponse:
    """One sentence, and the count of such entries goes up. No answer tells more than that."""
    _count_miss(request.user)
    station_of(request)
    context = {
        "outcome": str(found.outcome),
        "sentence": found.sentence,
        "remedy": _REMEDIES[found.outcome],
        "guess": guess,
        "guessed_code": printed_code(guess.code) if guess else "",
    }
    return not_kept(render(request, "labels/not_ours.html", context, status=404))


def _counter(person: Person) -> str:
    return f"scan-misses:{person.pk}:{timezone.now():%Y%m%d%H%M}"


def too_many_misses(person: Person) -> bool:
    return cache.get(_counter(person), 0) >= MISSES_A_MINUTE


def _count_miss(person: Person) -> None:
    key = _counter(person)
    if cache.add(key, 1, timeout=120):
        return
    try:
        cache.incr(key)
    except ValueError:  # thrown out of the full cache since
        cache.set(key, 1, timeout=120)


def please_wait(request: HttpRequest) -> HttpResponse:
    return not_kept(render(request, "labels/too_many.html", status=429))
