"""The forms of the sums page: each asks for its figures by GET and knows its answer."""

from __future__ import annotations

from django import forms

from assemblies.forms.amounts import AmountField, AmountsField, CountField
from assemblies.rules.sums import amounts, answers_bench, answers_cutting, answers_life
from assemblies.rules.sums.answer import Answer
from assemblies.rules.sums.deflection import Beam
from assemblies.rules.sums.force import FACTOR_OF_TWO, MATERIALS
from assemblies.rules.sums.life_sums import MeasuredLife, taylor_line
from assemblies.rules.sums.mass_centre import DENSITIES, MassPart
from assemblies.rules.sums.milled_cut import MilledCut
from crib.rules.survival import Costs, Life, LifeEnd

_ROUGH = f"Show it although it is rough. {FACTOR_OF_TWO}"
_STUFFS = [("carbide", "Carbide"), ("hss", "High-speed steel"), ("steel", "Steel")]
_LARGEST_RPM = 200_000


def _length(label: str, **kwargs) -> AmountField:
    return AmountField(amounts.LENGTHS, label=label, **kwargs)


def _speed(label: str = "Spindle speed", **kwargs) -> AmountField:
    return AmountField(amounts.SPEEDS, label=label, most=_LARGEST_RPM, **kwargs)


class SumForm(forms.Form):
    """A sum: a title, what it is for, its fields. `answer()` needs a form that is valid."""

    title = ""
    about = ""

    def answer(self) -> Answer | None:
        """The sum worked out; None where the person did not ask for what can be said."""
        raise NotImplementedError

    def _missing(self, name: str, text: str) -> None:
        """Say at a field that it is needed, unless it has a fault of its own already."""
        if name not in self.errors:
            self.add_error(name, text)


class SpeedForm(SumForm):
    title = "Speed and feed"
    about = "Spindle speed from cutting speed or back, feed from chip load or back."

    diameter = _length("Cutting diameter")
    cutting = AmountField(amounts.CUTTING_SPEEDS, label="Cutting speed", required=False)
    speed = _speed(required=False)
    teeth = CountField(label="Teeth", required=False)
    chip = _length("Chip load, each tooth", required=False)
    feed = AmountField(amounts.FEEDS, label="Feed", required=False)
    depth = _length("Depth of cut", required=False)
    width = _length("Width of cut", required=False)

    def clean(self):
        data = super().clean()
        self._one_of("cutting", "speed", "Type a cutting speed or a spindle speed.")
        if data.get("cutting") and data.get("speed"):
            self.add_error("speed", "Type one of the two speeds, not both.")
        if data.get("chip") and data.get("feed"):
            self.add_error("feed", "Type feed or chip load, not both.")
        if (data.get("chip") or data.get("feed")) and not data.get("teeth"):
            self._missing("teeth", "How many teeth share the feed.")
        return data

    def _one_of(self, first: str, second: str, text: str) -> None:
        if not any(self.cleaned_data.get(name) or name in self.errors for name in (first, second)):
            self.add_error(first, text)

    def answer(self) -> Answer:
        data = self.cleaned_data
        cut = answers_cutting.Cut(
            diameter_um=data["diameter"],
            cutting_m_min=data["cutting"],
            speed_rpm=data["speed"],
            teeth=data["teeth"],
            feed_mm_min=data["feed"],
            chip_load_um=data["chip"],
            depth_um=data["depth"],
            width_um=data["width"],
        )
        return answers_cutting.speed_and_feed(cut)


class WidthForm(SumForm):
    """A sum with a width of cut and a cutter, which is at least as wide."""

    def clean(self):
        data = super().clean()
        if data.get("width") and data.get("diameter") and data["width"] > data["diameter"]:
            self.add_error("width", "Wider than the cutter.")
        return data


class ChipForm(WidthForm):
    title = "Chip thickness"
    about = "How thin the chip gets where little of the diameter cuts."

    chip = _length("Chip load, each tooth")
    width = _length("Width of cut")
    diameter = _length("Cutting diameter")

    def answer(self) -> Answer:
        data = self.cleaned_data
        return answers_cutting.chip_of_width(data["chip"], data["width"], data["diameter"])


