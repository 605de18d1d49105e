"""A slow and very plain reading of NC programs, to hold the real reader against.

It shares no line and no method with `assemblies.rules.nc`: one dictionary of state, one block after
the other in the order of table 8, arcs walked in small steps instead of computed. What it does not
know it refuses (`CannotRead`), so it never guesses.

Source: NIST IR 6556 (2000), sections 3.2 to 3.8. Where shops differ from it: G95 (feed per
revolution), M98 and M99, `;` and O numbers are common practice; G85 and G89 feed out to R only.

>>> uses = read_slowly("T1 M6\\nG1 X3 Y4 F100\\nM2")
>>> uses[1]["feed_path_length"], uses[1]["cutting_time"]
(5.0, 0.05)
"""

from tests.assemblies.nc_oracle_machine import run_block
from tests.assemblies.nc_oracle_state import new_state
from tests.assemblies.nc_oracle_words import (
    MOST_REPEATS,
    CannotRead,
    Forbidden,
    read_words,
    strip_line,
    whole,
)

MOST_BLOCKS, DEEPEST_CALL = 20_000, 8


def read_slowly(text, steps=600, back_off=0.0):
    """Figures by tool number of a whole program; raises `CannotRead`."""
    lines = [strip_line(line) for line in text.splitlines()]
    lines, closed = within_percent(lines)
    state = new_state(steps, back_off)
    try:
        ended = run_lines(state, lines, 0, 0)
    except (ValueError, ZeroDivisionError, OverflowError) as fault:
        raise Forbidden(f"an expression has no value: {fault}") from None
    if ended == "M99":
        raise CannotRead("M99 in the main program")
    if ended != "end" and not closed:
        raise CannotRead("no end")
    return state["uses"]


def within_percent(lines):
    """The lines between a pair of `%`, and whether there was one."""
    full = [n for n, line in enumerate(lines) if line]
    if not full or lines[full[0]] != "%":
        if "%" in lines:
            raise CannotRead("% that does not open the file")
        return lines, False
    inner = lines[full[0] + 1 :]
    if "%" not in inner:
        return inner, False
    return inner[: inner.index("%")], True


def run_lines(state, lines, place, depth):
    """Run from a line to the end; gives what ended it: `end`, `M99` or nothing."""
    started = False
    while place < len(lines):
        text = lines[place]
        place += 1
        if text.startswith("/"):
            raise CannotRead("block delete")
        words = read_words(text, state["parameters"])
        if "O" in words:
            if started or set(words) - {"O", "N", "G", "M"} or words["G"] or words["M"]:
                raise CannotRead("program number in the middle")
        elif {98, 99} & set(words["M"]):
            if call(state, lines, words, depth) == "M99":
                return "M99"
            if state.get("over"):
                return "end"
        elif run_block(words, state):
            state["over"] = True
            return "end"
        started = started or bool(text)
        state["blocks"] += 1
        if state["blocks"] > MOST_BLOCKS:
            raise CannotRead("too many blocks")
    return None


def call(state, lines, words, depth):
    if words["G"] or len(words["M"]) > 1 or set(words) - {*"GMNPL", "P without a point"}:
        raise CannotRead("call or return with other words")
    if words["M"] == [99]:
        if "P" in words or "L" in words:
            raise CannotRead("return to a line")
        return "M99"
    if "P" not in words or depth >= DEEPEST_CALL:
        raise CannotRead("call without a name, or too deep")
    place = find_program(lines, whole(words["P"]))
    if not 0 <= whole(words.get("L", 1)) <= MOST_REPEATS:
        raise CannotRead("too many calls")
    for _ in range(whole(words.get("L", 1))):
        ended = run_lines(state, lines, place, depth + 1)
        if ended == "end":
            break
        if ended is None:
            raise CannotRead("subprogram without M99")
    return None


def find_program(lines, number):
    places = [n for n, line in enumerate(lines) if line.startswith("O") and named(line) == number]
    if len(places) != 1:
        raise CannotRead("subprogram missing or there twice")
    return places[0]


def named(line):
    digits = line[1:].rstrip("|")
    return int(digits) if digits.isdecimal() else None
