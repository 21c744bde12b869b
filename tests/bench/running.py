"""One stage in a process of its own: what it took, as the operating system counts it."""

import json
import os
import sys
import time
from dataclasses import dataclass
from subprocess import PIPE, Popen
from typing import Any

KIB_A_MIB = 1024


@dataclass(frozen=True)
class Took:
    """What a process took: wall and processor seconds, start-up and imports among them, and its peak memory.

    ``told`` is what it wrote: ``seconds`` and ``processor``, of the work alone (least of its repeats), and ``answer``.
    """

    wall: float
    cpu: float
    peak_mib: float
    told: dict[str, Any]

    @property
    def seconds(self) -> float:
        """Wall seconds of the work alone."""
        return float(self.told["seconds"])

    @property
    def processor(self) -> float:
        """Processor seconds of the work alone, which a busy machine stretches least."""
        return float(self.told["processor"])


def run(module: str, *words: str, repeat: int = 1) -> Took:
    """Run a module of the bench ``repeat`` times: the run with the least wall time."""
    return min((_once(module, *words) for _ in range(repeat)), key=lambda took: took.wall)


def _once(module: str, *words: str) -> Took:
    begun = time.perf_counter()
    process = Popen([sys.executable, "-m", f"tests.bench.{module}", *words], stdout=PIPE, text=True)
    out = process.stdout.read() if process.stdout else ""
    _, status, usage = os.wait4(process.pid, 0)
    wall = time.perf_counter() - begun
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"{module} {' '.join(words)} ended with {process.returncode}")
    return Took(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / KIB_A_MIB, json.loads(out.splitlines()[-1]))


def tell(seconds: float, answer: object, *, processor: float) -> None:
    """Hand a stage's result to whoever runs it."""
    sys.stdout.write(json.dumps({"seconds": seconds, "processor": processor, "answer": answer}, default=str) + "\n")