class TeethForm(SumForm):
    title = "Runout on the teeth"
    about = "How unevenly the teeth cut, and runout as a share of the chip load."

    chip = _length("Chip load, each tooth")
    runout = _length("Runout (TIR)")
    teeth = CountField(label="Teeth", most=60)

    def answer(self) -> Answer:
        data = self.cleaned_data
        return answers_cutting.runout_on_teeth(data["chip"], data["runout"], data["teeth"])


class RimForm(SumForm):
    title = "Rim speed"
    about = "How fast the edge of a large cutter runs, and how fast it may turn for a rim speed."

    diameter = _length("Cutting diameter")
    speed = _speed(required=False)
    ceiling = AmountField(
        amounts.RIM_SPEEDS,
        label="Rim speed wanted at most",
        required=False,
        help_text="Empty: 50 m/s.",
    )

    def answer(self) -> Answer:
        data = self.cleaned_data
        return answers_cutting.rim_speed(data["diameter"], data["speed"], data["ceiling"] or 50)


class BalanceForm(SumForm):
    title = "Balance rating"
    about = "A rating such as G 2.5 at 25000 1/min against the speed of a program."

    grade = AmountField(amounts.NUMBERS, label="Grade G", most=4000)
    rated = _speed("Rated at")
    speed = _speed("Speed of the program")
    mass = AmountField(amounts.MASSES, label="Mass of the assembly", required=False)

    def answer(self) -> Answer:
        data = self.cleaned_data
        return answers_bench.balance_against_speed(
            data["grade"], data["rated"], data["speed"], data["mass"]
        )


class BendingForm(SumForm):
    title = "Bending with stick-out"
    about = "The same cutter at two stick-outs. Figures in millimetres only when asked for."

    stickout = _length("Stick-out")
    compared = _length("Compared with a stick-out of")
    diameter = _length("Cutting diameter", required=False)
    rough = forms.BooleanField(label=_ROUGH, required=False)
    force = AmountField(amounts.FORCES, label="Side force", required=False)
    shank = _length("Shank diameter", required=False)
    flute = _length("Flute length", required=False)
    stuff = forms.ChoiceField(label="Made of", choices=_STUFFS, required=False)
    allowed = _length("May yield", required=False)

    def clean(self):
        data = super().clean()
        if data.get("rough"):
            for name in ("force", "shank", "stuff"):
                if not data.get(name):
                    self._missing(name, "Needed for a figure in millimetres.")
            if data.get("flute") and not data.get("diameter"):
                self._missing("diameter", "Needed where flutes take material away.")
        return data

    def answer(self) -> Answer:
        data = self.cleaned_data
        return answers_bench.bending_compared(data["stickout"], data["compared"], data["diameter"])

    def rough_answer(self) -> Answer | None:
        """The figures in millimetres, for those who asked."""
        data = self.cleaned_data
        if not data["rough"]:
            return None
        beam = Beam(
            shank_um=data["shank"],
            modulus_mpa=answers_bench.STIFFNESS_MPA[data["stuff"]],
            flute_um=data["flute"] or 0,
            diameter_um=data["diameter"] or 0,
        )
        return answers_bench.bending_in_figures(
            data["force"], data["stickout"], beam, data["allowed"]
        )


class ForceForm(WidthForm):
    title = "Force and power"
    about = "From the specific cutting force of the work. No figures for MDF, plywood, solid wood."

    rough = forms.BooleanField(
        label=_ROUGH, error_messages={"required": "Tick it: the figures are rough."}
    )
    work = forms.ChoiceField(
        label="Work", choices=[(code, row.name.capitalize()) for code, row in MATERIALS.items()]
    )
    diameter = _length("Cutting diameter")
    teeth = CountField(label="Teeth")
    speed = _speed()
    chip = _length("Chip load, each tooth")
    depth = _length("Depth of cut")
    width = _length("Width of cut")
    efficiency = AmountField(
        amounts.PERCENT,
        label="Efficiency of the drive",
        required=False,
        most=100,
        help_text="Empty: 100 %, the power at the cutter.",
    )

    def answer(self) -> Answer:
        data = self.cleaned_data
        cut = MilledCut(
            chip_load_um=data["chip"],
            depth_um=data["depth"],
            width_um=data["width"],
            diameter_um=data["diameter"],
            teeth=data["teeth"],
            speed_rpm=data["speed"],
            efficiency_percent=data["efficiency"] or 100,
        )
        return answers_bench.force_and_power(cut, data["work"])


