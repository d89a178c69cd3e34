import numpy as np
import pytest

from tests.with_app import Browser

PLAN = {
    "today": "2026-11-25",
    "work": {
        "replaceability": "unique",
        "light_class": 5,
        "surface": None,
        "width_mm": 420,
        "height_mm": 300,
    },
    "place": {
        "use": "display",
        "temperature_c": 20,
        "rh_percent": 50,
        "lux": 50,
        "hours_per_day": 8,
        "days_per_year": 365,
        "uv_uw_per_lm": 10,
    },
    "mount": {
        "mounted_on": "2020-11-25",
        "method": "corner pockets",
        "holds": [],
        "layers": [
            {
                "role": "window mat",
                "grade": "groundwood board",
                "distance": "touches",
                "side": "front",
                "fitted_on": None,
            },
            {"role": "work"},
        ],
    },
    "last_seen": {
        "front": None,
        "back of frame": None,
        "margins": None,
        "verso": None,
        "under hinges": None,
    },
    "experience": {"acid migration/groundwood board": 1.0},
}


def test_a_planned_package_is_judged_before_it_exists(program: Browser) -> None:
    told = program.post("/api/forecasts/preview", json=PLAN)
    assert told.status_code == 200
    answer = told.json()
    # Design table, example C by dates.
    found = [answer["chance_unseen_now"], answer["chance_new_5y"]]
    np.testing.assert_allclose(found, [0.3758, 0.8125], atol=5e-5)
    assert {name: answer[name] for name in ("advice", "remat_by", "light", "assumed")} == {
        "advice": "remat",
        "remat_by": "2027-02-23",
        "light": {"days_per_year": None, "take_down_by": None},
        "assumed": {"work.surface": "other"},
    }
    assert (answer["unframing"]["formula_years"], answer["unframing"]["on"]) == (0, "2026-11-25")
    assert answer["verdict"] == {
        "freeing": "no adhesive",
        "weak_layer": "window mat",
        "layers": [
            {
                "role": "window mat",
                "verdict": "harmful",
                "why": "It touches the work, and groundwood board typically harms there after"
                " 7 years.",
            }
        ],
    }


def test_the_light_of_a_plan_has_its_days_and_its_day(program: Browser) -> None:
    bright = PLAN | {"work": {"light_class": 2}, "place": {"lux": 250, "hours_per_day": 8}}
    answer = program.post("/api/forecasts/preview", json=bright).json()
    assert answer["light"] == {"days_per_year": 7.5, "take_down_by": "2026-12-02"}


@pytest.mark.usefixtures("reference_data")
def test_a_technique_says_how_a_work_bears_light(program: Browser) -> None:
    # Felt-tip is of class 1: 0.05 of 0.3 Mlx h is as much as the limit of CIE 157.
    plan = PLAN | {"work": {"technique": "felt-tip or marker drawing"}, "place": {"lux": 150}}
    answer = program.post("/api/forecasts/preview", json=plan).json()
    assert answer["light"] == {"days_per_year": 12.5, "take_down_by": "2026-12-07"}
    assert "work.light_class" not in answer["assumed"]


def test_an_empty_plan_takes_every_default_and_says_so(program: Browser) -> None:
    answer = program.post("/api/forecasts/preview", json={}).json()
    assert answer["drivers"] == []
    assert answer["assumed"]["place.rh_percent"] == 50
    assert answer["assumed"]["today"] == "2026-11-25"


@pytest.mark.usefixtures("reference_data")
def test_a_technique_says_what_the_surface_does(program: Browser) -> None:
    pastel = PLAN | {"work": {"technique": "pastel"}}
    answer = program.post("/api/forecasts/preview", json=pastel).json()
    assert "its surface is friable" in " ".join(answer["unframing"]["steps"])
    unknown = program.post("/api/forecasts/preview", json=PLAN | {"work": {"technique": "pastell"}})
    assert (unknown.status_code, unknown.json()["code"]) == (422, "unknown_technique")
    assert "pastel" in unknown.json()["near"]


@pytest.mark.parametrize(
    ("part", "pointer"),
    [
        ({"place": {"rh_percent": 101}}, "/place/rh_percent"),
        ({"place": {"use": "attic"}}, "/place/use"),
        ({"mount": {"layers": [{"role": "lid"}]}}, "/mount/layers/0/role"),
        (
            {"mount": {"layers": [{"role": "window mat", "grade": "gold leaf"}]}},
            "/mount/layers/0/grade",
        ),
        ({"mount": {"mounted_on": 5}}, "/mount/mounted_on"),
        ({"mount": {"mounted_on": "2027-01-01"}}, "/mount/mounted_on"),
        ({"last_seen": {"inside": "2026-01-01"}}, "/last_seen/inside"),
        ({"experience": {"luck": 1}}, "/experience/luck"),
        ({"colour": "blue"}, "/colour"),
    ],
)
def test_a_value_that_cannot_be_right_is_named(
    program: Browser, part: dict[str, object], pointer: str
) -> None:
    answer = program.post("/api/forecasts/preview", json=PLAN | part)
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json()["errors"]] == [pointer]


def test_a_stranger_judges_nothing(stranger: Browser) -> None:
    assert stranger.post("/api/forecasts/preview", json=PLAN).status_code == 401


def test_an_owner_may_judge_a_plan(owner: Browser) -> None:
    headers = {"X-Form-Token": owner.form_token}
    answer = owner.post("/api/forecasts/preview", json=PLAN, headers=headers)
    assert answer.status_code == 200
