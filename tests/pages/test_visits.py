"""The bench job through the forms, as a browser without scripts does it."""

import re
from dataclasses import replace

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import Engine
from sqlmodel import Session, col, func, select

from api.pages.visit_typed import TERM_OF_QUESTION
from models.actions.change_log import recording
from models.actions.house_packages import add_house_package
from models.rules.urgent_signs import SIGN_OF_QUESTION
from models.rules.visit_as_told import (
    DismountTold,
    LayerFittedTold,
    LayerTold,
    SightingTold,
    VisitTold,
)
from models.tables.findings import Finding, Sighting
from models.tables.mounts import Hold, Layer, Mount, Remain
from models.tables.places import Place
from models.tables.visible import THE_HOUSE
from models.tables.visits import Inscription, LayerTest, Treatment, Visit
from models.vocabulary import (
    Change,
    FreedBy,
    LayerRole,
    PlaceUse,
    Severity,
    StopQuestion,
    VisitKind,
)
from seed_data.shipped import read_finding_terms, shipped_default_figures
from tests.pages.bench_work import (
    GROUNDWOOD,
    PASTE,
    POOR,
    RAG,
    SOUND,
    a_bench_work,
    a_book,
    told,
)
from tests.pages.form_filled import Fields, fields_of
from tests.pages.test_work_page import statements_for, text_of
from tests.with_app import NOON, Browser
from tests.with_database import fresh_url, on_sqlite

__all__ = ["fresh_url"]

OFF: Fields = {
    "dismount/done": "1",
    "dismount/1/outcome": "freed",
    "dismount/1/freed_by": "lifted",
}
ALL_NO: Fields = {f"stop/{number}": "no" for number in range(4)}
IMAGINARY = "R. Imaginary"
MOULD = "active mould"
BURN: Fields = {
    "new/0/term": "mat burn",
    "new/0/severity": "moderate",
    "new/0/change": "new",
    "new/0/edge": "left",
    "new/0/mm": "12,5",
    "new/0/follows": "1",
    "new/0/mechanism": "acid migration",
    "new/0/mount": "this",
}


@pytest.fixture(autouse=True)
def _book(app: FastAPI, engine: Engine, reference_data: None) -> None:
    a_book(engine)


def opened(browser: Browser, work: int, kind: str = "unframing") -> Fields:
    """The fields of a new visit, all its steps at once, with the key of its draft."""
    page = browser.get(f"/works/{work}/visits/new?kind={kind}")
    assert page.status_code == 200, page.text
    return form_in(page.text)


def form_in(page: str) -> Fields:
    action = re.search(r'action="(/bench/([^/"]+)/[^"]+)" data-key', page)
    assert action is not None, page
    return {**fields_of(page, action[1]), "key": action[2]}


def sent(
    browser: Browser, fields: Fields, to: str = "record", **changes: str | list[str]
) -> httpx.Response:
    told = {name: value for name, value in {**fields, **changes}.items() if name != "key"}
    return browser.send_form(f"/bench/{fields['key']}/{to}", told)


def shown_after(browser: Browser, answer: httpx.Response) -> httpx.Response:
    assert answer.status_code == 303, answer.text
    return browser.get(answer.headers["location"])


def count(engine: Engine, table: type[Visit] | type[Mount]) -> int:
    with Session(engine) as session:
        return session.exec(select(func.count()).select_from(table)).one()


def test_a_look_is_recorded_and_leads_back_with_the_next_date(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work, "look")
    assert (fields["on"], fields["by"], fields["seen"]) == (
        ["25 November 2026"],
        ["Ben Rabbet"],
        ["front", "back of frame"],
    )
    answer = sent(framer, fields, summary="As before.", minutes="10")
    assert (answer.status_code, answer.headers["location"]) == (303, f"/works/{work}?visit=2")
    page = text_of(framer.get(answer.headers["location"]).text)
    assert "Recorded. Look on 25 November 2026. Next: " in page


