"""Commands of the shelf: cards, card."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drillbox.base.wording import as_sentence, bpm_words, counted
from drillbox.box.finding import found
from drillbox.cli.completions import card_names
from drillbox.cli.number_options import Whole
from drillbox.cli.output import (
    assignment_object,
    card_object,
    json_option,
    no_card,
    say,
    say_json,
    say_table,
    take_object,
)
from drillbox.cli.path_kinds import FILE
from drillbox.cli.plain import plain_option, say_card, say_cards
from drillbox.cli.problems import narrate
from drillbox.cli.streams import broken, paged
from drillbox.cli.wiring import clock, open_box

if TYPE_CHECKING:
    from pathlib import Path


@click.command("cards")
@click.argument("words", nargs=-1)
@json_option
@plain_option
@click.pass_obj
def cards_command(box_path: str | None, words: tuple[str, ...], as_json: bool, plain: bool) -> None:
    """List the cards, or those of which all WORDS are true.

    A word stands in the title, deck, family or state; a single letter by itself, words in quotes
    in a row. Numbers are compared: goal, cold, takes, away (days since the last take), slips (days
    until it does). A minus leaves out; put -- before.

    For example:
      drillbox cards
      drillbox cards triplet fading
      drillbox cards "e of 1"
      drillbox cards "goal>=90" "away>30"
      drillbox cards -- holding -doubled
    """
    with open_box(box_path, only_reads=True) as box, paged():
        at = clock().now()
        cards = found(box.cards(at=at), words, today=box.now(at).day)
        if as_json:
            say_json([card_object(card) for card in cards])
            return
        if not cards:
            nothing = f"No card has all of: {' '.join(words)}. 'drillbox cards' lists the cards."
            say(nothing if box.cards_in_box else no_card(box))
            return
        if plain:
            say_cards(cards)
            return
        rows = [
            (
                card.places[0],
                card.title,
                card.state.value,
                bpm_words(card.cold_bpm),
                f"{card.goal_bpm:.0f}",
                str(card.takes),
            )
            for card in cards
        ]
        say_table(("name", "card", "state", "cold", "goal", "takes"), rows)


@click.command("card")
@click.argument("card", shell_complete=card_names)
@json_option
@plain_option
@click.pass_obj
def card_command(box_path: str | None, card: str, as_json: bool, plain: bool) -> None:
    """Show CARD: how it is written, what is expected of it, and its takes.

    For example:
      drillbox card e-and-a
      drillbox card e-and-a --json
    """
    with open_box(box_path, only_reads=True) as box, paged():
        at = clock().now()
        view = box.card(box.find(card), at=at)
        takes, asked = box.history(view.card_id), box.assignments(view.card_id, at=at)
        if as_json:
            from drillbox.rhythm import difficulty

            told = {
                "why": box.why(view.card_id, at=at),
                "note": view.note,
                "difficulty": round(difficulty(view.pattern)),
                "assignments": [assignment_object(kept) for kept in asked],
                "history": [take_object(take) for take in takes],
            }
            say_json(card_object(view) | told)
            return
        if plain:
            say_card(view, box.why(view.card_id, at=at), takes)
            return
        from drillbox.rhythm import Hand, difficulty, draw, for_player, movement, movement_words

        leading = Hand(box.settings.leading)
        pattern = for_player(view.pattern, leading)
        words = movement_words(movement(pattern, leading=leading), view.goal_bpm)
        say(f"{view.title} ({view.card_id}, in {', '.join(view.deck_ids)})")
        if view.note:
            say(view.note)
        say()
        say(draw(pattern, motions=True, leading=leading))
        say(f"{as_sentence(words)} Difficulty {difficulty(pattern):.0f}.")
        say()
        say(f"{view.state.value}, goal {view.goal_bpm:.0f} bpm")
        if view.cold_bpm is not None:
            say(f"cold now about {view.cold_bpm:.0f} ({view.low_bpm:.0f} to {view.high_bpm:.0f})")
        elif view.takes:
            say("not together yet: no cold tempo before a take holds together")
        for kept in asked:
            say(kept.words)
        say(box.why(view.card_id, at=at))
        if takes:
            say()
            rows = [
                (f"{take.at:%Y-%m-%d %H:%M}", f"{take.bpm:.0f}", take.grade.label,
                 "cold" if take.cold else "warm", take.short_id)
                for take in takes
            ]  # fmt: skip
            say_table(("played", "bpm", "grade", "", "take"), rows)
        if any(take.measured for take in takes):
            from drillbox.report.measured_trends import habits_of, months_lines, months_of

            say()
            for line in (*months_lines(months_of(takes)), *habits_of(takes)):
                say(line)


@click.command("year")
@click.option(
    "--width", type=Whole(40, 300), default=80, show_default=True, help="Columns of text."
)
@click.option(
    "--html",
    "page",
    type=FILE,
    help="Write a page to FILE, in the place of an earlier page; of no other file.",
)
@json_option
@click.pass_obj
def year_command(box_path: str | None, width: int, page: Path | None, as_json: bool) -> None:
    """Print the player's year.

    It shows your vocabulary in hand over time, your minutes by day, what comes back when, and your
    records.

    For example:
      drillbox year
      drillbox year --html year.html
      drillbox year --json
    """
    from drillbox.report.year import year_sections

    if page is not None:
        from drillbox.base.files import write_anew
        from drillbox.report.year_page import year_page
        from drillbox.studio.html_page import PAGE_MARK

        with open_box(box_path, only_reads=True) as box:
            text = year_page(box, at=clock().now())
        write_anew(page, text, mark=PAGE_MARK)
        narrate(f"Written: {page}")
        return
    if as_json:
        from drillbox.report.year_values import year_values

        with open_box(box_path, only_reads=True) as box:
            say_json(year_values(box, at=clock().now()))
        return
    with open_box(box_path, only_reads=True) as box, paged():
        for title, body in year_sections(box, at=clock().now(), width=width):
            say(broken(f"{title}\n\n{body}\n", width))


@click.command("ahead")
@click.option("--days", type=Whole(7, 365), default=90, show_default=True, help="How many days.")
@click.option(
    "--minutes",
    type=Whole(5, 120),
    multiple=True,
    help="Minutes a day; give it twice to compare. Default: 10 and 15.",
)
@json_option
@click.pass_obj
def ahead_command(box_path: str | None, days: int, minutes: tuple[int, ...], as_json: bool) -> None:
    """Simulate your next days from the box as it stands.

    It says how many cards you would have in hand for so many minutes a day: what the model expects
    of you, not a promise.

    For example:
      drillbox ahead
      drillbox ahead --days 30 --minutes 10 --minutes 20
    """
    from drillbox.base.text_charts import columns

    with open_box(box_path, only_reads=True) as box:
        at = clock().now()
        if not as_json:
            say(
                f"Cards in hand on each of the next {counted(days, 'day')}, "
                "if every take comes off as expected.\nLife is slower: 'drillbox path' says "
                "what decks take students with good and bad days.\n"
            )
        courses = {each: box.ahead(at=at, minutes=each, days=days) for each in minutes or (10, 15)}
    if as_json:
        say_json({each: list(course) for each, course in courses.items()})
        return
    top = max((max(course) for course in courses.values()), default=0)
    for each, course in courses.items():
        hand = counted(course[-1], "card")
        say(f"{counted(each, 'minute')} a day: {hand} in hand after {counted(days, 'day')}")
        say()
        say(columns(course, width=80, height=8, left="tomorrow", right=f"day {days}", top=top))
        say()
