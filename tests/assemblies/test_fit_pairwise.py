"""The fit rules against a second opinion, over all pairs of what parts can be and be missing."""

from dataclasses import replace
from itertools import combinations, product

import pytest

from assemblies.rules.fit import seat_findings, stack_findings
from assemblies.rules.stack import (
    ColletPart,
    CutterPart,
    HolderPart,
    MachineFacts,
    NutPart,
    ShopLimits,
    SleevePart,
    Stack,
    Stage,
)
from crib.rules.finding import Level, worst_level
from tests.assemblies.fit_oracle import CARE, FITS, NO, NOT_ASKED, UNKNOWN, answers
from tests.assemblies.stacks import TABLES

LIMITS = ShopLimits()

#: Code, or the beginning of one, and the subject that it speaks of.
SUBJECT_OF = {
    "interface.": "interface",
    "collet.series_": "series",
    "collet.no_seat": "series",
    "collet.missing": "series",
    "nut.": "nut",
    "collet.shank_": "seat",
    "collet.closed_far": "seat",
    "collet.range_not_known": "seat",
    "shank.not_known": "seat",
    "bore.": "seat",
    "chuck.shank_": "seat",
    "chuck.range_not_known": "seat",
    "sleeve.bore_": "seat",
    "cutter.no_": "seat",
    "shank.form_": "form",
    "shank.flat_in_seat": "form",
    "sleeve.kind_": "sleeve",
    "sleeve.outer_": "sleeve",
    "sleeve.no_seat": "sleeve",
    "tap.square_": "square",
    "tap.collet_for_taps": "square",
    "arbor.key": "keys",
    "chuck.kind_": "kind",
    "chuck.side_load": "kind",
    "chuck.tap": "kind",
    "tap.kind_": "kind",
    "tap.other_cutter": "kind",
}
#: Where a code answers for several subjects at once.
FOR_ALL_OF_THEM = {
    "holder.clamping_not_known": ("series", "nut", "seat", "sleeve"),
    "collet.missing": ("series", "seat"),
}
WORDS = {
    Level.PASS: FITS,
    Level.NOTE: FITS,
    Level.CHECK: CARE,
    Level.UNKNOWN: UNKNOWN,
    Level.STOP_SOFT: NO,
    Level.STOP_HARD: NO,
}


def subjects_of(code):
    if code in FOR_ALL_OF_THEM:
        return FOR_ALL_OF_THEM[code]
    return tuple({subject for start, subject in SUBJECT_OF.items() if code.startswith(start)})


def said(findings):
    """Subject -> word, from what the rules found; a subject nobody spoke of is not there."""
    by_subject = {}
    for finding in findings:
        for subject in subjects_of(finding.code):
            by_subject.setdefault(subject, []).append(finding)
    return {subject: WORDS[worst_level(found)] for subject, found in by_subject.items()}


def differences(stack, findings):
    """Subjects on which rules and oracle do not agree, with both words."""
    found, right = said(findings), answers(stack)
    return {
        subject: (found.get(subject, NOT_ASKED), sorted(words))
        for subject, words in right.items()
        if found.get(subject, NOT_ASKED) not in words
    }


# ---- what each factor can be; None is "not recorded"
INTERFACES = ["HSK-A63", "HSK-F63", "BT30", None]
MACHINES = ["no machine", "HSK-A63", "BT30", None]
CLAMPINGS = [
    *("collet", "arbor", "side_lock", "hydraulic", "shrink", "milling_chuck", "drill_chuck", "tap"),
    None,
]
#: Series and thread: standard and mini noses of ER20 differ by a millimetre.
NOSES = [("ER32", "M40x1.5"), ("ER20", "M25x1.5"), ("ER20", "M24x1"), (None, "M40x1.5")]
NOSES += [("ER32", None), (None, None)]
NUTS = [None, *NOSES]
#: Series, largest, smallest, square for taps.
COLLETS = [
    None,
    ("ER32", 13_000, 12_000, None),
    ("ER32", 12_000, 11_000, None),
    ("ER32", 12_700, 11_700, None),
    ("ER20", 7_000, 6_000, None),
    ("ER32", 12_000, None, None),
    ("ER32", None, 11_000, None),
    (None, 12_000, 11_000, None),
    ("ER32", 12_000, 11_000, 9_000),
]
#: Made for, outside, bore.
SLEEVES = [
    None,
    ("hydraulic", 20_000, 12_000),
    ("side_lock", 20_000, 12_000),
    ("milling_chuck", 20_000, 12_700),
    ("hydraulic", 25_000, 12_000),
    (None, 20_000, 12_000),
    ("hydraulic", None, 12_000),
    ("hydraulic", 20_000, None),
]
#: Nominal, measured, bore of a shell cutter. h7 of 12 mm ends at 11.982.
SHANKS = [
    (12_000, None, None),
    (12_700, None, None),
    (6_000, None, None),
    (6_350, None, None),
    (12_000, 11_993, None),
    (12_000, 11_982, None),
    (12_000, 11_981, None),
    (12_000, 12_001, None),
    (None, 12_000, None),
    (None, None, None),
    (None, None, 22_000),
]
FORMS = ["HA", "HB", "HE", "square", None]
KINDS = ["end_mill", "drill", "tap", "face_mill", None]
#: Bore or largest shank, and smallest shank of a drill chuck.
BORES = [(12_000, 1_000), (12_700, 1_000), (20_000, 3_000), (22_000, None), (None, 1_000)]
SQUARES = [(9_000, 9_000), (9_000, 6_300), (6_200, 6_300), (None, 9_000), (9_000, None)]
#: Keys of the arbor, slots of the cutter: DIN 138 pairs 10 with 10.4.
KEYS = [(10_000, 10_400), (10_000, 10_000), (10_000, 8_400), (10_000, 12_400), (None, 10_400)]
KEYS += [(10_000, None)]

