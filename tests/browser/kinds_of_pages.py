"""Which kinds of pages are there, and who looks at them? For the tests that look at all."""

from playwright.sync_api import Page

from seed_data.demo.register import read_people
from tests.browser.driven import sign_in

# Every kind of page once, each in the state that shows most of it.
FOR_KEEPER = {
    "works": "/works",
    "works found by nobody": "/works?q=nowhere",
    "new work": "/works/new",
    "work": "/works?q=H+007",
    "work that does not wait": "/works?q=D+001",
    "visit": "/visits/1",
    "due": "/due",
    "first survey": "/due/first-survey",
    "remat": "/remat",
    "walk-round": "/walk-round",
    "materials": "/materials",
    "material": "/materials/1",
    "places": "/places",
    "place": "/places/1",
    "climate": "/places/1/climate",
    "light": "/light",
    "incidents": "/incidents",
    "house packages": "/house-packages",
    "own evidence": "/own-evidence",
    "policy": "/policy",
    "people": "/people",
    "reminders": "/reminders",
    "nothing there": "/nothing-here",
}
FOR_FRAMER = {
    "bench": "/works/1/visits/new?kind=unframing",
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
