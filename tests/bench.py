"""How long a load and a report take, by number of cases: python tests/bench.py 1000 10000 (never a timed test).

Comes in: numbers of cases. Goes out: a line a size with wall and CPU seconds and peak memory of each command, each in a
process of its own (Linux and macOS), beside the least any reader must do: DuckDB counting the rows of the same files.
The machine is not alone in the world: compare the ratios of one run, not seconds of two.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from pipeline.contracts import places

READ = (
    "import duckdb, sys\n"
    "for path in sys.argv[1:]:\n"
    "    duckdb.execute(\"SELECT count(*) FROM read_csv($1, all_varchar=true, delim=',', quote='')\", [path])"
)


def write_export(folder: Path, cases: int) -> int:
    """The demo's lines over and over, each time as other cases; the number of lines written."""
    written = 0
    demo_cases = (places.DEMO_EXPORT / "cases.csv").read_text(encoding="utf-8-sig").count("\n")
    copies = max(1, round(cases / demo_cases))
    for path in sorted(places.DEMO_EXPORT.glob("*.csv")):
        header, *lines = path.read_text(encoding="utf-8-sig").replace("\0", "").splitlines()
        place = header.split(",").index("case_ref")
        rows = [line.split(",") for line in lines if '"' not in line and line.count(",") == header.count(",")]
        with (folder / path.name).open("w", encoding="utf-8", newline="\n") as file:
            file.write(header + "\n")
            for copy in range(copies):
                file.writelines(
                    ",".join([*row[:place], f"{row[place]}-{copy}", *row[place + 1 :]]) + "\n" for row in rows
                )
        written += copies * len(rows) + 1
    return written


def measured(*command: str) -> tuple[float, float, float]:
    """Wall seconds, CPU seconds and peak megabytes of one process."""
    began = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    assert os.waitstatus_to_exitcode(status) == 0, command
    per_megabyte = 1024 * 1024 if sys.platform == "darwin" else 1024
    return time.perf_counter() - began, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / per_megabyte


def main(sizes: list[int]) -> None:
    """Measure each size."""
    print(f"{'cases':>9}{'lines':>11}  {'command':<8}{'wall s':>8}{'cpu s':>8}{'peak MB':>9}{'cpu to read':>13}")
    for cases in sizes:
        with tempfile.TemporaryDirectory() as scratch:
            export, audit = Path(scratch) / "export", Path(scratch) / "audit"
            export.mkdir()
            lines = write_export(export, cases)
            program = [sys.executable, "-m", "pipeline"]
            subprocess.run([*program, "new", str(audit)], check=True, stdout=subprocess.DEVNULL)
            settings = (places.DEMO_EXPORT / "audit.toml").read_text(encoding="utf-8")
            numbered = ", ".join(f'"AAA9999A-{"9" * digits}"' for digits in range(1, 6))
            (audit / "audit.toml").write_text(settings.replace('"AAA9999A"', numbered), encoding="utf-8")
            files = [str(path) for path in sorted(export.glob("*.csv"))]
            read = measured(sys.executable, "-c", READ, *files)
            # Of many copies of a few faulty lines the gate would rightly hold a large export back.
            options = ["--extracted-on", "2026-10-12", "--accept-anyway", "a benchmark", "--folder", str(audit)]
            load = measured(*program, "load", str(export), *options)
            report = measured(*program, "report", "--folder", str(audit))
            for name, (wall, cpu, peak) in (("read", read), ("load", load), ("report", report)):
                print(f"{cases:>9}{lines:>11}  {name:<8}{wall:>8.1f}{cpu:>8.1f}{peak:>9.0f}{cpu / read[1]:>13.1f}")


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [700, 10_000])
