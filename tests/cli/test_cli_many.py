"""Commands on many cards and on decks: who is meant, what changes, what is said of it."""

from __future__ import annotations

from datetime import date, timedelta
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import click
import pytest
from click.shell_completion import CompletionItem
from conftest import SMALL_DECK
from hypothesis import given
from hypothesis import strategies as st

from drillbox.base.tempi import TAKEN
from drillbox.box.goals import RAISE_BPM
from drillbox.box.kept_at_goal import keeps, top_of
from drillbox.cli.bulk import SHOWN
from drillbox.cli.completions import card_names, setting_names
from drillbox.cli.deckfiles import deck_named, decks_named
from drillbox.cli.decks import MOST_RAISED
from drillbox.cli.deckwatch import MOST_DRAWN, MOST_ERRORS, say_look
from drillbox.cli.output import say_table
from drillbox.cli.take_line import read_takes
from drillbox.deckfile import deck_template, parse_deck, read_starter_decks
from drillbox.errors import DeckError, UsageError
from drillbox.memory import Grade, State

if TYPE_CHECKING:
    from pathlib import Path

    from cli_kit import Player


def wide_deck(count: int, *, name: str = "wide", goal: int = 90) -> str:
    """Return a deck of so many cards, one ghost each on one sixteenth of two bars."""
    head = SMALL_DECK.split("[[card]]", maxsplit=1)[0].replace("first-ghosts", name)
    head = head.replace("goal = 90", f"goal = {goal}")
    places = [f"{beat}{part}" for part in ("e", "a", "&") for beat in (1, 2, 3, 4)]
    pairs = [f"({a})" for a in places] + [f"({a}) ({b})" for a in places for b in places if a < b]
    cards = (f'[[card]]\nid = "c{n}"\nsnare = "{pairs[n]}"\n' for n in range(count))
    return head + "\n".join(cards)


def written(player: Player, text: str, name: str = "deck.toml") -> str:
    """Write a deck beside the box and return its path."""
    path = player.path.with_name(name)
    path.write_text(text, encoding="utf-8")
    return str(path)


def goals(player: Player) -> dict[str, float]:
    """Return the goals of the small deck's cards by their names there."""
    with player.box() as box:
        cards = box.cards(at=player.clock.now())
        return {c.places[0].removeprefix("first-ghosts/"): c.goal_bpm for c in cards}


# Goals, rest


def test_goals_move_as_asked(player: Player) -> None:
    """To a tempo, by so many, back to the decks', looked at first, and undone."""
    usual = {"e": 90.0, "a": 90.0, "e-a": 90.0, "a-doubled": 80.0}
    said = player("goals", "doubled", "--to", "96")
    assert "  80 to 96  a of every beat, doubled\nGoals of 1 card changed; " in said.out
    assert usual | {"a-doubled": 96.0} == goals(player)
    preview = player("goals", "every", "--by", "-5", "--preview").out
    assert "  96 to 91  a of every beat, doubled\nGoals of 4 cards would change.\n" in preview
    assert usual | {"a-doubled": 96.0} == goals(player)
    player("goals", "every", "--by", "-5")
    assert {"e": 85.0, "a": 85.0, "e-a": 85.0, "a-doubled": 91.0} == goals(player)
    assert "Goals of 4 cards are as they were before.\n" == player("goals", "--undo").out
    assert usual | {"a-doubled": 96.0} == goals(player)
    assert "Goals of 1 card changed; " in player("goals", "every", "--decks").out
    assert usual == goals(player)


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("e", "--to", "90", "--by", "5"), 2), (("e", "--to", "90", "--decks"), 2),
        (("e", "--by", "5", "--decks"), 2), (("e",), 0), (("--to", "90"), 2), (("--by", "5"), 2),
        (("--decks",), 2), (("e", "--keep", "--climb"), 2), (("e", "--keep", "--top", "120"), 2),
        (("e", "--keep", "--by", "0"), 0), (("e", "--keep", "--by", "5"), 2),
        (("e", "--climb", "--preview"), 2), (("e", "--top", "120", "--to", "90"), 2),
        (("e", "--climb", "--decks"), 2), (("e", "--keep", "--outgrown"), 2), (("--climb",), 2),
        (("--top", "120"), 2), (("e", "--to", "19"), 2), (("e", "--to", "20"), 0),
        (("e", "--to", "400"), 0), (("e", "--to", "401"), 2), (("e", "--by", "-101"), 2),
        (("e", "--by", "101"), 2), (("e", "--by", "100"), 0), (("--outgrown",), 0),
        (("nothing-like-it", "--by", "5"), 5),
    ],
)  # fmt: skip
def test_what_is_asked_of_goals_must_be_one_thing(
    player: Player, words: tuple[str, ...], code: int
) -> None:
    """Two goals at once, or no cards, are refused, and nothing has changed then.

    Cards without a goal are shown with those that they have.
    """
    before = goals(player)
    said = player("goals", *words)
    assert code == said.code
    assert not code or before == goals(player)