def test_the_whole_bench_job_in_one_form(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine, mount=POOR)
    fields = opened(framer, work) | ALL_NO | BURN
    fields |= {
        "on": "20 November 2026",
        "minutes": "40",
        "reason": "unframed to change the frame",
        "seen": ["front", "back of frame", "margins", "verso", "under hinges"],
        "new/0/stain/L": "84.1",
        "new/0/stain/a": "3.2",
        "new/0/stain/b": "18",
        "dismount/done": "1",
        "dismount/1/outcome": "cut and stub left",
        "dismount/1/freed_by": "scalpel or spatula",
        "dismount/1/residue": "a stub along the top",
        "dismount/harm": "slight skinning",
        "layer/1/bevel": "brown",
        "mount/how": "built",
        "mount/layers/0/material": RAG,
        "inscriptions/0/where": "backing board",
        "inscriptions/0/text": "No. 7",
        "inscriptions/0/kept": "with the work",
        "treatments/0/term": "surface cleaning",
        "treatments/0/note": "dry, verso only",
    }
    answer = sent(framer, fields)
    assert answer.status_code == 303, text_of(answer.text)
    with Session(engine) as session:
        visit = session.exec(select(Visit).order_by(col(Visit.id).desc())).first()
        assert visit is not None
        assert (visit.on_edtf, visit.minutes, visit.seen_verso) == ("2026-11-20", 40, True)
        finding = session.exec(select(Finding)).one()
        assert (finding.reach_um, finding.follows_window_edge) == (12_500, True)
        old, new = session.exec(select(Mount).order_by(col(Mount.mount_no))).all()
        assert (old.ended, old.harm_at_dismount, new.ended) == (True, "slight skinning", False)
        assert session.exec(select(Remain)).one().what.endswith("a stub along the top")
        layers = session.exec(select(Layer).where(Layer.package_id == new.package_id)).all()
        dates = [layer.fitted_edtf for layer in sorted(layers, key=lambda its: its.position)]
        # The window mat is new; the mount board is the same piece, and its clock goes on.
        assert dates == ["2026-11-20", "2026-11-20", "2010-03-01"]
        assert session.exec(select(Hold).where(Hold.mount_id == new.id)).one().hold_count == 2
        assert session.exec(select(LayerTest)).one().result == "brown"
        assert session.exec(select(Inscription)).one().inscribed == "No. 7"
        assert session.exec(select(Treatment)).one().note == "dry, verso only"


