"""Today: what is lost if she waits, first; and the coming weeks."""

from __future__ import annotations

from urllib.parse import quote

from sitegen.browser.desk import Workplace
from sitegen.browser.forms import asks_of, said_of, wish_from
from sitegen.browser.frame import Shown, Visit, handed_out, screen
from sitegen.jobs import answers, diary, undo
from sitegen.jobs import today as jobs
from sitegen.jobs.answers import WeekWish
from sitegen.jobs.undo import UndoWish
from sitegen.studio.asked import Fault

# Where what an errand is about lies on the desk.
_PLACES = {
    "order": "/orders/{}", "round": "/rounds?round={}", "show": "/shows/{}", "class": "/shows/{}",
    "letter": "/letters/{}", "piece": "/pieces/{}", "people": "/people", "site": "/site",
    "web": "/do/publish.publish", "backup": "/do/begin.backup", "terms": "/do/terms.keep",
    "books": "/money", "files": "/settings/check", "studio": "/settings/part/studio",
    "checklist": "/settings/part/checklist", "pieces": "/pieces/new",
    "prices": "/do/pieces.reprice", "sale": "/pieces/{}",
}  # fmt: skip
# Where that is done which isn't done where the thing itself lies.
_DONE_AT = {
    "round": "/letters/write/commissions?round_name={}", "invitation": "/letters/write/{kind}?slug={}"
}  # fmt: skip


def place_of(errand: jobs.Errand) -> str:
    """Return where on the desk an errand is done."""
    place = _DONE_AT.get(errand.kind) or _PLACES[errand.target.kind]
    return place.format(quote(errand.target.name), kind=errand.target.kind)


@screen("/", "today")
def _today(desk: Workplace, _: Visit) -> Shown:
    found = jobs.errands(desk.folder, desk.today)
    errands = [(errand, place_of(errand)) for errand in found.errands]
    return {"day": found.day, "errands": errands, "clock": diary.running(desk.folder)}


@screen("/undo", "undo")
def _changes(desk: Workplace, asked: Visit) -> Shown:
    changes = undo.undo(desk.folder, UndoWish(listed=True)).facts["edits"]
    return {"changes": changes, "back": asked.get("back", "/")}


@screen("/weeks", "weeks")
def _weeks(desk: Workplace, asked: Visit) -> Shown:
    studio, plan, fault = desk.read(), None, ""
    for left in ("", "lost days", "lost days weeks"):  # what was typed wrong isn't counted
        try:
            plan = _plan(desk, asked, left)
            break
        except Fault as wrong:
            fault = fault or str(wrong)
    said = said_of("answers.week")
    asks = [ask for ask in asks_of(WeekWish, said, studio, asked) if ask.name in said]
    return {"plan": plan, "fault": fault, "asks": asks}


def _plan(desk: Workplace, asked: Visit, left: str = "") -> answers.WeekPlan:
    values = {name: asked.get(name, "") for name in ("weeks", "lost", "days") if name not in left.split()}
    return answers.week(desk.folder, wish_from(WeekWish, values), desk.today)


@screen("/weeks/week.ics")
def _calendar(desk: Workplace, asked: Visit) -> Shown:
    return handed_out(answers.calendar_of(desk.folder, _plan(desk, asked), desk.today), "week.ics")