def test_cards_climb_or_are_kept_as_the_box_says(player: Player) -> None:
    """To the hands' end, to a tempo, or not at all; a later word takes an earlier one back."""

    def kept_and_tops() -> tuple[list[str], set[float]]:
        with player.box() as box:
            settings = box.archive.settings()
            entries = box.entries().values()
        kept = [entry.row.slug for entry in entries if keeps(entry, settings)]
        return kept, {top_of(entry.row.card_id, 0.0, settings) for entry in entries}

    assert ([], {400.0}) == kept_and_tops()
    assert "Kept at the goal: 1 card.\n" == player("goals", "doubled", "--keep").out
    assert (["a-doubled"], {400.0}) == kept_and_tops()
    assert "Climbing to 120: 4 cards.\n" == player("goals", "every", "--top", "120").out
    assert ([], {120.0}) == kept_and_tops()
    player("goals", "every", "--keep")
    assert (4, {120.0}) == (len(kept_and_tops()[0]), kept_and_tops()[1])
    assert "Climbing as far as the hands go: 4 cards.\n" == player("goals", "every", "--climb").out
    assert ([], {400.0}) == kept_and_tops()


def outgrown(player: Player) -> None:
    """Bring one card far over its goal."""
    with player.box() as box:
        for n in range(9):
            player.clock.forward(days=2)
            at = player.clock.now()
            box.record(box.find("a"), bpm=100 + 5 * n, grade=Grade.AUTOMATIC, at=at, seconds=40)
        assert 1 == len(box.goals.outgrown(box.now(player.clock.now())))


def test_goals_of_outgrown_cards_are_raised(player: Player) -> None:
    """By five, or as asked; only of those that the words find, if there are any."""
    outgrown(player)
    for words, to in (
        ((), 95), (("--by", "12"), 102), (("--to", "111"), 111), (("a", "holding"), 95),
        (("doubled",), 90), (("--decks",), 90), (("doubled", "--to", "111"), 90),
    ):  # fmt: skip
        said = player("goals", "--outgrown", "--preview", *words)
        moved = [f"  90 to {to}  a of every beat"] * (to != 90)
        cards = f"{int(to != 90)} card{'s' * (to == 90)}"
        assert [*moved, f"Goals of {cards} would change."] == said.out.splitlines()
    player("goals", "--outgrown")
    assert {"e": 90.0, "a": 95.0, "e-a": 90.0, "a-doubled": 80.0} == goals(player)
    assert 5.0 == RAISE_BPM


@pytest.mark.parametrize("more", [0, 1, 3])
def test_many_changes_are_counted_at_their_end(player: Player, more: int) -> None:
    """Twenty are told one by one."""
    player("decks", "add", written(player, wide_deck(SHOWN + more)))
    lines = player("goals", "wide", "--by", "5").out.splitlines()
    assert SHOWN + (more > 0) + 1 == len(lines)
    assert [f"and {more} more"] * (more > 0) == [line for line in lines if line.startswith("and")]
    assert lines[-1].startswith(f"Goals of {SHOWN + more} cards changed; ")


