"""The slow reading: rows of holes, every peck a move of its own.

Source: NIST IR 6556 (2000), 3.5.16. G85 and G89 feed out to R only: common practice.
"""

from tests.assemblies.nc_oracle_moves import (
    PLANES,
    RAPID,
    RAPID_DEPTH,
    leave_out_rapid,
    lose,
    straight,
    targets,
    wait,
)
from tests.assemblies.nc_oracle_state import use_of
from tests.assemblies.nc_oracle_words import MOST_REPEATS, CannotRead, Forbidden, whole


def run_cycle(words, state):
    code, (first, second, own) = state["motion"], PLANES[state["plane"]]
    if state["feed mode"] == 93:
        raise Forbidden("holes in inverse time")
    numbers = state["cycle"]
    for letter in (own, "R", "Q", "K"):
        if letter in words:
            numbers[letter] = words[letter] * state["factor"]
    if "P" in words:
        numbers["P"] = words["P"]
    check_cycle(words, state, own)
    use_of(state)["cycles"].add(code)
    retract, bottom = levels(state, numbers, own)
    drill_row(words, state, (first, second, own), retract, bottom)


def check_cycle(words, state, own):
    code, numbers = state["motion"], state["cycle"]
    needed = {73: "Q", 83: "Q", 82: "P", 86: "P", 88: "P", 89: "P", 87: "K"}.get(code, "")
    if "R" not in numbers or own not in numbers or needed not in ("", "P", *numbers):
        raise Forbidden("a number of the cycle is missing")
    if needed == "P" and "P" not in numbers:
        use_of(state)["unknown"].add("dwell_time")
    if ("P" in numbers and needed != "P") or ("Q" in numbers and needed != "Q"):
        raise CannotRead("a word the cycle does not have")
    if needed == "Q" and numbers["Q"] <= 0:
        raise Forbidden("Q at 0 or below")
    if "L" in words and not 1 <= whole(words["L"]) <= MOST_REPEATS:
        raise CannotRead("L below 1, or too many holes")


def levels(state, numbers, own):
    """R and the bottom in program coordinates; in G91 R counts from here, the bottom from R."""
    if state["absolute"]:
        retract, bottom = numbers["R"], numbers[own]
    else:
        if state["at"][own] is None or own in state["soft"]:
            raise CannotRead("row of holes in G91 from a place not known")
        retract = state["at"][own] + numbers["R"]
        bottom = retract + numbers[own]
    if bottom >= retract:
        raise CannotRead("hole upwards")
    return retract, bottom


def drill_row(words, state, axes, retract, bottom):
    *plane, own = axes
    initial = state["at"][own]
    if initial is not None and initial < retract:
        straight(state, False, {own: retract})
    clear = initial if initial is None else max(initial, retract)
    clear = clear if state["return"] == 98 else retract
    for _ in range(whole(words.get("L", 1))):
        flat = {axis: words[axis] for axis in plane if axis in words}
        if flat:
            straight(state, False, targets(flat, state))
        if state["at"][own] != retract:
            straight(state, False, {own: retract})
        drill(words, state, own, retract, bottom)
        if clear is None:
            leave_out_rapid(state)
            lose(state, [own])
        elif clear != retract or state["at"][own] != retract:
            straight(state, False, {own: clear})


def drill(words, state, own, retract, bottom):
    code, numbers = state["motion"], state["cycle"]
    if code in (73, 83):
        peck(state, own, retract, bottom)
        return
    if code == 87:
        bore_back(state, own, retract, bottom)
        return
    straight(state, True, {own: bottom})
    if "P" in numbers:
        wait(words, state, numbers["P"])
    if code in (84, 85, 89):
        straight(state, True, {own: retract})
    if code == 88:
        use_of(state)["open"].update(RAPID)


def peck(state, own, retract, bottom):
    """G83 goes out to R and back to the last depth by rapid, G73 back by the setting only."""
    level, step, back = retract, state["cycle"]["Q"], state["back off"]
    while level > bottom + 1e-9:
        if level < retract:
            if state["motion"] == 83:
                straight(state, False, {own: retract})
            if state["motion"] == 83 or back:
                straight(state, False, {own: min(level + back, retract)})
        level = max(level - step, bottom)
        straight(state, True, {own: level})


def bore_back(state, own, retract, bottom):
    """G87: down beside the bore, cut up to K, cut down again; its rapids are not compared."""
    if not state["absolute"] or state["cycle"]["K"] <= bottom:
        raise CannotRead("back boring other than upwards in G90")
    state["at"][own] = bottom
    straight(state, True, {own: state["cycle"]["K"]})
    straight(state, True, {own: bottom})
    use_of(state)["open"].update((*RAPID, *RAPID_DEPTH))
