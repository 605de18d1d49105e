"""Which stacks can be built for a cutter from what lies in the racks, best first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product

from assemblies.rules.finder.buying import (
    collet_to_get,
    holders_to_get,
    needs_a_sleeve,
    nut_to_get,
    sleeve_to_get,
    with_other_stud,
)
from assemblies.rules.finder.facts import (
    Away,
    Found,
    FoundStack,
    Same,
    Sought,
    Stock,
    Unlock,
)
from assemblies.rules.finder.judge import Judge
from assemblies.rules.finder.order import best_first
from assemblies.rules.finder.reasons import Reason, grouped_reasons, reason_of
from assemblies.rules.finder.shelf import Shelf
from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import ShopLimits, StudPart
from crib.rules.finding import Finding, stops
from crib.rules.standards import CLAMPING_KINDS, ReferenceTables
from crib.rules.units import show_mm


def find_stacks(sought: Sought, stock: Stock, limits: ShopLimits, tables: ReferenceTables) -> Found:
    """Every stack without a stop, best first; why other parts fall out; what would help.

    The rules of the bench judge each stack, so the two cannot disagree. Series, thread, bore
    and interface are looked at first, each part alone, so that much stock costs little time.

    Source: the fit rules of `stack_findings`.

    >>> from assemblies.rules.stack import CutterPart
    >>> answer = find_stacks(Sought(CutterPart()), Stock(), ShopLimits(), ReferenceTables())
    >>> answer.stacks, answer.cutter_on_shelf
    ((), False)
    """
    shelf = Shelf.of(stock.on_shelf, limits)
    search = _Search(Judge(sought, limits, tables), shelf, stock.studs)
    cutters = search.shelf.of_kind("cutter")
    if not cutters:
        name = f"cutter {sought.cutter_code}".strip()
        cutters = [Same("cutter", sought.cutter_code, sought.cutter, StudPart(), to_get=name)]
    for cutter in cutters:
        search.try_cutter(cutter)
    if not (search.good or search.helped):
        search.try_new_holders(cutters[0])
    away = Shelf.of(stock.elsewhere, limits)
    return Found(
        stacks=tuple(sorted(search.good, key=best_first)),
        dropped=grouped_reasons(search.dropped()),
        unlocks=_unlocks(search.helped),
        away=tuple(_cutters_away(away)) + tuple(search.in_use(cutters, away)),
        away_all_tried=search.lent_tried < MOST_LENT_TRIED,
        against=tuple(_against_all(search.judge, cutters)),
        cutter_on_shelf=bool(search.shelf.of_kind("cutter")),
    )


#: So many stacks with parts in use are tried: a hint is not worth more of a person's time.
MOST_LENT_TRIED = 1_000


@dataclass
class _Search:
    """One search: the stacks found, the stacks that one purchase away, and who fell out why."""

    judge: Judge
    shelf: Shelf
    studs: tuple[tuple[str, str], ...] = ()
    good: list[FoundStack] = field(default_factory=list)
    helped: list[FoundStack] = field(default_factory=list)
    used: set[Same] = field(default_factory=set)
    why: dict[Same, Reason] = field(default_factory=dict)
    #: Cutter and holder that went with nothing in the racks.
    unserved: list[tuple[Same, Same]] = field(default_factory=list)
    lent_tried: int = 0
    _nuts: dict[tuple[Same, int], list[Same]] = field(default_factory=dict)

    def try_cutter(self, cutter: Same) -> None:
        inserts = self._inserts(cutter)
        collets = self._collets_for(cutter, self.shelf)
        for holder in self._holders(self.shelf):
            fillings = list(self._fillings(holder, cutter, collets, self.shelf))
            tried = [self.judge.whole([holder, *some, cutter, *inserts]) for some in fillings]
            held = self._keep(tried)
            self._note_stops(tried)
            if not held:
                self.unserved.append((cutter, holder))
                self._note(holder, self._nothing_for(holder, cutter))
                self._try_purchases(holder, cutter, collets)

    def _keep(self, tried: list[FoundStack]) -> bool:
        """Keep the stacks that hold. Whether there is one."""
        held = [stack for stack in tried if not stack.stopped]
        for stack in held:
            if not stack.to_get:
                self.good.append(stack)
                self.used.update(stack.parts)
                continue
            self.helped.append(stack)
            for part in stack.parts:
                self._note(part, Reason(f"only with {' and '.join(stack.to_get)}"))
        return bool(held)

    def _note_stops(self, tried: Sequence[FoundStack]) -> None:
        """Note for each part of what was stopped what stands against it, fewest stops first."""
        for stack in sorted(tried, key=lambda each: len(stops(each.findings))):
            if any(part not in self.why for part in stack.parts):
                reason = reason_of(stack.findings)
                for part in stack.parts:
                    self._note(part, reason)

    def _note(self, part: Same, reason: Reason | None) -> None:
        if reason is not None:
            self.why.setdefault(part, reason)

    # ---- which parts come into question
    def _holders(self, shelf: Shelf) -> Iterator[Same]:
        """Holders that the machine takes; one with another stud gets the right one, to be got."""
        for holder in shelf.of_kind("holder"):
            if holder.part.clamping not in CLAMPING_KINDS:
                self._note(holder, Reason("not recorded how it holds"))
                continue
            found = stops(self.judge.said_of(holder))
            if not found:
                yield holder
                continue
            self._note(holder, reason_of(found))
            changed = with_other_stud(holder, self.judge.sought.machine, self.studs)
            if found[0].code.startswith("stud.") and changed is not None:
                yield from [changed] if not stops(self.judge.said_of(changed)) else []

    def _collets_for(self, cutter: Same, shelf: Shelf) -> dict[Same, bool]:
        """Collets that take the shank."""
        fitting = {}
        for collet in shelf.of_kind("collet"):
            reason = reason_of(self.judge.said_of(collet, cutter))
            if reason is None:
                fitting[collet] = True
            self._note(collet, reason)
        return fitting

    def _fillings(
        self, holder: Same, cutter: Same, collets: dict[Same, bool], shelf: Shelf
    ) -> Iterator[tuple[Same, ...]]:
        """What may stand between holder and cutter: collet and nut, a sleeve, or nothing."""
        if holder.part.takes_a_collet:
            held = shelf.of_series("collet", holder.part.series)
            fitting = [collet for collet in held if collet in collets]
            yield from product(fitting, self._nuts_for(holder, shelf))
        elif needs_a_sleeve(holder.part, cutter.part):
            sleeves = self._sleeves_for(holder, cutter, shelf)
            yield from ((sleeve,) for sleeve in sleeves)
            if not sleeves:
                yield ()
        else:
            yield ()

    def _nuts_for(self, holder: Same, shelf: Shelf) -> list[Same]:
        """Nuts that go on the nose of a holder; asked for several times, judged once."""
        key = (holder, id(shelf))
        if key not in self._nuts:
            self._nuts[key] = list(self._fitting_nuts(holder, shelf))
        return self._nuts[key]

    def _fitting_nuts(self, holder: Same, shelf: Shelf) -> Iterator[Same]:
        for nut in shelf.of_series("nut", holder.part.series):
            reason = reason_of(self.judge.said_of(holder, nut))
            if reason is None:
                yield nut
            self._note(nut, reason)

    def _sleeves_for(self, holder: Same, cutter: Same, shelf: Shelf) -> list[Same]:
        shank_um = working_shank_um(cutter.part)
        wanted = (holder.part.clamping, holder.part.bore_um, shank_um)
        return [
            sleeve
            for sleeve in shelf.of_kind("sleeve")
            if (sleeve.part.suits, sleeve.part.outer_um, sleeve.part.bore_um) == wanted
        ]

    def _inserts(self, cutter: Same) -> list[Same]:
        """The lot that fills every seat of a cutter; none, where none does."""
        seats, code = cutter.part.insert_seats, self.judge.sought.insert_code
        if not seats or not code:
            return []
        lots = self.shelf.of_kind("insert")
        enough = [
            lot for lot in lots if any(not one.mark and one.count >= seats for one in lot.lots)
        ]
        for lot in lots:
            self._note(lot, Reason(f"{seats} needed at one place"))
        missing = Same("insert", code, None, StudPart(), to_get=f"{seats} inserts {code}")
        return enough[:1] or [missing]

    # ---- why, and what would help
    def _nothing_for(self, holder: Same, cutter: Same) -> Reason | None:
        """Why a holder for collets goes with nothing."""
        part = holder.part
        if not part.takes_a_collet:
            return None
        shank_um = working_shank_um(cutter.part)
        if part.series is None:
            return Reason("series of the nose not recorded")
        if not self._nuts_for(holder, self.shelf):
            return Reason(f"no nut {part.series} {part.nose_thread or ''} in the racks".strip())
        return Reason(f"no {part.series} collet for {show_mm(shank_um)} in the racks")

    def _try_purchases(self, holder: Same, cutter: Same, collets: dict[Same, bool]) -> None:
        """The stack with the fewest parts to be got that would hold in this holder."""
        part, judge = holder.part, self.judge
        if part.takes_a_collet:
            held = self.shelf.of_series("collet", part.series)
            new = collet_to_get(part.series, cutter.part, judge.limits, judge.tables)
            choices = product(
                [*(collet for collet in held if collet in collets), *_if_any(new)],
                [*self._nuts_for(holder, self.shelf), *_if_any(nut_to_get(part, judge.tables))],
            )
        else:
            choices = [(sleeve,) for sleeve in _if_any(sleeve_to_get(part, cutter.part))]
        inserts = self._inserts(cutter)
        whole = [[holder, *some, cutter, *inserts] for some in choices]
        # Without anything new it was tried before.
        stacks = [judge.whole(parts) for parts in whole if any(part.to_get for part in parts)]
        held = [stack for stack in stacks if not stack.stopped]
        self.helped += sorted(held, key=_fewest_to_get)[:1]

    def try_new_holders(self, cutter: Same) -> None:
        """Holders that would turn nuts and collets of the racks into a stack."""
        collets = self._collets_for(cutter, self.shelf)
        for holder in holders_to_get(self.judge.sought.machine, self.shelf.of_kind("nut")):
            some = self._fillings(holder, cutter, collets, self.shelf)
            tried = [self.judge.whole([holder, *each, cutter]) for each in some]
            held = [stack for stack in tried if not stack.stopped]
            self.helped += sorted(held, key=best_first)[:1]

    def dropped(self) -> Iterator[tuple[Same, Reason]]:
        """Every part in the racks that is in no stack, with its reason."""
        for kind, parts in self.shelf.by_kind.items():
            for part in parts:
                if part not in self.used:
                    yield part, self.why.get(part) or _idle(kind, part)

    # ---- in use elsewhere
    def in_use(self, cutters: Iterable[Same], away: Shelf) -> Iterator[Away]:
        """Parts in use that would do where the racks have nothing."""
        both, seen = _joined(self.shelf, away), set()
        served_without_doubt = any(not stack.doubts for stack in self.good)
        pairs = list(self.unserved)
        if not served_without_doubt:
            pairs += list(product(cutters, self._holders(away)))
        reasons, self.why = self.why, {}
        asked = dict.fromkeys(cutter for cutter, _ in pairs)
        fitting = {cutter: self._collets_for(cutter, both) for cutter in asked}
        for cutter, holder in pairs:
            for some in self._fillings(holder, cutter, fitting[cutter], both):
                yield from self._borrowed([holder, *some, cutter], away, seen)
        self.why = reasons

    def _borrowed(self, parts: list[Same], away: Shelf, seen: set) -> Iterator[Away]:
        lent = [p for p in parts if p in away.by_kind.get(p.kind, ()) and p.kind != "cutter"]
        if not lent or seen.issuperset(lent) or self.lent_tried >= MOST_LENT_TRIED:
            return
        self.lent_tried += 1
        if self.judge.whole(parts).stopped:
            return
        for part in lent:
            if part not in seen:
                seen.add(part)
                others = ", ".join(p.shown for p in parts if p is not part and p.kind == "holder")
                for lot in part.lots:
                    yield Away(part.kind, lot.shown, lot.place, others)


def _against_all(judge: Judge, cutters: Sequence[Same]) -> list[Finding]:
    """The stops of the cutter that fares best, with nothing but machine and speed."""
    return min((stops(judge.said_of(cutter)) for cutter in cutters), key=len)


def _if_any(part: Same | None) -> list[Same]:
    return [] if part is None else [part]


def _fewest_to_get(stack: FoundStack) -> tuple:
    return len(stack.to_get), best_first(stack)


def _idle(kind: str, part: Same) -> Reason:
    """Why a part was never tried."""
    if kind in ("collet", "nut"):
        series = part.part.series
        if not series:
            return Reason("series not recorded")
        return Reason(f"no {series} holder in the racks would do")
    return Reason(
        {
            "sleeve": "no chuck in the racks that needs this size",
            "cutter": "no holder in the racks takes it",
            "insert": "not for this cutter",
        }.get(kind, "not tried")
    )


def _unlocks(stacks: Iterable[FoundStack]) -> tuple[Unlock, ...]:
    """Stacks that wait for a part, by what it is; the fewest parts first."""
    by_need: dict[tuple[str, ...], list[FoundStack]] = {}
    for stack in sorted(stacks, key=_fewest_to_get):
        by_need.setdefault(stack.to_get, []).append(stack)
    return tuple(Unlock(need, given[0], _holders_of(given)) for need, given in by_need.items())


def _holders_of(stacks: Iterable[FoundStack]) -> tuple[str, ...]:
    marks = [lot.shown for stack in stacks for lot in stack.part("holder").lots]
    return tuple(dict.fromkeys(marks))


def _cutters_away(away: Shelf) -> Iterator[Away]:
    for cutter in away.of_kind("cutter"):
        for lot in cutter.lots:
            yield Away("cutter", lot.shown, lot.place)


def _joined(one: Shelf, other: Shelf) -> Shelf:
    """Both shelves as one, with the very same parts in it."""
    both = Shelf()
    for shelf in (one, other):
        for kind, parts in shelf.by_kind.items():
            both.by_kind.setdefault(kind, []).extend(parts)
        for key, parts in shelf.by_series.items():
            both.by_series.setdefault(key, []).extend(parts)
    return both