def test_cards_rest_and_wake(player: Player) -> None:
    """Those that the words find, and no others."""
    assert "1 card set aside.\n" == player("rest", "doubled").out
    assert "3 cards set aside.\n" == player("rest", "--", "every", "-doubled").out
    assert "1 card awake.\n" == player("wake", "doubled").out
    assert "Nothing to do: 1 card awake already.\n" == player("wake", "doubled").out
    assert "1 card set aside; 3 were so already.\n" == player("rest", "every").out
    assert "1 card awake.\n" == player("wake", "doubled").out
    with player.box() as box:
        rested = [c.title for c in box.cards(at=player.clock.now()) if c.state is State.RESTED]
    assert ["e of every beat", "a of every beat", "e and a of every beat"] == rested
    assert 2 == player("rest").code


# Takes typed in a line


names = st.sampled_from(["e", "e-and-a", "a of 2", "e of 2 and 4", "first-ghosts/e", "5 stroke"])
tempi = st.integers(TAKEN.least, TAKEN.most) | st.sampled_from([92.5, 8.0, 400.0])
labels = st.sampled_from([(grade, grade.label) for grade in Grade])


@given(st.lists(st.tuples(names, tempi, labels), min_size=1, max_size=4), st.booleans())
def test_a_line_of_takes_is_read_back(
    takes: list[tuple[str, float, tuple[Grade, str]]],
    quoted: bool,  # noqa: FBT001 - drawn
) -> None:
    """As the shell divides it or as one quoted word; grades by their labels."""
    line = ", ".join(f"{name} {bpm} {label}" for name, bpm, (_, label) in takes)
    read = read_takes([line] if quoted else line.split())

    assert [(name, float(bpm), grade) for name, bpm, (grade, _) in takes] == [
        (take.card, take.bpm, take.grade) for take in read
    ]


@pytest.mark.parametrize(
    ("typed", "grade"),
    [("fe", Grade.FELL_APART), ("FELL-APART", Grade.FELL_APART), ("fell_apart", Grade.FELL_APART),
     ("sh", Grade.SHAKY), ("st", Grade.STEADY), ("c", Grade.CLEAN), ("a", Grade.AUTOMATIC),
     ("s", None), ("", None), ("clean-ish", None), ("steady", Grade.STEADY)],
)  # fmt: skip
def test_a_grade_is_meant_by_its_beginning(typed: str, grade: Grade | None) -> None:
    """Where it means one; a beginning of two means none."""
    if grade is None:
        with pytest.raises(UsageError) as caught:
            read_takes(["e", "92", typed])
        assert (typed == "s") == (
            "'s' may be shaky or steady; write more of it" in str(caught.value)
        )
    else:
        assert [grade] == [take.grade for take in read_takes(["e", "92", typed])]


@pytest.mark.parametrize("line", ["92 steady", "e steady", "e 92", "e nan steady", "", "e 92,"])
def test_a_take_has_a_card_a_tempo_and_a_grade(line: str) -> None:
    """One of the three is missing, or in an empty line all of them."""
    with pytest.raises(UsageError, match="cannot read"):
        read_takes([line])


@pytest.mark.parametrize(
    ("bpm", "fits"),
    [("8", True), ("7.9", False), ("400", True), ("400.5", False), ("inf", False), ("-9", False)],
)
def test_a_tempo_is_one_that_somebody_plays(bpm: str, *, fits: bool) -> None:
    """From eight to four hundred."""
    if fits:
        assert [float(bpm)] == [take.bpm for take in read_takes(["e", bpm, "steady"])]
    else:
        with pytest.raises(UsageError, match="use 8 to 400"):
            read_takes(["e", bpm, "steady"])


# Tables, completion


