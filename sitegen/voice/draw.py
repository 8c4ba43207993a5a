"""A draw in words: what is promised before it, what came out, and how anyone can work it out again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from sitegen.studio.draw import MISSING, Caution, Draw, Source, fingerprint, source_key
from sitegen.voice.voice import Voice


def announcement_lines(voice: Voice, announced: Draw) -> list[str]:
    """Write an announcement as the lines of a text file."""
    say, day = voice.words.plain, voice.tongue.day
    numbered = enumerate(announced.sources, start=1)
    sources = [(place, source.name, source.due) for place, source in numbered if source.due]
    return [
        announced.title,
        *([say("draw.announced", day=day(announced.day))] if announced.day else []),
        *_list(voice, "draw.entrants_fixed", announced.entrants, announced.slots),
        say("draw.sources"),
        *(f"  {place}. {say('draw.source', name=name, day=day(due))}" for place, name, due in sources),
        say("draw.made", day=day(max(due for *_, due in sources))),
        say("draw.late", days=announced.wait_days, number=MISSING),
        say("draw.final"),
        say("draw.needed", bits=_bits(voice, announced.needed, "0.0")),
        *_notes(voice, announced.cautions),
    ]


def waiting_lines(
    voice: Voice, repeated: Sequence[str], out_of_round: Sequence[str], missing: Sequence[Source]
) -> list[str]:
    """Say who isn't on the list, and what the draw waits for."""
    say, both = voice.words.plain, voice.tongue.both
    waits = [f"{source.name} ({voice.tongue.day(source.due)})" for source in missing if source.due]
    return [
        *([say("draw.repeated", codes=both(repeated))] if repeated else []),
        *([say("draw.out_of_round", codes=both(out_of_round))] if out_of_round else []),
        "",
        say("draw.waits", sources=both(waits)),
    ]


def record_lines(voice: Voice, record: Draw) -> list[str]:
    """Write a finished draw as the lines of a text file that anyone can recompute."""
    say, given = voice.words.plain, _bits(voice, record.given, "0")
    sources = [
        f"  {place}. {source.name or say('draw.unnamed')}: {source.numbers}   "
        f"{say('draw.as_key', key=source_key(source, place))}"
        for place, source in enumerate(record.sources, start=1)
    ]
    return [
        record.title,
        *_list(voice, "draw.entrants", record.entrants, record.slots),
        say("draw.published"),
        *sources,
        say("draw.key", key=record.key),
        "",
        f"{say('draw.counter'):<7}  {say('draw.digest'):<32}  {say('draw.left'):>4}  {say('draw.picked')}",
        *(
            f"0x{pick.counter:04X}   {pick.digest}  {pick.divisor:4}  {pick.number} {pick.entrant} "
            f"({say(f'draw.outcome.{pick.outcome.name.lower()}')})"
            for pick in record.picks
        ),
        "",
        say("draw.winners", codes=_codes(record, record.winners) or say("draw.nobody")),
        say("draw.reserves", codes=_codes(record, record.reserves) or say("draw.none")),
        say("draw.randomness", needed=_bits(voice, record.needed, "0.0"), given=given),
        *_notes(voice, record.cautions),
        "",
        *say("draw.how").splitlines(),
    ]


def _list(voice: Voice, heading: str, pool: Sequence[str], slots: int) -> list[str]:
    say = voice.words.plain
    return [
        say("draw.counts", slots=slots, entrants=len(pool)),
        "",
        say(heading),
        *(f"  {number:3} {code}" for number, code in enumerate(pool, start=1)),
        say("draw.fingerprint", digits=fingerprint(pool)),
        "",
    ]


def _notes(voice: Voice, cautions: Iterable[Caution]) -> list[str]:
    say = voice.words.plain
    return [
        say("draw.note", caution=say(f"draw.caution.{caution.name}", **caution.values))
        for caution in cautions
    ]


def _bits(voice: Voice, bits: float, places: str) -> str:
    return voice.tongue.number(Decimal(bits), places)


def _codes(record: Draw, numbers: Iterable[int]) -> str:
    return ", ".join(record.entrants[number - 1] for number in numbers)
