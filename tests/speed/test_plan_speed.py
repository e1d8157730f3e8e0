"""How long planning takes, and how much memory; figures are printed. Set the threads of BLAS to one."""

import json
import subprocess
import sys
import time
from pathlib import Path

import pytest

from ropewalk.bike.reading import read
from ropewalk.workshop.plan import plan

FRAMES = Path(__file__).resolve().parents[2] / "frames"
COMMAND = str(Path(sys.executable).with_name("ropewalk"))
#: runs the command in this process and says how much memory it took at the most
PEAK = """
import resource, sys
from ropewalk.cli.main import main
try:
    main()
finally:
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, file=sys.stderr)
"""


@pytest.mark.parametrize("name", ["touring", "hardtail", "road"])
def test_plan(benchmark, name: str) -> None:
    frame = read(FRAMES / f"{name}.toml")
    plan(frame)
    start = time.process_time()
    job = benchmark.pedantic(plan, args=(frame,), rounds=5)
    spent = (time.process_time() - start) / 5
    assert job.lines
    print(f"\n{name}: {spent:.2f} s of processor time a plan, sweep and tolerance included")
    if name == "touring":
        assert spent < 1.0


def test_the_whole_command(benchmark) -> None:
    def run() -> str:
        return subprocess.run(
            [COMMAND, "cut", str(FRAMES / "touring.toml"), "--json"], capture_output=True, text=True, check=True
        ).stdout

    output = benchmark.pedantic(run, rounds=3)
    assert json.loads(output)["bike"]
    assert benchmark.stats.stats.median < 2.5


def test_peak_memory() -> None:
    done = subprocess.run(
        [sys.executable, "-c", PEAK, "cut", str(FRAMES / "touring.toml")], capture_output=True, text=True, check=True
    )
    peak = float(done.stderr.split()[-1])
    print(f"\npeak memory of ropewalk cut: {peak:.0f} MB")
    assert peak < 400
