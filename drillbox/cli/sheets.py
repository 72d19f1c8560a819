"""The command that puts cards on paper and into files for other programs: sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from drillbox.base.files import there
from drillbox.base.wording import counted
from drillbox.cli.completions import card_names
from drillbox.cli.number_options import Whole
from drillbox.cli.output import say
from drillbox.cli.path_kinds import FILE
from drillbox.cli.wiring import clock, open_box
from drillbox.errors import NotSavedError, UnknownCardError, UsageError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime
    from pathlib import Path

    from drillbox.box import Box
    from drillbox.deckfile import Deck
    from drillbox.paper import Exercise, Playing, Sheet, SheetForm
    from drillbox.rhythm import Hand
    from drillbox.studio import Progress

LONG = 40
"""So many cards take about half a second to draw; fewer are not worth a bar."""


@click.command("sheet")
@click.argument("cards", nargs=-1, shell_complete=card_names)
@click.option("--deck", help="A whole deck: of the box, a starter deck, or a file.")
@click.option("--today", "of_today", is_flag=True, help="Today's plan, to grade with a pencil.")
@click.option("--map", "of_map", is_flag=True, help="The vocabulary on one page.")
@click.option("--standing", "of_standing", is_flag=True, help="Where you stand, to take home.")
@click.option("--lesson", "student", help="A lesson sheet for a student, with --deck.")
@click.option("--words", default="", help="The teacher's words on a lesson sheet.")
@click.option(
    "--progress",
    type=FILE,
    help="The student's progress file, for a lesson sheet.",
)
@click.option("-o", "--out", type=FILE, help="The file to write.")
@click.option("--over", is_flag=True, help="Write over a file that is there.")
@click.option(
    "--paper",
    type=click.Choice(("a4", "letter")),
    default="a4",
    show_default=True,
    help="Size of the paper.",
)
@click.option(
    "--staff",
    type=click.Choice(("small", "usual", "large")),
    default="usual",
    show_default=True,
    help="Height of the staff: 6, 7 or 9.5 mm.",
)
@click.option(
    "--step",
    type=click.Choice(("5", "10")),
    default="5",
    show_default=True,
    help="bpm from one box to tick to the next.",
)
@click.option("--hands", is_flag=True, help="Write below every note which hand plays.")
@click.option("--motions", is_flag=True, help="Write below every note how the hand moves.")
@click.option(
    "--leading",
    type=click.Choice(("right", "left")),
    help="The hand that leads. Default: as you have set.",
)
@click.option("--click", "clicks", is_flag=True, help="MIDI: a track with the click.")
@click.option("--count-in", type=Whole(0, 4), default=0, help="MIDI: bars of count-in.")
@click.option("--passes", type=Whole(1, 64), default=1, help="MIDI: how often each.")
@click.pass_obj
def sheet_command(box_path: str | None, /, **options: Any) -> None:
    """Put CARDS, a deck, today's plan or the vocabulary on paper.

    The ending of --out says what is written: .pdf, .html or .svg to print (these need the extra
    'sheets'), .musicxml for engraving programs, .mid for sequencers, .txt. Without --out a text
    sheet is printed here.

    For example:
      drillbox sheet e-and-a -o e-and-a.pdf
      drillbox sheet --deck triplet-ghosts -o triplets.pdf --staff large
      drillbox sheet --today -o today.pdf
      drillbox sheet --map -o vocabulary.pdf
      drillbox sheet --deck week-3.toml --lesson Maya --words "Lower." -o maya.pdf
      drillbox sheet --deck sixteenth-ghosts -o ghosts.musicxml
      drillbox sheet e-and-a -o e-and-a.mid --click --count-in 1 --passes 8
    """
    from drillbox.paper import form_of, rendered, text_sheet

    asked = SheetOptions(**options)
    asked.check()
    form = form_of(str(asked.out)) if asked.out else None
    with open_box(box_path, only_reads=True) as box:
        at, hand = clock().now(), asked.hand(box)
        sheet = _of_deck(box, asked, at, hand) if asked.deck else _of_box(box, asked, at, hand)
        if asked.out is None or form is None:
            say(text_sheet(sheet, leading=hand).rstrip("\n"))
            return
        files = rendered(sheet, form, asked.form(hand), at=at, playing=asked.playing())
    _write(files, asked.out, over=asked.over)


@dataclass(frozen=True, slots=True)
class SheetOptions:
    """What was asked for, by the options' names."""

    cards: tuple[str, ...]
    deck: str | None
    of_today: bool
    of_map: bool
    of_standing: bool
    student: str | None
    words: str
    progress: Path | None
    out: Path | None
    over: bool
    paper: str
    staff: str
    step: str
    hands: bool
    motions: bool
    leading: str | None
    clicks: bool
    count_in: int
    passes: int

    def check(self) -> None:
        """Refuse what cannot be meant together."""
        kinds = (self.cards, self.deck, self.of_today, self.of_map, self.of_standing)
        if sum(map(bool, kinds)) != 1:
            raise UsageError(
                "say what goes on the sheet",
                fix="name cards, or --deck ID, --today, --map or --standing",
            )
        if (self.student or self.words or self.progress) and not (self.student and self.deck):
            raise UsageError(
                "a lesson sheet is for a student", fix="give --lesson NAME and --deck ID"
            )

    def hand(self, box: Box) -> Hand:
        """Return the hand that leads."""
        from drillbox.rhythm import Hand

        return Hand(self.leading[0].upper() if self.leading else box.settings.leading)

    def form(self, hand: Hand) -> SheetForm:
        """Return how the paper is to look."""
        from drillbox.paper import Rows, SheetForm

        rows = Rows(hands=self.hands or None, motions=self.motions)
        return SheetForm(self.paper, self.staff, hand, rows)

    def playing(self) -> Playing:
        """Return what a MIDI file plays."""
        from drillbox.paper import Playing

        return Playing(self.passes, click=self.clicks, count_in_bars=self.count_in)