FACTORS = [
    *(INTERFACES, MACHINES, CLAMPINGS, NOSES, NUTS, COLLETS, SLEEVES),
    *(SHANKS, FORMS, KINDS, BORES, SQUARES, KEYS),
]
USUAL = [
    *("BT30", "BT30", "collet", NOSES[0], NOSES[0], COLLETS[2], None),
    *(SHANKS[0], "HA", "end_mill", BORES[0], SQUARES[0], KEYS[0]),
]


def stack_from(row):
    interface, machine, clamping, nose, nut, collet, sleeve = row[:7]
    (shank, measured, shell), form, kind, (bore, least), (seat, square), (key, slot) = row[7:]
    return Stack(
        holder=HolderPart(
            interface=interface,
            clamping=clamping,
            series=nose[0],
            nose_thread=nose[1],
            bore_um=bore,
            bore_min_um=least,
            square_um=seat,
            key_um=key,
        ),
        collet=collet
        and ColletPart(
            series=collet[0], clamp_max_um=collet[1], clamp_min_um=collet[2], square_um=collet[3]
        ),
        nut=nut and NutPart(series=nut[0], thread=nut[1]),
        sleeve=sleeve and SleevePart(suits=sleeve[0], outer_um=sleeve[1], bore_um=sleeve[2]),
        cutter=CutterPart(
            kind=kind,
            shank_um=shank,
            shank_measured_um=measured,
            bore_um=shell,
            shank_form=None if shell else form,
            square_um=square,
            keyway_um=slot,
        ),
        machine=None if machine == "no machine" else MachineFacts(interface=machine),
    )


def all_pairs():
    """Rows in which every value of every factor meets every value of every other one.

    Greedy: each row takes, factor by factor, the value that meets most of the pairs still open.
    """
    places = range(len(FACTORS))
    still_open = {
        (a, x, b, y)
        for a, b in combinations(places, 2)
        for x, y in product(range(len(FACTORS[a])), range(len(FACTORS[b])))
    }
    while still_open:
        a, x, b, y = min(still_open)
        row = {a: x, b: y}
        for place in places:
            if place not in row:
                row[place] = max(
                    range(len(FACTORS[place])),
                    key=lambda value, at=place: sum(p in still_open for p in met(row, at, value)),
                )
        still_open -= {(a, row[a], b, row[b]) for a, b in combinations(places, 2)}
        yield [FACTORS[place][row[place]] for place in places]


def met(row, place, value):
    """The pairs that a value meets with what the row already holds."""
    for other, chosen in row.items():
        first, last = sorted([(other, chosen), (place, value)])
        yield (*first, *last)


PAIRS = list(all_pairs())


def test_the_rows_hold_every_pair():
    wanted = sum(len(one) * len(other) for one, other in combinations(FACTORS, 2))
    seen = {
        (a, repr(row[a]), b, repr(row[b]))
        for row in PAIRS
        for a, b in combinations(range(len(FACTORS)), 2)
    }
    assert len(seen) == wanted


def test_rules_and_oracle_agree_on_every_pair():
    wrong = [
        (row, differing)
        for row in PAIRS
        for stack in [stack_from(row)]
        if (differing := differences(stack, stack_findings(stack, LIMITS, Stage.BUILD, TABLES)))
    ]
    assert wrong == []


#: Given values, the factors that are tried in every combination and not only in pairs, and the
#: subjects that must have answered in every way: a word that never comes up proves nothing.
WHOLE = {
    "collet_and_nut": ({2: ["collet", "drill_chuck", None]}, (3, 4, 5), {"series", "nut"}),
    "shank_in_collet": ({2: ["collet"]}, (5, 7, 8, 9, 11), {"seat"}),
    "shank_in_bore": ({2: CLAMPINGS[1:]}, (7, 8, 9, 10), {"seat", "form", "kind"}),
    "shank_in_sleeve": ({2: CLAMPINGS}, (6, 7, 10), {"seat", "sleeve"}),
    "tap": ({2: ["tap", "collet", "drill_chuck"], 5: COLLETS[-2:]}, (7, 8, 9, 11), {"square"}),
    "arbor": ({2: ["arbor", "shrink"]}, (7, 8, 10, 12), {"seat", "keys"}),
}


def rows_of(name):
    given, free, _ = WHOLE[name]
    places = {**given, **{place: FACTORS[place] for place in free}}
    for values in product(*places.values()):
        row = list(USUAL)
        for place, value in zip(places, values, strict=True):
            row[place] = value
        yield row


@pytest.mark.parametrize("name", WHOLE)
def test_rules_and_oracle_agree_on_every_combination_of(name):
    wrong, words = {}, set()
    for row in rows_of(name):
        stack = replace(stack_from(row), machine=None)
        findings = seat_findings(stack, LIMITS, TABLES)
        words |= set(said(findings).items())
        for subject, differing in differences(stack, findings).items():
            wrong.setdefault((subject, str(differing)), row)
    assert wrong == {}
    assert {(subject, word) for subject in WHOLE[name][2] for word in (FITS, UNKNOWN, NO)} <= words
