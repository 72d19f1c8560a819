"""How long a deck of families takes.

Some ten thousand drafts, against the same cards written out one by one.

Budget: 10,000 cards in under 2 seconds on a developer's machine. A file may ask for fewer, so the
limit is lifted here. The written deck is the yardstick of the same run: it has the same rhythms in
the spoken notation, so the ratio says what generating costs beside reading.

    python tests/bench/bench_families.py
"""

from __future__ import annotations

import time

from drillbox.deckfile import Deck, parse_deck, reading
from drillbox.rhythm import spell

HEAD = '[deck]\nid = "d"\ntitle = "d"\ngoal = 60\n[groove]\nhat = "beat &"\nsnare = ">2 >4"\n'
FAMILIES = HEAD + "".join(
    f'[[family]]\nid = "f{number}"\ngroove = "{groove}"\nlowest = 20\n{what}\n'
    for number, (groove, what) in enumerate(
        [
            ("rock eighths", 'per = "bar"\ncount = [1, 2, 3, 4]'),
            ("quarter hat", 'per = "bar"\ncount = [1, 2, 3, 4]'),
            ("rock eighths", 'grid = "16t"\nbeats = "alternating"'),
            ("half-time", 'ornament = "double"\non = "some"'),
            ("half-time shuffle", 'grid = "16t"\nornament = "buzz"\non = "some"'),
        ]
    )
)


def timed(text: str) -> tuple[float, Deck]:
    """Return the seconds of processor that reading a deck takes, and the deck."""
    start = time.process_time()
    deck = parse_deck(text, name="bench")
    return time.process_time() - start, deck


def written_out(deck: Deck, most: int) -> str:
    """Return the first cards of a deck as a file that has them one by one."""
    cards = []
    for number, card in enumerate(deck.cards[:most]):
        lines = [line.split(": ", 1) for line in spell(card.pattern).splitlines()]
        voices = "\n".join(f'{name} = "{text}"' for name, text in lines)
        cards.append(f'[[card]]\nid = "c{number}"\ntitle = "c"\ngroove = false\n{voices}\n')
    return HEAD + "".join(cards)


def main() -> None:
    """Measure and print."""
    reading.MAX_MADE = reading.MAX_CARDS
    timed(HEAD + '[[family]]\nid = "warm"\n')
    seconds, deck = timed(FAMILIES)
    drafts = len(deck.cards) + len(deck.left_out)
    print(f"{len(deck.cards)} cards and {len(deck.left_out)} left out in {seconds:.2f} s")
    print(f"10,000 drafts: {seconds * 10_000 / drafts:.2f} s (budget 2 s)")
    plain, read = timed(written_out(deck, 2000))
    ratio = (seconds / drafts) / (plain / len(read.cards))
    print(f"one draft costs {ratio:.2f} times what reading a written card does")


if __name__ == "__main__":
    main()