def test_a_table_lines_its_columns_up(capsys: pytest.CaptureFixture[str]) -> None:
    """Numbers, times and dashes to the right, words to the left; nothing trails."""
    say_table(
        ("card", "bpm", "time", "x", "mixed"),
        [("one", "9", "0:45", "", "7"), ("longer", "120.5", "12:05", "–", "seven")],
    )
    assert [
        "card      bpm   time  x  mixed",
        "one         9   0:45     7",
        "longer  120.5  12:05  –  seven",
    ] == capsys.readouterr().out.splitlines()
    say_table(("a", "b"), [])
    assert "a  b\n" == capsys.readouterr().out


def completed(player: Player, start: str) -> list[tuple[str, str | None]]:
    """Return what a pressed tab offers after a started card name."""
    root = click.Context(click.Command("drillbox"))
    root.params["box_path"] = str(player.path)
    context = click.Context(click.Command("card"), parent=root)
    found = card_names(context, click.Argument(["card"]), start)
    assert all(isinstance(one, CompletionItem) for one in found)
    return [(one.value, one.help) for one in found]


def test_a_tab_offers_the_names_that_start_so(player: Player) -> None:
    """A card's name alone and with its deck, in order, with its title; of no box none."""
    assert [("a", "a of every beat"), ("a-doubled", "a of every beat, doubled")] == (
        completed(player, "a")
    )
    everything = [name for name, _ in completed(player, "")]
    assert sorted(everything) == everything
    assert {"e", "first-ghosts/e", "first-ghosts/a-doubled"} <= set(everything)
    assert 8 == len(everything)
    assert [] == completed(player, "x")
    player.path.write_bytes(b"garbage" * 999)
    assert [] == completed(player, "")
    context = click.Context(click.Command("set"))
    offered = setting_names(context, click.Argument(["name"]), "day-")
    assert ["day-ends-at"] == [one.value for one in offered]
    assert all(one.help for one in setting_names(context, click.Argument(["name"]), ""))


# Decks


def test_decks_are_listed_with_what_they_ask(player: Player) -> None:
    """Numbers of cards, of those that hold, of those that are ready by each day, nearest first."""
    asking = SMALL_DECK.replace("edition = 1", "edition = 2")
    for by, cards, goal in (("2026-03-20", '"e", "a"', 60), ("2026-03-11", '"e-a"', 90)):
        asking += f"\n[[assignment]]\nby = {by}\ncards = [{cards}]\ngoal = {goal}\n"
    player("decks", "add", written(player, asking))
    with player.box() as box:
        for name, bpm, grade in (("e", 95, Grade.CLEAN), ("a", 40, Grade.FELL_APART)):
            at = player.clock.now()
            box.record(box.find(name), bpm=bpm, grade=grade, at=at, seconds=40)
        (mine,) = box.decks(at=player.clock.now())
    values, out = player.values("decks"), player("decks").out.splitlines()

    assert (4, 1) == (mine.cards, mine.holding)
    assert [
        {"id": "first-ghosts", "title": "First ghosts", "edition": 2, "cards": 4, "holding": 1,
         "asked": [{"by": "2026-03-11", "cards": 1, "ready": 0},
                   {"by": "2026-03-20", "cards": 2, "ready": 1}]}
    ] == values["decks"]  # fmt: skip
    assert ["deck", "title", "edition", "cards", "holding"] == out[0].split()
    assert ["first-ghosts", "First", "ghosts", "2", "4", "1"] == out[1].split()
    assert "first-ghosts asks for 1 card by Wed 11 Mar: 0 ready." == out[2]
    assert "first-ghosts asks for 2 cards by Fri 20 Mar: 1 ready." == out[3]
    assert ["", "", "starter decks, not in the box ('drillbox decks add NAME'):"] == out[4:7]
    starters = {deck.id: deck for deck in read_starter_decks()}
    assert list(starters) == [deck["id"] for deck in values["starter_decks"]]
    assert 2 * len(starters) == len(out[7:])
    player("decks", "add", "first-week")
    assert "first-week" not in {deck["id"] for deck in player.values("decks")["starter_decks"]}
    player("decks", "remove", "first-week")
    player("decks", "remove", "first-ghosts")
    assert player("decks").out.startswith("\nstarter decks, not in the box")


