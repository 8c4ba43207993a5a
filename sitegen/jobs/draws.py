"""How rounds stand; and draws: what was announced is kept where no build deletes it, the texts are written.

`sent/draws/ROUND.json` holds the frozen list and, once drawn, the numbers it was drawn from. A second run
makes the same draw again or refuses. `out/draws/ROUND/` holds the texts for publication.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from sitegen.desk import find, turns
from sitegen.desk.find import Sitting
from sitegen.desk.turns import Drawing
from sitegen.disk import own_folder, put, sweep_parts, write_whole
from sitegen.jobs.reading import ORDERS, once, sit
from sitegen.jobs.where import settled_studio, writes
from sitegen.sources.text import readable
from sitegen.studio.asked import Fault, Said, WishFault, ask, wish
from sitegen.studio.commission import Round, Way
from sitegen.studio.draw import Draw, Source, filled
from sitegen.studio.offers import free_slots
from sitegen.studio.whole import Studio
from sitegen.voice.draw import announcement_lines, record_lines, waiting_lines
from sitegen.voice.theme_files import find_theme
from sitegen.voice.voice import Voice, english, open_voice


@wish
class DrawWish:
    round_name: str | None = ask(default=None, word=True, like="[ROUND]")
    listed: str | None = ask(
        "A draw outside any round: a text file with one entrant a line.", default=None, name="list", file=True
    )
    slots: int | None = ask("With --list: how many places there are.", default=None)
    sources: tuple[str, ...] = ask(
        "A source's numbers; once a source, in order.", default=(), name="source", like="TEXT"
    )
    page: bool = ask("Also write pages/draw-ROUND.md, for the site's next build.", default=False)

    def __post_init__(self) -> None:
        if self.listed is not None and (self.round_name is not None or self.slots is None):
            raise WishFault("--list goes with --slots N and without a round's name")
        if self.listed is None and (self.round_name is None or self.slots is not None):
            raise WishFault("name a round, or give --list FILE --slots N")


def draw(folder: Path | None, wish: DrawWish, today: str | None) -> Said:
    """Draw from a list; or announce a round's draw the first time, and make it once all sources published."""
    if wish.listed is not None:
        voice, names = english(), wish.listed.splitlines()
        alone = turns.draw_list(voice.words.plain("draw.alone"), names, wish.slots or 0, wish.sources)
        return _said(alone, _text(voice, alone))
    return _draw_round(settled_studio(folder), wish, today)


@writes
def _draw_round(folder: Path, wish: DrawWish, today: str | None) -> Said:
    sitting = sit(folder, today)
    studio, drawn = sitting.studio, find.round_named(sitting.studio, wish.round_name or "")
    kept, voice = recall(folder, drawn), _voice(folder, studio)
    if kept is not None:
        return _written(folder, drawn, _draw(folder, sitting, drawn, kept, wish.sources), voice, wish)
    if wish.sources:
        raise Fault(
            f"the draw of {drawn.name} hasn't been announced, so its numbers mustn't be known yet; run "
            f"`sitegen draw '{drawn.name}'` without --source first and publish the text"
        )
    title = voice.words.plain("draw.title", studio=studio.settings.studio, round=drawn.name)
    announced = turns.announce_round(studio, drawn, sitting.moment, title)
    _keep(folder, drawn, turns.frozen(announced.draw))
    return _written(folder, drawn, announced, voice, wish)


def _voice(folder: Path, studio: Studio) -> Voice:
    return open_voice(find_theme(folder, studio.settings.theme), studio.settings)


def _draw(
    folder: Path, sitting: Sitting, round_: Round, kept: dict[str, Any], given: Sequence[str]
) -> Drawing:
    announced = turns.thawed(kept["announced"])
    if drawn := kept.get("drawn"):
        return _again(round_, announced, drawn, given)
    sources = turns.settled(announced, round_, given, sitting.today)
    withdrawn = turns.withdrawn_of(sitting.studio, announced)
    answer = turns.draw_announced(announced, sources, withdrawn)
    if not answer.missing:
        result = {
            "day": sitting.today.isoformat(),
            "numbers": [source.numbers for source in sources],
            "withdrawn": list(withdrawn),
            "order": [pick.entrant for pick in answer.draw.picks],
        }
        _keep(folder, round_, kept["announced"], result)
    return answer


def _again(round_: Round, announced: Draw, drawn: dict[str, Any], given: Sequence[str]) -> Drawing:
    numbers: list[str] = drawn["numbers"]
    if given and list(given) != numbers:
        raise Fault(
            f"{round_.name} was drawn on {drawn['day']} from other numbers ({'; '.join(numbers)}); a draw is "
            "made once. If they were copied wrongly, announce that in public before anything else"
        )
    return turns.draw_announced(announced, filled(announced.sources, numbers), drawn["withdrawn"])


@dataclass(frozen=True)
class DrawStands:
    announced: date | None
    drawn: date | None
    sources: tuple[Source, ...]  # with their numbers, once it's drawn
    announcement: str  # the text to publish before, as it was announced
    record: str  # the text to publish after; empty before


