"""The code on the page about sound runs as it stands there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import drillbox

PAGE = Path(drillbox.__file__).parents[1] / "docs" / "sound.md"
BLOCKS = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), flags=re.DOTALL)


@pytest.mark.parametrize("block", BLOCKS, ids=lambda block: block.splitlines()[0])
def test_code_on_the_page_runs(block: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Copied into an empty folder, with whatever sound this machine has."""
    monkeypatch.chdir(tmp_path)
    exec(compile(block, str(PAGE), "exec"), {})  # noqa: S102 - it is our own page


def test_the_page_has_code() -> None:
    """A page whose blocks are not found would pass for the wrong reason."""
    assert len(BLOCKS) >= 2