class WrenchForm(SumForm):
    title = "Torque wrench with an adapter"
    about = "What to set where an adapter makes the lever longer."

    torque = AmountField(amounts.TORQUES, label="Torque wanted at the nut")
    reach = _length("Square to the middle of the handle (L)", least=1000)
    adapter = _length("Square to the nut (E)", least=1000)

    def answer(self) -> Answer:
        data = self.cleaned_data
        return answers_bench.wrench_setting(data["torque"], data["reach"], data["adapter"])


class TorqueForm(SumForm):
    title = "Torque in other units"
    about = "N·m, lbf·ft, lbf·in and kgf·m."

    torque = AmountField(
        amounts.TORQUES, label="Torque", help_text="With its unit: 136 N·m, 100 lbf·ft."
    )

    def answer(self) -> Answer:
        return answers_bench.torque_in_units(self.cleaned_data["torque"])


#: Rows of the form for a mass: name of the field, what stands there.
MASS_ROWS = {
    "holder": "Holder",
    "nut": "Nut",
    "collet": "Collet",
    "stud": "Pull stud",
    "cutter": "Cutter",
    "other": "Something else",
}
_FAR_UM = 1_000_000


class MassForm(SumForm):
    title = "Mass, centre and moment"
    about = "Several parts on one axis, against the limits of a tool changer."

    plane = _length(
        "Plane that the moment is about, from the gauge line",
        required=False,
        least=-_FAR_UM,
        most=_FAR_UM,
        help_text="Empty: the gauge line. Behind it: with a minus.",
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        for name, label in MASS_ROWS.items():
            self.fields[f"{name}_mass"] = AmountField(
                amounts.MASSES, label=f"{label}: mass", required=False
            )
            self.fields[f"{name}_at"] = _length(
                f"{label}: centre from the gauge line",
                required=False,
                least=-_FAR_UM,
                most=_FAR_UM,
            )

    def clean(self):
        data = super().clean()
        for name in MASS_ROWS:
            mass, at = data.get(f"{name}_mass"), data.get(f"{name}_at")
            if mass is not None and at is None:
                self._missing(f"{name}_at", "Needed with the mass.")
            if at is not None and mass is None:
                self._missing(f"{name}_mass", "Needed with the centre.")
        if not self.errors and not self.parts():
            self.add_error("holder_mass", "Type at least one part.")
        return data

    def parts(self) -> list[MassPart]:
        data = self.cleaned_data
        return [
            MassPart(label, data[f"{name}_mass"], data[f"{name}_at"])
            for name, label in MASS_ROWS.items()
            if data.get(f"{name}_mass") is not None
        ]

    def answer(self) -> Answer:
        return answers_bench.mass_of_parts(self.parts(), self.cleaned_data["plane"] or 0)


class BodyForm(SumForm):
    title = "Mass of a turned part"
    about = "A cylinder or a cone from its sizes, for what cannot be weighed."

    first = _length("First diameter")
    second = _length("Second diameter", required=False, help_text="Empty: a cylinder.")
    length = _length("Length")
    stuff = forms.ChoiceField(
        label="Made of", choices=[(name, name.capitalize()) for name in DENSITIES]
    )

    def answer(self) -> Answer:
        data = self.cleaned_data
        second = data["second"] or data["first"]
        return answers_bench.mass_of_body(data["first"], second, data["length"], data["stuff"])


class LivesForm(SumForm):
    title = "Life from own times"
    about = "Times of one kind of part on one kind of work, those cut short included."

    worn = AmountsField(amounts.MINUTES, label="Worn at", required=False)
    broken = AmountsField(amounts.MINUTES, label="Broken at", required=False)
    early = AmountsField(amounts.MINUTES, label="Taken out early or lost at", required=False)
    running = AmountsField(amounts.MINUTES, label="Still in use at", required=False)
    planned = AmountField(amounts.NUMBERS, label="Cost of a planned change", required=False)
    failure = AmountField(amounts.NUMBERS, label="Cost of a failure", required=False)

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        said = "In minutes, or 5h for hours; a blank between two of them."
        for name in ("worn", "broken", "early", "running"):
            self.fields[name].help_text = said
        self.fields["planned"].help_text = "With the cost of a failure: the age to change at."

    def clean(self):
        data = super().clean()
        if bool(data.get("planned")) != bool(data.get("failure")):
            empty = "failure" if data.get("planned") else "planned"
            self._missing(empty, "Both costs, or neither.")
        if not self.errors and not self.lives():
            self.add_error("worn", "Type at least one life.")
        return data

    def lives(self) -> list[Life]:
        ends = {
            "worn": LifeEnd.WORN,
            "broken": LifeEnd.BROKEN,
            "early": LifeEnd.REMOVED_EARLY,
            "running": LifeEnd.IN_USE,
        }
        return [Life(time, end) for name, end in ends.items() for time in self.cleaned_data[name]]

    def answer(self) -> Answer:
        data = self.cleaned_data
        costs = Costs(data["planned"], data["failure"]) if data["planned"] else None
        return answers_life.lives_of_own(self.lives(), costs)


class TwoTestsForm(SumForm):
    title = "Life at another speed"
    about = "Between two own tests of one cutter in one material. No book's figures."

    first_speed = AmountField(amounts.CUTTING_SPEEDS, label="First test: cutting speed")
    first_life = AmountField(amounts.MINUTES, label="First test: life")
    second_speed = AmountField(amounts.CUTTING_SPEEDS, label="Second test: cutting speed")
    second_life = AmountField(amounts.MINUTES, label="Second test: life")
    wanted = AmountField(amounts.CUTTING_SPEEDS, label="Wanted cutting speed")

    def clean(self):
        data = super().clean()
        if self.errors:
            return data
        low, high = sorted((data["first_speed"], data["second_speed"]))
        try:
            taylor_line(*self.tests())
        except ValueError as error:
            self.add_error("second_life", str(error))
        else:
            if not low <= data["wanted"] <= high:
                self.add_error("wanted", "Outside the speeds that were tested nothing is known.")
        return data

    def tests(self) -> tuple[MeasuredLife, MeasuredLife]:
        data = self.cleaned_data
        first = MeasuredLife(data["first_speed"], data["first_life"])
        return first, MeasuredLife(data["second_speed"], data["second_life"])

    def answer(self) -> Answer:
        return answers_cutting.life_at_speed(*self.tests(), self.cleaned_data["wanted"])


class LifeUsedForm(SumForm):
    title = "Life used at mixed speeds"
    about = "Runs at several speeds, each against the life at that speed."

    ran = AmountsField(amounts.MINUTES, label="Ran for")
    of = AmountsField(amounts.MINUTES, label="Out of a life of")

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["ran"].help_text = "In minutes, or 5h for hours; a blank between two of them."
        self.fields["of"].help_text = "In the same order."

    def clean(self):
        data = super().clean()
        if not self.errors and len(data["ran"]) != len(data["of"]):
            said = f"{len(data['of'])} lives for {len(data['ran'])} runs: one for each."
            self.add_error("of", said)
        return data

    def answer(self) -> Answer:
        data = self.cleaned_data
        return answers_cutting.life_used(list(zip(data["ran"], data["of"], strict=True)))


#: Word of the address -> form, in the order of the page.
SUMS: dict[str, type[SumForm]] = {
    "speed": SpeedForm,
    "chip": ChipForm,
    "teeth": TeethForm,
    "rim": RimForm,
    "balance": BalanceForm,
    "bending": BendingForm,
    "force": ForceForm,
    "wrench": WrenchForm,
    "torque": TorqueForm,
    "mass": MassForm,
    "turned-part": BodyForm,
    "lives": LivesForm,
    "two-tests": TwoTestsForm,
    "life-used": LifeUsedForm,
}
