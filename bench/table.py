#!/usr/bin/env python3
"""Prints the tables of docs/performance.md from what bench/run has measured.

    table.py FOLDER     with program.json, reference.json, large.json and section.json in it
"""
import json
import pathlib
import platform
import sys


def processor():
    try:
        for line in pathlib.Path("/proc/cpuinfo").read_text().splitlines():
            if line.startswith("model name"):
                return line.split(":", 1)[1].strip()
    except OSError:
        pass
    return platform.processor() or "unknown processor"


def table(head, rows):
    lines = ["| " + " | ".join(head) + " |", "|" + "|".join(" ---: " if k else " --- " for k in range(len(head))) + "|"]
    return "\n".join(lines + ["| " + " | ".join(row) + " |" for row in rows])


def by_grid(benchmarks, name):
    """Results of one benchmark, {grid in mm: result}."""
    return {int(b["name"].rsplit(":", 1)[1]) / 10: b for b in benchmarks if b["name"].startswith(name + "/")}


def speed_table(benchmarks, reference):
    flat, crowned = by_grid(benchmarks, "flat_section"), by_grid(benchmarks, "crowned_section")
    rows = []
    for numpy in reference:
        grid = round(numpy["spacing_m"] * 1e3, 3)
        ours = flat[grid]["times_real_time"]
        rows.append([f"{grid:g} mm", f"{flat[grid]['cells_per_step']:.0f}", f"{ours:.0f}",
                     f"{numpy['times_real_time']:.0f}", f"{ours / numpy['times_real_time']:.0f}",
                     f"{crowned[grid]['times_real_time']:.0f}", f"{max(map(abs, numpy['off'].values())):.3%}"])
    return table(["grid", "cells under the pad", "C++, times real time", "NumPy, times real time", "ratio",
                  "C++ on a crown of 2 m", "results differ by"], rows)


def pieces_table(benchmarks):
    unit = {"ns": 1e-3, "us": 1, "ms": 1e3}
    names = list(dict.fromkeys(b["name"].split("/")[0] for b in benchmarks if "section" not in b["name"]))
    rows = []
    for name in names:
        cells = by_grid(benchmarks, name)
        alone = [b for b in benchmarks if b["name"] == name]
        row = [name.replace("_", " ")]
        for grid in (2, 1):
            found = cells.get(grid) or (alone[0] if alone else None)
            row.append(f"{found['cpu_time'] * unit[found['time_unit']]:.3g}" if found else "")
        rows.append(row)
    return table(["piece", "2 mm, µs", "1 mm, µs"], rows)


def main():
    folder = pathlib.Path(sys.argv[1])
    benchmarks = json.loads((folder / "program.json").read_text())["benchmarks"]
    reference = json.loads((folder / "reference.json").read_text())
    large = json.loads((folder / "large.json").read_text())
    print(f"One core of: {processor()}.\n")
    print(speed_table(benchmarks, reference))
    print(f"\nA whole panel of 1.5 x 1.2 m at 1 mm ({large['cells'] / 1e6:.2f} million cells), four crossed passes: "
          f"{large['simulated_s'] / 60:.0f} min of work in {large['cpu_s']:.1f} s of processor time, panel and path "
          f"built in it; peak memory {large['peak_memory_mb']:.0f} MB.\n")
    print(pieces_table(benchmarks))


if __name__ == "__main__":
    main()
