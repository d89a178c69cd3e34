"""Which kinds of pages are there, and who looks at them? For the tests that look at all."""

import re

from playwright.sync_api import Page

from seed_data.demo.register import read_people
from tests.browser.driven import sign_in

# Every kind of page once, each in the state that shows most of it. What stands in braces is
# told by `laid_out`.
FOR_KEEPER = {
    "works": "/works",
    "works found by nobody": "/works?q=nowhere",
    "new work": "/works/new",
    "work": "/works?q=H+007",
    "work put right": "/works/4/change",
    "work moved": "/works/4/move",
    "work withdrawn": "/works/4/withdraw",
    "works moved": "/works/move?work=4&work=15",
    "work that does not wait": "/works?q=D+001",
    "date put off": "/works/4/put-off",
    "visits compared": "/works/4/compare",
    "margins compared": "/works/4/compare?edge=all+four+margins",
    "windows of a mat": "/works/42/layers/349/windows",
    "photographs": "/works/4/photographs",
    "photograph": "/photographs/25",
    "findings on photograph": "/works/4/findings?photograph=25",
    "what-if": "/works/4/what-if",
    "sheet inside": "/works/4/inside-sheet",
    "bench sheet": "/works/4/bench-sheet",
    "visit": "/visits/725",
    "report": "/visits/725/report",
    "due": "/due",
    "first survey": "/due/first-survey",
    "level": "/due/level",
    "remat": "/remat",
    "remat list": "/remat/list",
    "remat of work": "/remat/15",
    "remat jobs": "/remat/jobs",
    "new remat job": "/remat/jobs/new?work=4&work=15",
    "remat job": "/remat/jobs/{job}",
    "remat sheets": "/remat/jobs/{job}/sheets",
    "walk-round": "/walk-round",
    "walk-round of room": "/walk-round/2",
    "materials": "/materials",
    "materials side by side": "/materials/compare?a=1&b=4",
    "material beside": "/materials?kind=mat+board&beside=1",
    "new material": "/materials/new",
    "material": "/materials/1",
    "material put right": "/materials/1/change",
    "material figures": "/materials/1/figures",
    "recall": "/materials/recalls/1",
    "before a recall": "/materials/4/recall",
    "places": "/places",
    "new place": "/places/new",
    "place": "/places/1",
    "place put right": "/places/1/change",
    "climate": "/places/1/climate",
    "logger file": "/places/1/climate/file",
    "light": "/light",
    "incidents": "/incidents",
    "new incident": "/incidents/new",
    "incident": "/incidents/1",
    "house packages": "/house-packages",
    "new house package": "/house-packages/new?work=4",
    "house package changed": "/house-packages/1/change",
    "own evidence": "/own-evidence",
    "policy": "/policy",
    "mounting histories": "/mounting-histories",
    "people": "/people",
    "new person": "/people/new",
    "person": "/people/1",
    "owner": "/people/owners/1",
    "reminders": "/reminders",
    "settings": "/settings",
    "nothing there": "/nothing-here",
}
FOR_FRAMER = {
    "bench": "/works/1/visits/new?kind=unframing",
    "look": "/works/1/visits/new?kind=look",
    "on the bench": "/bench",
    "bench photographs": "/bench/{draft}/photographs",
    "bench seen": "/bench/{draft}/seen",
    "bench came off": "/bench/{draft}/came-off",
    "bench new package": "/bench/{draft}/package",
    "bench finish": "/bench/{draft}/finish",
    "slips": "/bench/{draft}/slips",
    "work": "/works?q=H+007",
    "due": "/due",
}
FOR_OWNER = {
    "works": "/works",
    "work": "/works?q=F+003",
    "due": "/due",
    "remat": "/remat",
    "places": "/places",
}
FOR = {"keeper": FOR_KEEPER, "framer": FOR_FRAMER, "owner": FOR_OWNER}


def sign_in_as(shown: Page, role: str) -> None:
    """Sign in as the person of the demonstration who has this role."""
    person = next(person for person in read_people() if person.role == role)
    sign_in(shown, person.name, person.password)


def laid_out(shown: Page, role: str) -> dict[str, str]:
    """Sign in, lay out what somebody of this role works at, and return where each kind is."""
    sign_in_as(shown, role)
    told = {"keeper": _job, "framer": _draft}.get(role, _nothing)(shown)
    return {kind: path.format(**told) for kind, path in FOR[role].items()}


def _job(shown: Page) -> dict[str, str]:
    shown.goto("/remat/jobs")
    if not shown.locator("a[href^='/remat/jobs/']").count():
        shown.goto("/remat/jobs/new?work=4&work=15&work=20")
        shown.get_by_role("button", name="Make the job").click()
        shown.wait_for_url(re.compile(r"/remat/jobs/\d+$"))
    return {"job": "1"}


def _draft(shown: Page) -> dict[str, str]:
    shown.goto("/works/15/visits/new?kind=unframing")
    if "/bench/" not in shown.url:
        shown.get_by_role("button", name="Save and go on").click()
        shown.wait_for_url("**/bench/*/photographs")
    return {"draft": shown.url.split("/bench/")[1].partition("/")[0]}


def _nothing(_shown: Page) -> dict[str, str]:
    return {}
