"""Try every law of the tests on examples that no run has tried: a run of pytest for each seed.

    python tests/bench/fresh_seeds.py [RUNS] [FIRST_SEED] [TESTS...]

The suite itself always tries the same examples, so that a build is no lottery. This one prints the
seeds that fail with the laws they break, and ends with 1 if there are any; a failure comes again
with ``pytest --hypothesis-profile=fresh --hypothesis-seed=SEED TEST``.
"""

from __future__ import annotations

import re
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TESTS = ROOT / "tests"
RUNS = 5


def with_laws(paths: list[Path]) -> list[str]:
    """Return the test files that draw examples."""
    files = [file for path in paths for file in ([path] if path.is_file() else path.rglob("*.py"))]
    found = (file for file in sorted(files) if file.name.startswith("test_"))
    return [str(file) for file in found if "hypothesis" in file.read_text(encoding="utf-8")]


def broken_by(seed: int, tests: list[str]) -> list[str]:
    """Return the tests that fail on the examples of a seed."""
    fresh = ["--hypothesis-profile=fresh", f"--hypothesis-seed={seed}"]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-n", "2", "-p", "no:cacheprovider", *fresh, *tests],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    if done.returncode not in {0, 1}:
        sys.exit(done.stdout + done.stderr)
    return re.findall(r"^FAILED (\S+)", done.stdout, re.MULTILINE)


def main() -> int:
    """Run, print, and return the exit code."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    runs, first, *_ = (*numbers, *(RUNS, int(time.time()))[len(numbers) :])
    paths = [Path(word) for word in sys.argv[1:] if not word.isdigit()]
    tests, failed = with_laws(paths or [TESTS]), 0
    print(f"{len(tests)} files with laws")
    for seed in range(first, first + runs):
        broken = broken_by(seed, tests)
        failed += bool(broken)
        print(f"seed {seed}: {', '.join(broken) or 'every law holds'}", flush=True)
    print(f"{failed} of {runs} seeds break a law")
    return min(failed, 1)


if __name__ == "__main__":
    sys.exit(main())
