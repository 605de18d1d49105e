"""Speed of the program reader, as a ratio to a plain per-line `findall` and `float` loop.

Run: python bench/bench_nc.py [lines]. Both loops read the same invented program in the same run,
so that the ratio says something on any machine. The aim is a third of the plain loop.
"""

from __future__ import annotations

import math
import re
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from assemblies.rules.nc.reader import read_program

_WORD = re.compile(r"([A-Z])([-+]?[0-9.]+)")
TOOLS = 12


def invented_program(lines: int) -> bytes:
    """A program of about `lines` blocks with twelve tools; every eleventh move is an arc."""
    rows = ["%", "O1000 (INVENTED PROGRAM)", "G21 G90 G17 G94"]
    for tool in range(1, TOOLS + 1):
        rows += [f"T{tool} M6", f"S{8000 + 500 * tool} M3", f"G43 H{tool}", "G0 X0 Y0 Z5.", "F2400"]
        for step in range(lines // TOOLS):
            x, y = 100 * math.cos(step / 50), 100 * math.sin(step / 50)
            if step % 11 == 0:
                rows.append(f"G2 X{x:.3f} Y{y:.3f} I{x / 10:.3f} J{y / 10:.3f}")
            elif step % 11 == 1:
                rows.append(f"G1 X{x:.3f} Y{y:.3f} Z-{step % 9}.25")
            else:
                rows.append(f"X{x:.3f} Y{y:.3f}")
        rows += ["G0 Z50.", "M5"]
    return "\n".join([*rows, "M30", "%", ""]).encode()


def plain_loop(data: bytes) -> float:
    """Take every word of every line apart and add the numbers up."""
    total = 0.0
    for line in data.decode("latin-1").splitlines():
        for _, value in _WORD.findall(line):
            total += float(value)
    return total


def seconds(job, *arguments) -> float:
    """The shortest of three runs [s]."""
    shortest = math.inf
    for _ in range(3):
        start = time.perf_counter()
        job(*arguments)
        shortest = min(shortest, time.perf_counter() - start)
    return shortest


def main(lines: int) -> None:
    data = invented_program(lines)
    megabytes = len(data) / 1e6
    reader, loop = seconds(read_program, data), seconds(plain_loop, data)
    print(f"program      {megabytes:8.1f} MB, {data.count(10)} lines")
    print(f"reader       {megabytes / reader:8.1f} MB/s  {reader:.2f} s")
    print(f"plain loop   {megabytes / loop:8.1f} MB/s  {loop:.2f} s")
    print(f"ratio        {loop / reader:8.2f}     (aim: 0.33 or more)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