def test_findings_so_far_are_told_by_one_choice_each(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    burn = SightingTold(change=Change.NEW, term="mat burn", severity=Severity.SLIGHT)
    foxing = SightingTold(change=Change.NEW, term="foxing", severity=Severity.SLIGHT)
    told(engine, work, VisitTold(on="2020", kind=VisitKind.LOOK, sightings=(burn, foxing)))
    fields = opened(framer, work, "look")
    assert fields["finding/1/change"] == ["not seen this time"]
    fields |= {"finding/1/change": "grown", "finding/1/severity": "severe"}
    assert sent(framer, fields).status_code == 303
    with Session(engine) as session:
        sightings = session.exec(select(Sighting).order_by(col(Sighting.id))).all()
        assert [(s.finding_id, s.change, s.severity) for s in sightings[2:]] == [
            (1, Change.GROWN, Severity.SEVERE)
        ]


def test_every_fault_stands_beside_its_field_and_nothing_typed_is_lost(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | ALL_NO | BURN
    fields |= {
        "summary": "Brown along the window; see note.",
        "new/1/term": "mat burm",
        "new/1/severity": "slight",
        "mount/how": "built",
        **OFF,
        "mount/layers/2/material": "Cotton rag mat bord",
        "treatments/1/term": "surface cleaning",
        "treatments/1/material": "Nothing such",
    }
    answer = sent(framer, fields)
    assert answer.status_code == 422
    wrong = set(re.findall(r'id="fault-([^"]+)"', answer.text))
    assert wrong == {"new/1/term", "mount/layers/2/material", "treatments/1/material"}
    assert all(f'href="#{name}"' in answer.text for name in wrong)
    assert "Everything you typed is still here." in answer.text
    again = form_in(answer.text)
    lost = {
        name: value
        for name, value in fields.items()
        if name not in ("form_token", "hand", "step") and again.get(name) not in (value, [value])
    }
    assert lost == {}
    assert count(engine, Visit) == 1


@on_sqlite
@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("on", "03/04/2026"),
        ("on", ""),
        ("minutes", "an hour"),
        ("new/0/mm", "a thumb"),
        ("new/0/edge", ""),
        ("new/0/severity", ""),
        ("new/0/extent_percent", "140"),
        ("new/0/mm", "4000"),
        ("new/0/clean/L", "92"),
        ("layer/1/ph", "15"),
        ("stop/2", ""),
        ("by", "Nobody At All"),
        ("dismount/1/residue", "x" * 200),
        ("dismount/1/freed_by", ""),
        ("dismount/1/outcome", ""),
        ("dismount/done", ""),
        ("inscriptions/0/text", "No. 7"),
    ],
)
def test_a_value_that_cannot_be_is_named_beside_its_field(
    framer: Browser, engine: Engine, name: str, typed: str
) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | ALL_NO | BURN
    answer = sent(framer, fields | OFF | {name: typed})
    beside = {
        "new/0/clean/L": "new/0/clean/a",
        "inscriptions/0/text": "inscriptions/0/where",
    }.get(name, name)
    assert answer.status_code == 422
    assert f'id="fault-{beside}"' in answer.text
    assert count(engine, Visit) == 1


def test_a_question_that_nobody_answered_is_not_a_no(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work)
    assert sent(framer, fields).status_code == 422
    from_notes = sent(framer, fields | {"stop/from_notes": "1", "on": "March 1998"})
    assert from_notes.status_code == 303