def stands(folder: Path, studio: Studio, round_: Round) -> DrawStands | None:
    """Say how far a round's draw is; None before it's announced. Raises Fault if its record is damaged."""
    kept = recall(folder, round_)
    if kept is None:
        return None
    voice, notice, drawn = _voice(folder, studio), turns.thawed(kept["announced"]), kept.get("drawn")
    answer = _again(round_, notice, drawn, ()) if drawn else None
    return DrawStands(
        notice.day,
        date.fromisoformat(drawn["day"]) if drawn else None,
        tuple(filled(notice.sources, drawn["numbers"])) if drawn else tuple(notice.sources),
        "\n".join(announcement_lines(voice, notice)),
        "\n".join(_text(voice, answer)) if answer else "",
    )


def order_of(folder: Path, round_: Round) -> tuple[str, ...] | None:
    """Return the codes of a finished draw in the order drawn; None before it."""
    kept = recall(folder, round_)
    return tuple(kept["drawn"]["order"]) if kept and kept.get("drawn") else None


def recall(folder: Path, round_: Round) -> dict[str, Any] | None:
    """Return what was kept of a round's draw. Raises Fault if it's damaged."""
    file = _file(folder, round_)
    if not file.exists():
        return None
    with readable(f"{file} is damaged; put it back from a copy, for the list in it can't be made again"):
        kept: dict[str, Any] = json.loads(file.read_text(encoding="utf-8"))
        turns.thawed(kept["announced"])
    return kept


def _file(folder: Path, round_: Round) -> Path:
    return folder / "sent" / "draws" / f"{round_.slug}.json"


def _keep(
    folder: Path, round_: Round, announced: dict[str, Any], drawn: dict[str, Any] | None = None
) -> None:
    own_folder(folder / "sent")
    own_folder(folder / "sent" / "draws")
    kept = json.dumps({"announced": announced, "drawn": drawn}, ensure_ascii=False, indent=1)
    put(_file(folder, round_), f"{kept}\n".encode(), kept=False, private=True)


def _text(voice: Voice, answer: Drawing) -> tuple[str, ...]:
    """Write everything that is needed to work a draw out again, or what is promised before it."""
    if not answer.missing:
        return tuple(record_lines(voice, answer.draw))
    more = waiting_lines(voice, answer.repeated, tuple(answer.left_out), answer.missing)
    return (*announcement_lines(voice, answer.draw), *more)


def _written(folder: Path, round_: Round, answer: Drawing, voice: Voice, wish: DrawWish) -> Said:
    name = "announcement.txt" if answer.missing else "record.txt"
    lines = _text(voice, answer)
    files = [folder / "out" / "draws" / round_.slug / name]
    files[0].parent.mkdir(parents=True, exist_ok=True)
    sweep_parts(files[0].parent)
    write_whole(files[0], ("\n".join(lines) + "\n").encode())
    if wish.page:
        body = "\n".join(f"    {line}".rstrip() for line in lines)
        files.append(folder / "pages" / f"draw-{round_.slug}.md")
        files[1].parent.mkdir(exist_ok=True)
        title = voice.words.plain("draw.page", round=round_.name)
        put(files[1], f"# {title}\n\n{body}\n".encode())
    return _said(answer, lines, files)


def _said(answer: Drawing, text: Sequence[str], files: Sequence[Path] = ()) -> Said:
    more = [f"Left out: {code} {why}." for code, why in answer.left_out.items()]
    more += [f"Written: {file}" for file in files]
    return Said((*text, *([""] if more else []), *more), answer.as_answer())


@dataclass(frozen=True)
class RoundStands:
    number: int  # its place under `rounds:`, from 0
    round: Round
    stands: str
    line: str  # how many slots are free, and who is next
    free: int
    begun: bool
    closed: bool
    draw: DrawStands | None


def rounds(folder: Path, today: str | None) -> list[RoundStands]:
    """Say how each round stands, the latest first."""
    desk = sit(folder, today, ORDERS)
    studio, moment, found = desk.studio, desk.moment, list[RoundStands]()
    rounds_held = studio.commissions.rounds
    draws = [stands(folder, studio, held) if held.way is Way.DRAW else None for held in rounds_held]
    drawn = [order_of(folder, held) if draw else None for held, draw in zip(rounds_held, draws, strict=True)]

    def in_line(held: Round, order: tuple[str, ...] | None) -> tuple[str, int]:
        return turns.line_up(studio, held, order), free_slots(studio.commissions, held)

    lines = once(studio, "rounds in line", drawn, lambda: [*map(in_line, rounds_held, drawn)])
    for number, (held, draw, (line, free)) in enumerate(zip(rounds_held, draws, lines, strict=True)):
        begun = moment >= held.taken_from() or held.way is Way.WAITING_LIST
        found.append(RoundStands(
            number, held, turns.stands(held, moment), line, free, begun, held.is_over(moment), draw
        ))  # fmt: skip
    return sorted(found, key=lambda line: line.round.opens, reverse=True)


def one_round(folder: Path, name: str, today: str | None) -> RoundStands:
    """Say how one round stands. Raises Fault if there's none of that name."""
    named = find.round_named(sit(folder, today, ORDERS).studio, name)
    return next(line for line in rounds(folder, today) if line.round.name == named.name)
