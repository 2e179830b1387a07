"""Wall time and peak memory of one Python process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Cost:
    """Seconds from start to end, interpreter and imports included; processor seconds, those of
    child processes too; peak resident megabytes. The processor's are less disturbed by what else
    the machine does."""

    seconds: float
    processor_seconds: float
    megabytes: float

    def __str__(self) -> str:
        return f"{self.seconds:7.2f} s {self.processor_seconds:7.2f} s CPU {self.megabytes:6.0f} MB"


def cost_of(*arguments: str | Path, runs: int = 1) -> Cost:
    """Run `python ARGUMENTS` and return its cost, the quickest of several runs.

    Raises RuntimeError with what the process said where it does not end well.
    """
    return min((_one_run(arguments) for _ in range(runs)), key=lambda cost: cost.seconds)


def _one_run(arguments: tuple[str | Path, ...]) -> Cost:
    begun = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, *map(str, arguments)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stderr is not None
    said = process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - begun
    process.returncode = os.waitstatus_to_exitcode(status)
    process.stderr.close()
    if process.returncode != 0:
        raise RuntimeError(f"{' '.join(map(str, arguments))} failed:\n{said}")
    return Cost(seconds, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)