def test_one_yes_is_a_stop_and_says_how_the_work_was_left(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | ALL_NO | {"stop/1": "yes"}
    assert 'id="fault-stop/left"' in sent(framer, fields).text
    assert sent(framer, fields | {"stop/left": "closed, flat, face up"}).status_code == 303
    with Session(engine) as session:
        visit = session.get_one(Visit, 2)
        assert (visit.stop_why, visit.stop_left) == ("loose or flaking", "closed, flat, face up")
    # It waits among the signs, closes the package, and is told once however often it is asked.
    page = text_of(framer.get(f"/works/{work}").text)
    assert "This does not wait Flaking , since" in page
    again = opened(framer, work) | ALL_NO | {"stop/1": "yes", "stop/left": "closed"}
    assert sent(framer, again).status_code == 303
    with Session(engine) as session:
        assert [finding.finding_no for finding in session.exec(select(Finding))] == [1]


def test_a_stop_has_seen_nothing_inside(framer: Browser, engine: Engine) -> None:
    fields = opened(framer, a_bench_work(engine)) | ALL_NO
    stop: Fields = {"stop/2": "yes", "stop/left": "flat", "seen": ["front", "margins"]}
    answer = sent(framer, fields | stop)
    assert answer.status_code == 422
    assert 'id="fault-seen"' in answer.text


def test_a_stop_that_changed_something_inside_is_refused_in_words(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | ALL_NO
    fields |= {"stop/1": "yes", "stop/left": "closed", "layer/1/act": "out"}
    answer = sent(framer, fields)
    assert answer.status_code == 422
    assert 'id="fault-stop"' in answer.text
    assert "A visit that was stopped before unframing can have changed nothing" in answer.text


def test_what_was_tried_and_left_did_not_come_off_and_needs_no_tick(
    framer: Browser, keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    told: Fields = {"dismount/1/outcome": "tried and left", "dismount/reason": "Too brittle"}
    assert sent(framer, opened(framer, work) | ALL_NO | told).status_code == 303
    with Session(engine) as session:
        assert session.exec(select(Mount)).one().ended is False
        visit = session.exec(select(Hold)).one().outcome_visit_id
    # Of what was tried, and why, nothing is lost, though the mount goes on.
    report = text_of(framer.get(f"/visits/{visit}").text)
    assert "Tried and left: Wheat starch paste on Japanese paper" in report
    assert "Tried and left: Too brittle." in text_of(framer.get(f"/works/{work}").text)
    keeper.send_form(f"/visits/{visit}/withdraw", {"reason_to_withdraw": "another work"})
    with Session(engine) as session:
        hold = session.exec(select(Hold)).one()
        assert (hold.outcome, hold.outcome_visit_id) == (None, None)


def test_a_mount_without_holds_is_asked_how_the_work_came_out(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=replace(SOUND, holds=()))
    fields = opened(framer, work) | ALL_NO | {"dismount/done": "1"}
    assert 'id="fault-dismount/outcome"' in sent(framer, fields).text
    fields |= {"dismount/outcome": "freed"}
    assert 'id="fault-dismount/freed_by"' in sent(framer, fields).text
    assert sent(framer, fields | {"dismount/freed_by": "lifted"}).status_code == 303


def test_everything_wrong_is_said_at_once_whichever_part_of_the_form_it_is_in(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    wrong: Fields = {
        "on": "03/04/2026",
        "minutes": "long",
        "new/0/term": "mat burm",
        "new/0/extent_percent": "140",
        "layer/1/ph": "15",
        "mount/layers/0/material": "Nothing such",
        "treatments/0/term": "surface clening",
    }
    fields = opened(framer, work) | ALL_NO | BURN | OFF | {"mount/how": "built"} | wrong
    answer = sent(framer, fields)
    assert answer.status_code == 422
    assert set(re.findall(r'id="fault-([^"]+)"', answer.text)) == set(wrong)
    assert "7 answers are missing, or cannot be right." in answer.text


@on_sqlite
@pytest.mark.parametrize(
    ("told", "beside"),
    [
        ({"on": "26 November 2026"}, "on"),
        ({"mount/how": "built"}, "dismount/done"),
        ({"on": "2009", **OFF}, "on"),
        ({"closed_as_it_was": "1", **OFF}, "closed_as_it_was"),
    ],
)
def test_a_broken_rule_stands_beside_its_field(
    framer: Browser, engine: Engine, told: Fields, beside: str
) -> None:
    work = a_bench_work(engine)
    answer = sent(framer, opened(framer, work) | ALL_NO | told)
    assert answer.status_code in (409, 422)
    assert f'id="fault-{beside}"' in answer.text
    assert f'href="#{beside}"' in answer.text
    assert f'aria-describedby="fault-{beside}"' in answer.text


def test_questions_without_an_answer_are_marked_for_who_cannot_see_them(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    page = sent(framer, opened(framer, work)).text
    radios = re.findall(r'<input type="radio" name="stop/2"[^>]*>', page)
    assert all('aria-invalid="true"' in radio for radio in radios)
    assert len(radios) == 2


def test_while_a_sign_stands_only_a_stop_or_old_notes_can_be_recorded(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    mould = SightingTold(change=Change.NEW, term=MOULD, severity=Severity.SLIGHT)
    told(engine, work, VisitTold(on="2026-11-20", kind=VisitKind.LOOK, sightings=(mould,)))
    page = framer.get(f"/works/{work}/visits/new?kind=look").text
    assert 'value="unframing"' not in page.split("</h1>")[1].split("<form")[0]
    assert "No unframing: Leave it closed, bag it, isolate it" in text_of(page)
    fields = opened(framer, work) | ALL_NO
    plain = sent(framer, fields)
    assert (plain.status_code, 'id="fault-stop"' in plain.text) == (409, True)
    assert "The package stays closed: record the stop" in plain.text
    assert count(engine, Visit) == 2
    stop: Fields = {"stop/3": "yes", "stop/left": "closed, bagged"}
    assert sent(framer, fields | stop).status_code == 303
    notes = opened(framer, work) | {"stop/from_notes": "1", "on": "March 1998"}
    assert sent(framer, notes).status_code == 303


def test_a_box_check_is_offered_only_of_what_lies_in_a_box(
    framer: Browser, keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    form = f"/works/{work}/visits/new"
    assert "Make it a box check" not in framer.get(form).text
    with recording(engine, actor="test", now=NOON) as session:
        for place in session.exec(select(Place)):
            place.use = PlaceUse.BOX
    assert 'value="box check">Make it a box check instead</button>' in framer.get(form).text


def test_a_change_of_kind_loses_nothing_that_was_typed(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | ALL_NO | BURN | OFF
    fields |= {"summary": "Brown\nalong the edge", "seen": ["front", "verso"]}
    fields |= {"mount/how": "built", "mount/layers/0/material": RAG, "repeat_key": "one-key"}
    fields["mount/layers/2/act"] = "swapped"
    look = shown_after(framer, sent(framer, fields, "kind", to_kind="look"))
    assert look.status_code == 200
    as_look = form_in(look.text)
    assert (as_look["kind"], as_look["seen"]) == (["look"], ["front"])
    assert as_look["summary"] == ["Brown\nalong the edge"]
    assert not any(name.startswith(("dismount/", "mount/", "stop/")) for name in as_look)
    wrong = sent(framer, as_look | {"minutes": "long"})
    assert wrong.status_code == 422
    as_look = form_in(wrong.text) | {"minutes": "5"}
    back = shown_after(framer, sent(framer, as_look, "kind", to_kind="unframing"))
    again = form_in(back.text)
    told_before: Fields = {n: v if isinstance(v, list) else [v] for n, v in fields.items()}
    told_before |= {"minutes": ["5"], "form_token": again["form_token"]}
    told_before |= {name: again[name] for name in ("key", "hand", "version")}
    assert {n: v for n, v in again.items() if v != told_before.get(n)} == {}
    assert count(engine, Visit) == 1
    assert sent(framer, again | {"seen": ["front"]}).status_code == 303


def test_a_look_becomes_an_unframing_with_its_package_as_it_is(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    look = opened(framer, work, "look") | {"summary": "half a sentence"}
    answer = shown_after(framer, sent(framer, look, "kind", to_kind="unframing"))
    fields = form_in(answer.text)
    assert fields["summary"] == ["half a sentence"]
    assert (fields["mount/layers/0/material"], fields["mount/layers/0/act"]) == ([RAG], ["stays"])
    assert sent(framer, fields | ALL_NO).status_code == 303


def test_whoever_dismounted_what_somebody_else_took_off_is_not_asked_to_do_it_again(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | ALL_NO | OFF
    fields |= {"mount/how": "built", "dismount/harm": "a thin spot", "summary": "Brown."}
    off = DismountTold(freed_by=FreedBy.WATER)
    told(
        engine,
        work,
        VisitTold(on="2026-11-24", kind=VisitKind.UNFRAMING, by=IMAGINARY, dismount=off),
    )
    answer = sent(framer, fields)
    assert answer.status_code == 409
    page = text_of(answer.text)
    assert "The latest visit on record: unframing, 24 November 2026, by R. Imaginary." in page
    assert "freed by water" in page
    assert "harm: a thin spot" in page
    assert "The mount that you saw holds the work no more" in page
    again = form_in(answer.text)
    assert "dismount/done" not in again
    assert (again["dismount/harm"], again["summary"]) == ([""], ["Brown."])
    assert sent(framer, again).status_code == 303
    assert count(engine, Mount) == 2


def test_whoever_was_slower_sees_both_states_and_keeps_what_was_typed(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | ALL_NO
    fields |= {"summary": "The mat is brown.", "layer/1/act": "out", "layer/1/condition": "foxed"}
    swap = LayerFittedTold(
        layer=LayerTold(role=LayerRole.WINDOW_MAT, material=GROUNDWOOD), replaces=1
    )
    told(engine, work, VisitTold(on="2026-11-24", kind=VisitKind.UNFRAMING, layers_fitted=(swap,)))
    answer = sent(framer, fields)
    page = text_of(answer.text)
    assert answer.status_code == 409
    assert "Somebody changed this package since you opened it" in page
    assert f"window mat: {GROUNDWOOD}" in page
    assert "condition: foxed" in page
    assert "The mat is brown." in page
    again = form_in(answer.text)
    assert again["based_on"] != fields["based_on"]
    assert sent(framer, again).status_code == 303


def test_a_mount_told_on_an_older_state_is_refused_and_then_told_on_top(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | ALL_NO
    fields |= {"mount/how": "built", **OFF}
    back = LayerFittedTold(layer=LayerTold(role=LayerRole.BACKING, material=GROUNDWOOD))
    told(engine, work, VisitTold(on="2026-11-24", kind=VisitKind.UNFRAMING, layers_fitted=(back,)))
    answer = sent(framer, fields)
    assert answer.status_code == 409
    assert "Somebody changed this work since you opened it" in answer.text
    assert f"backing board: {GROUNDWOOD}" in answer.text
    assert count(engine, Mount) == 1
    again = form_in(answer.text)
    assert again["mount/how"] == ["built"]
    assert sent(framer, again).status_code == 303
    assert count(engine, Mount) == 2


@on_sqlite
@pytest.mark.parametrize(
    "name",
    ["new/9999999999/term", f"new/{'9' * 5000}/term", "new//term", "new/x/term", "layer/x/act"],
)
def test_a_field_that_the_form_does_not_have_tells_nothing(
    framer: Browser, engine: Engine, name: str
) -> None:
    work = a_bench_work(engine)
    assert sent(framer, opened(framer, work, "look") | {name: "out"}).status_code == 303


@on_sqlite
@pytest.mark.parametrize("kind", ["look", "unframing", "box check"])
def test_a_form_full_of_nonsense_is_refused_in_words(
    framer: Browser, engine: Engine, kind: str
) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work, kind)
    keep = ("key", "form_token", "kind", "work", "based_on")
    nonsense: Fields = {name: value if name in keep else "1e999" for name, value in fields.items()}
    for to in ("record", "tried", "outcome"):
        assert sent(framer, nonsense, to).status_code in (409, 422)
    assert count(engine, Visit) == 1


def test_a_form_sent_twice_is_one_visit(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work, "look")
    first, second = (sent(framer, fields) for _ in range(2))
    assert first.headers["location"] == second.headers["location"] == f"/works/{work}?visit=2"
    assert count(engine, Visit) == 2


def test_a_work_of_unknown_history_is_found_dismounted_and_remounted_at_once(
    framer: Browser, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        add_house_package(
            session, THE_HOUSE, "Small print", SOUND, defaults=shipped_default_figures()
        )
    work = a_bench_work(engine, mount=None)
    fields = opened(framer, work) | ALL_NO
    fields |= {
        "found/done": "1",
        "found/mounted_on": "about 1985",
        "found/layers/1/grade": "groundwood board",
        "found/layers/1/known_by": "seen",
        "found/holds/0/grade": "rubber pressure-sensitive tape",
        "found/holds/0/position": "top",
        "found/holds/0/outcome": "left on the work",
        "mount/how": "usual",
        "mount/house_package": "Small print",
    }
    answer = sent(framer, fields)
    assert answer.status_code == 303, text_of(answer.text)
    with Session(engine) as session:
        old, new = session.exec(select(Mount).order_by(col(Mount.mount_no))).all()
        assert (old.mounted_edtf, old.dismounted_edtf, new.ended) == (
            "1985~",
            "2026-11-25",
            False,
        )
        assert len(session.exec(select(Remain)).all()) == 1


def test_a_package_is_tried_and_nothing_is_stored(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine, mount=POOR)
    fields = opened(framer, work)
    fields |= {"mount/how": "built", "mount/layers/0/material": RAG, "summary": "half a sentence"}
    answer = sent(framer, fields, "tried")
    page = text_of(answer.text)
    assert answer.status_code == 200
    assert "Every layer is sound." in page
    assert "now: almost certain (over 95 %)" in page
    assert form_in(answer.text)["summary"] == ["half a sentence"]
    assert (count(engine, Visit), count(engine, Mount)) == (1, 1)
    assert sent(framer, fields | ALL_NO | OFF).status_code == 303


def test_a_package_that_cannot_be_tried_says_why_beside_the_field(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | {"mount/how": "built", "mount/layers/0/material": "Bord"}
    answer = sent(framer, fields, "tried")
    assert answer.status_code == 422
    assert 'id="fault-mount/layers/0/material"' in answer.text


def test_the_form_is_for_those_at_the_bench(owner: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    assert owner.get(f"/works/{work}/visits/new").status_code == 404
    assert owner.send_form("/bench/any/record", {"kind": "look"}).status_code == 403


def test_a_kind_of_visit_that_there_is_not_is_not_found(keeper: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    assert keeper.get(f"/works/{work}/visits/new?kind=glance").status_code == 404
    glance: Fields = {"key": "any", "kind": "glance", "work": str(work)}
    assert sent(keeper, glance).status_code == 404


def test_twelve_statements_for_the_form(app: FastAPI, keeper: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    assert statements_for(app, keeper, f"/works/{work}/visits/new?kind=unframing") <= 12


def test_the_lignin_spot_test_stands_beside_its_caution(keeper: Browser, engine: Engine) -> None:
    page = text_of(keeper.get(f"/works/{a_bench_work(engine)}/visits/new?kind=unframing").text)
    assert "only on an offcut, away from the work, with goggles" in page
    assert "Before solvent: tested, agreed, asked? Ventilate, no flame, gloves." in page
    assert PASTE in page


def looked_at(engine: Engine, work: int, **told_of_it: object) -> int:
    look = VisitTold(on="2026-11-20", kind=VisitKind.LOOK, summary="As before.", **told_of_it)  # type: ignore[arg-type]
    return told(engine, work, look)[0]


def test_the_page_of_a_visit_says_what_was_seen(owner: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    burn = SightingTold(change=Change.NEW, term="mat burn", severity=Severity.SLIGHT)
    visit = looked_at(engine, work, sightings=(burn,))
    page = owner.get(f"/visits/{visit}").text
    assert "Look, 20 November 2026 As before. 1 mat burn (recto): new, slight" in text_of(page)
    assert '<form class="sheet' not in page
    other = looked_at(engine, a_bench_work(engine, owner="The Tern House", number="TH 1"))
    assert owner.get(f"/visits/{other}").status_code == 404


def test_what_was_left_for_later_is_written_up(keeper: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    visit = looked_at(engine, work, to_write_up=True)
    path = f"/visits/{visit}/write-up"
    fields = fields_of(keeper.get(f"/visits/{visit}").text, path)
    fields |= {"summary": "Foxing below.", "new/0/term": "foxin", "new/0/severity": "slight"}
    wrong = keeper.send_form(path, fields)
    assert wrong.status_code == 422
    assert 'id="fault-new/0/term"' in wrong.text
    again = fields_of(wrong.text, path)
    assert again["summary"] == ["Foxing below."]
    assert keeper.send_form(path, again | {"new/0/term": "foxing"}).status_code == 303
    page = text_of(keeper.get(f"/visits/{visit}").text)
    assert "As before. Foxing below." in page
    assert "1 foxing (recto): new, slight" in page
    assert "To write up" not in page


def test_a_visit_is_put_right_and_a_wrong_date_stands_beside_its_field(
    keeper: Browser, engine: Engine
) -> None:
    visit = looked_at(engine, a_bench_work(engine))
    path = f"/visits/{visit}/correct"
    fields = fields_of(keeper.get(f"/visits/{visit}").text, path)
    assert (fields["on"], fields["whole_summary"]) == (["20 November 2026"], ["As before."])
    wrong = keeper.send_form(path, fields | {"on": "1/2/2026", "minutes": "30"})
    assert (wrong.status_code, 'id="fault-on"' in wrong.text) == (422, True)
    right = fields_of(wrong.text, path) | {"on": "November 2026"}
    assert keeper.send_form(path, right).status_code == 303
    page = text_of(keeper.get(f"/visits/{visit}").text)
    assert "Look, November 2026" in page
    assert "30 min" in page


def test_whoever_puts_right_an_older_state_is_told(keeper: Browser, engine: Engine) -> None:
    visit = looked_at(engine, a_bench_work(engine))
    path = f"/visits/{visit}/correct"
    fields = fields_of(keeper.get(f"/visits/{visit}").text, path)
    assert keeper.send_form(path, fields | {"minutes": "20"}).status_code == 303
    late = keeper.send_form(path, fields | {"repeat_key": "another", "minutes": "50"})
    assert late.status_code == 409
    assert "Somebody changed this since you opened it" in late.text
    again = fields_of(late.text, path)
    assert again["minutes"] == ["50"]
    assert 'data-put-in="minutes" data-value="20"' in late.text
    assert keeper.send_form(path, again).status_code == 303


def test_a_visit_is_taken_back_with_a_reason_by_a_keeper(
    keeper: Browser, framer: Browser, engine: Engine
) -> None:
    visit = looked_at(engine, a_bench_work(engine))
    path = f"/visits/{visit}/withdraw"
    assert "Withdraw it" not in framer.get(f"/visits/{visit}").text
    assert framer.send_form(path, {"reason_to_withdraw": "x"}).status_code == 403
    without = keeper.send_form(path, {"reason_to_withdraw": " "})
    assert (without.status_code, 'id="fault-reason_to_withdraw"' in without.text) == (422, True)
    assert keeper.send_form(path, {"reason_to_withdraw": "another work"}).status_code == 303
    assert "Withdrawn: another work" in text_of(keeper.get(f"/visits/{visit}").text)


@pytest.mark.parametrize("path", ["/visits/99", "/visits/0", "/visits/one"])
def test_a_visit_that_is_not_on_record_is_not_found(keeper: Browser, path: str) -> None:
    assert keeper.get(path).status_code == 404


def test_a_layer_whose_change_was_taken_back_is_still_the_piece_that_it_was(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | ALL_NO | OFF | {"mount/how": "built"}
    # A change was begun, the page came back with its field empty, and the layer stays after all.
    rows = [name for name in fields if re.fullmatch(r"mount/layers/\d+/material", name)]
    blank: Fields = dict.fromkeys(rows, "")
    assert sent(framer, fields | blank).status_code == 303
    said = text_of(framer.get(f"/works/{work}").text)
    assert "Mounted: T-hinge (mount 2)" in said
    assert (said.count("Put in window mat"), said.count("Taken out window mat")) == (1, 0)


def test_what_is_told_two_ways_is_asked_again(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    told = opened(framer, work) | ALL_NO
    both: Fields = {"closed_as_it_was": "1", "seen": ["front", "margins"]}
    assert 'id="fault-seen"' in sent(framer, told | both).text
    assert 'id="fault-mount/how"' in sent(framer, told | OFF | {"mount/how": "changed"}).text


@pytest.mark.parametrize("question", StopQuestion)
def test_a_yes_goes_on_record_as_a_shipped_finding_with_its_sign(question: StopQuestion) -> None:
    shipped = {term.term: term.urgent_sign for term in read_finding_terms()}
    assert shipped[TERM_OF_QUESTION[question]] == SIGN_OF_QUESTION[question]
