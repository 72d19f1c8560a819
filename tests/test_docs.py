"""The documentation is a test subject.

Commands exist, links lead somewhere, the README opens with the job.
"""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from drillbox.app.screens.keys import PAGES
from drillbox.app.widgets.grade_zones import GRADE_KEYS
from drillbox.cli.command_table import HOMES
from drillbox.cli.main import drillbox

ROOT = Path(__file__).resolve().parent.parent
PAGES_OF_DOCS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
_LINK = re.compile(r"\]\(([^)#:]+)(?:#[^)]*)?\)")
_COMMAND = re.compile(r"^drillbox (?! *#)(.+)$", re.MULTILINE)
_FENCE = re.compile(r"```(?:sh|console)\n(.*?)```", re.DOTALL)
_INLINE = re.compile(r"`drillbox ([a-z][^`]*)`")


@pytest.mark.parametrize("page", PAGES_OF_DOCS, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    """Every relative link names a file of the repository."""
    broken = [
        target
        for target in _LINK.findall(page.read_text(encoding="utf-8"))
        if not (page.parent / target).exists()
    ]

    assert [] == broken


@pytest.mark.parametrize("page", PAGES_OF_DOCS, ids=lambda page: page.name)
def test_commands_shown_are_commands_there_are(page: Path) -> None:
    """Each ``drillbox ...`` on a page parses: its command exists and takes those options."""
    text = page.read_text(encoding="utf-8")
    shown = [line for block in _FENCE.findall(text) for line in _COMMAND.findall(block)]
    shown += _INLINE.findall(text)
    for line in shown:
        words = shlex.split(line.split(" | ")[0].split("  #")[0])
        words = words[2:] if words[0] == "--box" else words
        command = drillbox.get_command(None, words[0])  # type: ignore[arg-type]

        assert command is not None, line
        options = {o for p in command.params for o in (*p.opts, *p.secondary_opts)}
        options |= {
            o for c in getattr(command, "commands", {}).values() for p in c.params for o in p.opts
        }
        assert {w for w in words if w.startswith("--")} <= options | {"--help"}, line


def test_the_guide_names_every_command_and_every_key() -> None:
    """Nothing a user can type is missing from the guide."""
    guide = (ROOT / "docs" / "guide.md").read_text(encoding="utf-8")

    assert [] == [name for name in HOMES if f"drillbox {name}" not in guide]
    assert [] == [key for key in GRADE_KEYS if f"`{key}`" not in guide]
    keys = {key for _, _, rows in PAGES[:5] for keys, _ in rows for key in keys.split()}
    assert [] == sorted(key for key in keys if f"`{key}`" not in guide)


def test_the_readme_opens_with_the_job_and_its_two_commands() -> None:
    """One paragraph, then how to start, then how to test."""
    lines = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    text = "\n".join(lines)

    assert "# drillbox" == lines[0]
    assert len(lines[2]) > 300
    assert text.index("## Start") < text.index("## Test")
    assert "bash .ci/run" in text


def test_the_changelog_knows_this_version() -> None:
    """A user can read what changed."""
    from drillbox import __version__

    assert f"## {__version__}" in (ROOT / "docs" / "changelog.md").read_text(encoding="utf-8")