@pytest.mark.parametrize("more", [0, 1, 2])
def test_goals_that_a_deck_raises_are_named_and_counted(player: Player, more: int) -> None:
    """Six of them by name, from what to what."""
    player("decks", "add", written(player, wide_deck(MOST_RAISED + more)))
    harder = wide_deck(MOST_RAISED + more, name="harder", goal=104)
    out = player("decks", "add", written(player, harder)).out
    (line,) = (one for one in out.splitlines() if "Goals raised by it: " in one)
    assert MOST_RAISED == line.count(" 90 → 104")
    assert (f" · and {more} more. " in line) == (more > 0)
    assert f"{MOST_RAISED + more} cards added, 0 changed, 0 unchanged, 0 removed." in out


def test_an_older_edition_comes_back_only_when_asked_for(player: Player) -> None:
    """Refused, and nothing changed; with --older it stands again."""
    newer = SMALL_DECK.replace("edition = 1", "edition = 3").replace('"(e)"', '"(1e)"')
    assert 0 == player("decks", "add", written(player, newer)).code
    old = written(player, SMALL_DECK, "old.toml")
    said = player("decks", "add", old)
    assert (4, "") == (said.code, said.out)
    assert 3 == player.values("decks")["decks"][0]["edition"]
    said = player("decks", "add", old, "--older")
    assert said.out.startswith("First ghosts, edition 1: ")
    assert 1 == player.values("decks")["decks"][0]["edition"]


def test_a_deck_is_named_by_a_path_or_as_a_starter(tmp_path: Path) -> None:
    """A file, a folder of them; a name with a dot or a slash is a path; one deck or it is said."""
    assert ["first-week"] == [deck.id for deck in decks_named("first-week")]
    for name in ("a", "b"):
        text = SMALL_DECK.replace("first-ghosts", name)
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    assert ["a", "b"] == sorted(deck.id for deck in decks_named(str(tmp_path)))
    assert "a" == deck_named(str(tmp_path / "a.toml")).id
    with pytest.raises(DeckError, match="there are 2 decks"):
        deck_named(str(tmp_path))
    with pytest.raises(DeckError, match=r"no starter deck of this name.*first-week"):
        decks_named("first-weak")
    for name in ("first-week.toml", "./first-week", "x/first-week"):
        with pytest.raises(DeckError, match="cannot be read"):
            decks_named(name)


@pytest.mark.parametrize("more", [0, 1, 2])
def test_a_look_at_a_deck_shows_some_and_counts_the_rest(
    capsys: pytest.CaptureFixture[str], more: int
) -> None:
    """Ten mistakes, eight drawings; what is all right is said with what changed in words."""
    errors = [DeckError(f"wrong {n}") for n in range(MOST_ERRORS + more)]
    say_look(SimpleNamespace(errors=errors, deck=None))  # type: ignore[arg-type]
    lines = capsys.readouterr().out.splitlines()
    assert ["", *[f"wrong {n}." for n in range(MOST_ERRORS)]] == lines[: MOST_ERRORS + 1]
    assert [f"and {more} more."] * (more > 0) == lines[MOST_ERRORS + 1 :]

    deck = parse_deck(wide_deck(MOST_DRAWN + more), name="d")
    look: Any = SimpleNamespace(errors=[], deck=deck, clauses=["a card came"], changed=deck.cards)
    say_look(look)
    out = capsys.readouterr().out
    many = MOST_DRAWN + more
    assert f"First ghosts, edition 1: {many} cards, all right.\n  a card came\n" in out
    assert MOST_DRAWN == out.count(", goal 90\n")
    rest = {0: "", 1: "\n\nand 1 more card.\n", 2: "\n\nand 2 more cards.\n"}[more]
    assert out.endswith(rest)
    assert (more > 0) == ("and " in out.split("all right.")[1])