def _of_deck(box: Box, asked: SheetOptions, at: datetime, hand: Hand) -> Sheet:
    """Return an exercise sheet or a lesson sheet of a deck."""
    from drillbox.report.sheet_contents import deck_sheet, lesson

    deck = _deck(box, asked.deck or "")
    goals: dict[str, float] = {}
    if asked.progress:
        handed_in = _progress(asked.progress, asked.student or "")
        cold = {card.rhythm: card.cold_bpm for card in handed_in.cards}
        goals = {card.rhythm: card.goal_bpm for card in handed_in.cards}
    else:
        cold = {card.card_id: card.cold_bpm for card in box.cards(at=at)}
    if asked.student:
        day = box.now(at).day
        return lesson(
            deck,
            student=asked.student,
            words=asked.words,
            day=day,
            cold=cold,
            goals=goals,
            leading=hand,
        )
    return deck_sheet(deck, leading=hand, cold=cold, step=int(asked.step), through=_watched)


def _of_box(box: Box, asked: SheetOptions, at: datetime, hand: Hand) -> Sheet:
    """Return a sheet of what is in the box."""
    from drillbox.report.sheet_contents import cards_sheet, standing, todays_plan, vocabulary

    if asked.cards:
        views = [box.card(box.find(name), at=at) for name in asked.cards]
        return cards_sheet(views, leading=hand, step=int(asked.step), through=_watched)
    if asked.of_today:
        return todays_plan(box, at=at, minutes=box.minutes_today(at=at), leading=hand)
    if asked.of_map:
        return vocabulary(box.cards(at=at), day=box.now(at).day, leading=hand)
    return standing(box, at=at, leading=hand)


def _progress(path: Path, student: str) -> Progress:
    """Return what a student's progress file tells; refuse one of another student.

    A name fits where it shares a word with the file's: Maya is Maya Brown.
    """
    from drillbox.base.files import opened
    from drillbox.errors import ProgressError
    from drillbox.studio import read_progress

    with opened(path, error=ProgressError) as file:
        read = read_progress(file, str(path))
    words = set(read.name.casefold().split())
    if words and not words & set(student.casefold().split()):
        raise UsageError(
            f"this file is {read.name}'s, not {student}'s",
            where=str(path),
            fix=f"give --lesson {read.name!r}, or {student}'s file",
        )
    return read


def _deck(box: Box, name: str) -> Deck:
    """Return a deck of the box, a starter deck, or the deck in a file."""
    from drillbox.cli.deckfiles import deck_named
    from drillbox.deckfile import parse_deck

    for row in box.archive.decks():
        if row.id == name:
            return parse_deck(row.text, name=name)
    found = deck_named(name)
    if not found.cards:
        raise UnknownCardError(f"{name} has no cards")
    return found


def _watched(cards: Iterable[Exercise]) -> Iterator[Exercise]:
    """Hand cards on while they are drawn, with a bar on standard error if there are many."""
    import sys

    listed = list(cards)
    hidden = len(listed) < LONG or not sys.stderr.isatty()
    with click.progressbar(listed, label="drawing", file=sys.stderr, hidden=hidden) as bar:
        yield from bar


def _write(files: tuple[bytes, ...], out: Path, *, over: bool) -> None:
    """Write one file, or one for each page, and say where."""
    from drillbox.paper.formats import write_files

    if len(files) == 1 and there(out) and not over:
        fix = "give --over to write over it, or name another file"
        raise NotSavedError("the file exists already", where=str(out), fix=fix)
    names = write_files(files, out, over=over)
    if len(names) == 1:
        say(f"Written: {names[0]}")
    else:
        say(f"Written: {counted(len(names), 'page')}, {names[0]} to {names[-1]}")
