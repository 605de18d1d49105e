"""The slow reading: work offsets and G92, which move the zero.

Source: NIST IR 6556 (2000), 3.5.5 and 3.5.18.
"""

from tests.assemblies.nc_oracle_words import AXES, WORK_OFFSETS, CannotRead, Forbidden, whole


def change_work_offset(state, code):
    if code == state["work"]:
        return
    old, state["work"] = state["work"], code
    for axis in AXES:
        move_zero(state, axis, state["zero"].get((old, axis)), state["zero"].get((code, axis)))


def move_zero(state, axis, old, new):
    """Another zero under a standing spindle: the place reads differently, or is not known."""
    if old is not None and new is not None:
        if state["at"][axis] is not None:
            state["at"][axis] += old - new
    elif axis in state["worded"]:
        state["at"][axis] = None
    else:
        state["soft"].add(axis)


def set_work_zero(words, state):
    """G10 L2: example `G10 L2 P1 x 3.5 y 17.2` of 3.5.5."""
    if words.get("L") != 2 or not state["absolute"] or "R" in words:
        raise CannotRead("G10 other than L2 in G90")
    number = whole(words.get("P", 0))
    if not 1 <= number <= 9:
        raise Forbidden("P of G10 L2 outside 1 to 9")
    code = WORK_OFFSETS[number - 1]
    for axis in AXES:
        if axis in words:
            new = words[axis] * state["factor"]
            if code == state["work"]:
                move_zero(state, axis, state["zero"].get((code, axis)), new)
            state["zero"][code, axis] = new


def set_place(words, state):
    """G92: at X4 `G92 x7` shifts by -3, then `G92 x9` by -5 (3.5.18)."""
    if not any(axis in words for axis in AXES):
        raise Forbidden("G92 without an axis")
    for axis in AXES:
        if axis in words:
            new, old = words[axis] * state["factor"], state["at"][axis]
            known = old is not None and state["shift"][axis] is not None
            state["shift"][axis] = state["shift"][axis] + old - new if known else None
            state["at"][axis] = new
            state["soft"].discard(axis)
            state["worded"].add(axis)
    state["kept shift"] = dict(state["shift"])


def replace_shift(state, shift, keep):
    for axis in AXES:
        move_shift(state, axis, state["shift"][axis], shift[axis])
    state["shift"] = dict(shift)
    if not keep:
        state["kept shift"] = dict(shift)


def move_shift(state, axis, old, new):
    if old is None or new is None or state["at"][axis] is None:
        state["at"][axis] = None
    else:
        state["at"][axis] += old - new


def shift(words, g, state):
    if 92 in g:
        set_place(words, state)
    elif 92.3 in g:
        replace_shift(state, state["kept shift"], keep=True)
    else:
        replace_shift(state, dict.fromkeys(AXES, 0.0), keep=92.2 in g)