def test_a_deck_is_watched_until_it_is_stopped(
    player: Player, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A look after each save and none between; Ctrl-C ends it, and that is no error."""
    path = player.path.with_name("d.toml")
    path.write_text(SMALL_DECK, encoding="utf-8")
    waits: list[float] = []

    def sleep(seconds: float) -> None:
        waits.append(seconds)
        if len(waits) == 2:
            text = SMALL_DECK.replace('snare = "(e)"', 'snare = "(1e)"', 1)
            path.write_text(f"{text}\n# longer\n", encoding="utf-8")
        if len(waits) == 4:
            raise KeyboardInterrupt

    monkeypatch.setattr("drillbox.cli.deckwatch.time.sleep", sleep)
    said = player("decks", "watch", str(path))
    assert (0, [0.3] * 4) == (said.code, waits)
    assert 2 == said.out.count("all right.")
    assert 2 == said.err.count(f"Watching {path}; save it to look again, Ctrl-C ends.\n")
    assert said.err.endswith("\n\n")


def test_a_new_deck_is_a_toml_file_and_a_pack_a_zip(player: Player) -> None:
    """Other endings are refused, and nothing is written."""
    folder = player.path.parent
    for words in (("new", str(folder / "a.txt")), ("pack", "first-week", str(folder / "a.tar"))):
        assert 2 == player("decks", *words).code
    new, packed = folder / "mine.toml", folder / "mine.zip"
    assert f"Written: {new}\n" == player("decks", "new", str(new)).out
    assert deck_template("mine") == new.read_text(encoding="utf-8")
    out = player("decks", "pack", str(new), str(packed)).out
    assert out.endswith(f"\nWritten: {packed}\n")
    assert 2 == len(out.splitlines())
    assert 7 == player("decks", "new", str(new)).code


def test_editions_are_compared_by_their_numbers(player: Player) -> None:
    """The same is the same; a change with a number that is not higher is remarked on."""
    changed = SMALL_DECK.replace('"(e)"', '"(1e)"')
    old = written(player, SMALL_DECK, "old.toml")
    same = player("decks", "compare", old, old)
    assert ("nothing changed\n", "") == (same.out, same.err)
    for edition, remark in ((1, True), (2, False)):
        text = changed.replace("edition = 1", f"edition = {edition}")
        said = player("decks", "compare", old, written(player, text, "new.toml"))
        assert remark == (f"The edition is {edition}; raise it" in said.err)
    other = written(player, changed.replace("first-ghosts", "other"), "other.toml")
    assert 2 == player("decks", "compare", old, other).code


def test_a_check_names_what_has_passed(player: Player) -> None:
    """With its year; today has not passed."""
    today = player.clock.now().date()
    text = SMALL_DECK
    for by in (today, today - timedelta(days=1)):
        text += f'\n[[assignment]]\nby = {by}\ncards = ["e"]\n'
    said = player("decks", "check", written(player, text))
    assert "  an assignment has passed: Sun 1 Mar 2026\n" in said.out
    assert 1 == said.out.count("has passed")
    assert date(2026, 3, 2) == today
    drawn = player("decks", "check", written(player, text), "--draw").out
    assert 4 == drawn.count(", goal ")
    assert "a of every beat, doubled (a-doubled), goal 80\n" in drawn
    assert 4 == player("decks", "check", written(player, "nonsense")).code


def test_goals_that_are_so_already_are_not_called_changed(player: Player) -> None:
    """Nor is there anything to take back: an undo goes on to the change before."""
    assert 0 == player("goals", "doubled", "--to", "96").code
    for words in (("doubled", "--by", "0"), ("doubled", "--to", "96"), ("--outgrown",)):
        said = player("goals", *words)
        assert (0, "No goal changed.\n") == (said.code, said.out)
    assert "are as they were before" in player("goals", "--undo").out
