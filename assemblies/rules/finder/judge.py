"""What the rules of the bench say of parts that the finder puts together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from assemblies.rules.finder.facts import FoundStack, Same, Sought
from assemblies.rules.finder.lengths import length_findings, proposed_figures
from assemblies.rules.fit import stack_findings
from assemblies.rules.purpose import purpose_findings
from assemblies.rules.stack import ShopLimits, Stack, Stage
from crib.rules.finding import Finding
from crib.rules.standards import ReferenceTables, same_code


@dataclass(frozen=True)
class Judge:
    """The front door of the fit rules, with one question held in the hand."""

    sought: Sought
    limits: ShopLimits
    tables: ReferenceTables
    _few: dict[tuple, ReferenceTables] = field(default_factory=dict, repr=False)

    def said_of(self, *parts: Same) -> list[Finding]:
        """What stands against some parts alone; a stop here is a stop in every whole stack."""
        return self._findings(self._stack(parts))

    def whole(self, parts: Sequence[Same]) -> FoundStack:
        """A whole stack with the lengths proposed for it and all that is said of it."""
        bare, wanted_um = self._stack(parts), self.sought.stickout_um
        stack = replace(bare, figures=proposed_figures(bare, wanted_um, self.limits, self.tables))
        found = self._findings(stack) + length_findings(stack, wanted_um, self.limits)
        if self.sought.purpose is not None:
            found += purpose_findings(stack.cutter, self.sought.purpose)
        return FoundStack(tuple(parts), stack, tuple(found))

    def _stack(self, parts: Sequence[Same]) -> Stack:
        given = {same.kind: same.part for same in parts if same.kind != "insert"}
        studs = [same.stud for same in parts if same.kind == "holder"]
        stack = Stack(
            **given,
            machine=self.sought.machine,
            call=self.sought.call,
            coolant_wanted=self.sought.coolant_wanted,
        )
        if studs:
            stack = replace(stack, stud=studs[0])
        if stack.cutter is not None and any(same.kind == "insert" for same in parts):
            stack = replace(stack, cutter=replace(stack.cutter, empty_seats=0))
        return stack

    def _findings(self, stack: Stack) -> list[Finding]:
        found = stack_findings(stack, self.limits, Stage.BUILD, self._tables_for(stack))
        if stack.call is not None and stack.call.rotation is None:
            # Only a speed was named: nobody asked which way it turns.
            found = [f for f in found if f.code != "rotation.program_not_known"]
        return found

    def _tables_for(self, stack: Stack) -> ReferenceTables:
        """The rows that can matter to a stack: each rule goes through them from the top."""
        holder, machine = stack.holder, self.sought.machine
        tapers = (holder and holder.interface, machine and machine.interface)
        series = (holder and holder.series, stack.nut and stack.nut.series)
        series += (stack.collet and stack.collet.series,)
        key = (*tapers, *series)
        if key not in self._few:
            self._few[key] = replace(
                self.tables,
                tapers=_rows(self.tables.tapers, "code", tapers),
                torque_bands=_rows(self.tables.torque_bands, "series", series),
                collet_series=_rows(self.tables.collet_series, "series", series),
            )
        return self._few[key]


def _rows(rows: Sequence, column: str, codes: Sequence[str | None]) -> tuple:
    """Rows whose code is one of those asked for, in their order."""
    return tuple(row for row in rows if any(same_code(getattr(row, column), c) for c in codes))
