"""What axe-core finds on the studio's page: by day and by night, at a desk and on a telephone.

axe-core (Deque Systems, MPL-2.0) is no part of drillbox; fetch it first, then name its file, and
other pages to look at too, such as a parents' report:

    npm install --prefix /tmp/axe axe-core
    .venv/bin/python tests/bench/bench_studio_page.py AXE.min.js [PAGE.html ...]

It lies in /tmp/axe/node_modules/axe-core/axe.min.js then.

Every finding is printed with its impact; ends with 1 if one is serious or critical.
"""

from __future__ import annotations

import json
import random
import re
import shutil
import subprocess
import sys
import tempfile
from datetime import UTC, date, datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any

from drillbox.studio import (
    Asked,
    CardProgress,
    DeckInfo,
    Played,
    Progress,
    look_at,
    studio_page,
)

TODAY = date(2026, 11, 25)
WIDTHS = (1200, 390)
NIGHT = "@media (prefers-color-scheme: dark)"
GRAVE = {"serious", "critical"}
STATES = ("holding", "building", "fading", "waiting", "rested", "outgrown")
RUN = """<script>{axe}</script><script>axe.run().then(found => {{
  let out = document.createElement("pre"); out.id = "axe-found";
  out.textContent = JSON.stringify({{passes: found.passes.length, violations: found.violations}});
  document.body.append(out);
}});</script></body>"""


def page() -> str:
    """Return a page with every kind of card and note on it."""
    files = [student(number) for number in range(12)]
    return studio_page(look_at(files, today=TODAY), today=TODAY)


def student(number: int) -> Progress:
    """Return one student's file."""
    chance = random.Random(number)
    cards = []
    for n in range(24):
        state = chance.choice(STATES)
        ago = [] if state == "waiting" else sorted(chance.sample(range(1, 80), 14), reverse=True)
        days = tuple(
            Played(TODAY - timedelta(days=one), 3, 120.0, 100 - one / 4 + chance.random())
            for one in ago
        )
        cold = None if not days or chance.random() < 0.1 else 95 + 10 * chance.random()
        asked = (Asked(TODAY + timedelta(days=chance.randint(-20, 20)), 96.0),) * (n % 5 == 0)
        cards.append(
            CardProgress(f"{n:016x}", f"e of {n}", ("deck",), 100.0, state, cold, days, asked=asked)
        )
    written = datetime(2026, 11, 25, 17, tzinfo=UTC)
    deck = DeckInfo("deck", "Deck", 1)
    return Progress(f"{number:032x}", f"Student {number}", written, (deck,), tuple(cards), TODAY)


def findings(html: str, axe: str, width: int, folder: Path) -> dict[str, Any]:
    """Return what axe-core says of a page in a browser of some width."""
    bare = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", html)
    run = RUN.format(axe=axe)
    place = folder / "page.html"
    place.write_text(bare.replace("</body>", run), encoding="utf-8")
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        raise SystemExit("there is no Chromium here to look with")
    done = subprocess.run(
        [
            *(chromium, "--headless", "--no-sandbox", "--disable-gpu", "--disable-sync"),
            *("--proxy-server=127.0.0.1:9", f"--user-data-dir={folder / 'browser'}"),
            *(f"--window-size={width},900", "--virtual-time-budget=20000", "--dump-dom"),
            place.as_uri(),
        ],
        capture_output=True,
        text=True,
        check=True,
        timeout=300,
    )
    found = re.search(r'<pre id="axe-found">(.*?)</pre>', done.stdout, re.DOTALL)
    if found is None:
        raise SystemExit("axe-core did not answer: is the file axe.min.js?")
    result: dict[str, Any] = json.loads(unescape(found[1]))
    return result


def main() -> int:
    """Look at each page, at each width, by day and by night."""
    if len(sys.argv) < 2:
        raise SystemExit(__doc__)
    axe = Path(sys.argv[1]).read_text(encoding="utf-8")
    pages = {"the studio": page()}
    pages |= {name: Path(name).read_text(encoding="utf-8") for name in sys.argv[2:]}
    grave = 0
    for name, html in pages.items():
        for time, shown in (("day", html), ("night", html.replace(NIGHT, "@media all"))):
            for width in WIDTHS:
                with tempfile.TemporaryDirectory() as folder:
                    found = findings(shown, axe, width, Path(folder))
                print(
                    f"{name}, {time}, {width} wide: {found['passes']} rules hold, "
                    f"{len(found['violations'])} do not",
                    flush=True,
                )
                for one in found["violations"]:
                    grave += one["impact"] in GRAVE
                    nodes = one["nodes"]
                    print(f"  {one['impact']}: {one['id']}, {one['help']}; {len(nodes)} places,")
                    print(f"    as in {nodes[0]['html'][:160]}")
    return int(grave > 0)


if __name__ == "__main__":
    sys.exit(main())
