"""Hostile files through the whole way, with fresh seeds, as long as wanted.

The laws are those of `tests/test_whole_way.py`; there a few examples are tried with a fixed seed,
here thousands with a new one each round. Ends with 1 when a law is broken, after printing the
smallest example that breaks it.

    .venv/bin/python tests/bench/fuzz_whole_way.py [ROUNDS] [EXAMPLES]
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from random import SystemRandom

from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent.parent))

import test_whole_way as laws
from conftest import SMALL_DECK
from strategies import damaged_bytes

ROUNDS, EXAMPLES = 3, 300
logs = laws.hostile_logs() | damaged_bytes(laws.LOG)
LAWS = (
    (laws.test_a_log_is_refused_or_good_for_everything, logs),
    (laws.test_a_deck_is_refused_or_good_for_everything, damaged_bytes(SMALL_DECK.encode())),
    (
        laws.test_settings_are_refused_or_good_for_everything,
        st.dictionaries(st.sampled_from(laws.SETTINGS), laws.extreme | laws.rules, max_size=4),
    ),
)


def main() -> int:
    """Try every law in every round with a seed of its own; return whether one was broken."""
    asked = [int(word) for word in sys.argv[1:]]
    rounds, examples = [*asked, *(ROUNDS, EXAMPLES)[len(asked) :]]
    for _ in range(rounds):
        chosen = SystemRandom().randrange(2**32)
        for law, inputs in LAWS:
            name, began = law.__name__.removeprefix("test_"), time.perf_counter()
            inner = law.hypothesis.inner_test  # type: ignore[attr-defined]
            trial = settings(
                max_examples=examples,
                deadline=None,
                database=None,
                suppress_health_check=list(HealthCheck),
            )(given(inputs)(inner))
            try:
                seed(chosen)(trial)()
            except Exception as broken:  # noqa: BLE001 - whatever a law says
                print(f"{name}: BROKEN with seed {chosen}: {broken!r}")
                print("\n".join(getattr(broken, "__notes__", ())))
                return 1
            seconds = time.perf_counter() - began
            print(f"{name}: {examples} examples, seed {chosen}, {seconds:.0f} s", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
